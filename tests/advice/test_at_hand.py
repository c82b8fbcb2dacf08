"""What can be done on this bench: no check without its instrument, and none that the person cannot do."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain, combinations
from pathlib import Path

import pytest

from diagnose.advice.gates import at_hand
from diagnose.diagnosis import diagnose
from diagnose.files.read_case import assembly_of
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from tests.files.small import BENCH, FEED, good_book, swapped

THREE = "  meter: {title: a meter}\n  lamp: {title: a lamp}\n  eyes: {title: one's eyes, always: yes}\n"
ADVICE = """\
advice:
  search_minutes: 180
  retest_minutes: 5
  remedy_worth: 55 of 100
  fault_indicated: 50 of 100
  also_due: 8 of 100
  mains_caution: 8 of 100
"""
LOOK = """\
  look:
    title: look at it
    reveals: [flashes, ripple]
    how: Look.
    instrument: eyes
    minutes: 1
    good: dark
  light:
    title: hold a lamp to it
    reveals: [ripple]
    how: Hold it there.
    instrument: lamp
    minutes: 2
    good: dark
"""


@pytest.fixture(scope="module")
def finch(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    """The small rig, with checks by three instruments."""
    changed = {
        "bench.yaml": swapped(BENCH, "  meter: {title: a meter}\n", THREE) + ADVICE,
        "stages/feed.yaml": swapped(FEED, "  swap_tube:\n", LOOK + "  swap_tube:\n"),
    }
    return assembly_of(good_book(tmp_path_factory.mktemp("finch"), changed), "finch")


CASE = Case("c", "finch", observations=(Observation("final.current", state="low"),))


def ids(assembly: Assembly, case: Case) -> set[str]:
    """The checks that can be done."""
    return {check.id for check in at_hand(assembly, case)}


def by(assembly: Assembly, *instruments: str) -> set[str]:
    """All checks with one of these instruments."""
    return {check.id for check in assembly.checks.values() if check.check.instrument in instruments}


def test_nothing_said_leaves_nothing_out(finch: Assembly) -> None:
    """A case that does not speak of instruments has all of them."""
    assert at_hand(finch, CASE) == tuple(finch.checks.values())
    assert {"hv.read_it", "hv.look", "hv.light", "final.read_current"} <= ids(finch, CASE)


def test_only_instruments_at_hand(finch: Assembly) -> None:
    """What is not listed is not at hand; one's eyes need not be listed."""
    assert ids(finch, replace(CASE, instruments=("lamp",))) == by(finch, "lamp", "eyes")
    assert ids(finch, replace(CASE, instruments=())) == by(finch, "eyes")
    assert ids(finch, replace(CASE, instruments=("meter", "lamp", "eyes"))) == set(finch.checks)


def test_what_the_bench_does_not_declare_is_not_missed(finch: Assembly) -> None:
    """A check with a word for its instrument that nobody could list stays."""
    odd = replace(finch.checks["hv.light"], check=replace(finch.checks["hv.light"].check, instrument="moon"))
    changed = replace(finch, checks={**finch.checks, odd.id: odd})
    assert "hv.light" in ids(changed, replace(CASE, instruments=()))


def test_a_check_that_cannot_be_done(finch: Assembly) -> None:
    """It goes, and only it."""
    assert ids(finch, CASE) - ids(finch, replace(CASE, cannot=("hv.look",))) == {"hv.look"}


def test_a_reading_that_cannot_be_taken(finch: Assembly) -> None:
    """A check that reveals more stays for the rest; one that reveals nothing else goes."""
    case = replace(CASE, cannot=("hv.ripple",))
    found = {check.id: check.reveals for check in at_hand(finch, case)}
    assert found["hv.look"] == ("hv.flashes",)
    assert "hv.light" not in found
    assert finch.checks["hv.look"].reveals == ("hv.flashes", "hv.ripple")
    both = replace(CASE, cannot=("hv.ripple", "hv.flashes"))
    assert {"hv.look", "hv.light", "hv.swap_tube"} & ids(finch, both) == set()


def test_less_at_hand_never_gives_more_checks(finch: Assembly) -> None:
    """Whatever is added to what cannot be done, or taken from the instruments, the checks are a subset."""
    names = ["hv.look", "hv.read_it", "hv.ripple", "hv.flashes", "hv.voltage", "final.current"]
    subsets = list(chain.from_iterable(combinations(names, size) for size in range(len(names) + 1)))
    for cannot in subsets:
        for instruments in (None, ("meter", "lamp"), ("meter",), ()):
            case = replace(CASE, cannot=cannot, instruments=instruments)
            found = at_hand(finch, case)
            assert not {name for check in found for name in (check.id, *check.reveals)} & set(cannot)
            for name in names:
                more = at_hand(finch, replace(case, cannot=(*cannot, name)))
                assert {check.id for check in more} <= {check.id for check in found}


def proposed(assembly: Assembly, case: Case) -> set[str]:
    """All checks that the advice names, also those withheld."""
    advice = diagnose(assembly, case).advice
    assert advice is not None
    return {check.check for check in advice.next} | {check.check for check in advice.withheld}


@pytest.mark.parametrize("observations", [CASE.observations, ()])
def test_the_advice_keeps_to_what_can_be_done(finch: Assembly, observations: tuple[Observation, ...]) -> None:
    """No proposal, no proof and nothing withheld is a check that cannot be done here, ill or healthy."""
    case = replace(CASE, observations=observations, safety=("bleeder_proven",))
    every = proposed(finch, case)
    assert every
    for check in every:
        without = proposed(finch, replace(case, cannot=(check,)))
        assert check not in without
    readings = tuple(name for check in finch.checks.values() for name in check.reveals)
    assert not proposed(finch, replace(case, cannot=readings))
    assert proposed(finch, replace(case, instruments=())) <= by(finch, "eyes")


def test_a_check_that_would_prove_is_not_proposed_where_it_cannot_be_done(finch: Assembly) -> None:
    """The live check is withheld for want of a proof; the proof is offered unless it cannot be done."""
    assert "hv.swap_tube" in proposed(finch, CASE)
    assert "hv.read_it" in proposed(finch, CASE)
    assert "hv.swap_tube" not in proposed(finch, replace(CASE, cannot=("hv.swap_tube",)))


def test_it_is_read_from_the_case(finch: Assembly, tmp_path: Path) -> None:
    """Both keys of a case file, and what is said of words that are none."""
    from diagnose.files.read_case import read_case

    path = tmp_path / "c.yaml"
    text = (
        "case: c\nrig: finch\ninstruments: [lamp, metre]\ncannot: [hv.look, hv.ripple, hv.riple, hv.look]\n"
    )
    path.write_text(text, encoding="utf-8")
    case, problems = read_case(path, finch.book, "c.yaml")
    assert case is not None
    assert (case.instruments, case.cannot) == (("lamp",), ("hv.look", "hv.ripple"))
    assert [str(problem) for problem in problems] == [
        "c.yaml:3:21: error: `metre` is no instrument of the bench (did you mean `meter`?)",
        "c.yaml:4:30: error: `hv.riple` is no check or reading of this rig (did you mean `hv.ripple`?)",
    ]
    for said, wanted in (
        ("", None),
        ("instruments:\n", None),
        ("instruments: []\n", ()),
        ("instruments: lamp\n", ("lamp",)),
    ):
        path.write_text(f"rig: finch\n{said}", encoding="utf-8")
        case, problems = read_case(path, finch.book)
        assert problems == ()
        assert case is not None
        assert case.instruments == wanted
