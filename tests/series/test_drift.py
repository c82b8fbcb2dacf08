"""The fit of a drift log: figures recovered within their uncertainties, laws of scale, and never a crash."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import replace
from random import Random
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.series.drift import CannotFit, DriftFit, Figure, fit_drift
from tests.series.logs import HOUR, MINUTE, Array, Truth, every, fit, truths

TABLE = MINUTE * np.array([0, 5, 15, 30, 60, 90, 120])  # the times of a drift table written by hand


def off(figure: Figure, true: float) -> float:
    """By how many of its uncertainties a figure is off."""
    return abs(figure.value - true) / figure.uncertainty


def random_log(seed: int, count: int) -> tuple[Truth, Array]:
    """An oscillator and the times of its log, drawn at random."""
    rng = np.random.default_rng(seed)
    truth = Truth(
        warm_up=600.0 * rng.normal(),
        tau=math.exp(rng.uniform(math.log(150.0), math.log(2000.0))),
        residual=float(rng.choice([0.0, 100.0 * rng.normal()])),
        scatter=math.exp(rng.uniform(0.0, math.log(15.0))),
    )
    span = rng.uniform(1.5 * HOUR, 3 * HOUR)
    uneven = np.concatenate([[0.0], np.sort(rng.uniform(0.0, span, count - 1))])
    return truth, np.linspace(0.0, span, count) if rng.random() < 0.5 else uneven


@pytest.mark.parametrize(("count", "least"), [(7, 0.90), (12, 0.91), (30, 0.93), (120, 0.93)])
def test_stated_uncertainties_hold(count: int, least: float) -> None:
    """Two uncertainties hold the truth in about 95 of 100 logs, of each figure."""
    within: dict[str, list[bool]] = {"warm_up": [], "residual": [], "time_constant": []}
    for seed in range(150):
        truth, time = random_log(seed, count)
        found = fit(truth, time, seed + 1000)
        within["warm_up"].append(off(found.warm_up, truth.warm_up) < 2.0)
        within["residual"].append(off(found.residual, truth.residual) < 2.0)
        if found.time_constant is not None:
            within["time_constant"].append(off(found.time_constant, truth.tau) < 2.0)
    for name, held in within.items():
        assert np.mean(held) >= least, name


@given(truths, st.integers(0, 10_000))
def test_figures_are_recovered(truth: Truth, seed: int) -> None:
    """Whatever the oscillator does, a log of two hours and a reading every two minutes shows it."""
    found = fit(truth, every(2, 2), seed)
    give = 2.0 * truth.scatter
    assert found.warm_up.value == pytest.approx(truth.warm_up, abs=give + 6.0 * found.warm_up.uncertainty)
    assert found.residual.value == pytest.approx(truth.residual, abs=give + 6.0 * found.residual.uncertainty)
    assert found.scatter == pytest.approx(truth.scatter, rel=0.5)
    assert found.mains is None
    assert found.per_volt is None
    assert found.per_degree is None


def test_a_table_written_by_hand_is_enough_for_the_warm_up() -> None:
    """Seven readings, to the hertz."""
    found = fit_drift(TABLE, np.round(Truth().log(TABLE, 2)))
    assert off(found.warm_up, -600.0) < 2.0
    assert found.warm_up.uncertainty < 40.0
    assert found.time_constant is not None
    assert off(found.time_constant, 1200.0) < 2.0
    assert off(found.residual, 0.0) < 2.0


def test_a_tube_warm_before_its_box_is_no_residual_drift() -> None:
    """Two parts of a warm-up are both warm-up, and the slope after them is told."""
    for seed in range(10):
        found = fit(Truth(warm_up=-500.0, tau=1900.0, quick=-250.0, residual=30.0), every(2, 3), seed)
        assert off(found.warm_up, -750.0) < 4.0
        assert off(found.residual, 30.0) < 4.0
        assert abs(found.residual.value) < 90.0


def test_a_frequency_at_rest_is_told_to_be_so() -> None:
    """All figures zero, to the last digit of the counter; and from scatter alone, zero within it."""
    rest = fit_drift(every(5, 2), np.full(25, 7e6))
    assert rest.warm_up.value == rest.residual.value == rest.scatter == 0.0
    assert 0.0 < rest.warm_up.uncertainty < 1.0
    assert rest.time_constant is None
    scatter = fit(Truth(warm_up=0.0), every(2, 2))
    assert abs(scatter.warm_up.value) < 2.0
    assert scatter.warm_up_seen < 0.3
    assert abs(scatter.residual.value) < 2.0


def test_what_never_settles_has_a_slope_and_no_warm_up() -> None:
    """A box that dries for hours creeps on at one rate."""
    found = fit(Truth(warm_up=0.0, residual=900.0, scatter=10.0), every(3, 3))
    assert off(found.residual, 900.0) < 3.0
    assert found.residual_seen > 0.99
    assert abs(found.warm_up.value) < 3.0 * found.warm_up.uncertainty + 5.0


def test_a_short_run_says_that_it_is_short() -> None:
    """A quarter of an hour tells little of the end, and its figures say so."""
    found = fit(Truth(tau=2400.0), every(0.5, 0.25))
    assert found.cannot_tell[0] == (
        "the run of 15 minutes is too short to tell the warm-up from the residual drift"
    )
    assert off(found.warm_up, -600.0) < 3.0
    assert off(found.residual, 0.0) < 3.0
    long = fit(Truth(tau=2400.0), every(3, 4))
    assert long.warm_up.uncertainty < 0.3 * found.warm_up.uncertainty
    assert not any("too short" in said for said in long.cannot_tell)


def test_four_readings_say_that_they_are_few() -> None:
    """The least that is fitted; the slope that cannot be told widens the warm-up."""
    few = TABLE[[0, 2, 4, 6]]
    found = fit(Truth(), few)
    assert "4 readings are too few to tell the warm-up from the residual drift" in found.cannot_tell
    assert off(found.warm_up, -600.0) < 3.0
    with pytest.raises(CannotFit, match="3 readings are too few"):
        fit(Truth(), few[:3])


def test_the_mains_is_told_from_time() -> None:
    """A set that follows the line by 8 Hz per volt, the line wandering by a volt or two."""
    time = every(2, 2)
    rng = np.random.default_rng(3)
    volts = 117.0 + 1.5 * np.sin(time / 800.0) + rng.normal(0.0, 0.3, len(time))
    hertz = Truth(jumps=((HOUR, 90.0),)).log(time, 5) + 8.0 * (volts - 117.0)
    found = fit_drift(time, hertz, volts)
    assert found.per_volt is not None
    assert found.mains is not None
    assert off(found.per_volt, 8.0) < 3.0
    assert found.mains.coefficient > 0.8
    assert found.mains.chance < 1e-6
    assert found.jump_number == 1
    assert off(found.warm_up, -600.0) < 3.0


def test_a_step_of_the_line_is_the_lines_and_no_jump() -> None:
    """The line falls by five volts half way, and the frequency with it."""
    time = every(2, 2)
    volts = np.where(time < HOUR, 119.0, 114.0) + np.random.default_rng(1).normal(0, 0.2, len(time))
    hertz = Truth().log(time, 8) + 20.0 * (volts - 117.0)
    assert fit_drift(time, hertz).jump_number == 1
    found = fit_drift(time, hertz, volts)
    assert found.jump_number == 0
    assert found.per_volt is not None
    assert off(found.per_volt, 20.0) < 3.0


def test_an_oscillator_that_does_not_follow_the_mains_shows_none() -> None:
    """Correlation with the line at less than one in a hundred comes about once in a hundred logs."""
    time = every(2, 2)
    seen = 0
    for seed in range(100):
        volts = 117.0 + np.random.default_rng(seed + 500).normal(0.0, 1.0, len(time))
        found = fit_drift(time, Truth().log(time, seed), volts)
        assert found.mains is not None
        seen += found.mains.chance < 0.01
    assert seen <= 4


@pytest.mark.parametrize(
    ("volts", "said"),
    [
        (np.full(61, 117.0), "the line voltage hardly moved: its part is not told"),
        (
            np.linspace(119.0, 115.0, 61),
            "the line voltage moved with time alone: its part is in the warm-up and the residual drift",
        ),
        (None, "no line voltage in the log: its part is not told"),
    ],
)
def test_a_line_voltage_that_tells_nothing_says_why(volts: Array | None, said: str) -> None:
    """The figure is then absent and not zero."""
    found = fit_drift(every(2, 2), Truth().log(every(2, 2), 1), volts)
    assert found.per_volt is None
    assert found.mains is None
    assert said in found.cannot_tell


def test_the_temperature_coefficient_is_found_with_and_without_the_warm_up() -> None:
    """In a room that changes it stands beside the warm-up, in the box it takes its place."""
    time = every(2, 3)
    room = 21.0 + 3.0 * np.sin(time / 900.0)
    beside = fit_drift(time, Truth().log(time, 3) - 25.0 * (room - 21.0), None, room)
    assert beside.per_degree is not None
    assert off(beside.per_degree, -25.0) < 3.0
    assert off(beside.warm_up, -600.0) < 3.0
    box = 21.0 + 18.0 * (1 - np.exp(-time / 1500.0)) + np.random.default_rng(2).normal(0, 0.05, len(time))
    inside = fit_drift(
        time, 7e6 - 30.0 * (box - 21.0) + np.random.default_rng(4).normal(0, 3, len(time)), None, box
    )
    assert inside.per_degree is not None
    assert inside.per_degree.value == pytest.approx(-30.0, abs=0.5)
    assert any("holds the warm-up as well" in said for said in inside.cannot_tell)


def test_readings_that_hang_together_count_as_fewer() -> None:
    """With neighbours correlated at 0.8 the residual drift is known three times worse, and says so."""
    time = every(1, 2)
    held = []
    ratios = []
    for seed in range(60):
        rng = np.random.default_rng(seed)
        noise = np.zeros(len(time))
        for place in range(1, len(time)):
            noise[place] = 0.8 * noise[place - 1] + rng.normal(0.0, 3.0)
        found = fit_drift(time, Truth(residual=60.0).at(time) + noise)
        held.append(off(found.residual, 60.0) < 2.0)
        ratios.append(found.residual.uncertainty / fit(Truth(residual=60.0), time, seed).residual.uncertainty)
    assert np.mean(held) > 0.85
    assert np.median(ratios) > 2.5


def close(one: DriftFit, other: DriftFit, rel: float = 1e-4) -> None:
    """Two fits say the same."""
    for name in ("warm_up", "time_constant", "residual", "largest_jump", "per_volt", "per_degree"):
        a, b = getattr(one, name), getattr(other, name)
        assert (a is None) == (b is None), name
        if a is not None:
            assert a.value == pytest.approx(b.value, abs=rel * (b.uncertainty + abs(b.value)) + 1e-9), name
            assert a.uncertainty == pytest.approx(b.uncertainty, rel=100 * rel), name
    assert [jump.time for jump in one.jumps] == [jump.time for jump in other.jumps]
    assert one.misread == other.misread
    assert one.scatter == pytest.approx(other.scatter, rel=1e-3)


@given(truths, st.integers(0, 1000), st.floats(-2e6, 2e6), st.floats(-1e5, 1e5))
def test_only_differences_matter(truth: Truth, seed: int, aside: float, later: float) -> None:
    """Another frequency or another time of day, the same movements: the same figures."""
    time = every(4, 2)
    hertz = truth.log(time, seed)
    close(fit_drift(time + later, hertz + aside, resolution=0.01), fit_drift(time, hertz, resolution=0.01))


@given(truths, st.integers(0, 1000), st.randoms(use_true_random=False))
def test_readings_at_one_time_may_stand_in_any_order(truth: Truth, seed: int, shuffler: Random) -> None:
    """Only time orders a log: three readings at each time are the same three whichever was written first."""
    time = np.repeat(every(8, 2), 3)
    hertz = truth.log(time, seed)
    groups = [list(group) for group in hertz.reshape(-1, 3)]
    for group in groups:
        shuffler.shuffle(group)
    mixed = np.array(groups).reshape(-1)
    one, other = (fit_drift(time, readings, resolution=0.01) for readings in (hertz, mixed))
    assert one.warm_up.value == pytest.approx(other.warm_up.value, abs=0.5 * one.warm_up.uncertainty)
    assert one.residual.value == pytest.approx(other.residual.value, abs=0.5 * one.residual.uncertainty)
    assert one.scatter == pytest.approx(other.scatter, rel=0.05)


@given(st.floats(1e5, 3e7), st.integers(4, 60), st.floats(0.1, 5.0), st.booleans())
def test_a_frequency_that_stands_still_has_no_drift(
    frequency: float, count: int, hours: float, mains: bool
) -> None:
    """Whatever the line does meanwhile; and no jump, no warm-up to tell the time constant of."""
    time = np.linspace(0.0, hours * HOUR, count)
    volts = 117.0 + np.random.default_rng(count).normal(0.0, 1.0, count) if mains else None
    found = fit_drift(time, np.full(count, frequency), volts)
    assert found.warm_up.value == pytest.approx(0.0, abs=1e-6)
    assert found.residual.value == pytest.approx(0.0, abs=1e-6)
    assert found.jumps == ()
    assert found.misread == ()
    assert found.time_constant is None
    assert found.per_volt is None or found.per_volt.value == pytest.approx(0.0, abs=1e-6)


def test_a_creep_that_wanders_a_little_still_creeps() -> None:
    """430 Hz an hour with slow waves of 15 Hz on it are no warm-up with a time constant of an hour and a half."""
    time = every(5, 3)
    for seed in range(10):
        waves = 15.0 * np.sin(2.1 * time / HOUR + 0.4)
        hertz = Truth(warm_up=-380.0, tau=1080.0, residual=-430.0, scatter=4.0).log(time, seed) + waves
        found = fit_drift(time, hertz)
        assert found.residual.value == pytest.approx(-430.0, abs=60.0)
        assert found.residual.uncertainty < 40.0


@given(truths, st.integers(0, 1000), st.sampled_from([0.5, 2.0, 4.0, 6.0, 8.0]))
def test_movements_grow_with_the_multiplication(truth: Truth, seed: int, times: float) -> None:
    """A log taken at the output is that of the oscillator multiplied; parts per million stay."""
    time = every(4, 2)
    hertz = truth.log(time, seed)
    here = fit_drift(time, hertz, resolution=0.01)
    there = here.at_output(times)
    close(fit_drift(time, hertz * times, resolution=0.01 * times), there)
    assert there.multiplication == times
    assert there.ppm(there.warm_up).value == pytest.approx(here.ppm(here.warm_up).value)
    close(there.at_output(1.0 / times), here, rel=1e-9)


@pytest.mark.parametrize("times", [0.0, -2.0, math.inf, math.nan])
def test_a_multiplication_is_a_number_above_zero(times: float) -> None:
    """Anything else would put the figures to nothing without a word."""
    with pytest.raises(ValueError, match="above zero"):
        fit(Truth(), every(5, 2)).at_output(times)


@given(st.integers(2, 6), st.integers(0, 100))
def test_two_readings_at_one_time_are_two_readings(reads: int, seed: int) -> None:
    """Reading the counter more often at the same times makes the figures surer and not others."""
    time = np.repeat(every(6, 2), reads)
    found = fit(Truth(residual=50.0), time, seed)
    assert off(found.warm_up, -600.0) < 6.0
    assert off(found.residual, 50.0) < 6.0


def finite(value: Any) -> bool:
    """Whether all numbers in a result are numbers."""
    if isinstance(value, float):
        return math.isfinite(value)
    if isinstance(value, tuple):
        return all(finite(one) for one in value)
    if dataclasses.is_dataclass(value):
        return all(finite(getattr(value, field.name)) for field in dataclasses.fields(value))
    return True


numbers = st.one_of(
    st.floats(),
    st.floats(0.0, 1e4),
    st.integers(0, 10).map(float),
    st.floats(6.9e6, 7.1e6),
)
times = st.one_of(st.floats(0.0, 1e4), st.integers(0, 5).map(float))
hertzes = st.one_of(st.floats(6.9e6, 7.1e6), st.sampled_from([7e6, 7e6 + 10.0, 7e6 + 1000.0, 7e5]))


@settings(max_examples=300)
@given(st.data(), st.integers(0, 30), st.booleans())
def test_a_log_is_fitted_or_refused_and_never_ends_in_a_crash(
    data: st.DataObject, count: int, sane: bool
) -> None:
    """Any numbers at all: every figure of a fit is a number, and a refusal has a reason."""

    def column(values: st.SearchStrategy[float]) -> list[float]:
        return data.draw(st.lists(values, min_size=count, max_size=count))

    time = sorted(column(times)) if sane else column(numbers)
    hertz = column(hertzes if sane else numbers)
    volts = data.draw(st.none() | st.just(column(st.floats(110.0, 125.0) | st.just(math.nan))))
    degrees = data.draw(st.none() | st.just(column(st.floats(10.0, 40.0))))
    try:
        found = fit_drift(time, hertz, volts, degrees)
    except CannotFit as refusal:
        assert str(refusal)  # noqa: PT017 - both ways out are right; what is wrong is a third
        return
    assert finite(found)
    assert found.warm_up.uncertainty > 0.0
    assert found.residual.uncertainty > 0.0
    assert 0.0 <= found.warm_up_seen <= 1.0
    assert 0.0 <= found.residual_seen <= 1.0
    assert found.readings + len(found.misread) == count


@given(truths, st.integers(4, 60), st.integers(0, 1000))
def test_input_is_left_alone(truth: Truth, count: int, seed: int) -> None:
    """The arrays of the caller are not changed."""
    time = np.linspace(0.0, 2 * HOUR, count)
    hertz = truth.log(time, seed)
    before = time.copy(), hertz.copy()
    fit_drift(time, hertz)
    assert np.array_equal(time, before[0])
    assert np.array_equal(hertz, before[1])


def test_two_thousand_readings_are_fitted() -> None:
    """A logger that reads every few seconds."""
    time = np.linspace(0.0, 3 * HOUR, 2000)
    found = fit(replace(Truth(), residual=-40.0, jumps=((2 * HOUR, 25.0),)), time)
    assert off(found.warm_up, -600.0) < 3.0
    assert off(found.residual, -40.0) < 3.0
    assert found.jump_number == 1


@given(st.integers(0, 100))
def test_a_drift_that_falls_is_one_that_rises_turned_over(seed: int) -> None:
    """The sign is all that changes."""
    time = every(4, 2)
    noise = np.random.default_rng(seed).normal(0.0, 3.0, len(time))
    moved = -600.0 * (1 - np.exp(-time / 1200.0)) + noise
    down = fit_drift(time, 7e6 + moved, resolution=0.01)
    up = fit_drift(time, 7e6 - moved, resolution=0.01)
    assert up.warm_up.value == pytest.approx(-down.warm_up.value, rel=1e-6)
    assert up.residual.value == pytest.approx(-down.residual.value, abs=1e-4)
