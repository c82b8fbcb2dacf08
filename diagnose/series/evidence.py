"""How well a curve of exponentials and a slope explains readings, its time constants being given.

Everything but the time constants is linear and is integrated in closed form (variable projection: Golub and
Pereyra, SIAM J. Numer. Anal. 10 (1973) 413; the integral with unknown scatter: Zellner, An Introduction to
Bayesian Inference in Econometrics (1971), 3.2):

    p(readings | curve, time constants) ~ Gamma(v/2) (pi S)^(-v/2) |X'X|^(-1/2) p(A, s)

with S the sum of squares left, v = readings - columns, and the prior p(A, s) normal about zero, as wide as the
readings range (for the slope: as it moves), taken at the fitted A and s with their covariance added.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.series.log import Array
from diagnose.series.projection import orthonormal, without
from diagnose.series.student import widening

SMALL_SLOPE = 1 / 10  # of the range of the readings: the least movement that a slope is expected to make
APART = 1.5  # ratio of two time constants that can be told from each other
_INDISTINCT = 1e-9  # determinant of the correlations from which columns are one


@dataclass(frozen=True, eq=False)
class Task:
    """What is fitted: `time` (s) from 0, `hertz` about their middle, `fixed` (readings, columns) with the constant.

    `share` is the part of the readings that count as independent, `floor` (Hz) the least scatter believed.
    """

    time: Array
    hertz: Array
    fixed: Array
    floor: float
    share: float = 1.0


@dataclass(frozen=True, eq=False)
class Bare:
    """The readings and the slope (as t over the run) with the fixed columns projected out of them."""

    task: Task
    basis: Array
    hertz: Array
    ramp: Array
    freedom: float  # independent readings less fixed columns
    range: float  # Hz: prior deviation of a warm-up's movement within the run

    @classmethod
    def of(cls, task: Task) -> Bare:
        """The task made ready."""
        basis = orthonormal(task.fixed)
        hertz = without(basis, task.hertz)
        return cls(
            task=task,
            basis=basis,
            hertz=hertz,
            ramp=without(basis, task.time / task.time[-1]),
            freedom=task.share * len(hertz) - task.fixed.shape[1],
            range=max(float(np.ptp(hertz)), 4.0 * task.floor),
        )

    def decays(self, log_taus: Array) -> Array:
        """The exponentials of several time constants, (readings, constants), bare."""
        return without(self.basis, np.exp(-self.task.time[:, None] / np.exp(log_taus)[None, :]))

    def log_evidence(self, left: Array, log_determinants: Array, linear: int) -> Array:
        """The integral over `linear` parameters and the scatter, with even priors; `left` are sums of squares."""
        freedom = self.freedom - linear
        squares = self.task.share * np.maximum(left, 0.0) + self.task.floor**2
        return np.asarray(
            math.lgamma(0.5 * freedom) - 0.5 * freedom * np.log(math.pi * squares) - 0.5 * log_determinants
        )

    def variance(self, left: float, freedom: float) -> float:
        """Variance by which the inverse of X'X is multiplied, widened for few readings."""
        task = self.task
        scatter = max((task.share * left + task.floor**2) / freedom, task.floor**2)
        return scatter / task.share * widening(freedom) ** 2

    def slope_width(self, estimates: Array) -> Array:
        """Prior deviation (Hz) of the slope's movement: as large as it seems, between a small one and the range.

        A width fixed at the range would call every small slope beside a large warm-up improbable.
        """
        return np.asarray(np.clip(np.abs(estimates), SMALL_SLOPE * self.range, self.range))


