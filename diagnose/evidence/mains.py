"""The line voltage: a reading carried to the mains of the chart, and what that adds to its uncertainty."""

from __future__ import annotations

_RULE_OF_THUMB = 0.2  # share of a correction by a power of the line voltage that may be wrong
_NEAR = 0.15  # distance of the mains from the chart's within which a set still works as it should
_FAR = 0.5  # how fast readings lose their meaning beyond: heaters, emission, regulators


def factor(mains: float | None, chart_mains: float, power: float, drops_out_below: float = 0.0) -> float:
    """What a quantity is at this mains, relative to the chart's: (V / V0) to a power.

    Both in volts, 1 where either is not known. A regulated one holds down to the share `drops_out_below` of the chart's
    mains, and follows the line in proportion below.
    """
    if mains is None or mains <= 0 or chart_mains <= 0:
        return 1.0
    ratio = mains / chart_mains
    if ratio < drops_out_below:
        return float(drops_out_below**power * ratio / drops_out_below)
    return float(ratio**power)


def widening(mains: float | None, chart_mains: float, power: float) -> float:
    """Relative standard uncertainty that carrying to the chart's mains adds.

    Both mains in volts, 0 where either is not known. A fifth of the correction, for the power is a rule of thumb and no property of this set; and more where
    the mains is far from the chart's, whatever the power.
    """
    if mains is None or mains <= 0 or chart_mains <= 0:
        return 0.0
    distance = abs(mains / chart_mains - 1.0)
    return _RULE_OF_THUMB * abs(power) * distance + _FAR * max(distance - _NEAR, 0.0)
