"""Checks that everything is connected, each on a book in which one thing is not."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.review import reach
from diagnose.review.survey import Check
from tests.review.books import RIG, STAGE, after, found, line_of, rule, told, without

ALL: tuple[Check, ...] = (
    reach.hidden_causes,
    reach.unexplained_indications,
    reach.unrevealed_indications,
    reach.empty_checks,
    reach.causes_without_remedy,
    reach.rules_without_place,
)


@pytest.mark.parametrize("check", ALL, ids=lambda check: check.__name__)
def test_a_sound_book_has_nothing_to_find(check: Check, tmp_path: Path) -> None:
    assert found(check, tmp_path) == []


def test_a_cause_that_shows_nowhere(tmp_path: Path) -> None:
    stage = without(STAGE, "gassing-heats:")
    (problem,) = found(reach.hidden_causes, tmp_path, stage)
    assert told(problem) == (
        "lantern.yaml",
        line_of(stage, "gassing:"),
        "hidden-cause",
        "no indication can reveal cell.gassing on every rig",
    )
    assert (problem.level, problem.suggestion) == ("error", "add a rule from {cell: gassing}")


def test_a_cause_that_ruins_another_shows_by_it(tmp_path: Path) -> None:
    """Only through the part it ruins, and only if that one shows."""
    holder = (
        "  holder: {title: holder, remedy: {do: clean it, minutes: 1, works: 9 of 10},"
        " modes: {wet: {title: wet, prior: 1 of 100}}}\n"
    )
    ruins = rule("wet-ruins", "holder wet", "cell gassing", "3 of 10").replace("to:", "damages:")
    stage = after(after(STAGE, "parts", holder), "rules", ruins)
    assert found(reach.hidden_causes, tmp_path / "a", stage) == []
    silent = found(reach.hidden_causes, tmp_path / "b", without(stage, "gassing-heats:"))
    assert {problem.text.split()[4] for problem in silent} == {"holder.wet", "cell.gassing"}


def test_an_indication_that_nothing_explains(tmp_path: Path) -> None:
    """The unnamed fault of a stage explains anything and therefore does not count."""
    stage = without(STAGE, "low-dims:") + "unnamed: {prior: 4 of 1000, pushes: 3 of 10}\n"
    (problem,) = found(reach.unexplained_indications, tmp_path, stage)
    assert told(problem) == (
        "lantern.yaml",
        line_of(stage, "dim:"),
        "unexplained-indication",
        "nothing explains dim but its leak",
    )


def test_an_indication_that_no_check_reveals(tmp_path: Path) -> None:
    stage = STAGE.replace("reveals: [dim, hot]", "reveals: [dim]")
    (problem,) = found(reach.unrevealed_indications, tmp_path, stage)
    assert told(problem) == (
        "lantern.yaml",
        line_of(stage, "hot:"),
        "unrevealed-indication",
        "no check reveals hot on every rig",
    )


def test_a_check_that_reveals_only_what_nothing_explains(tmp_path: Path) -> None:
    stage = without(STAGE, "flat-sags:")
    (problem,) = found(reach.empty_checks, tmp_path, stage)
    assert told(problem) == (
        "lantern.yaml",
        line_of(stage, "read:"),
        "idle-check",
        "the check read reveals only what nothing explains",
    )


def test_a_check_that_proves_the_bench_safe_need_not_reveal(tmp_path: Path) -> None:
    stage = without(STAGE, "flat-sags:").replace(
        "instrument: voltmeter, minutes: 2", "instrument: voltmeter, minutes: 2, proves: bleeder_proven"
    )
    assert found(reach.empty_checks, tmp_path, stage) == []


def test_a_cause_without_a_remedy(tmp_path: Path) -> None:
    stage = without(STAGE, "remedy:").replace(
        "{title: flat, prior: 1 of 10}",
        "{title: flat, prior: 1 of 10, remedy: {do: charge it, minutes: 60, works: 8 of 10}}",
    )
    (problem,) = found(reach.causes_without_remedy, tmp_path, stage)
    assert told(problem) == (
        "lantern.yaml",
        line_of(stage, "gassing:"),
        "no-remedy",
        "nothing is said to put cell.gassing right",
    )


def test_rules_that_apply_on_no_rig_are_told_once_for_the_kind(tmp_path: Path) -> None:
    idle = rule("arc-a", "cell flat", "hot yes", "8 of 10", more=", when: {lamp: arc}")
    idle += rule("arc-b", "cell flat", "dim yes", "8 of 10", more=", when: {lamp: arc}")
    stage = after(STAGE, "rules", idle)
    (problem,) = found(reach.rules_without_place, tmp_path / "a", stage)
    assert problem.level == "note"
    assert problem.text == "2 of 5 rules of lantern apply on no rig of the book: arc-a, arc-b"
    lit = RIG.replace("{kind: lantern, title: light}", "{kind: lantern, title: light, features: {lamp: arc}}")
    assert found(reach.rules_without_place, tmp_path / "b", stage, lit) == []
