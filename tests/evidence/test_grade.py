"""The likelihood of a state against numerical integration of its definition."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.evidence.grade import (
    good_limits,
    likelihoods,
    report_likelihoods,
    softened,
    with_tolerance,
)
from diagnose.model.knowledge import State

STATES = (
    State("normal", around=(1.0, 0.05)),
    State("absent", "over", between=(0.0, 0.05)),
    State("low", "down", between=(0.05, 0.9)),
    State("high", "up", between=(1.1, 2.5)),
)


def integral(state: State, value: float, uncertainty: float) -> float:
    """The integral of p(reading | v) p(v | state) over v by the trapezoid rule."""
    grid = np.linspace(-1.0, 4.0, 400_001)
    reading = np.exp(-0.5 * ((value - grid) / uncertainty) ** 2) / (uncertainty * math.sqrt(2 * math.pi))
    if state.around is not None:
        mean, deviation = state.around
        spread = np.exp(-0.5 * ((grid - mean) / deviation) ** 2) / (deviation * math.sqrt(2 * math.pi))
    else:
        assert state.between is not None
        low, high = state.between
        spread = ((grid >= low) & (grid <= high)) / (high - low)
    return float(np.trapezoid(reading * spread, grid))


@given(st.floats(0.02, 2.4), st.floats(0.01, 0.2))
def test_likelihood_is_the_integral(value: float, uncertainty: float) -> None:
    """Closed forms equal the integral, up to the common scale."""
    found = likelihoods(STATES, value, uncertainty)
    wanted = [integral(state, value, uncertainty) for state in STATES]
    top = max(wanted)
    assert max(found) == 1.0
    for mine, truth in zip(found, wanted, strict=True):
        assert mine == pytest.approx(truth / top, abs=2e-3)


def test_twenty_of_fifty_five_watts_is_low_output() -> None:
    """Common practice: where a chart gives 55 W, 20 W is low and nothing else."""
    found = likelihoods(STATES, 20 / 55, 0.05 * 20 / 55)
    assert found[2] == 1.0
    assert found[0] < 1e-6


def test_a_wide_band_is_not_favoured() -> None:
    """Just inside the good band the good state wins although the low band is far wider."""
    found = likelihoods(STATES, 0.92, 0.03)
    assert found[0] > found[2]


def test_far_off_the_chart_counts_for_the_nearest_state() -> None:
    """A reading beyond every spread still grades."""
    found = likelihoods(STATES, 40.0, 0.4)
    assert found == (0.0, 0.0, 0.0, 1.0)


def test_tolerance_of_a_chart_row_moves_the_edges() -> None:
    """A row with its own tolerance moves the good band and leaves the far edges alone."""
    moved = with_tolerance(STATES, 0.1, 0.2)
    assert moved[0].around == pytest.approx((1.0, 0.1))
    assert moved[1].between == (0.0, 0.05)
    assert moved[2].between == pytest.approx((0.05, 0.8))
    assert moved[3].between == pytest.approx((1.2, 2.5))
    assert good_limits(moved) == pytest.approx((0.8, 1.2))


@given(st.integers(2, 6), st.floats(0.5, 1.0), st.data())
def test_reports_keep_the_odds_of_being_right(count: int, right: float, data: st.DataObject) -> None:
    """The reported state stands to all the others as right stands to wrong."""
    said = data.draw(st.integers(0, count - 1))
    found = report_likelihoods(count, said, right)
    others = sum(found) - found[said]
    assert found[said] * (1 - right) == pytest.approx(others * right)
    assert max(found) == pytest.approx(1.0)


def test_second_hand_readings_exclude_nothing() -> None:
    """A reading that may be wrong leaves every state possible."""
    assert softened((1.0, 0.0), 0.8) == pytest.approx((1.0, 0.2))
    assert softened((1.0, 0.0), 1.0) == (1.0, 0.0)
