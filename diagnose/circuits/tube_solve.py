"""The root of a rising function of one variable: circuits in which the tube decides its own volts."""

from __future__ import annotations

from collections.abc import Callable

from diagnose.circuits.method import CannotCompute

_NEAR = 1e-9  # of the span
_MOST = 200


def crossing(rising: Callable[[float], float], low: float, high: float, why: str) -> float:
    """Where the function goes through zero between low and high, to about 1e-9 of the span.

    False position, halving the weight of an end that stays (Illinois; Dowell and Jarratt 1971): it keeps the
    root between its ends and needs no slope. Raises CannotCompute with `why` if there is no change of sign.
    """
    at_low, at_high = rising(low), rising(high)
    if at_low > 0.0 or at_high < 0.0:
        raise CannotCompute(why)
    near = _NEAR * (high - low)
    last, kept = low, 0
    for _ in range(_MOST):
        if at_high <= at_low:
            return low
        middle = low - at_low * (high - low) / (at_high - at_low)
        value = rising(middle)
        if value == 0.0 or abs(middle - last) < near:
            return middle
        if value < 0.0:
            low, at_low = middle, value
            at_high = at_high / 2.0 if kept < 0 else at_high
            kept = -1
        else:
            high, at_high = middle, value
            at_low = at_low / 2.0 if kept > 0 else at_low
            kept = 1
        last = middle
    return last
