"""Many variants of one question: what none of them touches is summed out once, and each keeps a small structure.

All nodes that any variant opens are laid out together, which tells apart what any of them tells apart. Of a node
that a variant does not open nothing is said, so it sums to one with all that lies only above it, and its tables are
left out. The tables that all variants have, but for those that are opened or read, are summed over the variables
that are theirs alone, as far as that is cheap.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from diagnose.inference.arithmetic import TWOFOLD, Arithmetic
from diagnose.inference.contraction import Contraction, TooWide
from diagnose.inference.elimination import run_partly
from diagnose.inference.filling import Table, checked, fill, weigh
from diagnose.inference.layout import Layout
from diagnose.inference.planning import plan_contraction, plan_partly
from diagnose.inference.pruning import ancestors
from diagnose.inference.scale import Array
from diagnose.inference.solve import Solution, shifts, solve
from diagnose.inference.structure import Gatherer, Root, Structure

CHEAP = 3e4  # cells of a product up to which a variable is summed out for all variants at once


class Shared:
    """The variants of one layout, which has the nodes that they open with all their states in its support.

    `likelihood`: by node what was observed, shape (S,), the same in all variants; of the opened nodes none. `budget`:
    the most cells of a product of tables in any of them.
    """

    def __init__(
        self, layout: Layout, likelihood: Mapping[int, Array], opened: Collection[int], budget: float
    ) -> None:
        self.opened, self.budget = frozenset(opened), budget
        self._layout, self._likelihood = layout, likelihood
        # a part that was looked at, absorbed into its only child, has its evidence there
        of_parts = (
            g.node for g in layout.tables.gatherers if not likelihood.keys().isdisjoint(_nodes(layout, g))
        )
        self._always = frozenset(ancestors(layout.network, (*likelihood, *of_parts)))
        touched = self.opened | (layout.read or frozenset())
        fixed: list[Root | Gatherer] = []
        self._loose: list[Root | Gatherer] = []
        self._structures: dict[frozenset[int], Structure | None] = {}
        owners: list[Root | Gatherer] = [*layout.tables.roots, *layout.tables.gatherers]
        for one in owners:
            alike = self._node(one) in self._always and touched.isdisjoint(_nodes(layout, one))
            (fixed if alike else self._loose).append(one)
        loose = {variable for scope in _scopes(layout, self._loose) for variable in scope}
        contraction = plan_partly(_scopes(layout, fixed), layout.tables.sizes, loose, CHEAP)
        whole = _structure(layout, fixed, len(layout.tables.scopes), contraction)
        self._known = _Known(whole, tuple(_tables(fixed)), likelihood)

    def structure(self, opened: Collection[int]) -> Structure | None:
        """The structure of the variant that opens these; None where it is too wide for the budget.

        Variants that bring in the same nodes differ in their numbers only, and have the same.
        """
        more = frozenset(ancestors(self._layout.network, opened)) - self._always
        if more not in self._structures:
            self._structures[more] = self._planned(more)
        return self._structures[more]

    def _planned(self, more: frozenset[int]) -> Structure | None:
        layout = self._layout
        own = [one for one in self._loose if self._node(one) in self._always or self._node(one) in more]
        tables, wanted = list(_tables(own)), frozenset(layout.tables.wanted)
        scopes = [*_scopes(layout, own), *self._known.structure.contraction.scopes]
        read = [place for place, table in enumerate(tables) if table in wanted]
        try:
            contraction = plan_contraction(scopes, layout.tables.sizes, self.budget, read, patient=False)
        except TooWide:
            return None
        return _structure(layout, _renumbered(own), len(tables), contraction)

    def solve(self, structure: Structure, likelihood: Mapping[int, Array], accuracy: float) -> Solution:
        """The solution of a variant, given likelihoods of shape (S,) or (B, S) for what it opens; see `solve`."""
        given = {node: self._likelihood[node] for node in structure.outside if node in self._likelihood}
        return solve(structure, {**given, **likelihood}, accuracy=accuracy, known=self._known)

    def _node(self, one: Root | Gatherer) -> int:
        return self._layout.tables.parts[one.row] if isinstance(one, Root) else one.node


class _Known:
    """The tables of a structure with some variables summed out, by the arithmetic.

    `inputs`: which of its tables the contraction takes.
    """

    def __init__(self, structure: Structure, inputs: Sequence[int], likelihood: Mapping[int, Array]) -> None:
        self.structure, self._inputs = structure, inputs
        self._given = checked(structure, {n: likelihood[n] for n in structure.outside if n in likelihood}, {})
        self.scale = float(self._given.scale[0])
        self._filled: dict[bool, list[Table]] = {}
        self._found: dict[tuple[Arithmetic[Any], bool], tuple[Sequence[Table], float]] = {}

    def tables(self, arithmetic: Arithmetic[Any], again: bool) -> tuple[Sequence[Table], float]:
        """See `Known` of `solve`."""
        key = arithmetic, again
        if key not in self._found:
            filled = self._tables(exact=arithmetic is TWOFOLD)
            shift = shifts(len(filled)) if again else None
            left, log_scale = run_partly(self.structure.contraction, filled, arithmetic, shift)
            self._found[key] = left, float(log_scale[0])
        return self._found[key]

    def _tables(self, exact: bool) -> list[Table]:
        if exact not in self._filled:
            weights = weigh(self.structure, self._given)
            tables, _ = fill(self.structure, self._given.values, weights, exact)
            self._filled[exact] = [tables[number] for number in self._inputs]
        return self._filled[exact]


def _nodes(layout: Layout, one: Root | Gatherer) -> tuple[int, ...]:
    """The node whose tables these are, and the parts absorbed into them."""
    parts = layout.tables.parts
    if isinstance(one, Root):
        return (parts[one.row],)
    return (one.node, *(parts[row] for row in one.absorbed))


def _tables(owners: Sequence[Root | Gatherer]) -> Iterator[int]:
    """The numbers of their tables in the layout, in their order."""
    for one in owners:
        first, last = (one.table, one.table) if isinstance(one, Root) else one.tables
        yield from range(first, last + 1)


def _scopes(layout: Layout, owners: Sequence[Root | Gatherer]) -> list[tuple[int, ...]]:
    return [layout.tables.scopes[table] for table in _tables(owners)]


def _renumbered(owners: Sequence[Root | Gatherer]) -> list[Root | Gatherer]:
    """The same with their tables numbered from 0."""
    found: list[Root | Gatherer] = []
    count = 0
    for one in owners:
        if isinstance(one, Root):
            found.append(replace(one, table=count))
            count += 1
        else:
            upto = count + one.tables[1] - one.tables[0]
            found.append(replace(one, tables=(count, upto)))
            count = upto + 1
    return found


def _structure(
    layout: Layout, owners: Sequence[Root | Gatherer], tables: int, contraction: Contraction
) -> Structure:
    """The structure of some of the nodes of a layout."""
    nodes = tuple(sorted({node for one in owners for node in _nodes(layout, one)}))
    return Structure(
        layout.network,
        nodes,
        layout.asked.intersection(nodes),
        layout.followed,
        (layout.read or frozenset()).intersection(nodes),
        {node: layout.outside[node] for node in nodes if node in layout.outside},
        layout.tables.parts,
        layout.tables.prior,
        tuple(one for one in owners if isinstance(one, Root)),
        tuple(one for one in owners if isinstance(one, Gatherer)),
        tables,
        contraction,
    )
