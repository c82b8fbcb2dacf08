"""A product of tables as a list of steps: which are joined, and which variable is summed out when.

Each step contracts two tables, or sums one. `elimination` runs the steps forward, which yields the
sum over all variables, and backward, which yields its derivative by every table entry at once.

Literature: N. L. Zhang and D. Poole, "Exploiting causal independence in Bayesian network
inference", JAIR 5 (1996).
"""

from __future__ import annotations

import heapq
from collections.abc import Collection, Sequence
from copy import copy
from dataclasses import dataclass
from typing import NamedTuple

_LETTERS = "acdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"  # "b" is the batch axis
_RESCALE_AFTER = 8  # factors in a table; each is seldom below 1e-30, and 1e-308 is the end
NONE = -1


class TooWide(Exception):
    """The tables of a plan would be larger than the stated budget of work."""

    def __init__(self, cells: float) -> None:
        super().__init__(f"a table of {cells:.3g} cells")
        self.cells = cells


class Step(NamedTuple):
    """Contract tables `left` and `right` into the next table, or (right is NONE) sum `left`.

    The strings are for einsum; an empty one means that this derivative is not wanted. `axis` is the axis
    a lone table is summed over, the batch axis counted. The flags say after which contraction a
    table is scaled back to a greatest entry of 1.
    """

    left: int
    right: int
    forward: str
    to_left: str
    to_right: str
    axis: int
    rescale: bool
    rescale_left: bool
    rescale_right: bool


@dataclass(frozen=True)
class Contraction:
    """A plan over input tables 0..n-1; step i makes table n+i; `left` are the tables left, `scopes` theirs.

    A plan that sums over all variables leaves scalars. `cells` is the largest product or table, `work` the sum of the sizes of
    all products formed.
    """

    inputs: int
    steps: tuple[Step, ...]
    left: tuple[int, ...]
    scopes: tuple[tuple[int, ...], ...]
    cells: float
    work: float


