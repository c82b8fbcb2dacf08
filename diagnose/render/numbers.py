"""Numbers as a technician says them: no digit that nobody knows."""

from __future__ import annotations

import math
from collections.abc import Sequence

MOST_OF_VARIANCE = 0.95  # share of the variance from which the rest of its origins is not named
MOST_SETS = 10_000_000
_SPOKEN_UNITS = {"percent": "%", "dimensionless": ""}


def chance(probability: float) -> str:
    """A belief as a frequency of 100: `85 of 100`, `<1 of 100`, `>99 of 100`."""
    if not math.isfinite(probability):
        return "not known"
    if probability <= 0:
        return "0 of 100"
    if probability >= 1:
        return "100 of 100"
    if probability < 0.01:
        return "<1 of 100"
    if probability > 0.99:
        return ">99 of 100"
    return f"{round(100 * probability)} of 100"


def rate(probability: float) -> str:
    """A stated frequency in the fewest sets that show it, to two figures: `8 of 10`, `85 of 100`, `3 of 1000`."""
    if not 0 < probability < 1:
        return "0 of 10" if probability <= 0 else "10 of 10"
    sets = 10
    while sets < MOST_SETS and not _shows(probability, sets):
        sets *= 10
    return f"{round(probability * sets)} of {sets}"


def _shows(probability: float, sets: int) -> bool:
    """Whether so many sets are enough: a whole number of them, or two figures; never all of them."""
    seen = probability * sets
    if round(seen) == sets:
        return False
    return seen >= 10 or math.isclose(seen, round(seen), rel_tol=1e-6)


def minutes(time: float) -> str:
    """A time, rounded the more the longer it is: `4 min`, `35 min`, `2 h`, `2.5 h`."""
    if time < 1:
        return "under 1 min"
    if time < 20:
        return f"{round(time)} min"
    if time < 118:
        return f"{5 * round(time / 5)} min"
    return f"{round(2 * time / 60) / 2:g} h"


def digits(value: float, figures: int = 3) -> str:
    """A number to so many significant figures, written out in full."""
    if not math.isfinite(value):
        return "not known"
    if value == 0:
        return "0"
    decimals = figures - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, decimals)
    if decimals <= 0:
        return f"{rounded:.0f}"
    text = f"{rounded:.{decimals}f}"
    return text.rstrip("0").rstrip(".")


def value(number: float, unit: str, figures: int = 3) -> str:
    """A value with its unit: `585 V`, `3.2 %`."""
    return f"{digits(number, figures)} {spoken(unit)}".rstrip()


def spoken(unit: str) -> str:
    """A unit as it stands behind a number."""
    return _SPOKEN_UNITS.get(unit, unit)


def uncertain(number: float, standard: float) -> tuple[str, str]:
    """A value and its standard uncertainty, which has two figures, to the same place (JCGM 100:2008, 7.2.6)."""
    if not (math.isfinite(number) and math.isfinite(standard)) or standard <= 0:
        return digits(number), digits(standard)
    decimals = 1 - math.floor(math.log10(standard))
    if round(standard, decimals) >= 10.0 ** (2 - decimals):  # 0.0996 is 0.10
        decimals -= 1
    places = max(decimals, 0)
    return f"{round(number, decimals):.{places}f}", f"{round(standard, decimals):.{places}f}"


def most_of(parts: Sequence[tuple[str, float]]) -> list[tuple[str, float]]:
    """Of independent uncertainties, the largest first, those that make most of the whole up."""
    left = sum(part * part for _, part in parts)
    enough = (1.0 - MOST_OF_VARIANCE) * left
    named: list[tuple[str, float]] = []
    for name, part in parts:
        if left <= enough or part == 0.0:
            break
        named.append((name, part))
        left -= part * part
    return named


def span(low: float, high: float, unit: str) -> str:
    """A range with its unit: `540 to 660 V`."""
    return f"{digits(low)} to {value(high, unit)}"


def bits(amount: float) -> str:
    """Information without a sign: `1.4 bits`, `under 0.1 bit`."""
    if abs(amount) < 0.1:
        return "under 0.1 bit"
    return f"{abs(amount):.1f} bits"


def signed(amount: float) -> str:
    """Bits for or against, in a column: `+3.2`, `-0.4`, `0.0`."""
    text = f"{amount:+.1f}"
    return "0.0" if text in ("+0.0", "-0.0") else text


def count(number: int, singular: str, plural: str = "") -> str:
    """`1 case`, `3 cases`, `no cases`."""
    many = plural or f"{singular}s"
    if number == 1:
        return f"1 {singular}"
    return f"{number or 'no'} {many}"
