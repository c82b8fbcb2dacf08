"""A question says what yes and no mean wherever the sign is told by a negation."""

from __future__ import annotations

import re

import pytest

from diagnose.interview.answers import understood
from diagnose.interview.asking import question
from diagnose.interview.entries import observation_text
from diagnose.model.case import Observation
from diagnose.model.knowledge import Indication
from diagnose.render.words import words_of
from tests.interview.bench import assembly, book, course

NEGATION = re.compile(r"\b(?:no|not|never|without|none|nothing|cannot|neither)\b", re.IGNORECASE)


def negated() -> list[Indication]:
    """The signs of the book whose title holds a negation."""
    kinds = book().kinds.values()
    found = (one for kind in kinds for one in kind.indications.values() if one.sort == "symptom")
    return [one for one in found if NEGATION.search(one.title)]


def test_every_sign_told_by_a_negation_says_what_its_no_means() -> None:
    """And without a negation in that."""
    assert len(negated()) > 50
    for sign in negated():
        said = sign.states[0].title
        assert said.startswith("no, "), sign.id
        otherwise = said.removeprefix("no, ")
        assert not re.search(r"\b(?:not|never|without|cannot)\b", otherwise), (sign.id, otherwise)


@pytest.mark.parametrize("name", ["controls.relay_silent", "final.no_dip", "regulator.dark"])
def test_the_question_shows_both_answers(name: str) -> None:
    """As `y: it does not; n: it does`, and the record has them too."""
    now = course()
    step = next(now.step(check) for check, placed in now.assembly.checks.items() if name in placed.reveals)
    sign = now.assembly.indications[name].indication
    otherwise = sign.states[0].title.removeprefix("no, ")
    assert question(now, step, name).endswith(f"[y: {sign.title}; n: {otherwise}]")
    words = words_of(now.assembly)
    assert observation_text(now, Observation(name, state="no"), words).endswith(f": no, {otherwise}")
    assert observation_text(now, Observation(name, state="yes"), words).endswith(": yes")
    for line, state in (("y", "yes"), ("n", "no"), ("no", "no"), (otherwise, "no"), (sign.title, "yes")):
        meant = understood(line, name, now.assembly, now.case)
        assert meant.observation is not None
        assert meant.observation.state == state, line


def test_other_signs_are_asked_as_ever() -> None:
    """A plain yes or no."""
    now = course()
    step = next(
        now.step(c) for c, placed in now.assembly.checks.items() if "final.red_plates" in placed.reveals
    )
    assert question(now, step, "final.red_plates").endswith("[y/n]")
    assert assembly().indications["final.red_plates"].indication.states[0].title == ""
