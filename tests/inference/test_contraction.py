"""Plans of contractions: the sum over all variables and its derivatives, against direct summing."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from diagnose.inference.arithmetic import PLAIN, TWOFOLD, Arithmetic
from diagnose.inference.contraction import TooWide
from diagnose.inference.elimination import run_backward, run_forward, run_partly
from diagnose.inference.planning import plan_contraction, plan_partly
from diagnose.inference.scale import Array
from tests.inference.agreement import how_many


def _problem(seed: int, largest: int = 4) -> tuple[list[tuple[int, ...]], list[int], list[Array]]:
    rng = np.random.default_rng(seed)
    sizes = rng.integers(2, largest + 1, rng.integers(1, 7)).tolist()
    scopes = []
    for _ in range(rng.integers(1, 9)):
        width = int(rng.integers(0, min(4, len(sizes) + 1)))
        scopes.append(tuple(rng.choice(len(sizes), width, replace=False).tolist()))
    variants = int(rng.integers(1, 4))
    tables = []
    for scope in scopes:
        batch = variants if rng.random() < 0.5 else 1
        values = rng.random((batch, *[sizes[v] for v in scope]))
        values[rng.random(values.shape) < 0.2] = 0.0
        tables.append(values)
    return scopes, sizes, tables


def _direct(scopes: list[tuple[int, ...]], tables: list[Array], keep: int | None) -> Array:
    """Sum of the product of all tables, or of all but one, over its complement's variables."""
    letters = "acdefgh"
    terms, chosen = [], []
    for number, (scope, table) in enumerate(zip(scopes, tables, strict=True)):
        if number != keep:
            terms.append("b" + "".join(letters[v] for v in scope))
            chosen.append(table)
    present = sorted({v for number, scope in enumerate(scopes) if number != keep for v in scope})
    out = "b" if keep is None else "b" + "".join(letters[v] for v in scopes[keep] if v in present)
    if not terms:
        return np.ones(1)
    values: Array = np.einsum(",".join(terms) + "->" + out, *chosen)
    if keep is not None:
        index = (slice(None), *[slice(None) if v in present else np.newaxis for v in scopes[keep]])
        values = values[index]
    return values


@pytest.mark.parametrize("arithmetic", [PLAIN, TWOFOLD])
def test_the_sum_and_every_derivative(arithmetic: Arithmetic[Any]) -> None:
    """Any scopes, scalars and repeated ones too; each derivative up to one factor per variant."""
    for seed in range(how_many(300)):
        # every fifth with tables large enough for matrix products
        scopes, sizes, tables = _problem(seed, 4 if seed % 5 else 14)
        plan = plan_contraction(scopes, sizes, 1e9)
        run = run_forward(plan, tables, arithmetic)
        with np.errstate(divide="ignore"):
            expected = np.log(_direct(scopes, tables, None))
        shape = np.broadcast_shapes(run.log_sum.shape, expected.shape)
        np.testing.assert_allclose(
            np.broadcast_to(run.log_sum, shape), np.broadcast_to(expected, shape), rtol=1e-10, atol=1e-10
        )
        for number, found in enumerate(run_backward(run)):
            assert found is not None
            truth = _direct(scopes, tables, number)
            shape = np.broadcast_shapes(truth.shape, found.shape, (1, *tables[number].shape[1:]))
            truth, ours = np.broadcast_to(truth, shape), np.broadcast_to(found, shape)
            axes = tuple(range(1, len(shape)))
            np.testing.assert_allclose(
                ours * truth.sum(axes, keepdims=True),
                truth * ours.sum(axes, keepdims=True),
                rtol=1e-10,
                atol=1e-300,
            )
            if len(shape) > 1:
                assert np.all(ours.sum(axes)[truth.sum(axes) > 0] > 0)


def test_the_cheaper_of_two_orders() -> None:
    """Where the smallest table first means much work, the order of least fill is tried too.

    A large budget, with which both are tried, never gives a dearer plan than a small one; both are right.
    """
    for seed in range(how_many(20)):
        rng = np.random.default_rng(seed)
        sizes = rng.integers(2, 8, 26).tolist()
        pairs = {tuple(sorted(rng.choice(26, 2, replace=False).tolist())) for _ in range(50)}
        scopes = [(one, two) for one, two in pairs]
        try:
            hasty = plan_contraction(scopes, sizes, 9e6)
        except TooWide:
            continue
        patient = plan_contraction(scopes, sizes, 1e9)
        assert patient.work <= hasty.work
        tables = [rng.random((1, sizes[one], sizes[two])) for one, two in scopes]
        assert run_forward(patient, tables, PLAIN).log_sum[0] == pytest.approx(
            run_forward(hasty, tables, PLAIN).log_sum[0], rel=1e-12
        )


