"""Whether the magnitude of a reading can be meant, or another prefix or sign was."""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.model.knowledge import ChartRow, Indication

# A value this many times the chart's (or as many times smaller) that would come within the second
# number of times with another prefix: the prefix is the likelier mistake than such a fault.
FAR = 20.0
NEAR = 4.0
PREFIXES = (1e-3, 1e3, 1e-6, 1e6)


def odd_magnitude(
    name: str, value: float, indication: Indication, chart: Iterable[ChartRow]
) -> tuple[str, str] | None:
    """What is odd about a value, and what may have been meant; None for a value to be believed.

    `value` in the unit of the indication.
    """
    said = f"{value:g} {indication.unit}".strip()
    expected = [row.value for row in chart if row.quantity == name and row.value != 0]
    if indication.plausible is not None:
        low, high = indication.plausible
        if not low <= value <= high:
            near = _near(expected, low, high)
            other = _other(value, indication.unit, *near)
            if not other and value < 0 and near[0] <= -value <= near[1]:
                other = f"was {-value:g} meant?"  # grids are told by their volts, without a sign
            return f"{said} is not between {low:g} and {high:g} {indication.unit}".strip(), other
    if not expected or value == 0:
        return None
    least, most = min(map(abs, expected)), max(map(abs, expected))
    if not least / FAR <= abs(value) <= most * FAR:
        other = _other(abs(value), indication.unit, least / NEAR, most * NEAR)
        if other:
            return f"{said} is far from {expected[0]:g} {indication.unit} in the chart", other
    same_sign = any((row > 0) == (value > 0) for row in expected)
    if not same_sign and least / 2 <= abs(value) <= most * 2:
        return f"{said} has the other sign than the chart", f"was {-value:g} meant?"
    return None


def _near(expected: list[float], low: float, high: float) -> tuple[float, float]:
    """What may be meant within the plausible: something near the chart, where that has a row."""
    if not expected:
        return low, high
    sign = -1.0 if max(expected) < 0 else 1.0
    ends = sorted((sign * min(map(abs, expected)) / NEAR, sign * max(map(abs, expected)) * NEAR))
    return max(low, ends[0]), min(high, ends[1])


def _other(value: float, unit: str, low: float, high: float) -> str:
    """The value with another prefix that would fit, as a question."""
    for factor in PREFIXES:
        if low <= value * factor <= high:
            return f"was another prefix meant, {value * factor:g} {unit}?"
    return ""
