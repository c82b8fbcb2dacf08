"""The warm-up and the residual slope of a drift log, by Bayes' theorem over six curves.

    f(t) = c + A exp(-t/tau) + B exp(-t/tau2) + s t + (columns beside: line voltage, temperature, jumps)

with none, one or both exponentials, with and without the slope. Two, because a tube is warm long before its
box, and the slower part must not be taken for a drift that stays. The time constants are integrated on
a grid of their logarithms that closes in on where the readings allow them. The weights of the curves are
their shares of the evidence, so that a slope which the readings neither show nor exclude widens the warm-up
instead of being decided upon.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.series.evidence import Bare, Grid, Task, with_prior
from diagnose.series.log import Array
from diagnose.series.projection import orthonormal, without

QUICKEST = 30.0  # s: a heater alone takes as long (common practice)
# s: a set comes to rest in an hour or two (common practice), two or three of these; what takes longer has not
# settled, and a constant of any length would take a drift that stays for the end of a warm-up
LONGEST = 3600.0
SHORT = 2.0  # times as long in a run of half an hour or less, which cannot tell and must not seem to
AN_HOUR = 3600.0  # s: in a shorter run a steady slope is likely the warm-up's own
SECOND = 0.3  # prior of a second exponential where there is one
WORTH_A_SECOND = 3.0  # by Student's t: what a second exponential must explain to be weighed at all
POINTS = {1: 41, 2: 21}  # of the grid along each time constant, by their number
DEEP = 12.0  # nats below the top that the grid still covers
CLOSING_IN = 6
FILLED = {1: 0.5, 2: 0.2}  # part of the grid within that depth that is fine enough


@dataclass(frozen=True)
class Moments:
    """Mean and variance of a figure under one curve."""

    mean: float
    variance: float


NOTHING = Moments(0.0, 0.0)


@dataclass(frozen=True)
class Curve:
    """One of the curves fitted: its evidence (log), and the figures under it.

    `warm_up` (Hz) is the way from the first reading to the settled frequency, `slope` in Hz/s, `tau` (s) the
    slowest time constant, None without a warm-up. `best_taus` are those with the greatest evidence, `freedom`
    is what the scatter was estimated from.
    """

    evidence: float
    warm_up: Moments
    slope: Moments
    tau: Moments | None
    best_taus: tuple[float, ...]
    has_slope: bool
    freedom: float


def curves(task: Task) -> list[Curve]:
    """The curves that the number of readings affords, at least the constant; evidence on one scale."""
    bare = Bare.of(task)
    found = [_flat(bare), _sloping(bare), _bent(bare, 1, has_slope=False), _bent(bare, 1, has_slope=True)]
    single = [curve for curve in found[2:] if curve is not None]
    if single and _second_is_worth(bare, max(single, key=lambda curve: curve.evidence)):
        found += [_bent(bare, 2, has_slope=False), _bent(bare, 2, has_slope=True)]
    return [curve for curve in found if curve is not None]


def _log_prior(bare: Bare, exponentials: int, has_slope: bool) -> float:
    """Half of the logs have a warm-up; a slope is as likely as not, but in a short run it is the warm-up's own."""
    slope = 0.5 * min(1.0, (float(bare.task.time[-1]) / AN_HOUR) ** 2)
    kind = (0.5, 0.5 * (1.0 - SECOND), 0.5 * SECOND)[exponentials]
    return math.log(kind) + math.log(slope if has_slope else 1.0 - slope)


def _log_taus(bare: Bare) -> tuple[float, float]:
    """The logarithms of the quickest and the longest time constant (s) that a warm-up may have."""
    longer = min(SHORT, max(1.0, AN_HOUR / float(bare.task.time[-1])))
    return math.log(QUICKEST), math.log(LONGEST * longer)


def _flat(bare: Bare) -> Curve | None:
    """The curve that is a constant."""
    if bare.freedom < 1.0:
        return None
    evidence = bare.log_evidence(np.array([bare.hertz @ bare.hertz]), np.zeros(1), 0)
    prior = _log_prior(bare, 0, False)
    return Curve(float(evidence[0]) + prior, NOTHING, NOTHING, None, (), False, bare.freedom)


def _sloping(bare: Bare) -> Curve | None:
    """The curve that is a straight line."""
    freedom = bare.freedom - 1
    own = float(bare.ramp @ bare.ramp)
    if freedom < 1.0 or own < 1e-9 * len(bare.ramp):
        return None
    along = float(bare.ramp @ bare.hertz)
    left = np.array([bare.hertz @ bare.hertz - along**2 / own])
    evidence = bare.log_evidence(left, np.log([bare.task.share * own]), 1)
    estimate = np.array([[along / own]])
    variance = bare.variance(float(left[0]), freedom) / own
    density, means, covariances = with_prior(
        estimate, np.full((1, 1, 1), variance), bare.slope_width(estimate)
    )
    span = float(bare.task.time[-1])
    slope = Moments(float(means[0, 0]) / span, float(covariances[0, 0, 0]) / span**2)
    total = float(evidence[0] + density[0]) + _log_prior(bare, 0, True)
    return Curve(total, NOTHING, slope, None, (), True, freedom)


