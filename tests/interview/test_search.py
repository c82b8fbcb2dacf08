"""From a person's own words to signs, readings and parts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.interview.indexes import parts, readable, signs
from diagnose.interview.remarks import nothing_wrong
from diagnose.interview.search import SHOWN
from diagnose.interview.stems import slips, stem
from tests.interview.bench import assembly


@pytest.mark.parametrize(
    ("words", "name", "state"),
    [
        ("weak output on 20 meters", "output_network.power", "low"),
        ("no output", "output_network.power", "absent"),
        ("modulator tubes glow red", "modulator.red_plates", "yes"),
        ("red plating final", "final.red_plates", "yes"),
        ("plate curent too high", "final.plate_current", "high"),
        ("it chirps when keyed", "vfo.chirp", "yes"),
        ("the carrier has hum", "final.hum_on_carrier", "yes"),
        ("fuse blows", "mains.fuse_blows", "yes"),
        ("relay chatters", "antenna_relay.relay_chatters", "yes"),
        ("purple glow in modulator", "modulator.blue_glow", "yes"),
        ("keyed all the time", "keying.keyed", "stuck"),
        ("frequency jumps", "vfo.jumps", "yes"),
        ("smoke", "connections.smoke", "yes"),
        ("dead", "output_network.power", "absent"),
        ("weak", "output_network.power", "low"),
        ("modulators run hot since I put new caps in", "modulator.red_plates", "yes"),
        ("works on 80 but not on 10", "output_network.power_over_bands", "one_band"),
        ("no smoke, but weak output", "output_network.power", "low"),
        ("nothing wrong with the audio, fuse blows", "mains.fuse_blows", "yes"),
        ("does not key", "keying.keyed", "absent"),
        ("no spot signal", "spotting.spot_absent", "yes"),
    ],
)
def test_complaints_find_their_signs(words: str, name: str, state: str) -> None:
    """The sign meant is among those offered."""
    found = [(hit.entry.name, hit.entry.state) for hit in signs(assembly()).find(words)]
    assert (name, state) in found


@pytest.mark.parametrize("words", ["no punch", "no punch, weak signal", "weak signal", "lacks punch"])
def test_no_punch_is_low_power(words: str) -> None:
    """The `no` of a trade term says nothing of how much, and a word of how much alone means no other sign."""
    first = signs(assembly()).find(words)[0].entry
    assert (first.name, first.state) == ("output_network.power", "low")


@pytest.mark.parametrize(
    "words",
    [
        "nothing wrong",
        "nothing wrong with it, routine check",
        "Nothing's wrong.",
        "there isn't anything wrong",
        "nothing",
        "no problems; yearly inspection",
        "works fine",
        "everything is ok",
        "works well on cw",
    ],
)
def test_that_nothing_is_wrong_is_no_sign(words: str) -> None:
    """No entry is offered, and it is known why."""
    assert signs(assembly()).find(words) == ()
    assert nothing_wrong(words)


@pytest.mark.parametrize(
    "words", ["no output", "nothing wrong, but it hums", "does not work on 10", "dead", ""]
)
def test_what_is_wrong_is_not_taken_for_well(words: str) -> None:
    """A fault that is told by a `no`, or beside what is well."""
    assert not nothing_wrong(words)


@pytest.mark.parametrize(
    ("words", "denied"),
    [
        ("no smoke", {"connections.smoke"}),
        ("no smoke or smell", {"connections.smoke", "connections.smell_of_burning"}),
        ("it doesn't chirp", {"vfo.chirp"}),
        ("weak output without any hum", {"final.hum_on_carrier"}),
    ],
)
def test_a_sign_that_is_said_not_to_be_there_is_not_offered(words: str, denied: set[str]) -> None:
    """Nor one that has the word in passing."""
    assert not denied & {hit.entry.name for hit in signs(assembly()).find(words)}


@pytest.mark.parametrize("words", ["barn find", "found in a barn", "never used", "works again now"])
def test_words_of_any_talk_find_nothing(words: str) -> None:
    """A single word that stands in a title by chance is no match."""
    assert signs(assembly()).find(words) == ()


def test_two_complaints_in_one_breath() -> None:
    """Each remark of a line is looked for by itself."""
    found = [hit.entry.name for hit in signs(assembly()).find("weak output, plate current is low")]
    assert {"output_network.power", "final.plate_current"} <= set(found[:3])


@pytest.mark.parametrize(
    ("words", "part"),
    [
        ("replaced both coupling capacitors", "modulator.coupling_capacitors"),
        ("set the bias to 55 mA", "modulator.bias_control"),
        ("changed the rectifier tube", "hv.rectifier_tube"),
        ("new final tube", "final.final_tube"),
        ("cleaned band switch", "connections.band_switch"),
    ],
)
def test_work_finds_its_part(words: str, part: str) -> None:
    """What was done to it says little of which part it was."""
    assert part in [hit.entry.name for hit in parts(assembly()).find(words)]


@pytest.mark.parametrize("words", ["", "xyzzy", "the and of", "12345"])
def test_what_means_nothing_finds_nothing(words: str) -> None:
    """No entry is offered for the sake of offering one."""
    assert signs(assembly()).find(words) == ()


@given(st.text(max_size=80))
def test_any_words_give_at_most_a_screen_of_entries(words: str) -> None:
    """Ranked, each once, and few."""
    for index in (signs(assembly()), parts(assembly()), readable(assembly())):
        found = index.find(words)
        assert len(found) <= SHOWN
        assert len({(hit.entry.name, hit.entry.state) for hit in found}) == len(found)


def test_every_sign_is_found_by_its_own_title() -> None:
    """Whoever uses the book's words finds the entry, in one stage or another."""
    known = assembly()
    missing = [
        placed.id
        for placed in known.indications.values()
        if placed.indication.sort == "symptom"
        and placed.indication.title
        not in {
            known.indications[hit.entry.name].indication.title
            for hit in signs(known).find(placed.indication.title.replace(",", " "), most=12)
        }
    ]
    assert missing == []


@pytest.mark.parametrize(
    ("words", "one"),
    [
        (("hum", "hums", "humming", "hummed"), "hum"),
        (("glow", "glows", "glowing"), "glow"),
        (("supply", "supplies"), "supply"),
        (("press", "pressed", "pressing"), "press"),
    ],
)
def test_endings_are_taken_off(words: tuple[str, ...], one: str) -> None:
    """Plural, `ing` and `ed`."""
    assert {stem(word) for word in words} == {one}


@given(st.text("abcd", max_size=7), st.text("abcd", max_size=7))
def test_slips_are_the_same_both_ways(first: str, second: str) -> None:
    """A distance: none to itself, the same from either side, one for one letter."""
    assert slips(first, first) == 0
    assert slips(first, second) == slips(second, first)
    assert slips(first, f"{first}x") == 1
