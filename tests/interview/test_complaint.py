"""The complaint that a case brings along is looked up in the signs when the interview opens it."""

from __future__ import annotations

import pytest

from diagnose.interview.dialogue import Ended
from diagnose.interview.intake import intake
from tests.interview.bench import course, dialogue, entered
from tests.interview.test_session import held


def test_words_of_a_hand_written_case_are_offered_as_signs() -> None:
    """The person confirms which of them is meant, and who found it."""
    session, shown = held(course(about="weak output on 20 meters", mains=117.0), ["1", "owner"])
    assert "The case says: weak output on 20 meters." in shown
    assert [(o.name, o.state, o.told_by) for o in session.course.case.observations] == [
        ("output_network.power", "low", "owner")
    ]
    session, _ = held(course(about="weak output", mains=117.0), ["none"])
    assert session.course.case.observations == ()
    session, _ = held(course(about="weak output", mains=117.0), ["1", "skip"])
    assert session.course.case.observations == ()


def test_what_fits_nothing_is_said() -> None:
    """And the words are kept."""
    session, shown = held(course(about="xyzzy"), [])
    assert "Nothing in this rig's signs goes by these words." in shown
    assert session.course.case.about == "xyzzy"


def test_they_are_not_offered_where_something_is_known_already() -> None:
    """An observation, or work; nor is the note of how the rig was chosen taken for a complaint."""
    begun = course(about="weak output")
    for now in (
        entered(begun, final__plate_current="low"),
        begun.did("cleaned it"),
        course(about="another set, taken as gannet_60 (In which modes does it work: cw)"),
        course(),
    ):
        _, shown = held(now, [])
        assert "The case says" not in shown


def test_that_nothing_is_wrong_is_said_to_be_no_sign() -> None:
    """No list of signs is offered, and the interview goes on."""
    session, shown = held(course(about="nothing wrong with it, routine check"), [])
    assert "Then nothing of it is a sign." in shown
    assert "Is it one of these?" not in shown
    assert session.course.case.observations == ()


@pytest.mark.parametrize("line", ["?", "not sure", "don't know", "skip"])
def test_not_being_sure_which_sign_was_meant_enters_none(line: str) -> None:
    """It is not looked up as words of a complaint."""
    session, shown = held(course(about="weak output", mains=117.0), [line])
    assert session.course.case.observations == ()
    assert "Nothing in this rig's signs goes by these words." not in shown


def test_skip_goes_straight_to_the_safety_of_the_bench() -> None:
    """Also where a sign is to be picked."""
    spoken, stream = dialogue(["weak output", "skip", "y"])
    with pytest.raises(Ended):
        intake(spoken, course(safe=False), lambda change: change(course(safe=False)))
    shown = stream.getvalue()
    assert "Proven on this bench now?" in shown
    assert "Anything else?" not in shown
