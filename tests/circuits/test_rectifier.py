"""Rectifiers: the laws of their drop, and that the tube data says of each what the method wants."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.circuits.method import CannotCompute
from diagnose.circuits.rectifier import RECTIFIERS, VACUUM, law_of
from tests.circuits.tube_rows import number, rows, source

VOLTS, AMPS = st.floats(1.0, 200.0), st.floats(0.01, 2.0)
KINDS = st.sampled_from(RECTIFIERS)
TYPES = [tube for tube, row in rows().items() if "rectifier" in row["kind"] or "rectifier" in row["title"]]


@given(KINDS, VOLTS, AMPS)
def test_the_published_drop_comes_back(kind: str, volts: float, amps: float) -> None:
    """At the current at which it was published."""
    assert law_of(kind, volts, amps, 0.1).drop(amps) == pytest.approx(volts)


@given(KINDS, VOLTS, AMPS, st.floats(1.0, 10.0))
def test_more_current_is_never_less_drop(kind: str, volts: float, amps: float, factor: float) -> None:
    """And a threshold and a resistance never take more than in proportion."""
    law = law_of(kind, volts, amps, 0.1)
    assert law.drop(amps) <= law.drop(amps * factor) <= factor * law.drop(amps) * (1.0 + 1e-12)


@given(VOLTS, AMPS)
def test_the_three_halves_power_law(volts: float, amps: float) -> None:
    """Four times the volts, eight times the current (Child 1911, Langmuir 1913)."""
    assert law_of(VACUUM, volts, amps, 0.1).drop(8.0 * amps) == pytest.approx(4.0 * volts)


@given(KINDS, VOLTS, AMPS, st.integers(1, 6), st.integers(1, 4))
def test_series_and_parallel(kind: str, volts: float, amps: float, series: int, parallel: int) -> None:
    """Drops add in series, currents in parallel."""
    one = law_of(kind, volts, amps, 0.1)
    many = one.joined(series, parallel)
    assert many.drop(parallel * amps) == pytest.approx(series * one.drop(amps))


@pytest.mark.parametrize(("kind", "volts"), [("mercury_vapour", 15.0), ("silicon", 0.9), ("selenium", 1.0)])
def test_a_rectifier_without_figures(kind: str, volts: float) -> None:
    """Has the usual drop of its kind: an arc, a diode at 1 A, a plate at the load of its stack (from memory)."""
    at = 1.0 if kind == "silicon" else 0.2
    assert law_of(kind, None, None, 0.2).drop(at) == pytest.approx(volts)


@pytest.mark.parametrize(("volts", "amps"), [(None, None), (50.0, None), (None, 0.2)])
def test_a_vacuum_rectifier_has_no_usual_drop(volts: float | None, amps: float | None) -> None:
    """It needs both figures of the published drop."""
    with pytest.raises(CannotCompute, match="needs its drop"):
        law_of(VACUUM, volts, amps, 0.2)


def test_an_arc_holds_its_drop() -> None:
    """15 V of an 83 whatever the current (makers' sheets of the 83, as quoted in the tube data's source)."""
    drop = rows()["83"]["drop"]
    law = law_of("mercury_vapour", number("volts", drop["volts"]), number("current", drop["at"]), 0.1)
    assert law.drop(0.02) == law.drop(1.0) == 15.0


@pytest.mark.parametrize("tube", TYPES)
def test_each_rectifier_of_the_tube_data_has_its_drop(tube: str) -> None:
    """Volts at a current per plate, no more than the tube's peak or output current, with a source."""
    row = rows()[tube]
    volts, amps = number("volts", row["drop"]["volts"]), number("current", row["drop"]["at"])
    assert 5.0 <= volts <= 100.0
    ratings = row["ratings"]
    most = number("peak_current", ratings.get("peak_current", "1 A"))
    assert 0.0 < amps <= most
    assert source(tube, "drop")
    kind = "mercury_vapour" if row["kind"].startswith("mercury") else "vacuum"
    assert law_of(kind, volts, amps, 0.1).drop(amps) == pytest.approx(volts)


def test_there_are_rectifiers() -> None:
    """The list above is not empty, and nothing that drops is left out of it."""
    assert len(TYPES) >= 10
    assert {tube for tube, row in rows().items() if "drop" in row} == set(TYPES)
