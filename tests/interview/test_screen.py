"""What a turn shows: one screen, cautions in full once and then in short, and what was put off the list."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.interview.course import Course
from diagnose.interview.dangers import cautions, in_short
from diagnose.interview.screen import LINES, Turn, turn
from diagnose.interview.standing import standing
from diagnose.render.page import Page
from diagnose.render.words import words_of
from tests.interview.bench import book, course, entered


def weak(rig: str) -> Course:
    """A set with too little output, after one entry."""
    now = course(rig)
    power = next(name for name in now.assembly.rig.proof if name.endswith(".power"))
    return replace(now.enter(), earlier=now.standing).enter(
        entered(now, **{power.replace(".", "__"): "low"}).case.observations[-1]
    )


def shown(now: Course, check: str, said: tuple[str, ...] = (), *, whole: bool = False) -> list[str]:
    """The lines of the turn that begins a check."""
    step = now.step(check)
    page = Page(80)
    turn(page, Turn(now, words_of(now.assembly), step, step.names[0] if step.names else "", said, whole))
    return [line.plain for line in page.lines]


@pytest.mark.parametrize("rig", list(book().rigs))
def test_every_check_fits_on_one_screen(rig: str) -> None:
    """With its question and the prompt, from a bench where all is to be changed; where each caution is new too,
    one line more is let pass, because no new caution is ever cut."""
    now = weak(rig)
    bench = now.assembly.book.bench
    far = {group: list(setup.states)[-1] for group, setup in bench.setups.items()}
    for here in (now, now.amended(bench=far)):
        here.__dict__["standing"] = now.standing
        for check in here.assembly.checks:
            given = here.step(check).advised.cautions
            lines = shown(here, check, given)
            assert len(lines) < LINES, (check, *lines)
            assert len(shown(here, check)) <= LINES, check
            assert max(map(len, lines)) <= 80


def test_what_was_left_out_is_shown_on_demand() -> None:
    """A long procedure is cut to its beginning, and stands whole once more when it is asked for."""
    now = weak("gannet_60")
    cut = [id for id in now.assembly.checks if any("`again`" in line for line in shown(now, id))]
    assert cut
    for check in cut:
        whole = " ".join(" ".join(shown(now, check, whole=True)).split())
        assert " ".join(now.step(check).advised.how.split()) in whole


def test_new_cautions_are_never_cut() -> None:
    """Each stands in full the first time, whatever else has to give way."""
    now = weak("skua_150")
    for check in now.assembly.checks:
        text = " ".join(" ".join(shown(now, check)).split())
        for caution in now.step(check).advised.cautions:
            assert " ".join(caution.split()).rstrip(".") in text


def test_a_caution_is_given_in_full_once_and_then_in_short() -> None:
    """A new change of set-up brings it back by its beginning; without a change it is not said again."""
    now = course()
    step = now.step("final.read_plate_current")
    first = cautions(step, ())
    assert first
    again = cautions(step, step.advised.cautions)
    assert len(again) == len(first)
    assert all(full.startswith(short.rstrip(".")) for full, short in zip(first, again, strict=True))
    assert sum(map(len, again)) < sum(map(len, first))
    there = now.amended(bench=step.placed.check.setup)
    assert cautions(there.step("final.read_plate_current"), step.advised.cautions) == ()
    assert in_short("Lethal voltage. One hand stays in the pocket.") == "Lethal voltage."


def test_a_leader_that_fell_off_the_list_is_shown_with_its_fall() -> None:
    """So that what changed is seen, however short the list is."""
    now = weak("gannet_60")
    leader = now.standing.parts[0]
    for line in ("final.plate_current high", "final.grid_current absent"):
        name, state = line.split()
        then = entered(now, **{name.replace(".", "__"): state})
        page = Page(80)
        standing(page, then, 1)
        text = "\n".join(row.plain for row in page.lines)
        if then.standing.parts[0].id != leader.id:
            assert "-  " in text
            assert "down" in text


def test_what_waits_for_a_proof_is_told_beside_the_next_check() -> None:
    """Where live checks would tell more and something is not proven on this bench."""
    now = course()
    now = now.prove("fused", proven=False)
    now = entered(now, output_network__power="low")
    step = now.proposal
    assert step is not None
    page = Page(80)
    turn(page, Turn(now, words_of(now.assembly), step, step.names[0] if step.names else ""))
    text = " ".join(" ".join(row.plain for row in page.lines).split())
    assert now.standing.advice is not None
    assert now.standing.advice.withheld
    assert "`proven`: right fuse in the hot side of the primary" in text
