"""In which order the variables of a product of tables are summed out: two greedy ones.

Literature: U. Kjaerulff, "Triangulation of graphs" (1990), for the orders by smallest table and by least fill.
"""

from __future__ import annotations

import heapq
from collections.abc import Collection, Sequence
from math import exp
from random import Random

_ASTRAY = 0.2  # standard deviation of the logarithm of a count that is led astray


def _neighbours(scopes: Sequence[tuple[int, ...]]) -> dict[int, set[int]]:
    """For each variable those it shares a table with, and itself."""
    near: dict[int, set[int]] = {}
    for scope in scopes:
        for variable in scope:
            near.setdefault(variable, set()).update(scope)
    return near


def smallest_first(
    scopes: Sequence[tuple[int, ...]],
    sizes: Sequence[int],
    kept: Collection[int] = (),
    most: float = float("inf"),
) -> list[int]:
    """Variables in order of elimination, each time the one that leaves the smallest table.

    Without those `kept`, and without all from the first that would take a product of more than `most` cells.
    """
    near = _neighbours(scopes)

    def cost(variable: int) -> float:
        cells = 1.0
        for other in near[variable]:
            cells *= sizes[other]
        return cells / sizes[variable]

    current = {variable: cost(variable) for variable in near if variable not in kept}
    heap = [(value, variable) for variable, value in current.items()]
    heapq.heapify(heap)
    order: list[int] = []
    while heap:
        value, variable = heapq.heappop(heap)
        if current.get(variable) != value:  # the entry is out of date
            continue
        if value * sizes[variable] > most:
            break
        order.append(variable)
        del current[variable]
        touched = near.pop(variable)
        touched.discard(variable)
        for other in touched:
            neighbours = near[other]
            neighbours |= touched
            neighbours.discard(variable)
            if other in current:
                value = cost(other)
                if value != current[other]:
                    current[other] = value
                    heapq.heappush(heap, (value, other))
    return order


def least_filling_first(
    scopes: Sequence[tuple[int, ...]], sizes: Sequence[int], astray: int | None = None
) -> list[int]:
    """Variables in order of elimination, each time the one whose neighbours are joined most already.

    What is counted is the cells of the pairs of neighbours that no table has joined so far; with a number `astray`,
    each count is led astray a little, by chance, the same way for the same number.
    """
    chance = None if astray is None else Random(astray)
    return _Filling(_neighbours(scopes), sizes, chance).order()


class _Filling:
    """For each variable left its neighbours, and the cells of the pairs of them that are not joined so far."""

    def __init__(self, near: dict[int, set[int]], sizes: Sequence[int], chance: Random | None) -> None:
        self.near, self.sizes, self.chance = near, sizes, chance
        self.place = {variable: number for number, variable in enumerate(near)}
        self.cells = {variable: self._apart(variable) for variable in near}
        self.current: dict[int, tuple[float, int, int]] = {}
        self.heap: list[tuple[tuple[float, int, int], int]] = []
        for variable in near:
            self._note(variable)

    def order(self) -> list[int]:
        """All variables, the least filling first."""
        order: list[int] = []
        while self.heap:
            value, variable = heapq.heappop(self.heap)
            if self.current.get(variable) == value:  # otherwise the entry is out of date
                order.append(variable)
                del self.current[variable]
                joined = self.near.pop(variable)
                joined.discard(variable)
                if value[0]:
                    self._join(variable, joined)
                else:
                    self._leave(variable, joined)
        return order

    def _apart(self, variable: int) -> float:
        around = self.near[variable] - {variable}
        cells = 0.0
        while around:
            one = around.pop()
            others = around - self.near[one]
            if others:
                cells += self.sizes[one] * sum([self.sizes[two] for two in others])
        return cells

    def _note(self, variable: int) -> None:
        # of equals the one with fewest neighbours, then the one that comes first
        cells = self.cells[variable]
        if self.chance is not None and cells:
            cells = (cells + 1.0) * exp(self.chance.gauss(0.0, _ASTRAY))
        value = (cells, len(self.near[variable]), self.place[variable])
        if self.current.get(variable) != value:
            self.current[variable] = value
            heapq.heappush(self.heap, (value, variable))

    def _leave(self, variable: int, joined: set[int]) -> None:
        """Takes a variable out whose neighbours are all joined."""
        for one in joined:
            self.near[one].discard(variable)
            fewer = sum([self.sizes[two] for two in self.near[one] - joined])
            self.cells[one] -= self.sizes[variable] * fewer
            self._note(one)

    def _join(self, variable: int, joined: set[int]) -> None:
        """Takes a variable out and joins its neighbours."""
        near, sizes = self.near, self.sizes
        around: set[int] = set()
        for one in joined:
            for two in joined - near[one]:
                if one < two:
                    both = near[one] & near[two]
                    around |= both
                    for other in both:
                        self.cells[other] -= sizes[one] * sizes[two]
        around.discard(variable)
        for one in joined:
            near[one] |= joined
            near[one].discard(variable)
        for one in joined:
            self.cells[one] = self._apart(one)
        for one in around | joined:
            self._note(one)
