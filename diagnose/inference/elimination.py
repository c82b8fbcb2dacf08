"""Running a plan of contractions: forward to the sum, backward to all its derivatives.

All tables have a leading batch axis (size 1 or B). Tables in cumulative form take differences, so a run
can lose digits where the evidence is improbable; a run with TWOFOLD arithmetic has twice as many to lose.
`shift` multiplies every table by a factor of its own, so that a second run rounds everywhere differently:
see `solve`.

Literature: A. Darwiche, "A differential approach to inference in Bayesian networks", J. ACM 50 (2003).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np

from diagnose.inference.arithmetic import Arithmetic
from diagnose.inference.contraction import NONE, Contraction
from diagnose.inference.scale import Array
from diagnose.inference.twofold import Twofold

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class Run(Generic[T]):
    """The tables of a forward run, and the logarithm (natural) of the sum, shape (B,)."""

    plan: Contraction
    arithmetic: Arithmetic[T]
    tables: tuple[T, ...]
    log_sum: Array


def run_forward(
    plan: Contraction,
    inputs: Sequence[Array | Twofold],
    arithmetic: Arithmetic[T],
    shift: Sequence[float] | None = None,
) -> Run[T]:
    """Sum over all variables. The logarithm is NaN where rounding left a negative sum."""
    tables, log_scale = _carried_out(plan, inputs, arithmetic, shift)
    with np.errstate(divide="ignore", invalid="ignore"):
        for scalar in plan.left:
            log_scale = log_scale + np.log(arithmetic.plain(tables[scalar]))
    return Run(plan, arithmetic, tuple(tables), log_scale)


def run_partly(
    plan: Contraction,
    inputs: Sequence[Array | Twofold],
    arithmetic: Arithmetic[T],
    shift: Sequence[float] | None = None,
) -> tuple[list[T], Array]:
    """The tables that a plan leaves, each scaled to a greatest entry of 1, and the logarithm of what all were divided by."""
    tables, log_scale = _carried_out(plan, inputs, arithmetic, shift)
    left = []
    for table in plan.left:
        top = _greatest(arithmetic.plain(tables[table]))
        left.append(arithmetic.divided(tables[table], top))
        log_scale = log_scale + np.log(top.reshape(-1))
    return left, log_scale


def _carried_out(
    plan: Contraction,
    inputs: Sequence[Array | Twofold],
    arithmetic: Arithmetic[T],
    shift: Sequence[float] | None,
) -> tuple[list[T], Array]:
    """All tables, and the logarithm of what they were divided by."""
    factors = [1.0] * len(inputs) if shift is None else shift
    tables: list[T] = [arithmetic.of(table, factor) for table, factor in zip(inputs, factors, strict=True)]
    log_scale: Array = np.full(1, -float(np.log(factors).sum()) if shift else 0.0)
    for step in plan.steps:
        if step.right == NONE:
            out = arithmetic.total(tables[step.left], step.axis)
        else:
            out = arithmetic.contract(tables[step.left], tables[step.right], step.forward)
        if step.rescale:
            top = _greatest(arithmetic.plain(out))
            out = arithmetic.divided(out, top)
            log_scale = log_scale + np.log(top.reshape(-1))
        tables.append(out)
    return tables, log_scale


def run_backward(run: Run[T]) -> tuple[Array | None, ...]:
    """Derivative of the sum by each input table that was wanted.

    Each is right up to a positive factor per variant of the batch, common to all entries of one
    table, so it cancels in every posterior that is normalized over one table. (Where the sum is zero because
    of tables that share no variable with these, directly or through others, that zero is not seen here.)
    """
    plan, tables, arithmetic = run.plan, run.tables, run.arithmetic
    derivative: list[T | None] = [None] * len(tables)
    for scalar in plan.left:
        derivative[scalar] = arithmetic.of(np.ones(1), 1.0)
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


def _tamed(arithmetic: Arithmetic[T], table: T) -> T:
    return arithmetic.divided(table, _greatest(arithmetic.plain(table)))


def _greatest(values: Array) -> Array:
    """Power of two above the greatest magnitude per variant (1 where all are zero), to divide by."""
    flat = values.reshape(values.shape[0], -1)
    top = np.maximum(flat.max(1), -flat.min(1))
    power: Array = np.ldexp(1.0, np.frexp(top)[1])
    return power.reshape((-1,) + (1,) * (values.ndim - 1))
