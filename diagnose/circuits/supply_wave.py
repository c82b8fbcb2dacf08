"""The steady state of a rectifier into a linear filter, as equations.

One charging period is cut into N equal steps. The filter is linear, so the volts v at its input follow from
the currents i by a circular convolution, v = U + Z i, with U the direct part; the rectifier ties the two
together at each instant,

    e = R i + drop(i) + U + Z i    where it conducts,
    e < threshold + U + Z i        where it does not, and i = 0,

and the direct current is what leaves on the other side, mean(i) = a + b U. Z is monotone (the filter is
passive) and so is the rectifier: there is one solution.

Time derivatives are second-order backward differences, s = (3 - 4 q + q^2) / 2h with q = exp(-j 2 pi n / N)
(Gear, Numerical initial value problems in ordinary differential equations, 1971). They keep the filter
passive, and damp what the trapezoidal rule would leave ringing when the current of a choke stops.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from diagnose.circuits.rectifier import Array, Law

Complex = NDArray[np.complex128]


@dataclass(frozen=True, eq=False)
class Problem:
    """A source behind a rectifier and a resistance, into a filter.

    source: volts at N instants of one period. ohms: source resistance. filter: Z in ohms, N rows and columns.
    drawn, per_volt: a in A and b in A/V of mean(i) = a + b U.
    """

    source: Array
    ohms: float
    law: Law
    filter: Array
    drawn: float
    per_volt: float
    size: float  # volts at the top of the source

    @property
    def weight(self) -> float:
        """Ohms that make an error of the direct current comparable with an error in volts."""
        return self.size / max(self.drawn + self.per_volt * self.size, 1e-12)


@lru_cache(maxsize=64)
def derivative(instants: int, period: float) -> Complex:
    """The symbol s of d/dt in 1/s for the harmonics 0 to N/2 of a period in seconds."""
    q = np.exp(-2j * np.pi * np.arange(instants // 2 + 1) / instants)
    symbol: Complex = (3.0 - 4.0 * q + q * q) / 2.0 * (instants / period)
    symbol.setflags(write=False)
    return symbol


@lru_cache(maxsize=16)
def lags(instants: int) -> NDArray[np.intp]:
    """Which element of the first column stands in row j and column k of Z: (j - k) modulo N."""
    order = np.arange(instants)
    table: NDArray[np.intp] = (order[:, None] - order[None, :]) % instants
    table.setflags(write=False)
    return table


def circular(impedance: Complex, instants: int) -> Array:
    """Z in ohms of an impedance at the harmonics 0 to N/2: a convolution that goes round the period."""
    matrix: Array = np.fft.irfft(impedance, instants)[lags(instants)]
    return matrix
