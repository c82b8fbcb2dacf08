"""Jumps and misread figures: those that are there are found, and scatter and wandering are not taken for them.

The rates stated here are those of the docstrings and of docs/drift.md; the seeds are fixed, so that each is a
plain fact about the program and no matter of luck.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.series.breaks import FEWEST_FOR_JUMPS
from diagnose.series.drift import fit_drift
from tests.series.logs import HOUR, MINUTE, Truth, every, fit, truths

HUNDRED = range(100)


@pytest.mark.parametrize("count", [8, 12, 25, 60, 200])
def test_pure_scatter_shows_jumps_in_fewer_than_one_log_of_fifty(count: int) -> None:
    """The threshold is set for one false alarm, of jump or misread figure, in five hundred."""
    time = np.linspace(0.0, 2 * HOUR, count)
    alarms = 0
    for seed in range(150):
        found = fit_drift(time, np.random.default_rng(seed).normal(7e6, 5.0, count))
        alarms += bool(found.jumps) or bool(found.misread)
    assert alarms < 3


@pytest.mark.parametrize("count", [12, 25, 60, 200])
def test_a_warm_up_in_two_parts_is_not_taken_for_jumps(count: int) -> None:
    """A tube that settles in two minutes and a box that wants half an hour make one smooth curve."""
    truth = Truth(warm_up=-500.0, tau=1900.0, quick=-250.0, scatter=2.0)
    alarms = sum(bool(fit(truth, np.linspace(0, 2 * HOUR, count), seed).jumps) for seed in HUNDRED)
    assert alarms <= 5


@pytest.mark.parametrize(("count", "most"), [(25, 10), (100, 10), (300, 5)])
def test_a_frequency_that_wanders_seldom_shows_jumps(count: int, most: int) -> None:
    """A random walk is made of steps, none of which stands out from the rest."""
    time = np.linspace(0.0, 2 * HOUR, count)
    alarms = 0
    for seed in HUNDRED:
        walk = np.cumsum(np.random.default_rng(seed).normal(0.0, 5.0, count))
        alarms += bool(fit_drift(time, Truth(scatter=1.0).log(time, seed) + walk).jumps)
    assert alarms <= most


@pytest.mark.parametrize(
    ("count", "size", "least"), [(12, 100.0, 85), (25, 60.0, 85), (120, 30.0, 90), (400, 15.0, 80)]
)
def test_a_jump_is_found_where_it_is(count: int, size: float, least: int) -> None:
    """At a random place, either way, with its size within two or three uncertainties."""
    time = np.linspace(0.0, 2 * HOUR, count)
    found = within = 0
    for seed in HUNDRED:
        rng = np.random.default_rng(seed)
        place = int(rng.integers(4, count - 4))
        step = size * float(rng.choice([-1.0, 1.0]))
        jumps = fit(Truth(jumps=((time[place], step),)), time, seed).jumps
        middle = (time[place - 1] + time[place]) / 2.0
        hits = [jump for jump in jumps if jump.time == pytest.approx(middle)]
        found += bool(hits)
        within += bool(hits) and abs(hits[0].size.value - step) < 2.0 * hits[0].size.uncertainty
    assert found >= least
    assert within >= 0.85 * found


@given(
    truths.filter(lambda truth: truth.scatter >= 1.0),
    st.integers(0, 10_000),
    st.floats(0.15, 0.85),
    st.floats(25.0, 200.0),
    st.booleans(),
)
def test_a_jump_that_is_added_is_found_and_moves_little_else(
    truth: Truth, seed: int, at: float, times: float, up: bool
) -> None:
    """A step of 25 deviations or more, anywhere but the ends, in the log that was fitted without it."""
    time = every(2, 2)
    size = times * truth.scatter * (1.0 if up else -1.0)
    when = at * time[-1]
    hertz = truth.log(time, seed)
    before, after = fit_drift(time, hertz), fit_drift(time, hertz + np.where(time >= when, size, 0.0))
    (near,) = (jump for jump in after.jumps if abs(jump.time - when) <= MINUTE)
    assert near.size.value == pytest.approx(size, abs=8.0 * truth.scatter)
    assert after.jump_number - before.jump_number in (0, 1)
    assert after.warm_up.value == pytest.approx(
        before.warm_up.value,
        abs=8.0 * (truth.scatter + before.warm_up.uncertainty + after.warm_up.uncertainty),
    )


@pytest.mark.parametrize("count", [60, 200])
def test_three_jumps_are_counted(count: int) -> None:
    """Up, down and up again, an odd half hour apart."""
    time = np.linspace(0.0, 2 * HOUR, count)
    truth = Truth(jumps=((32 * MINUTE, 120.0), (61 * MINUTE, -80.0), (93 * MINUTE, 200.0)))
    found = fit(truth, time)
    assert found.jump_number == 3
    assert found.largest_jump is not None
    assert found.largest_jump.value == pytest.approx(200.0, abs=10.0)
    assert found.warm_up.value == pytest.approx(-600.0, abs=4 * found.warm_up.uncertainty)


@pytest.mark.parametrize("error", [-900.0, 10000.0, 63e6])
def test_a_misread_digit_is_left_out_and_moves_nothing(error: float) -> None:
    """One reading written down with a wrong digit, or a figure too many."""
    time = every(2, 2)
    hertz = Truth().log(time, 4)
    clean = fit_drift(time, hertz)
    hertz[20] += error
    found = fit_drift(time, hertz)
    assert found.misread == (20,)
    assert found.readings == len(time) - 1
    assert not found.jumps
    assert found.warm_up.value == pytest.approx(clean.warm_up.value, abs=clean.warm_up.uncertainty)
    assert found.residual.value == pytest.approx(clean.residual.value, abs=clean.residual.uncertainty)


def test_the_last_digit_of_the_counter_is_no_jump() -> None:
    """Read to 100 Hz, a slow drift goes over by one digit at a time."""
    time = every(2, 3)
    for seed in range(20):
        hertz = np.round(Truth(warm_up=-150.0, residual=40.0).log(time, seed) / 100.0) * 100.0
        assert not fit_drift(time, hertz).jumps


def test_a_step_over_a_long_pause_is_told_but_not_counted() -> None:
    """Nobody looked for an hour: it may have drifted there."""
    time = np.concatenate([every(2, 1), every(2, 1) + 2 * HOUR])
    truth = Truth(warm_up=0.0, jumps=((1.5 * HOUR, 400.0),))
    found = fit(truth, time)
    assert not found.jumps
    assert "between minute 60 and minute 120 the frequency moved by +" in " ".join(found.cannot_tell)


def test_too_few_readings_for_jumps_say_so() -> None:
    """The largest jump is then unknown, not zero."""
    time = np.linspace(0.0, 2 * HOUR, FEWEST_FOR_JUMPS - 1)
    found = fit(Truth(), time)
    assert found.largest_jump is None
    assert "7 readings are too few to look for jumps" in found.cannot_tell


@given(truths, st.integers(0, 1000))
def test_without_a_jump_the_least_that_would_be_seen_is_told(truth: Truth, seed: int) -> None:
    """Zero, give or take half of what would have been found; it grows with the scatter."""
    found = fit(truth, every(3, 2), seed)
    if not found.jumps:
        assert found.largest_jump is not None
        assert found.largest_jump.value == 0.0
        assert truth.scatter < 2.0 * found.largest_jump.uncertainty < 60.0 * truth.scatter
