"""A smooth curve through a drift log, against which breaks are told.

A constant, a slope, the two exponentials that fit best, and what was read beside the frequency.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from diagnose.series.log import Array
from diagnose.series.projection import orthonormal, without

POINTS = 40  # time constants that are tried for the smooth curve
QUICKEST, SLOWEST = 1 / 200, 1.0  # of the run
ALTERNATIONS = 3  # one time constant chosen beside the other
FEWEST_FOR_TWO = 14  # readings from which it affords a second time constant
FEWEST_FOR_MORE = 30  # and from which more
FEWEST_FOR_BESIDE = 8  # and from which it affords what was read beside the frequency


class SmoothCurve:
    """The smooth curve that is laid through a log, its time constants chosen anew beside each set of breaks.

    `time` (s) from 0, `hertz` about their middle, `beside` what else moves them.
    """

    def __init__(self, time: Array, hertz: Array, beside: Sequence[Array]) -> None:
        self._time, self._hertz = time, hertz
        span = float(time[-1])
        straight = [np.ones_like(time), time / span]
        if len(time) >= FEWEST_FOR_BESIDE + len(beside):
            straight += list(beside)
        self._straight = orthonormal(np.stack(straight, axis=1))
        self._taus = span * np.geomspace(QUICKEST, SLOWEST, POINTS)
        self._decays = np.exp(-time[:, None] / self._taus[None, :])

    def through(self, breaks: Array) -> Array:
        """Its columns, (readings, columns), orthonormal, with the time constants that fit best beside `breaks`.

        `breaks`: the columns (readings, breaks) of those found so far.
        """
        count = len(self._time)
        first = self._best(orthonormal(breaks, self._straight))
        second = first
        for _ in range(ALTERNATIONS if count >= FEWEST_FOR_TWO else 0):
            second = self._best(orthonormal(breaks, self._and(first)))
            first = self._best(orthonormal(breaks, self._and(second)))
        columns = [np.exp(-self._time / first), self._time * np.exp(-self._time / first)]
        if count >= FEWEST_FOR_TWO:
            columns += [np.exp(-self._time / second)]
        if count >= FEWEST_FOR_MORE:
            columns += [self._time * np.exp(-self._time / second), np.exp(-self._time / (4.0 * first))]
        return orthonormal(np.stack(columns, axis=1), self._straight)

    def stiff(self, breaks: Array) -> Array:
        """The columns with one exponential only, and those of `breaks`."""
        basis = orthonormal(breaks, self._straight)
        tau = self._best(basis)
        decay = np.exp(-self._time / tau)
        return orthonormal(np.stack([decay, self._time * decay], axis=1), basis)

    def _and(self, tau: float) -> Array:
        return orthonormal(np.exp(-self._time / tau)[:, None], self._straight)

    def _best(self, basis: Array) -> float:
        """The time constant whose exponential explains most of what a basis leaves."""
        rest, own = without(basis, self._hertz), without(basis, self._decays)
        square = np.sum(own**2, axis=0)
        distinct = square > 1e-6 * np.sum(self._decays**2, axis=0)
        gain = np.where(distinct, (own.T @ rest) ** 2 / np.where(distinct, square, 1.0), 0.0)
        return float(self._taus[int(np.argmax(gain))])