def test_only_the_derivatives_wanted() -> None:
    """The others are not formed."""
    scopes = [(0,), (0, 1), (1, 2), (2,)]
    plan = plan_contraction(scopes, [2, 3, 2], wanted=[1])
    tables = [np.ones((1, *[[2, 3, 2][v] for v in scope])) for scope in scopes]
    found = run_backward(run_forward(plan, tables, PLAIN))
    assert found[1] is not None
    assert found[3] is None


def test_too_wide_says_how_wide() -> None:
    """A clique of five variables of ten states needs a product of 1e5 cells."""
    scopes = [(i, j) for i in range(5) for j in range(i)]
    with pytest.raises(TooWide, match="1e"):
        plan_contraction(scopes, [10] * 5, budget=5e4)
    assert plan_contraction(scopes, [10] * 5, budget=1e5).work >= 1e5


@pytest.mark.parametrize("links", [3, 100, 2000])
def test_nothing_runs_out_of_range(links: int) -> None:
    """A chain whose sum is far below the smallest float: log of 2 (1e-20)^n, and even derivatives."""
    scopes = [(0,), *[(i, i + 1) for i in range(links)]]
    tables = [np.ones((1, 2)), *[np.full((1, 2, 2), 5e-21) for _ in range(links)]]
    plan = plan_contraction(scopes, [2] * (links + 1))
    run = run_forward(plan, tables, PLAIN)
    assert run.log_sum[0] == pytest.approx(math.log(2) + links * math.log(1e-20), rel=1e-12)
    for found in run_backward(run):
        assert found is not None
        np.testing.assert_allclose(found / found.max(), 1.0)


@pytest.mark.parametrize("arithmetic", [PLAIN, TWOFOLD])
def test_summed_partly_and_then_wholly(arithmetic: Arithmetic[Any]) -> None:
    """Some variables first, as far as that is cheap, then all others: the same sum; no table lies within another."""
    for seed in range(how_many(200)):
        scopes, sizes, tables = _problem(seed, 4 if seed % 5 else 14)
        tables = [table[:1] for table in tables]
        kept = [variable for variable in range(len(sizes)) if (seed + variable) % 3 == 0]
        plan = plan_partly(scopes, sizes, kept, [10.0, 300.0, 1e9][seed % 3])
        assert {v for scope in plan.scopes for v in scope} >= {v for s in scopes for v in s} & set(kept)
        if seed % 3 == 2:
            assert not {v for scope in plan.scopes for v in scope} - set(kept)
            for number, scope in enumerate(plan.scopes):
                others = [set(other) for place, other in enumerate(plan.scopes) if place != number]
                assert not scope or not any(set(scope) <= other for other in others)
        left, log = run_partly(plan, tables, arithmetic)
        assert all(np.abs(arithmetic.plain(table)).max(initial=0.0) <= 1.0 for table in left)
        whole = plan_contraction(plan.scopes, sizes)
        run = run_forward(whole, [arithmetic.plain(table) for table in left], PLAIN)
        with np.errstate(divide="ignore"):
            expected = np.log(_direct(scopes, tables, None))
        np.testing.assert_allclose(run.log_sum + log, expected, rtol=1e-10, atol=1e-10)


def test_patience_never_costs() -> None:
    """Where an order means very much work, orders a little astray of it are tried: never dearer, as right, and alike."""
    tried = 0
    for seed in range(how_many(20)):
        rng = np.random.default_rng(seed)
        sizes = rng.integers(2, 7, 30).tolist()
        pairs = {tuple(sorted(rng.choice(30, 2, replace=False).tolist())) for _ in range(90)}
        scopes = [(one, two) for one, two in sorted(pairs)]
        hasty = plan_contraction(scopes, sizes, patient=False)
        patient = plan_contraction(scopes, sizes)
        assert patient.work <= hasty.work
        assert patient == plan_contraction(scopes, sizes)
        if patient.work < hasty.work < 1e8:
            tried += 1
            tables = [rng.random((1, sizes[one], sizes[two])) for one, two in scopes]
            sums = [run_forward(plan, tables, PLAIN).log_sum[0] for plan in (patient, hasty)]
            assert sums[0] == pytest.approx(sums[1], rel=1e-12)
    assert tried > 0
