"""A check that only proves something, the slow first power of a stored set: done, not done, or not possible here."""

from __future__ import annotations

import pytest

from diagnose.interview.course import Course
from diagnose.interview.screen import LEAST, Turn, turn
from diagnose.model.case import Case
from diagnose.render.page import Page
from diagnose.render.words import words_of
from tests.interview.bench import course, entered
from tests.interview.test_session import Shelf, held

FACT, CHECK = "brought_up", "mains.bring_up"


def stored() -> Course:
    """A weak set from long storage, with all else proven."""
    return entered(course(history={"years_stored": 35}), output_network__power="low").prove(
        FACT, proven=False
    )


def answered(*lines: str) -> tuple[Case, str]:
    """The case and the screen after that check was taken and these lines were said."""
    now = stored()
    number = [step.id for step in now.options].index(CHECK) + 1
    session, shown = held(now, [f"take {number}", *lines], Shelf())
    return session.course.case, shown.partition("Done, and as in a good set?")[2]


def test_only_a_yes_proves_it() -> None:
    """Then live checks are let through."""
    case, _ = answered("y")
    assert FACT in case.safety
    assert case.cannot == ()


@pytest.mark.parametrize("line", ["cannot", "can't measure", "not possible"])
def test_what_cannot_be_done_is_left_out_and_proves_nothing(line: str) -> None:
    """Live checks stay held."""
    case, shown = answered(line)
    assert FACT not in case.safety
    assert case.cannot == (CHECK,)
    assert "Left out on this bench." in shown


@pytest.mark.parametrize("line", ["n", "no", "not sure", "?", "don't know", "skip", "later"])
def test_not_done_proves_nothing_and_leaves_it_to_be_done(line: str) -> None:
    """Nor is it left out: what was seen is asked for, and the question comes again."""
    case, shown = answered(line)
    assert FACT not in case.safety
    assert case.cannot == ()
    assert "It does not count as done. If something was wrong, pull the plug, and enter what you saw" in shown
    assert shown.count("Done, and as in a good set?") == 1


@pytest.mark.parametrize("line", ["5", "perhaps not quite", "yesterday"])
def test_other_words_prove_nothing(line: str) -> None:
    """They are not understood."""
    case, shown = answered(line)
    assert FACT not in case.safety
    assert case.cannot == ()
    assert "`" in shown


def test_when_to_pull_the_plug_is_never_cut() -> None:
    """However little room there is for the procedure."""
    now = stored()
    step = now.step(CHECK)
    page = Page(80)
    turn(page, Turn(now, words_of(now.assembly), step, room=LEAST))
    shown = " ".join(page.text().split())
    assert "More of it: `again`." in shown
    for sign in ("smoke or smell", "a lamp that stays bright", "a red plate", "missing bias"):
        assert sign in shown
