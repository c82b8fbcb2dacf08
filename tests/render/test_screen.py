"""The report of a case: what stands where, and whole screens against files."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from diagnose.model.result import GOOD, OPEN, Advice, Diagnosis, Verdict
from diagnose.render.account import explained
from diagnose.render.first import View, first_screen
from diagnose.render.page import Page
from diagnose.render.screen import report
from tests.golden import matches
from tests.render import values

GOLDEN = Path(__file__).parent / "golden"
PLAIN = View(values.WORDS)

SCREENS = {
    "faulty": report(values.FAULTY, PLAIN, 80),
    "faulty_workings": report(values.FAULTY, View(values.WORDS, top=1, workings=True), 80),
    "faulty_narrow": report(values.FAULTY, PLAIN, 60),
    "measured": report(values.MEASURED, PLAIN, 80),
    "measured_workings": report(values.MEASURED, View(values.WORDS, top=1, workings=True), 80),
    "stopped": report(values.STOPPED, PLAIN, 80),
    "explained": explained(values.FAULTY, values.ACCOUNT, values.WORDS, 80),
    "explained_stopped": explained(values.STOPPED, values.ACCOUNT, values.WORDS, 80),
}
WIDTHS = {"faulty_narrow": 60}


@pytest.mark.parametrize("name", SCREENS)
def test_screens_are_as_agreed(name: str) -> None:
    """Whole screens, and with each the properties that hold for all."""
    page = SCREENS[name]
    for line in page.text().splitlines():
        assert len(line) <= WIDTHS.get(name, 80)
        assert line == line.rstrip()
    assert matches(GOLDEN / f"{name}.txt", page.text())


def first(diagnosis: Diagnosis, view: View = PLAIN) -> str:
    """The first screen alone."""
    page = Page(80)
    first_screen(page, diagnosis, view)
    return page.text()


def test_the_first_screen_fits_and_answers_in_order() -> None:
    text = first(values.FAULTY)
    assert len(text.splitlines()) <= 24
    assert text.index("Safe?") < text.index("Wrong?") < text.index("Next")


def test_five_wordy_parts_still_fit_the_first_screen() -> None:
    """The worst that is usual: five parts with two modes each, first aid, something unused."""
    parts = (values.FAULTY.parts[0],) * 8
    text = first(replace(values.FAULTY, parts=parts))
    assert len(text.splitlines()) <= 24
    assert text.count("of 100  drive control (driver)") >= 3


def test_a_stop_order_comes_before_everything_and_in_full() -> None:
    text = first(values.STOPPED)
    lines = text.splitlines()
    assert lines[4].startswith("STOP     Remove power now.")
    assert "earthing stick." in text
    assert text.index("STOP") < text.index("Wrong?")
    assert "answering `hv.discharge_slow`" in " ".join(text.split())


def test_a_stop_order_leaves_no_room_for_a_check() -> None:
    assert "Measure the drive control" not in first(replace(values.STOPPED, advice=values.FAULTY.advice))


def test_what_is_not_proven_is_named_or_counted() -> None:
    none_proven = replace(values.FAULTY, unproven=("bleeder_proven", "fused"))
    assert "bleeder measured good" in first(none_proven)
    all_proven = replace(values.FAULTY, unproven=())
    assert "All that this bench asks to be proven is proven." in " ".join(first(all_proven).split())
    many = replace(values.WORDS, safety={f"fact_{n}": f"fact {n}" for n in range(4)})
    more = replace(values.FAULTY, unproven=tuple(many.safety))
    assert "4 things (listed below)" in first(more, View(many))


def test_a_good_set_names_no_suspects() -> None:
    good = replace(
        values.FAULTY, verdict=Verdict(GOOD, "Every proof reading is within limits."), advice=Advice()
    )
    text = first(good)
    assert "Good. Every proof reading is within limits." in text
    assert "drive control" not in text
    assert "sign it off" in text


def test_the_remedy_takes_the_place_of_a_check_when_it_is_advised() -> None:
    advice = Advice(remedy=values.POT_WORN, remedy_reason="it is likely enough")
    text = first(replace(values.FAULTY, advice=advice))
    assert "Replace the drive control (driver): 35 min; one drive control." in text
    assert "It is likely enough." in text


def test_what_is_withheld_is_said_when_nothing_else_is_left() -> None:
    assert values.FAULTY.advice is not None
    held = Advice(withheld=values.FAULTY.advice.withheld)
    assert "What would tell more is not safe yet: read the plate voltage." in first(
        replace(values.FAULTY, advice=held)
    )


def test_top_decides_how_many_parts_and_checks_are_shown() -> None:
    text = report(values.FAULTY, View(values.WORDS, top=1), 80).text()
    assert "driver tube, low emission" not in text
    assert "  2. " not in text


def test_parts_without_blame_are_not_suspects() -> None:
    nobody = tuple(replace(part, blame=0.0) for part in values.FAULTY.parts)
    unknown = replace(
        values.FAULTY, parts=nobody, verdict=Verdict(OPEN, "Nothing was observed yet that counts.")
    )
    assert "of 100  " not in first(unknown)


def test_cautions_are_said_once_for_each_setup() -> None:
    text = report(values.FAULTY, PLAIN, 80).text()
    assert text.count("then discharge every filter capacitor") == 1
    assert text.count("your only guard") == 1


def test_bounds_are_never_called_exact() -> None:
    bounds = ((values.SCREEN.id, 0.0, 0.002), (values.POT_WORN.id, 0.4, 0.6))
    text = report(replace(values.FAULTY, exact=False, intervals=bounds), PLAIN, 80).text()
    assert "exact for this book" not in text
    assert "drive control: worn track (driver): 40 of 100 to 60 of 100" in text
    assert "screen dropping resistor: drifted high (final amplifier): " not in text  # too small to matter


def test_workings_show_every_state_that_is_possible() -> None:
    with_workings = report(values.FAULTY, View(values.WORDS, workings=True), 80).text()
    assert "likelihood: normal 1, low 0.021\n" in with_workings
    assert "likelihood" not in report(values.FAULTY, PLAIN, 80).text()


def test_the_contributions_of_an_account_add_up_on_the_screen() -> None:
    """+3.94 - 0.02 + 0.15 = +4.07 bits, shown as +4.1."""
    assert "    +4.1  in all: from 12 of 1000 to 53 of 100" in SCREENS["explained"].text()


def test_a_remark_on_many_readings_is_made_once() -> None:
    noted = tuple(replace(finding, notes=("read at 115 V of mains",)) for finding in values.FINDINGS[:4])
    text = report(replace(values.FAULTY, findings=noted), PLAIN, 80).text()
    assert text.count("ead at 115 V of mains") == 1
    assert "Read at 115 V of mains: 4 of these." in text


def test_outcomes_name_what_is_bad_and_keep_silent_on_the_rest() -> None:
    assert values.READ_POT.outcomes
    words = replace(
        values.WORDS, good={"driver.pot_jumps": "no"}, indications={"driver.pot_jumps": "the wiper jumps"}
    )
    text = report(values.FAULTY, View(words), 80).text()
    assert "55 of 100  the wiper jumps yes: then drive control leads with 97 of 100" in text
    assert "45 of 100  nothing abnormal: then driver tube leads with 48 of 100" in text


def test_a_check_that_would_change_nothing_says_so_in_one_line() -> None:
    outcomes = tuple(
        replace(outcome, leader_title="drive control", leader_blame=0.82 + 0.01 * n)
        for n, outcome in enumerate(values.READ_POT.outcomes)
    )
    check = replace(values.READ_POT, outcomes=outcomes)
    text = report(replace(values.FAULTY, advice=Advice(next=(check,))), PLAIN, 80).text()
    assert "Whatever it shows, drive control goes on leading." in text
    assert "then drive control" not in text


@pytest.mark.parametrize(
    ("limits", "sides", "said"),
    [
        ((0.0, 3.0), {"up"}, "up to 3 %"),
        ((85.0, 255.0), {"down"}, "85 % or more"),
        ((85.0, 255.0), {"up"}, "up to 255 %"),
        ((2.0, 5.0), {"down", "up"}, "2 to 5 %"),
    ],
)
def test_limits_are_told_on_the_sides_where_they_matter(
    limits: tuple[float, float], sides: set[str], said: str
) -> None:
    finding = replace(values.FINDINGS[3], limits=limits)
    words = replace(values.WORDS, sides={"hv.ripple": frozenset({"", *sides})})
    assert said in report(replace(values.FAULTY, findings=(finding,)), View(words), 80).text()


def test_a_danger_is_named_with_the_check_and_on_the_first_screen() -> None:
    live = replace(values.READ_POT, hazard="live high voltage")
    diagnosis = replace(values.FAULTY, advice=Advice(next=(live,)))
    assert "Live high voltage: see its cautions below." in " ".join(first(diagnosis).split())
    assert "ohmmeter, power off. Live high voltage." in " ".join(report(diagnosis, PLAIN, 80).text().split())


def test_checks_and_parts_of_stages_that_are_alike_are_told_apart_by_their_stage() -> None:
    """Two supplies have checks and parts of the same titles."""
    assert values.FAULTY.advice is not None
    alike = View(replace(values.WORDS, alike=frozenset({"driver", "final"})))
    text = " ".join(report(values.FAULTY, alike, 80).text().split())
    assert "Measure the drive control over its travel (driver): 6 min, and 9 min to set up." in text
    assert "It tells apart drive control (driver) and driver tube (driver); saves" in text
    assert "then drive control (driver) leads with 97 of 100" in text
    assert (
        "read the plate voltage (final amplifier) and read the screen voltage (final amplifier): not yet"
        in text
    )
    held = replace(values.FAULTY, advice=Advice(withheld=values.FAULTY.advice.withheld))
    assert "not safe yet: read the plate voltage (final amplifier)." in " ".join(first(held, alike).split())


def test_what_is_beyond_a_rating_is_named_on_the_first_screen() -> None:
    """Its title once, two of them at most; what is only near can wait."""
    assert "Beyond its limit today: heat in the plate; see below." in first(values.MEASURED)
    assert "Beyond" not in first(values.FAULTY)
    many = tuple(replace(values.HOT, title=f"figure {n // 2}") for n in range(8))
    text = first(replace(values.MEASURED, flags=many))
    assert "Beyond its limit today: figure 0, figure 1 and 2 more; see below." in text
    assert len(text.splitlines()) <= 24
