"""Tables of twofold numbers: each entry the unevaluated sum of two doubles, about 32 digits.

Sums in cumulative form take differences; where the evidence is very improbable these would eat the
digits of plain doubles. Entries of up to 1e150 are safe; the error of a product or sum is some 1e-31 of it.

Literature: T. J. Dekker, "A floating-point technique for extending the available precision", Numer. Math.
18 (1971), for the split and the product; D. E. Knuth, The Art of Computer Programming, vol. 2, section 4.2.2,
theorem B, for the sum.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from diagnose.inference.scale import Array

_NOTHING = 2.0**-92  # of the terms of a sum: less than that is rounding
_SPLITTER = 134217729.0  # 2**27 + 1: halves the 53 bits of a double


@dataclass(frozen=True, eq=False)
class Twofold:
    """A table; the value of an entry is high + low, and |low| is at most half a unit of high."""

    high: Array
    low: Array

    @classmethod
    def of(cls, values: Array | Twofold, factor: float = 1.0) -> Twofold:
        """A table of plain or twofold numbers, each multiplied by the factor; of plain ones without rounding."""
        plain = values if isinstance(values, Twofold) else cls(values, np.zeros_like(values))
        if factor == 1.0:
            return plain
        return _product(plain, cls(np.array(factor), np.array(0.0)))

    def __getitem__(self, index: Any) -> Twofold:
        """Some of the entries."""
        return Twofold(self.high[index], self.low[index])

    def times(self, scale: Array) -> Twofold:
        """All entries multiplied by powers of two."""
        return Twofold(self.high * scale, self.low * scale)


def contract(left: Twofold, right: Twofold, spelled: str) -> Twofold:
    """Product of two tables summed over the letters missing in the result, spelled as for einsum."""
    operands, result = spelled.split("->")
    one, two = operands.split(",")
    summed = [letter for letter in dict.fromkeys(one + two) if letter not in result]
    letters = result + "".join(summed)
    product = _product(_spread(left, one, letters), _spread(right, two, letters))
    for _ in summed:
        product = total(product, product.high.ndim - 1)
    return product


def total(table: Twofold, axis: int) -> Twofold:
    """Sum over one axis. What is left of terms that cancel to the last place is taken as zero."""
    high = np.moveaxis(table.high, axis, 0)
    low = np.moveaxis(table.low, axis, 0)
    sum_high, sum_low = high[0], low[0]
    for position in range(1, high.shape[0]):
        added, error = _two_sum(sum_high, high[position])
        sum_high, sum_low = _quick(added, error + (sum_low + low[position]))
    kept = np.abs(sum_high) > _NOTHING * np.abs(high).sum(0)
    return Twofold(np.where(kept, sum_high, 0.0), np.where(kept, sum_low, 0.0))


def _spread(table: Twofold, own: str, letters: str) -> Twofold:
    """The table with its axes in the order of `letters`, one of length 1 for each it lacks."""
    order = [own.index(letter) for letter in letters if letter in own]
    index = tuple(slice(None) if letter in own else np.newaxis for letter in letters)
    return Twofold(table.high.transpose(order)[index], table.low.transpose(order)[index])


def _product(one: Twofold, two: Twofold) -> Twofold:
    product = one.high * two.high
    one_high, one_low = _split(one.high)
    two_high, two_low = _split(two.high)
    error = one_high * two_high - product
    error += one_high * two_low
    error += one_low * two_high
    error += one_low * two_low
    error += one.high * two.low
    error += one.low * two.high
    return Twofold(*_quick(product, error))


def _split(values: Array) -> tuple[Array, Array]:
    stretched = values * _SPLITTER
    high = stretched - (stretched - values)
    return high, values - high


def _two_sum(one: Array, two: Array) -> tuple[Array, Array]:
    added = one + two
    back = added - one
    return added, (one - (added - back)) + (two - back)


def _quick(large: Array, small: Array) -> tuple[Array, Array]:
    added = large + small
    return added, small - (added - large)
