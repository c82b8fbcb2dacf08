"""Checks of proportion: budgets and charts."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.files.read_book import load_book
from diagnose.review import figures
from diagnose.review.checks import CHECKS, counts, review
from diagnose.review.survey import survey
from tests.review.books import RIG, STAGE, found, told, without
from tests.small_book import read_small, write_book


def test_a_rig_outside_its_budget(tmp_path: Path) -> None:
    """0.2 expected faults by hand, and 2 of 1000 for the unnamed one: right for a restored set (0.2 to 0.5), far too few for a stored one."""
    (problem,) = found(figures.broken_budgets, tmp_path)
    assert told(problem)[:3] == ("marker.yaml", 1, "budget")
    assert problem.level == "error"
    assert "0.20 faults are expected in marker from long storage, but the budget is 2 to 5" in problem.text


def test_the_rig_of_a_shop_outside_its_budget_wants_a_look_only(tmp_path: Path) -> None:
    """A small rig of few parts cannot have the faults of a whole transmitter; the budgets were made for those."""
    rules = write_book(tmp_path / "rules", {"lantern.yaml": STAGE, "marker.yaml": RIG})
    shop = tmp_path / "shop"
    shop.mkdir()
    (shop / "mine.yaml").write_text(RIG.replace("rig: marker", "rig: mine"), encoding="utf-8")
    book, problems = load_book(rules, shop)
    assert book is not None, problems
    levels = {Path(p.place.file).name: p.level for p in figures.broken_budgets(survey(book))}
    assert levels == {"marker.yaml": "error", "mine.yaml": "warning"}


def test_the_table_follows_the_history(tmp_path: Path) -> None:
    stage = STAGE.replace(
        "{title: flat, prior: 1 of 10}",
        "{title: flat, prior: 1 of 10, history: [{when: {years_stored: {at_least: 20}}, prior: 6 of 10}]}",
    )
    book = read_small(tmp_path, {"lantern.yaml": stage, "marker.yaml": RIG})
    faults = {line.budget.id: line.faults for line in figures.budget_table(survey(book))}
    unnamed = 2 / 1000  # of the stage, where nothing is said
    assert faults == pytest.approx({"restored": 0.2 + unnamed, "long_storage": 0.7 + unnamed})


def test_splitting_a_part_with_its_prior_changes_no_budget(tmp_path: Path) -> None:
    """Describing a rig more finely must not make it sicker."""
    split = STAGE.replace(
        "      gassing: {title: gassing, prior: 1 of 10}\n",
        "      gassing: {title: gassing, prior: 1 of 20}\n      swollen: {title: swollen, prior: 1 of 20}\n",
    )
    tables = [
        [
            line.faults
            for line in figures.budget_table(
                survey(read_small(tmp_path / name, {"a.yaml": text, "r.yaml": RIG}))
            )
        ]
        for name, text in (("whole", STAGE), ("split", split))
    ]
    assert tables[0] == pytest.approx(tables[1])


def test_a_quantity_without_a_row_in_the_chart(tmp_path: Path) -> None:
    (problem,) = found(figures.missing_chart_rows, tmp_path, rig=without(RIG, "chart:"))
    assert told(problem) == (
        "marker.yaml",
        1,
        "no-chart-row",
        "the chart of marker has no value for light.voltage",
    )
    assert problem.level == "note"


COMPUTED = """\
values: {series: {title: series resistor, unit: kohm}, shunt: {title: shunt resistor, unit: kohm}}
quantities:
  feed: {title: feed, ask: What feeds it?, unit: V, grading: level, tolerance: 10 %}
  voltage:
    title: cell voltage
    ask: What does it read?
    unit: V
    grading: level
    tolerance: 10 %
    computed:
      by: bias_divider
      gives: grid_voltage
      from: {supply_voltage: feed, series_resistance: {value: series}, shunt_resistance: {value: shunt}}
"""


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (", values: {series: 1 kohm, shunt: 2 kohm}", None),
        (
            "",
            "the chart of marker has no value for light.voltage "
            "(not computed: resistor from the supply to the tap: the series resistor is not known)",
        ),
    ],
)
def test_what_the_parts_say_needs_no_row(tmp_path: Path, values: str, said: str | None) -> None:
    """A divider whose resistors the rig tells gives the voltage without a row; else what is missing is told."""
    stage = without(STAGE, "quantities:").replace("symptoms:", COMPUTED + "symptoms:", 1)
    rig = RIG.replace("title: light}", f"title: light{values}}}").replace("light.voltage", "light.feed")
    problems = found(figures.missing_chart_rows, tmp_path, stage=stage, rig=rig)
    assert [problem.text for problem in problems] == ([said] if said else [])


def test_the_review_holds_every_check_once_in_file_order(tmp_path: Path) -> None:
    stage = without(STAGE, "gassing-heats:")
    made = review(read_small(tmp_path, {"lantern.yaml": stage, "marker.yaml": RIG}))
    places = [problem.place for problem in made.problems]
    assert places == sorted(places)
    assert {problem.id for problem in made.problems} == {
        "hidden-cause",
        "unexplained-indication",
        "budget",
    }
    assert len(CHECKS) == len(set(CHECKS))


def test_what_the_book_holds_is_counted(tmp_path: Path) -> None:
    """What the lantern adds to what the bench has of its own."""
    bench = counts(read_small(tmp_path / "bench", {}))
    held = counts(read_small(tmp_path / "lantern", {"lantern.yaml": STAGE, "marker.yaml": RIG}))
    names = ("parts", "causes", "indications", "checks", "rules", "rigs")
    assert {name: held[name] - bench[name] for name in names} == {
        "parts": 1,
        "causes": 2,
        "indications": 3,
        "checks": 2,
        "rules": 3,
        "rigs": 1,
    }
