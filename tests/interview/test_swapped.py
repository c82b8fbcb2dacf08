"""A known good part was put in and the sign stayed: it falls out of the leading parts, in whatever way it was said."""

from __future__ import annotations

import pytest

from diagnose.interview.closing import remedies
from diagnose.interview.course import Course
from diagnose.interview.standing import leaders
from diagnose.model.case import Observation
from diagnose.render.page import Page
from tests.interview.bench import course, entered

TUBE = "final.final_tube"
RIGS = ("gannet_60", "petrel_90")
WEAK = {"output_network__power": "low", "final__plate_current": "low"}
SINKS = {"final__heater_drop_sinks_output": "y"}  # it speaks of the tube alone


def blame(now: Course) -> float:
    """Of the final tube."""
    return next((part.blame for part in now.standing.parts if part.id == TUBE), 0.0)


def swapped(now: Course) -> Course:
    """The check that tries a known good tube, without success."""
    return now.enter(Observation("final.spare_restores", "no"), check="final.swap_final_tube")


@pytest.mark.parametrize("rig", RIGS)
@pytest.mark.parametrize("cures", [(), (f"{TUBE}.weak",), (f"{TUBE}.tired",)])
def test_a_tube_that_was_replaced_leads_no_more(rig: str, cures: tuple[str, ...]) -> None:
    """As work, whichever way of failing it was the remedy of: it was the same remedy."""
    before = entered(course(rig), **WEAK)
    after = entered(before.did("put in a known good final tube", [TUBE], cures=cures), **WEAK)
    assert blame(before) > 0.07
    assert blame(after) < 0.02
    assert TUBE not in [part.id for part in leaders(after.standing)]


@pytest.mark.parametrize("rig", RIGS)
def test_a_tube_that_was_tried_leads_no_more(rig: str) -> None:
    """As a check; no other way of failing comes up in the place of the one that led."""
    before = entered(course(rig), **WEAK)
    after = swapped(before)
    assert TUBE not in [part.id for part in leaders(after.standing)]
    modes = {cause.id: cause.blame for cause in before.standing.causes if cause.part == TUBE}
    for cause in after.standing.causes:
        if cause.part == TUBE:
            assert cause.blame <= modes[cause.id]


@pytest.mark.parametrize("rig", RIGS)
def test_a_sign_of_the_tube_itself_is_held_against_a_swap_that_did_not_help(rig: str) -> None:
    """The spare may be bad too (7 of 100); a second one settles it. No other way of failing gains by it."""
    before = entered(course(rig), **WEAK, **SINKS)
    once = swapped(before)
    tired = {
        now: next(c.blame for c in now.standing.causes if c.id == f"{TUBE}.tired") for now in (before, once)
    }
    assert blame(once) < 0.75 * blame(before)
    assert tired[once] < 0.4
    twice = entered(once.did("put in another final tube", [TUBE]), **WEAK)
    assert blame(twice) < 0.2
    assert leaders(twice.standing)[0].id != TUBE


def test_a_part_that_was_tried_is_proposed_with_a_word_on_that() -> None:
    """Where it still leads, for what points at it."""
    now = swapped(entered(course(), **WEAK, **SINKS))
    page = Page(80)
    remedies(page, now)
    shown = " ".join(" ".join(line.plain for line in page.lines).split())
    assert leaders(now.standing)[0].id == TUBE
    assert "a known good one was tried and did not help" in shown
    assert now.tried_in_vain == {TUBE}
    helped = entered(course(), **WEAK, final__spare_restores="y")
    assert not helped.tried_in_vain
