"""To which part work was done: offered by the words of the work, and nothing said meanwhile is lost."""

from __future__ import annotations

import pytest

from diagnose.interview.course import Course
from diagnose.interview.keeping import Keeping
from diagnose.interview.session import Session
from diagnose.interview.touched import MOST, touched
from diagnose.interview.verbs import VERBS
from diagnose.interview.which_one import elsewhere
from tests.interview.bench import course, dialogue, entered
from tests.interview.test_session import Shelf, held


def weak() -> Course:
    """A set with too little output."""
    return entered(course(), output_network__power="low")


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("set the bias to 55 mA", "modulator.bias_setting"),
        ("adjusted the modulator bias", "modulator.bias_setting"),
        ("recapped the HV supply", "hv.output_capacitor"),
        ("changed the 6146s", "final.final_tube"),
        ("soldered a cold joint in the VFO", "vfo.tank_joint"),
        ("put in a fresh 6146 in the final", "final.final_tube"),
    ],
)
def test_the_parts_are_offered_by_the_words_of_the_work(said: str, part: str) -> None:
    """By stage, title, remedy or the type of the tubes; what was picked is noted."""
    now = weak()
    found = [entry.name for entry in touched(said, now.assembly)]
    assert part in found
    assert len(found) <= MOST == 8
    _, shown = held(now, [f"did {said}"])
    title = next(e.title for e in touched(said, now.assembly) if e.name == part)
    assert "To which part was it done? 1 " in shown
    assert title in shown


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("recapped the HV supply", "hv."),
        ("changed the 6146s", "final.final_tube"),
        ("soldered a cold joint in the VFO", "vfo.tank_joint"),
        ("put in a fresh 6146 in the final", "final.final_tube"),
    ],
)
def test_the_best_comes_first(said: str, part: str) -> None:
    """What shares most with the words."""
    assert touched(said, weak().assembly)[0].name.startswith(part)


def test_a_reading_there_is_entered_after_the_question() -> None:
    """It is said so, and it is not lost; the question stands meanwhile."""
    session, shown = held(weak(), ["did changed the 6146s", "modulator.idle_current = 55 mA", "1"])
    case = session.course.case
    assert [work.parts for work in case.work] == [("final.final_tube",)]
    assert (case.observations[-1].name, case.observations[-1].value) == ("modulator.idle_current", 55.0)
    assert case.observations[-1].period == 1
    assert "is no answer to this question" in shown


def test_new_work_there_is_new_work() -> None:
    """Never words to search by; what was said before is kept without a part."""
    session, shown = held(weak(), ["did polished the knobs", "did changed the 6146s", "1"])
    assert [(work.did, work.parts) for work in session.course.case.work] == [
        ("polished the knobs", ()),
        ("changed the 6146s", ("final.final_tube",)),
    ]
    assert "Entered: work, polished the knobs." in shown


def test_the_end_may_be_said_there() -> None:
    """The work is kept, and the interview is over."""
    spoken, _ = dialogue(["did changed the 6146s", "finish"])
    session = Session(spoken, weak(), Keeping(spoken, Shelf()), VERBS, elsewhere)
    session.run(fresh=False)
    assert session.over
    assert [work.did for work in session.course.case.work] == ["changed the 6146s"]