class Grid:
    """A curve at every combination of its time constants: evidence, and figures with their variances.

    `axes` are the logarithms of the time constants of each exponential (none, one or two). `evidence` (points,)
    is of the readings alone, without priors of curve or constants; `amplitudes` and `movement` (Hz, that of
    the slope over the run) come as means (points, k) in the order of the axes, the slope last, with `covariances`.
    """

    def __init__(self, bare: Bare, axes: Sequence[Array], has_slope: bool) -> None:
        self.bare, self.axes, self.has_slope = bare, axes, has_slope
        places = _combinations(axes)
        self.log_taus = np.stack([axis[p] for axis, p in zip(axes, places, strict=True)], axis=1)
        columns = [bare.decays(axis) for axis in axes]
        if has_slope:
            columns.append(bare.ramp[:, None])
            places.append(np.zeros_like(places[0]))
        normal = np.empty((len(self.log_taus), len(columns), len(columns)))
        for row, (one, at_one) in enumerate(zip(columns, places, strict=True)):
            for column, (other, at_other) in enumerate(zip(columns, places, strict=True)):
                normal[:, row, column] = (one.T @ other)[at_one, at_other]
        along = np.stack([(c.T @ bare.hertz)[at] for c, at in zip(columns, places, strict=True)], axis=1)
        distinct = _distinct(normal)
        normal[~distinct] = np.eye(len(columns))
        inverse: Array = np.asarray(np.linalg.inv(normal), dtype=np.float64)
        means = np.einsum("pij,pj->pi", inverse, along)
        left = float(bare.hertz @ bare.hertz) - np.einsum("pi,pi->p", means, along)
        determinants = np.linalg.slogdet(bare.task.share * normal)[1]
        evidence = bare.log_evidence(left, determinants, len(columns))
        best = int(np.argmax(np.where(distinct, evidence, -np.inf)))
        self.freedom = bare.freedom - len(columns) - len(axes)
        variance = bare.variance(float(left[best]), self.freedom)
        density, self.means, self.covariances = with_prior(means, variance * inverse, self._widths(means))
        self.evidence = np.where(distinct, evidence + density, -np.inf)

    def _widths(self, means: Array) -> Array:
        """Prior deviations; of a warm-up by its movement within the run, not by what it would come to later."""
        within = -np.expm1(-self.bare.task.time[-1] / np.exp(self.log_taus))
        widths = np.asarray(self.bare.range / within, dtype=np.float64)
        if not self.has_slope:
            return widths
        return np.concatenate([widths, self.bare.slope_width(means[:, -1:])], axis=1)


def _combinations(axes: Sequence[Array]) -> list[np.ndarray[tuple[int, ...], np.dtype[np.intp]]]:
    """For each axis, the place on it of every combination; of two, the second is the slower."""
    if not axes:
        return []
    if len(axes) == 1:
        return [np.arange(len(axes[0]))]
    first, second = np.meshgrid(np.arange(len(axes[0])), np.arange(len(axes[1])), indexing="ij")
    slower = axes[1][second] > axes[0][first] + math.log(APART)
    return [first[slower], second[slower]]


def _distinct(normal: Array) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Whether the columns of each combination are more than one another."""
    lengths = np.sqrt(np.diagonal(normal, axis1=1, axis2=2))
    some = lengths.min(axis=1) > 1e-6
    safe = np.where(some[:, None], lengths, 1.0)
    correlations = normal / (safe[:, :, None] * safe[:, None, :])
    return np.asarray(some & (np.linalg.det(correlations) > _INDISTINCT))


def with_prior(means: Array, covariances: Array, widths: Array) -> tuple[Array, Array, Array]:
    """Figures after a normal prior about zero: log density of the prior where they are, means, covariances.

    `means` (points, k), `covariances` (points, k, k), `widths` (points, k). The prior keeps a slope and a slow
    warm-up that undo each other from growing without bound in a short run.
    """
    prior = widths[:, :, None] ** 2 * np.eye(means.shape[1])
    weight = np.linalg.inv(covariances + prior)
    gain = covariances @ weight
    distance = np.einsum("pi,pij,pj->p", means, weight, means)
    log_size = np.linalg.slogdet(2.0 * math.pi * (covariances + prior))[1]
    return (
        -0.5 * distance - 0.5 * log_size,
        means - np.einsum("pij,pj->pi", gain, means),
        covariances - gain @ covariances,
    )
