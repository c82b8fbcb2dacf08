"""Summing variables out of a product of tables, one after another, and the way back.

The plan is a list of binary contractions; running it forward yields the sum over all variables, running
it backward yields the derivative of that sum with respect to every table entry at once. All terms
are non-negative, so nothing cancels.

Literature: A. Darwiche, "A differential approach to inference in Bayesian networks", J. ACM 50
(2003); N. L. Zhang and D. Poole, "Exploiting causal independence in Bayesian network inference", JAIR 5
(1996); U. Kjaerulff, "Triangulation of graphs" (1990), for the greedy order by smallest table.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np

from diagnose.inference.scale import Array

_LETTERS = "acdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"  # "b" is the batch axis
_RESCALE_EVERY = 6  # contractions between two rescalings: keeps 1e-300 out of reach


class TooWide(Exception):
    """The tables of a plan would be larger than the stated budget of work."""

    def __init__(self, cells: float) -> None:
        super().__init__(f"a table of {cells:.3g} cells")
        self.cells = cells


@dataclass(frozen=True)
class Step:
    """Contract tables `left` and `right` (None: only sum `left`) into table `out`."""

    left: int
    right: int | None
    out: int
    forward: str
    to_left: str
    to_right: str


@dataclass(frozen=True)
class Contraction:
    """A plan over input tables 0..n-1; `scalars` are the tables left at the end.

    `cells` is the largest table, `work` the sum of the sizes of all products formed.
    """

    inputs: int
    steps: tuple[Step, ...]
    scalars: tuple[int, ...]
    cells: float
    work: float


def plan_contraction(
    scopes: Sequence[tuple[int, ...]], sizes: Sequence[int], budget: float = float("inf")
) -> Contraction:
    """Order of elimination for tables over `scopes` (variables of the given sizes).

    Greedy: the next variable is the one whose elimination leaves the smallest table.
    Raises TooWide when a table would have more than `budget` cells.
    """
    builder = _Builder(scopes, sizes, budget)
    builder.eliminate_all()
    scalars = tuple(sorted(builder.live))
    return Contraction(len(scopes), tuple(builder.steps), scalars, builder.cells, builder.work)


class _Builder:
    """The state of planning: which tables live, which variable is in which, and neighbours."""

    def __init__(
        self, scopes: Sequence[tuple[int, ...]], sizes: Sequence[int], budget: float
    ) -> None:
        self.sizes = sizes
        self.budget = budget
        self.scopes: list[tuple[int, ...]] = [tuple(scope) for scope in scopes]
        self.live = set(range(len(scopes)))
        self.tables_of: dict[int, set[int]] = {}
        self.near: dict[int, set[int]] = {}
        for table, scope in enumerate(self.scopes):
            for variable in scope:
                self.tables_of.setdefault(variable, set()).add(table)
                self.near.setdefault(variable, set()).update(scope)
        self.steps: list[Step] = []
        self.cells = 1.0
        self.work = 0.0

    def eliminate_all(self) -> None:
        heap = [(self._cost(v), v) for v in self.near]
        heapq.heapify(heap)
        gone: set[int] = set()
        while heap:
            cost, variable = heapq.heappop(heap)
            if variable in gone:
                continue
            now = self._cost(variable)
            if now > cost:  # the entry was out of date
                heapq.heappush(heap, (now, variable))
                continue
            self._eliminate(variable)
            gone.add(variable)
            touched = self.near.pop(variable)
            touched.discard(variable)
            for other in touched:
                self.near[other] |= touched
                self.near[other].discard(variable)
                heapq.heappush(heap, (self._cost(other), other))

    def _cost(self, variable: int) -> float:
        size = 1.0
        for other in self.near[variable]:
            if other != variable:
                size *= self.sizes[other]
        return size

    def _eliminate(self, variable: int) -> None:
        tables = sorted(self.tables_of.pop(variable), key=lambda t: (len(self.scopes[t]), t))
        while len(tables) > 2:
            joined = self._contract(tables[0], tables[1], None)
            tables = sorted([joined, *tables[2:]], key=lambda t: (len(self.scopes[t]), t))
        right = tables[1] if len(tables) == 2 else None
        self._contract(tables[0], right, variable)

    def _contract(self, left: int, right: int | None, variable: int | None) -> int:
        scope_left = self.scopes[left]
        scope_right = self.scopes[right] if right is not None else ()
        union = tuple(dict.fromkeys((*scope_left, *scope_right)))
        result = tuple(v for v in union if v != variable)
        product = reduce(lambda size, v: size * self.sizes[v], union, 1.0)
        kept = reduce(lambda size, v: size * self.sizes[v], result, 1.0)
        self.work += product
        self.cells = max(self.cells, kept)
        if product > self.budget:
            raise TooWide(product)
        out = len(self.scopes)
        self.scopes.append(result)
        letter = {v: _LETTERS[i] for i, v in enumerate(union)}

        def spell(scope: tuple[int, ...]) -> str:
            return "b" + "".join(letter[v] for v in scope)

        one, two, three = spell(scope_left), spell(scope_right), spell(result)
        if right is None:
            self.steps.append(Step(left, None, out, f"{one}->{three}", f"{three}->{one}", ""))
        else:
            self.steps.append(
                Step(left, right, out, f"{one},{two}->{three}", f"{three},{two}->{one}",
                     f"{three},{one}->{two}")
            )
        for table in (left, right):
            if table is None:
                continue
            self.live.discard(table)
            for v in self.scopes[table]:
                if v in self.tables_of:
                    self.tables_of[v].discard(table)
        self.live.add(out)
        for v in result:
            if v in self.tables_of:
                self.tables_of[v].add(out)
        return out


@dataclass(frozen=True, eq=False)
class Run:
    """The tables of a forward run, and the logarithm (natural) of the sum, shape (B,)."""

    plan: Contraction
    tables: tuple[Array, ...]
    log_sum: Array


def run_forward(plan: Contraction, inputs: Sequence[Array]) -> Run:
    """Sum over all variables. Each input has a leading batch axis of size 1 or B."""
    tables: list[Array] = list(inputs)
    log_scale: Array | float = 0.0
    with np.errstate(divide="ignore"):
        for count, step in enumerate(plan.steps):
            if step.right is None:
                out = np.einsum(step.forward, tables[step.left])
            else:
                out = np.einsum(step.forward, tables[step.left], tables[step.right])
            if count % _RESCALE_EVERY == 0:
                top = out.reshape(out.shape[0], -1).max(1)
                top = np.where(top > 0, top, 1.0)
                out = out / top.reshape((-1,) + (1,) * (out.ndim - 1))
                log_scale = log_scale + np.log(top)
            tables.append(out)
        for scalar in plan.scalars:
            log_scale = log_scale + np.log(tables[scalar])
    return Run(plan, tuple(tables), np.atleast_1d(np.asarray(log_scale, dtype=float)))


def run_backward(run: Run) -> tuple[Array, ...]:
    """Derivative of the sum with respect to each input table, up to a positive factor per variant.

    The factor is common to all entries of all tables of one variant of the batch, up to
    rescaling constants, so it cancels in every posterior that is normalized over one table.
    """
    plan, tables = run.plan, run.tables
    adjoint: list[Array | None] = [None] * len(tables)
    for scalar in plan.scalars:
        adjoint[scalar] = np.ones((1,))
    for step in reversed(plan.steps):
        back = adjoint[step.out]
        assert back is not None
        left = tables[step.left]
        if step.right is None:
            shape = (max(back.shape[0], left.shape[0]), *left.shape[1:])
            letters = step.to_left.split("->")
            axes = [letters[0].find(c) for c in letters[1]]
            view = back.transpose([a for a in axes if a >= 0])
            view = view[tuple(slice(None) if a >= 0 else np.newaxis for a in axes)]
            adjoint[step.left] = np.broadcast_to(view, shape)
        else:
            right = tables[step.right]
            adjoint[step.left] = np.einsum(step.to_left, back, right)
            adjoint[step.right] = np.einsum(step.to_right, back, left)
        if not step.out % _RESCALE_EVERY:
            for slot in (step.left, step.right):
                if slot is not None:
                    adjoint[slot] = _rescaled(adjoint[slot])
    return tuple(_present(adjoint[table]) for table in range(plan.inputs))


def _rescaled(values: Array | None) -> Array:
    values = _present(values)
    top = values.reshape(values.shape[0], -1).max(1)
    top = np.where(top > 0, top, 1.0)
    scaled: Array = values / top.reshape((-1,) + (1,) * (values.ndim - 1))
    return scaled


def _present(values: Array | None) -> Array:
    if values is None:
        raise AssertionError("a table that no step used")
    return values
