"""Drift logs made from known figures, for the tests of the fit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray

from diagnose.series.drift import DriftFit, fit_drift

Array = NDArray[np.float64]
MINUTE = 60.0
HOUR = 3600.0


@dataclass(frozen=True)
class Truth:
    """What a made-up oscillator does; Hz, s, Hz per hour."""

    frequency: float = 7e6
    warm_up: float = -600.0
    tau: float = 1200.0
    residual: float = 0.0
    scatter: float = 3.0
    jumps: tuple[tuple[float, float], ...] = ()  # time, size
    quick: float = 0.0  # a second part of the warm-up, over in five minutes

    def at(self, time: Array) -> Array:
        """Its frequency without scatter."""
        hertz = self.frequency + self.warm_up * (1 - np.exp(-time / self.tau)) + self.residual * time / HOUR
        hertz = hertz + self.quick * (1 - np.exp(-time / 100.0))
        for when, size in self.jumps:
            hertz = hertz + np.where(time >= when, size, 0.0)
        return np.asarray(hertz)

    def log(self, time: Array, seed: int) -> Array:
        """Readings of it."""
        return self.at(time) + np.random.default_rng(seed).normal(0.0, self.scatter, len(time))


def every(minutes: float, hours: float) -> Array:
    """Times of a log read every so many minutes for so many hours."""
    return np.arange(0.0, hours * HOUR + 1.0, minutes * MINUTE)


def fit(truth: Truth, time: Array, seed: int = 1, **others: Any) -> DriftFit:
    """The fit of a made-up log."""
    return fit_drift(time, truth.log(time, seed), **others)


truths = st.builds(
    Truth,
    frequency=st.floats(3.5e6, 9e6),
    warm_up=st.floats(-1500.0, 1500.0),
    tau=st.floats(200.0, 2000.0),
    residual=st.floats(-200.0, 200.0),
    scatter=st.floats(0.5, 15.0),
)
