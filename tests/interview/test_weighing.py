"""Why one question is asked: what its own answers would do, and not what the check does as a whole."""

from __future__ import annotations

import pytest

from diagnose.interview.course import Course
from diagnose.interview.weighing import MOVES, weighed
from diagnose.model.case import Observation
from tests.interview.bench import course, entered
from tests.interview.test_session import held


def weak() -> Course:
    """A set with too little output."""
    return entered(course(), output_network__power="low")


def blames(now: Course) -> dict[str, float]:
    """The blame of each part."""
    return {part.id: part.blame for part in now.standing.parts}


@pytest.mark.parametrize("name", ["final.grid_current", "final.screen_voltage", "hv.voltage"])
def test_what_an_answer_is_said_to_move_is_what_it_moves(name: str) -> None:
    """As if it had been entered; chances add up to one, and the likeliest comes first."""
    now = weak()
    before = blames(now)
    rows = weighed(now, name)
    chances = [row.chance for row in rows if row.chance is not None]
    assert sum(chances) == pytest.approx(1.0)
    assert chances == sorted(chances, reverse=True)
    assert {row.state for row in rows} == {s.id for s in now.assembly.indications[name].indication.states}
    for row in rows:
        then = blames(now.enter(Observation(name, state=row.state)))
        for part, change in (*row.up, *row.down):
            assert then.get(part.id, 0.0) - before.get(part.id, 0.0) == pytest.approx(change, abs=1e-9)
            assert abs(change) >= MOVES
        assert all(change > 0 for _, change in row.up)
        assert all(change < 0 for _, change in row.down)


def test_what_was_answered_before_is_left_aside() -> None:
    """A second look is weighed against all else."""
    now = weak()
    again = entered(now, final__grid_current="low")
    assert [(row.state, row.chance) for row in weighed(again, "final.grid_current")] == [
        (row.state, pytest.approx(row.chance)) for row in weighed(now, "final.grid_current")
    ]


def test_grounds_speaks_of_the_question_and_of_the_check_when_asked() -> None:
    """Two questions of one check are not explained alike."""
    now = weak()
    number, step = next((n, s) for n, s in enumerate(now.options, 1) if len(s.names) > 1)
    _, first = held(now, [f"take {number}", "grounds"])
    _, second = held(now, [f"take {number}", "not sure", "grounds"])
    _, whole = held(now, [f"take {number}", "grounds check"])
    words = first.split("> grounds")[1], second.split("> grounds")[1]
    assert words[0] != words[1]
    for said in words:
        assert "A good set shows: " in said
        assert "It is one question of the check" in said
        assert "bits of what is still open" not in said
    assert "bits of what is still open" in whole or "Your own choice" in whole
    assert step.advised.title[1:20] in whole