def _bent(bare: Bare, exponentials: int, *, has_slope: bool) -> Curve | None:
    """A curve with a warm-up: evidence and figures integrated over its time constants."""
    if bare.freedom - 2 * exponentials - has_slope < 1.0:
        return None
    lowest, highest = _log_taus(bare)
    axes = [np.linspace(lowest, highest, POINTS[exponentials])] * exponentials
    grid = Grid(bare, axes, has_slope)
    if not np.isfinite(grid.evidence.max()):
        return None  # too few different times for so many columns
    for _ in range(CLOSING_IN):
        likely = grid.evidence > grid.evidence.max() - DEEP
        if np.mean(likely) > FILLED[exponentials]:
            break
        closer = []
        for axis, logs in zip(axes, grid.log_taus[likely].T, strict=True):
            step = float(axis[1] - axis[0])
            bounds = max(lowest, float(logs.min()) - step), min(highest, float(logs.max()) + step)
            closer.append(np.linspace(*bounds, POINTS[exponentials]))
        if all(new[-1] - new[0] > 0.9 * (old[-1] - old[0]) for new, old in zip(closer, axes, strict=True)):
            break
        finer = Grid(bare, closer, has_slope)
        if not np.isfinite(finer.evidence.max()):
            break
        axes, grid = closer, finer
    return _integrated(grid, highest - lowest)


def _integrated(grid: Grid, log_range: float) -> Curve:
    """The figures of a curve over the time constants that the readings allow; the prior is even in their logarithms."""
    top = float(grid.evidence.max())
    shares = np.exp(grid.evidence - top)
    cell, prior = 1.0, log_range
    for axis, logs in zip(grid.axes, grid.log_taus.T, strict=True):
        cell *= float(axis[1] - axis[0])
        shares = np.where(
            (logs == axis[0]) | (logs == axis[-1]), 0.5 * shares, shares
        )  # the trapezoidal rule
    if len(grid.axes) == 2:
        prior = 0.5 * log_range**2  # of two, the second is the slower
    evidence = top + math.log(float(shares.sum()) * cell / prior)
    shares /= shares.sum()
    count, span = len(grid.axes), float(grid.bare.task.time[-1])
    taus = np.exp(grid.log_taus)
    together = grid.covariances[:, :count, :count].sum(axis=(1, 2))
    slope = NOTHING
    if grid.has_slope:
        slope = _moments(shares, grid.means[:, -1] / span, grid.covariances[:, -1, -1] / span**2)
    return Curve(
        evidence=evidence + _log_prior(grid.bare, count, grid.has_slope),
        warm_up=_moments(shares, -grid.means[:, :count].sum(axis=1), together),
        slope=slope,
        tau=_moments(shares, taus[:, -1], np.zeros(len(taus))),
        best_taus=tuple(float(tau) for tau in taus[int(np.argmax(grid.evidence))]),
        has_slope=grid.has_slope,
        freedom=grid.freedom,
    )


def _second_is_worth(bare: Bare, single: Curve) -> bool:
    """Whether some second exponential explains more of what the first leaves than scatter would."""
    if bare.freedom - 4 - single.has_slope < 1.0:
        return False
    basis = orthonormal(movement(bare.task, single), bare.basis)
    logs = np.linspace(*_log_taus(bare), POINTS[1])
    rest, own = without(basis, bare.hertz), without(basis, bare.decays(logs))
    square = np.sum(own**2, axis=0)
    distinct = square > 1e-8 * len(rest)
    gain = np.where(distinct, (own.T @ rest) ** 2 / np.where(distinct, square, 1.0), 0.0)
    left = max(float(rest @ rest) - float(gain.max()), 0.0)
    scatter = (left + bare.task.floor**2) / (bare.freedom / bare.task.share)
    return float(gain.max()) > WORTH_A_SECOND**2 * scatter


def _moments(shares: Array, means: Array, variances: Array) -> Moments:
    mean = float(shares @ means)
    # far out on the grid a variance may be lost in rounding; there is none below zero
    return Moments(mean, float(shares @ (np.maximum(variances, 0.0) + (means - mean) ** 2)))


def weights(found: list[Curve]) -> Array:
    """Shares of the curves in the evidence, adding up to 1."""
    evidence = np.array([curve.evidence for curve in found])
    shares = np.exp(evidence - evidence.max())
    return np.asarray(shares / shares.sum())


def together(shares: Array, moments: list[Moments]) -> tuple[float, float]:
    """Mean and standard uncertainty of a figure over several curves."""
    joined = _moments(shares, np.array([m.mean for m in moments]), np.array([m.variance for m in moments]))
    return joined.mean, math.sqrt(joined.variance)


def movement(task: Task, curve: Curve) -> Array:
    """The columns of a curve beside the fixed ones, with one for the error of each time constant."""
    columns = [task.time / task.time[-1]] if curve.has_slope else []
    for tau in curve.best_taus:
        decay = np.exp(-task.time / tau)
        columns += [decay, decay * task.time / tau]
    return np.stack(columns, axis=1) if columns else np.empty((len(task.time), 0))
