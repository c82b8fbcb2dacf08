"""The few operations on tables that a run needs, in doubles and in pairs of doubles.

All tables have a leading batch axis (size 1 or B).
"""

from __future__ import annotations

from functools import lru_cache
from math import prod
from typing import NamedTuple, Protocol, TypeVar

import numpy as np

from diagnose.inference import twofold
from diagnose.inference.scale import Array
from diagnose.inference.twofold import Twofold

T = TypeVar("T")

_LARGE = 64000  # cells of a product from which turning the tables for a matrix product pays


class Arithmetic(Protocol[T]):
    """The few operations on tables that a run needs."""

    def of(self, values: Array | Twofold, factor: float) -> T: ...

    def plain(self, table: T) -> Array: ...

    def contract(self, left: T, right: T, spelled: str) -> T: ...

    def total(self, table: T, axis: int) -> T: ...

    def divided(self, table: T, by: Array) -> T: ...

    def stretched(self, table: T, axis: int, shape: tuple[int, ...]) -> T: ...


class _Plain:
    """Doubles."""

    def of(self, values: Array | Twofold, factor: float) -> Array:
        plain = values.high + values.low if isinstance(values, Twofold) else values
        return plain if factor == 1.0 else plain * factor

    def plain(self, table: Array) -> Array:
        return table

    def contract(self, left: Array, right: Array, spelled: str) -> Array:
        form = _form(spelled)
        if form.right is not None:
            product: Array = left[form.widened] * right.transpose(form.right)[form.spread]
            return product
        if 4 * max(left.size, right.size) < _LARGE:
            summed: Array = np.einsum(spelled, left, right)
            return summed
        return _matrix_product(form.turned, left, right)

    def total(self, table: Array, axis: int) -> Array:
        summed: Array = table.sum(axis)
        return summed

    def divided(self, table: Array, by: Array) -> Array:
        return table / by

    def stretched(self, table: Array, axis: int, shape: tuple[int, ...]) -> Array:
        return np.broadcast_to(np.expand_dims(table, axis), shape)


class _Twofold:
    """Pairs of doubles."""

    def of(self, values: Array | Twofold, factor: float) -> Twofold:
        return Twofold.of(values, factor)

    def plain(self, table: Twofold) -> Array:
        return table.high + table.low

    def contract(self, left: Twofold, right: Twofold, spelled: str) -> Twofold:
        return twofold.contract(left, right, spelled)

    def total(self, table: Twofold, axis: int) -> Twofold:
        return twofold.total(table, axis)

    def divided(self, table: Twofold, by: Array) -> Twofold:
        return table.times(1.0 / by)  # exact: `by` holds powers of two

    def stretched(self, table: Twofold, axis: int, shape: tuple[int, ...]) -> Twofold:
        high = np.broadcast_to(np.expand_dims(table.high, axis), shape)
        return Twofold(high, np.broadcast_to(np.expand_dims(table.low, axis), shape))


PLAIN: Arithmetic[Array] = _Plain()
TWOFOLD: Arithmetic[Twofold] = _Twofold()


class _Turned(NamedTuple):
    """A contraction as a matrix product: axes as (batch, common, own, summed), and back.

    `common`, `left`, `right`: how many axes both keep, and each alone.
    """

    of_left: tuple[int, ...]
    of_right: tuple[int, ...]
    common: int
    left: int
    right: int
    back: tuple[int, ...]


class _Form(NamedTuple):
    """How to carry out a contraction spelled as for einsum.

    With nothing summed, and the axes of the left table first in the result, it is a product entry by
    entry: `right` orders the axes of the right table, `widened` and `spread` put an axis of length 1 where
    the left and the right lack one. Otherwise `right` is None.
    """

    right: tuple[int, ...] | None
    widened: tuple[slice | None, ...]
    spread: tuple[slice | None, ...]
    turned: _Turned


@lru_cache(maxsize=4096)
def _form(spelled: str) -> _Form:
    operands, result = spelled.split("->")
    left, right = operands.split(",")
    summed = [x for x in left if x in right and x not in result]
    common = [x for x in result[1:] if x in left and x in right]
    of_left = [x for x in left[1:] if x in result and x not in right]
    of_right = [x for x in right[1:] if x in result and x not in left]
    found = ["b", *common, *of_left, *of_right]
    turned = _Turned(
        tuple(left.index(x) for x in ["b", *common, *of_left, *summed]),
        tuple(right.index(x) for x in ["b", *common, *summed, *of_right]),
        len(common),
        len(of_left),
        len(of_right),
        tuple(found.index(x) for x in result),
    )
    entrywise = not summed and result.startswith(left)
    order = tuple(right.index(x) for x in result if x in right)
    widened = tuple(slice(None) if x in left else None for x in result)
    spread = tuple(slice(None) if x in right else None for x in result)
    return _Form(order if entrywise else None, widened, spread, turned)


def _matrix_product(turned: _Turned, left: Array, right: Array) -> Array:
    one, two = left.transpose(turned.of_left), right.transpose(turned.of_right)
    common = one.shape[1 : 1 + turned.common]
    own = one.shape[1 + turned.common : 1 + turned.common + turned.left]
    other = two.shape[two.ndim - turned.right :]
    rows, columns, cells = prod(own), prod(other), prod(common)
    product = one.reshape(one.shape[0], cells, rows, -1) @ two.reshape(two.shape[0], cells, -1, columns)
    values: Array = product.reshape(product.shape[0], *common, *own, *other).transpose(turned.back)
    return values
