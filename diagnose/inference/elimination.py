"""Running a plan of contractions: forward to the sum, backward to all its derivatives.

All tables have a leading batch axis (size 1 or B). Tables in cumulative form take differences, so a run
can lose digits where the evidence is improbable: `error_bound` says how many at the worst, and a run
with TWOFOLD arithmetic has twice as many to lose.

Literature: A. Darwiche, "A differential approach to inference in Bayesian networks", J. ACM 50 (2003);
N. J. Higham, Accuracy and Stability of Numerical Algorithms (2002), section 3.3, running error analysis.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar

import numpy as np

from diagnose.inference import twofold
from diagnose.inference.contraction import NONE, Contraction
from diagnose.inference.scale import Array
from diagnose.inference.twofold import Twofold

T = TypeVar("T")

_UNIT = 2.0**-53  # relative error of one rounded operation


class Arithmetic(Protocol[T]):
    """The few operations on tables that a run needs."""

    def of(self, values: Array) -> T: ...

    def plain(self, table: T) -> Array: ...

    def contract(self, left: T, right: T, spelled: str) -> T: ...

    def total(self, table: T, axis: int) -> T: ...

    def divided(self, table: T, by: Array) -> T: ...

    def stretched(self, table: T, axis: int, shape: tuple[int, ...]) -> T: ...


class _Plain:
    """Doubles."""

    def of(self, values: Array) -> Array:
        return values

    def plain(self, table: Array) -> Array:
        return table

    def contract(self, left: Array, right: Array, spelled: str) -> Array:
        product: Array = np.einsum(spelled, left, right)
        return product

    def total(self, table: Array, axis: int) -> Array:
        summed: Array = table.sum(axis)
        return summed

    def divided(self, table: Array, by: Array) -> Array:
        return table / by

    def stretched(self, table: Array, axis: int, shape: tuple[int, ...]) -> Array:
        return np.broadcast_to(np.expand_dims(table, axis), shape)


class _Twofold:
    """Pairs of doubles."""

    def of(self, values: Array) -> Twofold:
        return Twofold.of(values)

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


@dataclass(frozen=True, eq=False)
class Run(Generic[T]):
    """The tables of a forward run, and the logarithm (natural) of the sum, shape (B,).

    `scales`: what each step's table was divided by, None where it was left alone.
    """

    plan: Contraction
    arithmetic: Arithmetic[T]
    tables: tuple[T, ...]
    scales: tuple[Array | None, ...]
    log_sum: Array


def run_forward(plan: Contraction, inputs: Sequence[Array], arithmetic: Arithmetic[T]) -> Run[T]:
    """Sum over all variables. The logarithm is NaN where rounding left a negative sum."""
    tables: list[T] = [arithmetic.of(table) for table in inputs]
    scales: list[Array | None] = []
    log_scale: Array = np.zeros(1)
    for step in plan.steps:
        if step.right == NONE:
            out = arithmetic.total(tables[step.left], step.axis)
        else:
            out = arithmetic.contract(tables[step.left], tables[step.right], step.forward)
        top = None
        if step.rescale:
            top = _greatest(arithmetic.plain(out))
            out = arithmetic.divided(out, top)
            log_scale = log_scale + np.log(top.reshape(-1))
        tables.append(out)
        scales.append(top)
    with np.errstate(divide="ignore", invalid="ignore"):
        for scalar in plan.scalars:
            log_scale = log_scale + np.log(arithmetic.plain(tables[scalar]))
    return Run(plan, arithmetic, tuple(tables), tuple(scales), log_scale)


def run_backward(run: Run[T]) -> tuple[Array | None, ...]:
    """Derivative of the sum by each input table that was wanted.

    Each is right up to a positive factor per variant of the batch, common to all entries of one
    table, so it cancels in every posterior that is normalized over one table.
    """
    plan, tables, arithmetic = run.plan, run.tables, run.arithmetic
    derivative: list[T | None] = [None] * len(tables)
    for scalar in plan.scalars:
        derivative[scalar] = arithmetic.of(np.ones(1))
    for number in range(len(plan.steps) - 1, -1, -1):
        step = plan.steps[number]
        back = derivative[plan.inputs + number]
        if back is None:
            continue
        if step.right == NONE:
            if step.to_left:
                variants = arithmetic.plain(back).shape[0]
                shape = (variants, *arithmetic.plain(tables[step.left]).shape[1:])
                derivative[step.left] = arithmetic.stretched(back, step.axis, shape)
            continue
        if step.to_left:
            left = arithmetic.contract(back, tables[step.right], step.to_left)
            derivative[step.left] = _tamed(arithmetic, left) if step.rescale_left else left
        if step.to_right:
            right = arithmetic.contract(back, tables[step.left], step.to_right)
            derivative[step.right] = _tamed(arithmetic, right) if step.rescale_right else right
    return tuple(None if table is None else arithmetic.plain(table) for table in derivative[: plan.inputs])


def error_bound(run: Run[Array]) -> Array:
    """Bound on the relative error that rounding may have left in the sum, shape (B,).

    Running error analysis over the forward run, the input tables taken as exact to the last place.
    """
    plan, tables = run.plan, run.tables
    errors: list[Array] = [4 * _UNIT * np.abs(table) for table in tables[: plan.inputs]]
    for step, scale in zip(plan.steps, run.scales, strict=True):
        left = np.abs(tables[step.left])
        if step.right == NONE:
            count = left.shape[step.axis]
            error = (errors[step.left] + count * _UNIT * left).sum(step.axis)
        else:
            right = np.abs(tables[step.right])
            # one product and at most 15 sums to an entry of a contraction
            rounded = errors[step.right] + 16 * _UNIT * right
            error = np.einsum(step.forward, left, rounded)
            error = error + np.einsum(step.forward, errors[step.left], right + rounded)
        errors.append(error if scale is None else error / scale)
    bound: Array = np.zeros(1)
    with np.errstate(divide="ignore", invalid="ignore"):
        for scalar in plan.scalars:
            share = errors[scalar] / tables[scalar]
            bound = bound + np.where(tables[scalar] > errors[scalar], share, np.inf)
    return bound


def _tamed(arithmetic: Arithmetic[T], table: T) -> T:
    return arithmetic.divided(table, _greatest(arithmetic.plain(table)))


def _greatest(values: Array) -> Array:
    """Power of two near the greatest magnitude per variant (1 where all are zero), to divide by."""
    top = np.abs(values).reshape(values.shape[0], -1).max(1)
    top = np.where(top > 0, np.exp2(np.ceil(np.log2(np.where(top > 0, top, 1.0)))), 1.0)
    return top.reshape((-1,) + (1,) * (values.ndim - 1))
