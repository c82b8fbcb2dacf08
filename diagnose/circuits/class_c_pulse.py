"""What a train of current pulses holds: its direct current and its harmonics, by the angle of flow.

While the grid swings as a cosine the tube passes a pulse, the tip of a cosine above cut-off, raised to the
power of the tube's law:

    i(p) = I ((cos p - cos t) / (1 - cos t))**n   for |p| < t,  0 elsewhere

with t half the angle of flow and I the crest. Harmonic k of it, as a share of I, is

    a_k = (1 / pi) integral of i(p)/I cos(k p) dp over 0..t, doubled for k > 0.

Sources: F. E. Terman and J. H. Ferns, Proc. IRE, March 1934, for tubes with a screen; W. L. Everitt, Optimum
operating conditions for class C amplifiers, Proc. IRE, February 1934. For n = 1 the closed forms are
a_0 = (sin t - t cos t) / (pi (1 - cos t)) and a_1 = (t - sin t cos t) / (pi (1 - cos t)).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_POINTS = 96


def _unit_nodes() -> tuple[Array, Array]:
    """Nodes and weights on 0..1 that crowd towards 1, where a pulse ends with a fractional power.

    Gauss and Legendre in u after the substitution sin(pi u / 2): the end, of power n, becomes of power 2 n.
    """
    roots, weights = np.polynomial.legendre.leggauss(_POINTS)
    quarter = (roots + 1.0) * math.pi / 4.0
    return np.sin(quarter), weights * math.pi / 4.0 * np.cos(quarter)


_NODES, _WEIGHTS = _unit_nodes()


def over_flow(half_angle: float) -> tuple[Array, Array]:
    """Phases in 0..half_angle (rad) and weights, such that sum(weights * f) is the mean of f over the cycle.

    For f that is even in the phase and zero outside the flow.
    """
    return half_angle * _NODES, half_angle * _WEIGHTS / math.pi


def component(half_angle: float, harmonic: int, power: float = 1.5) -> float:
    """Share of the crest that is direct current (0) or the amplitude of a harmonic (1, 2, ...).

    half_angle: half the angle of flow, in radians, over 0 and up to pi. Raises ValueError outside.
    """
    if not 0.0 < half_angle <= math.pi:
        raise ValueError(f"half the angle of flow lies over 0 and up to pi, not at {half_angle:g}")
    phase, weight = over_flow(half_angle)
    cut = math.cos(half_angle)
    pulse = (np.maximum(np.cos(phase) - cut, 0.0) / (1.0 - cut)) ** power
    mean = float(np.sum(weight * pulse * np.cos(harmonic * phase)))
    return mean if harmonic == 0 else 2.0 * mean


def ideal_efficiency(half_angle: float, power: float = 1.5) -> float:
    """Output over input if the plate could swing down to nothing: a_1 / (2 a_0).

    0.5 for a flow all round without bend (class A), 0.785 for half a cycle (class B), towards 1 for short pulses.
    """
    return component(half_angle, 1, power) / component(half_angle, 0, power) / 2.0
