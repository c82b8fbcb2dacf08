"""The methods of class C against published working points, and the page that shows every deviation.

The points are those of the tube data that give their drive: makers' sheets, known from memory unless the row
names a source. No figure of a point enters its own prediction.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.circuits import class_c
from tests.circuits.class_c_rows import Point, all_points, checked, checks, computed, figures_from, found_by
from tests.circuits.class_c_table import TABLES, spreads
from tests.circuits.tables import root_mean_square
from tests.circuits.tube_rows import characteristics

POINTS = [pytest.param(point, id=f"{point.tube} {point.name}") for point in checked()]
# What the spreads of the page stand for in the results of a method.
RESULT = {
    "plate_input": "plate_input", "output": "output", "efficiency": "efficiency", "loss": "plate_dissipation",
    "screen_current": "screen_current", "grid_current": "grid_current", "peak_grid_voltage": "peak_grid_voltage",
    "screen_voltage": "screen_voltage",
}  # fmt: skip
METHOD = {
    "screen grid": "class_c_amplifier", "screen grid, drive from grid current": "class_c_amplifier",
    "triode": "class_c_triode", "triode, drive from grid current": "class_c_triode",
    "screen behind its resistor": "class_c_dropped_screen",
}  # fmt: skip
SPREADS = [pytest.param(*row, id=f"{row[0]} {row[1]}") for row in spreads()]


def test_there_are_enough_points_of_enough_tubes() -> None:
    """At least thirty points of at least ten types, screen-grid tubes and triodes."""
    points = list(checked())
    assert len(points) >= 30
    assert len({point.tube for point in points}) >= 10
    assert {point.triode for point in points} == {True, False}


@pytest.mark.parametrize(("title", "name", "off"), SPREADS)
def test_the_stated_uncertainty_is_what_was_measured(title: str, name: str, off: list[float]) -> None:
    """Not less than the root mean square of the deviations, and not much more: 15 percent and a hundredth."""
    methods = {method.id: method for method in class_c.METHODS}
    stated = methods[METHOD[title]].results[RESULT[name]].within
    measured = root_mean_square(off)
    assert measured <= stated <= 1.15 * measured + 0.01


def test_most_screen_grid_tubes_agree_within_ten_percent() -> None:
    """Two thirds of the points in input and output, nine tenths in efficiency; triodes only in efficiency."""
    for name, share in (("plate_input", 2 / 3), ("output", 2 / 3), ("efficiency", 0.9)):
        off = [check.astray(name) for check in checks() if not check.point.triode]
        assert sum(abs(value) <= 0.10 for value in off) >= share * len(off), name
    assert all(abs(check.astray("efficiency")) <= 0.10 for check in checks() if check.point.triode)


def test_deviations_balance() -> None:
    """No quantity of the screen-grid tubes is high or low on the whole by more than 4 percent."""
    for name in ("plate_input", "output", "efficiency", "screen_current", "grid_current"):
        off = [check.astray(name) for check in checks() if not check.point.triode]
        assert abs(sum(off) / len(off)) < 0.04, name


@pytest.mark.parametrize("point", POINTS)
def test_nothing_of_a_point_enters_its_own_prediction(point: Point) -> None:
    """The same volts and drive with currents and output of their own say the same: only the others count."""
    others = [other for other in all_points(point.tube) if other != point]
    (check,) = (check for check in checks() if check.point == point)
    made = computed(replace(point, plate_current=9.9, screen_current=9.9, output=9.9), figures_from(others))
    assert made == check.made


@pytest.mark.parametrize("point", POINTS)
def test_a_point_comes_back_from_its_own_figures(point: Point) -> None:
    """With the figures that it gives itself, its currents come out as published: the finding is sound."""
    found = found_by(point)
    figures = {name: value for name, value in vars(found).items() if value is not None}
    made = computed(point, figures)
    assert made["plate_current"] == pytest.approx(point.plate_current, rel=1e-6)
    assert made["grid_current"] == pytest.approx(point.grid_current, rel=1e-3)
    if not point.triode:
        assert made["screen_current"] == pytest.approx(point.screen_current, rel=1e-3)


def test_equal_tubes_have_equal_figures() -> None:
    """A 1625 is an 807 with another heater: what their points say apart agrees within 5 percent."""
    for name, value in characteristics("807").items():
        assert characteristics("1625")[name] == pytest.approx(value, rel=0.05), name


def test_the_page_shows_what_is_computed_now() -> None:
    """Make it anew with `python -m tests.circuits.class_c_table --write`."""
    page = TABLES.page.read_text(encoding="utf-8")
    assert page.count("<!-- table: ") == len(TABLES.makers)
    assert TABLES.made_anew(page) == page
