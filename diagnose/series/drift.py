"""A drift log fitted: how far an oscillator moves while it warms up, whether it settles, jumps, follows the mains.

    f(t) = f_settled + A exp(-t/tau) + s t + k (V - V0) + c (T - T0) + jumps

The jumps and misread figures are found first (`breaks`), then the warm-up and the slope are weighed against a
log without them (`settling`), the line voltage and the temperature beside them. Where the readings hang
together from one to the next they count as fewer, for figures from such a log are otherwise far too sure
of themselves: J. A. Barnes, "The measurement of linear frequency drift in oscillators", Proc. 15th PTTI
Meeting (1983), 551.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from diagnose.series.beside import Beside, Column, Correlation, columns_beside, correlation
from diagnose.series.breaks import Breaks, find_breaks
from diagnose.series.evidence import Task
from diagnose.series.fit import DriftFit, Figure, Jump
from diagnose.series.log import FEWEST, Array, CannotFit, Log, checked
from diagnose.series.projection import least_squares, orthonormal, without
from diagnose.series.settling import AN_HOUR, Curve, Moments, curves, movement, together, weights
from diagnose.series.student import widening

__all__ = ["FEWEST", "CannotFit", "Correlation", "DriftFit", "Figure", "Jump", "fit_drift"]

SETTLED = 2.0  # time constants that a run must last before its slope is told from the end of the warm-up
CLOSEST = 0.95  # correlation of one reading with the next that is reckoned with at most
UNTOLD = 0.15  # of the whole movement: what a slope that cannot be fitted may take from the warm-up
FREE = 4.0  # readings that always count as independent, beside one for each column


def fit_drift(
    time: Sequence[float] | Array,
    frequency: Sequence[float] | Array,
    mains: Sequence[float] | Array | None = None,
    temperature: Sequence[float] | Array | None = None,
    *,
    resolution: float | None = None,
) -> DriftFit:
    """What a drift log says: `time` in s, `frequency` in Hz, `mains` in V, `temperature` in degC.

    `mains` and `temperature` may hold NaN where nothing was read. `resolution` (Hz) is the last digit of the
    counter, taken from the readings if not given. Raises CannotFit with the reason: fewer than
    four readings, times that go back, what is no usable number.
    """
    log = checked(time, frequency, mains, temperature, resolution=resolution)
    hertz = log.frequency - np.median(log.frequency)
    beside = columns_beside(log)
    varied = [column.values for column in beside.columns]
    breaks = find_breaks(log.time, hertz, varied, log.floor, log.resolution)
    task = _task(log, hertz, breaks, beside)
    found = curves(task)
    best = _best(found)
    columns = task.fixed.shape[1] + movement(task, best).shape[1]
    share = _independent(_left(task, best), columns, task.floor)
    if share < 1.0:
        task = replace(task, share=share)
        found = curves(task)
    return _Result(log, breaks, beside, task, found).fit()


def _task(log: Log, hertz: Array, breaks: Breaks, beside: Beside) -> Task:
    """The fit without the misread figures, with a column for each jump and each figure read beside."""
    steps = sorted((*breaks.jumps, *breaks.across_gaps))
    places = np.arange(len(log))
    columns = [np.ones(len(log)), *(column.values for column in beside.columns)]
    columns += [(places >= step).astype(np.float64) for step in steps]
    read = np.setdiff1d(places, breaks.misread)
    return Task(log.time[read], hertz[read], np.stack(columns, axis=1)[read], log.floor)


def _best(curves: Sequence[Curve]) -> Curve:
    return max(curves, key=lambda curve: curve.evidence)


def _left(task: Task, curve: Curve) -> Array:
    """What a curve leaves of the readings, Hz."""
    return without(orthonormal(np.concatenate([task.fixed, movement(task, curve)], axis=1)), task.hertz)


def _independent(left: Array, columns: int, floor: float) -> float:
    """The share of the readings that count as independent: (1 - r) / (1 + r), r from one to the next.

    `left` is what a fit of so many columns leaves of them.
    """
    count, square = len(left), float(left @ left)
    if count < 3 * columns or square <= count * floor**2:
        return 1.0
    # taking out the columns makes neighbours look opposed; that much is given back
    r = min(CLOSEST, float(left[1:] @ left[:-1]) / square + columns / count)
    if r < 2.0 / math.sqrt(count):
        return 1.0
    return float(max((1.0 - r) / (1.0 + r), min(1.0, (columns + FREE) / count)))


class _Result:
    """The figures of a fit, gathered from the curves by their weights."""

    def __init__(self, log: Log, breaks: Breaks, beside: Beside, task: Task, found: list[Curve]) -> None:
        self._log, self._breaks, self._beside = log, breaks, beside
        self._task, self._curves = task, found
        self._shares = weights(found)
        self._best = _best(found)
        self._left = _left(task, self._best)
        self._notes: list[str] = []

    def fit(self) -> DriftFit:
        """All figures together."""
        tau = self._time_constant()
        warm_up, residual = self._warm_up_and_residual(tau)
        fixed = self._fixed()
        names = len(self._beside.columns)
        jumps = self._jumps(fixed[1 + names :])
        per_volt, mains, per_degree = self._read_beside(fixed[1 : 1 + names])
        return DriftFit(
            frequency=float(np.median(self._log.frequency)),
            span=self._log.span,
            readings=len(self._task.time),
            warm_up=warm_up,
            warm_up_seen=self._seen([curve.tau is not None for curve in self._curves]),
            time_constant=tau,
            residual=residual,
            residual_seen=self._seen([curve.has_slope for curve in self._curves]),
            jumps=jumps,
            largest_jump=self._largest(jumps),
            misread=self._breaks.misread,
            per_volt=per_volt,
            mains=mains,
            per_degree=per_degree,
            scatter=self._scatter(),
            cannot_tell=(*self._notes, *self._beside.notes),
        )

    def _seen(self, has: list[bool]) -> float:
        return min(1.0, float(self._shares[np.array(has)].sum()))

    def _scatter(self) -> float:
        freedom = max(1.0, len(self._left) - self._task.fixed.shape[1] - 2 * len(self._best.best_taus))
        return math.sqrt(float(self._left @ self._left) / freedom)

    def _time_constant(self) -> Figure | None:
        """Over the curves that have one, if they carry most of the weight."""
        bent = [i for i, curve in enumerate(self._curves) if curve.tau is not None]
        if float(self._shares[bent].sum()) < 0.5:
            return None
        shares = self._shares[bent] / self._shares[bent].sum()
        return Figure(*together(shares, [tau for i in bent if (tau := self._curves[i].tau) is not None]))

    def _warm_up_and_residual(self, tau: Figure | None) -> tuple[Figure, Figure]:
        warm_up = Figure(*together(self._shares, [curve.warm_up for curve in self._curves]))
        slope = Figure(*together(self._shares, [curve.slope for curve in self._curves])).times(3600.0)
        least = self._log.floor  # no movement is known better than the last digit
        warm_up = Figure(warm_up.value, math.hypot(warm_up.uncertainty, least))
        slope = Figure(slope.value, math.hypot(slope.uncertainty, least * 3600.0 / self._log.span))
        wanted = AN_HOUR if tau is None else SETTLED * tau.value
        if not any(curve.tau is not None and curve.has_slope for curve in self._curves):
            self._notes.append(
                f"{len(self._task.time)} readings are too few to tell the warm-up from the residual drift"
            )
            moved = UNTOLD * float(np.ptp(self._task.hertz))
            warm_up = Figure(warm_up.value, math.hypot(warm_up.uncertainty, moved))
            slope = Figure(slope.value, math.hypot(slope.uncertainty, moved * 3600.0 / self._log.span))
        if self._log.span < wanted:
            minutes = self._log.span / 60.0
            self._notes.append(
                f"the run of {minutes:.0f} minutes is too short to tell the warm-up from the residual drift"
            )
            # the slope may be the warm-up's own, and the warm-up what the slope took from it
            moved = slope.value * self._log.span / 3600.0
            warm_up = Figure(warm_up.value, math.hypot(warm_up.uncertainty, moved))
            slope = Figure(slope.value, math.hypot(slope.uncertainty, slope.value))
        return warm_up, slope

    def _fixed(self) -> list[Figure]:
        """The coefficients of the fixed columns, over the curves; the constant first."""
        task = self._task
        gathered: list[list[Moments]] = [[] for _ in range(task.fixed.shape[1])]
        for curve in self._curves:
            moving = orthonormal(movement(task, curve))
            fixed, hertz = without(moving, task.fixed), without(moving, task.hertz)
            values, inverse = least_squares(fixed, hertz)
            left = hertz - fixed @ values
            scatter = max(float(left @ left) / curve.freedom, task.floor**2 / task.share)
            spread = np.diag(inverse) * scatter * widening(curve.freedom) ** 2
            for moments, value, variance in zip(gathered, values, spread, strict=True):
                moments.append(Moments(float(value), float(variance)))
        return [Figure(*together(self._shares, moments)) for moments in gathered]

    def _jumps(self, sizes: list[Figure]) -> tuple[Jump, ...]:
        """The jumps in order of time; steps over a long pause become a sentence."""
        breaks = self._breaks
        if breaks.least is None:
            self._notes.append(f"{len(self._log)} readings are too few to look for jumps")
        jumps = []
        steps = sorted((*breaks.jumps, *breaks.across_gaps))
        for step, size in zip(steps, sizes, strict=True):
            before, after = self._log.time[step - 1], self._log.time[step]
            if step in breaks.jumps:
                jumps.append(Jump(float(before + after) / 2.0, size))
            else:
                self._notes.append(
                    f"between minute {before / 60.0:.0f} and minute {after / 60.0:.0f} the frequency moved by "
                    f"{size.value:+.0f} Hz: a jump or drift"
                )
        return tuple(jumps)

    def _largest(self, jumps: tuple[Jump, ...]) -> Figure | None:
        if jumps:
            return max((jump.size for jump in jumps), key=lambda size: abs(size.value))
        if self._breaks.least is None:
            return None
        return Figure(0.0, self._breaks.least / 2.0)

    def _read_beside(
        self, coefficients: list[Figure]
    ) -> tuple[Figure | None, Correlation | None, Figure | None]:
        found = dict(zip((column.what for column in self._beside.columns), coefficients, strict=True))
        mains = None
        for place, column in enumerate(self._beside.columns):
            if column.what is Column.Of.MAINS:
                others = np.delete(self._task.fixed, 1 + place, axis=1)
                rest = np.concatenate([others, movement(self._task, self._best)], axis=1)
                mains = correlation(self._task.hertz, self._read(column), rest, self._task.share)
        per_degree = found.get(Column.Of.TEMPERATURE)
        for column in self._beside.with_time:
            if column.what is Column.Of.TEMPERATURE:
                per_degree = self._instead_of_time(column)
        return found.get(Column.Of.MAINS), mains, per_degree

    def _read(self, column: Column) -> Array:
        return column.values[np.setdiff1d(np.arange(len(self._log)), self._breaks.misread)]

    def _instead_of_time(self, column: Column) -> Figure:
        """The coefficient of a column that moves with the warm-up, which it takes the place of."""
        task = self._task
        columns = np.concatenate([self._read(column)[:, None], task.fixed], axis=1)
        values, inverse = least_squares(columns, task.hertz)
        left = task.hertz - columns @ values
        share = _independent(left, columns.shape[1], task.floor)
        freedom = max(1.0, share * len(left) - columns.shape[1])
        variance = float(inverse[0, 0]) * max(float(left @ left) / freedom, task.floor**2 / share)
        return Figure(float(values[0]), math.sqrt(variance) * widening(freedom))
