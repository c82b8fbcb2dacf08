"""Checks and questions that several stages share say which stage is meant."""

from __future__ import annotations

from collections import Counter

import pytest

from diagnose.interview.asking import question
from diagnose.interview.reasons import others
from diagnose.interview.same_named import check_title
from diagnose.interview.screen import Turn, turn
from diagnose.render.page import Page
from diagnose.render.words import words_of
from tests.interview.bench import assembly, book, course


@pytest.mark.parametrize("rig", list(book().rigs))
def test_no_two_checks_and_no_two_questions_of_a_rig_read_the_same(rig: str) -> None:
    """Each is told from all others by its words alone."""
    now, known = course(rig), assembly(rig)
    titles = Counter(check_title(known, id, placed.check.title) for id, placed in known.checks.items())
    assert [title for title, number in titles.items() if number > 1] == []
    asked = Counter(
        question(now, now.step(id), name) for id, check in known.checks.items() for name in check.reveals[:1]
    )
    names = {check.reveals[0] for check in known.checks.values() if check.reveals}
    assert len(asked) == len(names)


def test_the_turn_and_the_list_name_the_stage() -> None:
    """The line of the check, its question, and `others`."""
    now = course()
    words = words_of(now.assembly)
    for stage in ("hv", "lv"):
        step, title = now.step(f"{stage}.look_at_filter"), now.assembly.rig.stages[stage].title
        page = Page(80)
        turn(page, Turn(now, words, step, f"{stage}.capacitor_bulged"))
        shown = " ".join(" ".join(line.plain for line in page.lines).split())
        assert f"{title.capitalize()}: Is a filter capacitor bulged" in shown
        page = Page(80)
        turn(page, Turn(now, words, step, step.names[0]))
        shown = " ".join(" ".join(line.plain for line in page.lines).split())
        assert f"Look at the filter capacitors and their polarity ({title})" in shown
    page = Page(80)
    others(page, [now.step("hv.rail_cold"), now.step("lv.rail_cold")], now, words)
    shown = " ".join(" ".join(line.plain for line in page.lines).split())
    for stage in ("hv", "lv"):
        assert f"Measure the rail to chassis, cold ({now.assembly.rig.stages[stage].title})" in shown


def test_what_only_one_stage_has_is_called_as_before() -> None:
    """No stage is added where nothing is to be told apart."""
    known = assembly()
    assert check_title(known, "final.red_plates", "look") == "look"
