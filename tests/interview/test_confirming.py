"""The cause that was found, noted for the record: offered after the cure, or at a word."""

from __future__ import annotations

import pytest

from diagnose.interview.confirming import SURE, found_by_work
from diagnose.interview.course import Course
from diagnose.interview.keeping import Keeping
from diagnose.interview.record import record_of
from diagnose.interview.session import Session
from diagnose.interview.verbs import VERBS
from diagnose.interview.which_one import elsewhere
from tests.interview.bench import course, dialogue, entered
from tests.interview.test_session import Shelf, held

TUBE = "final.final_tube.weak"
SAID = "Final tube (final amplifier): weak (low emission)"


def cured(*, sure: bool = True) -> Course:
    """A set that a new final tube put right; `sure` says whether the tube was convicted before."""
    signs = {"final__heater_drop_sinks_output": "y"} if sure else {}
    now = entered(course("kestrel_30"), output_network__power="19 W", final__plate_current="64 mA", **signs)
    now = now.did("new final tube", ["final.final_tube"])
    good = {name.replace(".", "__"): "normal" for name in now.to_prove}
    return entered(now, **(good | {"output_network__power": "30 W"}))


def test_what_the_work_convicted_is_offered() -> None:
    """Only where the part was surely bad and nothing is wrong any more."""
    now = cured()
    found = found_by_work(now)
    assert [repair.cause for repair in found] == [TUBE]
    assert found[0].bad_before > SURE
    assert found_by_work(entered(now, final__plate_current="64 mA")) == ()
    assert found_by_work(now.confirm(TUBE)) == ()


@pytest.mark.parametrize("answer", ["y", "Yes."])
def test_a_yes_notes_it_in_the_case(answer: str) -> None:
    """It is written, stands in the record, and the final readings are listed with it."""
    shelf = Shelf()
    session, shown = held(cured(), [answer, "record"], shelf)
    assert f"Note it as the confirmed cause? {SAID} [y/n]" in shown
    assert shelf.kept[-1].confirmed == (TUBE,)
    assert session.course.case.confirmed == (TUBE,)
    assert f"Confirmed cause: {SAID}" in shown
    assert "The final readings that prove the set" in shown


def test_a_no_notes_nothing_and_is_not_asked_again() -> None:
    """Nor does anything that is no answer; that is taken as if it had been said at the prompt."""
    shelf = Shelf()
    _, shown = held(cured(), ["n", "again"], shelf)
    assert shown.count("Note it as the confirmed cause?") == 1
    assert shelf.kept == []
    session, _ = held(cured(), ["hv.voltage = 500 V"], shelf)
    assert session.course.case.confirmed is None
    assert session.course.case.observations[-1].name == "hv.voltage"


def test_it_can_be_said_at_any_time_and_taken_back() -> None:
    """By the part's name or number; the likeliest way in which it failed is noted."""
    now = entered(course("kestrel_30"), final__heater_drop_sinks_output="y", final__plate_current="low")
    session, shown = held(now, ["confirm final tube"])
    assert session.course.case.confirmed == (TUBE,)
    assert f"Confirmed: {SAID}." in shown
    last = len(record_of(session.course.case))
    session, _ = held(session.course, [f"strike {last}"])
    assert session.course.case.confirmed is None
    _, shown = held(now, ["confirm", "confirm xyzzy"])
    assert "Say which part it was" in shown
    assert "No part of this rig goes by `xyzzy`." in shown


def test_it_changes_nothing_in_the_diagnosis() -> None:
    """It is for the record; the ranking is that of the readings."""
    now = cured()
    before = {cause.id: cause.blame for cause in now.standing.causes}
    assert {cause.id: cause.blame for cause in now.confirm(TUBE).standing.causes} == before


@pytest.mark.parametrize("line", ["not sure", "?", "62", "normal"])
def test_what_does_not_answer_it_is_no_answer_to_what_is_asked_next(line: str) -> None:
    """That question was not on the screen yet."""
    shelf = Shelf()
    session, _ = held(cured(), [line], shelf)
    assert session.course.case.confirmed is None
    assert session.course.case.observations == cured().case.observations
    assert shelf.kept == []


def test_finish_ends_it_there() -> None:
    """Nothing more is asked."""
    spoken, stream = dialogue(["finish", "n"])
    session = Session(spoken, cured(), Keeping(spoken, Shelf()), VERBS, elsewhere)
    session.run(fresh=False)
    assert "Note it as the confirmed cause?" in stream.getvalue()
    assert "Next" not in stream.getvalue().partition("confirmed cause?")[2]