class Joins:
    """The steps made so far: which tables live, and which variable is in which."""

    def __init__(self, scopes: Sequence[tuple[int, ...]], sizes: Sequence[int], budget: float) -> None:
        self.sizes = sizes
        self.budget = budget
        self.inputs = len(scopes)
        self.scopes: list[tuple[int, ...]] = list(scopes)
        self.cells: list[float] = [self._size(scope) for scope in scopes]
        self.joined: list[tuple[int, int, int]] = []  # left, right, variable summed
        self.tables_of: dict[int, set[int]] = {}
        for table, scope in enumerate(scopes):
            for variable in scope:
                self.tables_of.setdefault(variable, set()).add(table)
        self.work = 0.0
        self.widest = max(self.cells, default=1.0)

    def copy(self) -> Joins:
        """The same, to go on in another way."""
        other = copy(self)
        other.scopes, other.cells, other.joined = self.scopes.copy(), self.cells.copy(), self.joined.copy()
        other.tables_of = {variable: tables.copy() for variable, tables in self.tables_of.items()}
        return other

    def left(self) -> list[int]:
        """The tables that are no part of another."""
        used = {table for left, right, _ in self.joined for table in (left, right)}
        return [table for table in range(len(self.scopes)) if table not in used]

    def _size(self, scope: tuple[int, ...]) -> float:
        cells = 1.0
        for variable in scope:
            cells *= self.sizes[variable]
        return cells

    def eliminate(self, variable: int) -> None:
        """Multiply the tables of a variable, the smallest first, and sum it out."""
        heap = [(self.cells[table], table) for table in self.tables_of.pop(variable)]
        heapq.heapify(heap)
        while len(heap) > 2:
            _, one = heapq.heappop(heap)
            _, two = heapq.heappop(heap)
            joined = self._join(one, two, NONE)
            heapq.heappush(heap, (self.cells[joined], joined))
        if len(heap) == 2:
            self._join(heap[0][1], heap[1][1], variable)
        else:
            self._join(heap[0][1], NONE, variable)

    def _join(self, left: int, right: int, variable: int) -> int:
        scope = self.scopes[left]
        if right != NONE:
            scope = tuple(dict.fromkeys(scope + self.scopes[right]))
        product = self._size(scope)
        if product > self.budget:
            raise TooWide(product)
        self.work += product
        self.widest = max(self.widest, product)
        if variable != NONE:
            scope = tuple(v for v in scope if v != variable)
            product /= self.sizes[variable]
        out = len(self.scopes)
        self.scopes.append(scope)
        self.cells.append(product)
        self.joined.append((left, right, variable))
        for table in (left, right) if right != NONE else (left,):
            for v in self.scopes[table]:
                if v in self.tables_of:
                    self.tables_of[v].discard(table)
        for v in scope:
            if v in self.tables_of:
                self.tables_of[v].add(out)
        return out

    def absorb(self, most: float) -> None:
        """Multiply each table that is left into one that has all its variables, if that has at most so many cells."""
        waiting = [(len(self.scopes[table]), table) for table in self.left() if self.scopes[table]]
        heapq.heapify(waiting)
        while waiting:
            _, table = heapq.heappop(waiting)
            scope = self.scopes[table]
            if table not in self.tables_of[scope[0]]:  # another was multiplied into it
                continue
            around = set.intersection(*(self.tables_of[v] for v in scope)) - {table}
            into = min(around, key=lambda other: self.cells[other], default=NONE)
            if into != NONE and self.cells[into] <= most:
                self._join(into, table, NONE)
                heapq.heappush(waiting, (len(self.scopes[-1]), len(self.scopes) - 1))

    def contraction(self, wanted: Collection[int]) -> Contraction:
        """The finished plan."""
        count = len(self.scopes)
        read = [False] * count
        for table in wanted:
            read[table] = True
        factors = [1] * count  # since the last rescaling
        used = [False] * count
        scaled = [False] * count
        for i, (left, right, _) in enumerate(self.joined):
            out = self.inputs + i
            used[left] = True
            read[out] = read[left]
            total = factors[left]
            if right != NONE:
                used[right] = True
                read[out] = read[left] or read[right]
                total += factors[right]
            scaled[out] = total > _RESCALE_AFTER
            factors[out] = 1 if scaled[out] else total
        steps: list[Step] = []
        behind = [0] * count  # factors in the derivative since its last rescaling
        for i in reversed(range(len(self.joined))):
            left, right, variable = self.joined[i]
            out = self.inputs + i
            back = [False, False]
            if right == NONE:
                behind[left] = behind[out]
            else:
                for side, (table, other) in enumerate(((left, right), (right, left))):
                    total = behind[out] + factors[other]
                    back[side] = total > _RESCALE_AFTER
                    behind[table] = 1 if back[side] else total
            steps.append(self._step(left, right, variable, out, read, scaled[out], back))
        steps.reverse()
        unused = tuple(table for table in range(count) if not used[table])
        scopes = tuple(self.scopes[table] for table in unused)
        return Contraction(self.inputs, tuple(steps), unused, scopes, self.widest, self.work)

    def _step(
        self,
        left: int,
        right: int,
        variable: int,
        out: int,
        read: Sequence[bool],
        scaled: bool,
        back: Sequence[bool],
    ) -> Step:
        if right == NONE:
            axis = 1 + self.scopes[left].index(variable)
            wants = "left" if read[left] else ""
            return Step(left, NONE, "", wants, "", axis, scaled, False, False)
        letter: dict[int, str] = {}
        one = "b"
        for v in self.scopes[left]:
            letter[v] = _LETTERS[len(letter)]
            one += letter[v]
        two = "b"
        for v in self.scopes[right]:
            if v not in letter:
                letter[v] = _LETTERS[len(letter)]
            two += letter[v]
        three = "b" + "".join([letter[v] for v in self.scopes[out]])
        return Step(
            left,
            right,
            f"{one},{two}->{three}",
            f"{three},{two}->{one}" if read[left] else "",
            f"{three},{one}->{two}" if read[right] else "",
            0,
            scaled,
            back[0],
            back[1],
        )
