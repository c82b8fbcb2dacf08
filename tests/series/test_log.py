"""What is taken as a drift log, and what is refused with which words."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from diagnose.series.log import CannotFit, checked, last_digit

TIMES = [0.0, 300.0, 900.0, 1800.0, 3600.0]
HERTZ = [7000000.0, 6999700.0, 6999500.0, 6999420.0, 6999400.0]


def refusal(**columns: Any) -> str:
    """The reason why a log is refused."""
    given_columns = {"time": TIMES, "frequency": HERTZ, **columns}
    with pytest.raises(CannotFit) as error:
        checked(**given_columns)
    return str(error.value)


@pytest.mark.parametrize(
    ("columns", "reason"),
    [
        ({"time": TIMES[:4]}, "4 times and 5 frequencies do not go together"),
        ({"time": TIMES[:3], "frequency": HERTZ[:3]}, "3 readings are too few: 4 are the least"),
        (
            {"time": [0.0, 300.0, 200.0, 1800.0, 3600.0]},
            "the time of reading 3 is earlier than the one before it",
        ),
        ({"time": [5.0] * 5}, "all readings stand at one time"),
        ({"time": [0.0, 1.0, math.nan, 3.0, 4.0]}, "the time of reading 3 is no usable number"),
        ({"frequency": [*HERTZ[:4], 0.0]}, "the frequency of reading 5 is not above zero"),
        ({"frequency": [*HERTZ[:4], math.inf]}, "the frequency of reading 5 is no usable number"),
        ({"frequency": [*HERTZ[:4], "seven"]}, "the column of frequency holds something that is no number"),
        ({"frequency": [[1.0, 2.0]] * 5}, "the column of frequency is not one row of numbers"),
        ({"mains": [117.0] * 4}, "4 figures of line voltage do not go with 5 readings"),
        ({"mains": [117.0, 116.0, 118.0, 0.0, 117.0]}, "the line voltage of reading 4 is not above zero"),
        ({"mains": [117.0, 116.0, 1118.0, 117.0, 117.0]}, "the line voltage of reading 3 is far from 117 V"),
        (
            {"temperature": [20.0, 21.0, math.inf, 23.0, 24.0]},
            "the temperature of reading 3 is no usable number",
        ),
        ({"resolution": 0.0}, "the resolution must be above zero"),
        ({"time": range(20001), "frequency": [7e6] * 20001}, "20001 readings are more than 20000"),
    ],
)
def test_what_cannot_be_fitted_is_refused_with_its_reason(columns: dict[str, Any], reason: str) -> None:
    """Each refusal names the reading, so that the person can put it right."""
    assert refusal(**columns).startswith(reason)


def test_a_gap_in_the_line_voltage_is_filled_from_its_neighbours() -> None:
    """By time, not by number; and it is counted."""
    log = checked(TIMES, HERTZ, mains=[116.0, math.nan, 118.0, 118.0, 117.0])
    assert log.mains is not None
    assert log.mains[1] == pytest.approx(116.0 + 2.0 / 3.0)
    assert log.filled == 1
    assert checked(TIMES, HERTZ, mains=[math.nan] * 5).mains is None


def test_two_readings_at_one_time_are_allowed() -> None:
    """A second look at the counter is a second reading."""
    assert len(checked([0.0, 0.0, 60.0, 60.0], HERTZ[:4])) == 4


@example(step=0.1, counts=[0, 0, 0, 0])  # 7000000.1 - 7000000.0 is a little less than 0.1
@given(st.sampled_from([100.0, 10.0, 1.0, 0.1]), st.lists(st.integers(0, 5000), min_size=4, max_size=50))
def test_the_last_digit_is_found_in_the_readings(step: float, counts: list[int]) -> None:
    """Readings that are all multiples of a power of ten were read to it, or to a multiple of it."""
    hertz = 7e6 + step * np.array([*counts, counts[0] + 1], dtype=np.float64)
    assert last_digit(hertz) == pytest.approx(step)


def test_readings_that_were_never_rounded_have_next_to_no_last_digit() -> None:
    """Computed figures bring no rounding into the fit."""
    assert last_digit(7e6 + np.random.default_rng(1).normal(0, 100, 50)) < 1e-6
    assert last_digit(np.full(5, 7e6)) == 1.0
