"""Student's t: how rarely a figure stands so far from zero by chance, and how far few readings must widen it."""

from __future__ import annotations

import math

import numpy as np

FOR_95_PERCENT = 1.959964  # standard deviations of a normal value that hold 95 in 100


def two_sided(t: float, freedom: float) -> float:
    """The chance that |t| is exceeded by scatter alone, with `freedom` > 0 degrees of freedom.

    I_x(freedom/2, 1/2) at x = freedom / (freedom + t^2); Abramowitz and Stegun, Handbook of Mathematical
    Functions (1964), 26.7.1 with 26.5.27.
    """
    if freedom <= 0:
        raise ValueError("Student's t wants at least a part of a degree of freedom")
    if math.isinf(t):
        return 0.0
    return _incomplete_beta(0.5 * freedom, freedom, t * t)


def widening(freedom: float) -> float:
    """By what the standard uncertainty from few readings grows, so that two of it still hold 95 in 100.

    The 0.975 quantile of Student's t over that of the normal. Its expansion in 1/freedom (Abramowitz and
    Stegun 26.7.5) is good to 1 % from three degrees on; below, the exact quantiles of one, two and three
    degrees (12.706, 4.303, 3.182) are joined by straight lines of the logarithm over 1/freedom.
    """
    if freedom < 3.0:
        logs = np.log([3.182446, 4.302653, 12.706205])
        return math.exp(float(np.interp(1.0 / freedom, [1 / 3, 1 / 2, 1.0], logs))) / FOR_95_PERCENT
    z = FOR_95_PERCENT
    t = (
        z
        + (z**3 + z) / (4 * freedom)
        + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * freedom**2)
        + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * freedom**3)
    )
    return t / FOR_95_PERCENT


def _incomplete_beta(a: float, freedom: float, square: float) -> float:
    """Regularized I_x(a, 1/2) at x = freedom / (freedom + square), by its continued fraction."""
    b = 0.5
    x, rest = freedom / (freedom + square), square / (freedom + square)
    if square == 0.0:
        return 1.0
    logs = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log(rest)
    if x < (a + 1.0) / (a + b + 2.0):
        return math.exp(logs) * _fraction(a, b, x) / a
    return 1.0 - math.exp(logs) * _fraction(b, a, rest) / b


def _fraction(a: float, b: float, x: float) -> float:
    """Abramowitz and Stegun 26.5.8, from the front by Lentz's method (Press and others, Numerical Recipes)."""
    tiny = 1e-300
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1.0)
    d = 1.0 / (d if abs(d) > tiny else tiny)
    value = d
    for m in range(1, 300):
        for term in (
            m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0)),
        ):
            d = 1.0 + term * d
            c = 1.0 + term / c
            d = 1.0 / (d if abs(d) > tiny else tiny)
            c = c if abs(c) > tiny else tiny
            value *= d * c
        if abs(d * c - 1.0) < 1e-12:
            break
    return value
