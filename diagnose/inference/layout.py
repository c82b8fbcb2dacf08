"""From a network and the pattern of its evidence to tables: prune, merge, absorb, lay out.

Only ancestors of observations and of nodes asked for take part; what cannot happen or cannot matter
to the question is left out (`pruning`). A root part with one child left is absorbed into what gathers on
that child, which costs a vector instead of a table, and so is a parent left with one class. Every other
node of more than one class gets a variable, and so does what gathers on a node with several open
parents, in cumulative form, where each parent is a factor of its own; the order in which they are summed out is found by `contraction`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import numpy as np

from diagnose.inference.contraction import TooWide
from diagnose.inference.gathering import Gathering
from diagnose.inference.network import Network
from diagnose.inference.planning import plan_contraction
from diagnose.inference.pruning import Classes, Entry, Impossible, Slots, ancestors, states_in
from diagnose.inference.structure import Gatherer, Lineage, Root, Structure

__all__ = ["DEFAULT_BUDGET", "Impossible", "Layout", "lay_out"]

DEFAULT_BUDGET = 2e7  # cells of one product of tables


def lay_out(
    network: Network,
    support: Mapping[int, Collection[int]],
    abnormal: frozenset[int],
    asked: Collection[int] = (),
    *,
    marks: bool | Collection[int] = True,
    read: Collection[int] | None = None,
    budget: float = DEFAULT_BUDGET,
) -> Structure:
    """Structure for observations whose likelihood is positive on the states in `support`.

    The posterior of `asked` nodes can be read too. A part that no observation lies downstream of is
    known by its prior, unless another part can ruin it: then ask for it. With `marks` off only
    presence can be read, not blame; given parts, the blame of these alone (of the others it is unknown). With
    parts to `read` nothing is said of any other. Raises Impossible, or TooWide past the budget.
    """
    return Layout(network, support, abnormal, asked, marks, read).planned(budget)


class Layout:
    """The tables of a question, see `lay_out`, without an order: so that it can be sought within several budgets."""

    def __init__(
        self,
        network: Network,
        support: Mapping[int, Collection[int]],
        abnormal: frozenset[int],
        asked: Collection[int] = (),
        marks: bool | Collection[int] = True,
        read: Collection[int] | None = None,
    ) -> None:
        self.network, self.asked = network, frozenset(asked)
        self.read = None if read is None else frozenset(read)
        self.nodes = ancestors(network, (*support, *abnormal, *self.asked))
        self.followed = None if marks is True else frozenset(() if marks is False else marks)
        signs = frozenset() if marks is False else abnormal
        slots = Slots(network, self.nodes, support, signs, self.followed)
        classes = Classes(network, self.nodes, slots, support, self.asked)
        self.tables = _Tables(network, self.nodes, slots, classes, frozenset(support), self.asked, self.read)
        self.outside = {
            node: tuple([s for s in range(network.nodes[node].scale.size) if s not in states])
            for node, states in support.items()
        }
        self._last: Structure | None = None
        self._failed = TooWide(0.0)
        self._failed_within = 0.0

    @property
    def found(self) -> Structure | None:
        """The structure that was last planned, if any was."""
        return self._last

    def planned(self, budget: float) -> Structure:
        """The structure with an order within the budget, remembered; raises TooWide. See `plan_contraction`."""
        if budget <= self._failed_within:
            raise self._failed
        if self._last is not None and self._last.contraction.cells <= budget:
            return self._last
        tables = self.tables
        try:
            contraction = plan_contraction(tables.scopes, tables.sizes, budget, tables.wanted)
        except TooWide as wide:
            self._failed, self._failed_within = wide, budget
            raise
        structure = Structure(
            self.network,
            self.nodes,
            self.asked,
            self.followed,
            self.read,
            self.outside,
            tables.parts,
            tables.prior,
            tuple(tables.roots),
            tuple(tables.gatherers),
            len(tables.scopes),
            contraction,
        )
        self._last = structure
        return structure


class _Tables:
    """The tables, with a variable for each node of several classes and each stage of gathering."""

    def __init__(
        self,
        network: Network,
        relevant: Sequence[int],
        slots: Slots,
        classes: Classes,
        observed: frozenset[int],
        asked: frozenset[int],
        read: frozenset[int] | None,
    ) -> None:
        self.network, self.slots, self.classes = network, slots, classes
        self.observed, self.asked, self.read = observed, asked, read
        self.parts = tuple([node for node in relevant if network.nodes[node].is_part])
        self.row = {node: row for row, node in enumerate(self.parts)}
        self.most = max((network.nodes[node].scale.size for node in self.parts), default=1)
        self.sizes: list[int] = []
        self.scopes: list[tuple[int, ...]] = []
        self.variable: dict[int, tuple[int, ...]] = {}
        self.wanted: list[int] = []
        self.roots: list[Root] = []
        self.gatherers: list[Gatherer] = []
        self.prior = np.zeros((len(self.parts), self.most))
        for node in relevant:
            if node in slots.drawn:
                self._gatherer(node)
            else:
                self._root(node)

    def _new(self, size: int) -> tuple[int, ...]:
        """A variable of that size, or none where there is nothing to tell apart."""
        if size == 1:
            return ()
        self.sizes.append(size)
        return (len(self.sizes) - 1,)

    def _root(self, node: int) -> None:
        leak = self.network.nodes[node].leak
        row = self.row[node]
        for state in states_in(self.slots.plain[node]):
            self.prior[row, state] = leak[state]
        if node not in self.classes.of:
            return  # absorbed
        count = len(self.classes.members[node])
        to_class = np.zeros((self.most, 2, count))
        for slot, number in enumerate(self.classes.of[node]):
            if number >= 0:
                lane, state = divmod(slot, len(leak))
                to_class[state, lane, number] = 1.0
        self.variable[node] = self._new(count)
        self.roots.append(Root(row, len(self.scopes), to_class.reshape(2 * self.most, count)))
        if self._is_read(node):
            self.wanted.append(len(self.scopes))
        self.scopes.append(self.variable[node])

    def _is_read(self, part: int) -> bool:
        return self.read is None or part in self.read

    def _gatherer(self, node: int) -> None:
        classes, data = self.classes, self.network.nodes[node]
        gathered = classes.gathered[node]
        size = gathered.size
        tells = node in self.slots.matters
        start = (data.leak[:, np.newaxis] * gathered.below[:, 0]).sum(0)
        absorbed: list[int] = []
        of_absorbed: list[int] = []
        opened: list[tuple[int, int, Entry]] = []
        for arrow, entry in zip(self.network.into[node], classes.entries[node], strict=True):
            parent = arrow.parent
            if parent not in classes.of:
                absorbed.append(self.row[parent])
                of_absorbed += self._of_absorbed(entry, arrow.draws.shape[0])
            elif self.variable[parent]:
                opened.append((len(classes.below[parent]), -parent, entry))
            else:
                slot = classes.members[parent][0]
                start = start * classes.moves[node][entry.at(slot, arrow.draws.shape[0])]
        opened.sort(key=lambda item: item[:2])
        wanted = list(of_absorbed)
        upto = [len(wanted)]
        for _, parent, entry in opened:
            states = self.network.nodes[-parent].scale.size
            wanted += [entry.at(slot, states) for slot in classes.members[-parent]]
            upto.append(len(wanted))
        picked = classes.moves[node][wanted] if wanted else np.empty((0, size))
        lanes = upto[0] // max(len(absorbed), 1)
        moved = picked[: upto[0]].reshape(len(absorbed), lanes, size)
        self.variable[node] = self._new(len(classes.members[node]))
        first = len(self.scopes)
        self._scopes([-parent for _, parent, _ in opened], size, self.variable[node])
        last = len(self.scopes) - 1
        if any(self._is_read(self.parts[row]) for row in absorbed):
            self.wanted.append(first)
        if (data.is_part and self._is_read(node)) or node in self.asked:
            # with several links and one class the ends were multiplied into the first table
            one = len(opened) > 1 and not self.variable[node]
            self.wanted.append(first if one else last)
        self.gatherers.append(
            Gatherer(
                node,
                self.row[node] if data.is_part else None,
                node in self.observed,
                tells,
                gathered,
                start[np.newaxis],
                tuple(absorbed),
                moved,
                tuple([picked[upto[i] : upto[i + 1]] for i in range(len(opened))]),
                self._lineage(node, gathered) if data.is_part else None,
                (first, last),
            )
        )

    def _of_absorbed(self, entry: Entry, states: int) -> list[int]:
        """Numbers of the moves of an absorbed part, filled up to the size of the largest part."""
        numbers = []
        for state in range(self.most):
            first = entry.at(state if state < states else 0, states)
            numbers += [first, first + entry.lane] if entry.lanes == 2 else [first]
        return numbers

    def _scopes(self, parents: Sequence[int], size: int, own: tuple[int, ...]) -> None:
        """One table over parent and node, or one for what gathers, each link, and the node's ends."""
        if len(parents) < 2:
            self.scopes.append((*(self.variable[parents[0]] if parents else ()), *own))
            return
        value = self._new(size)
        self.scopes.append(value)
        for parent in parents:
            self.scopes.append((*self.variable[parent], *value))
        if own:
            self.scopes.append((*value, *own))

    def _lineage(self, node: int, gathered: Gathering) -> Lineage:
        states = self.network.nodes[node].scale.size
        classes = self.classes.of[node]
        shape = (len(gathered.slots), len(self.classes.members[node]))
        good, free, silent = np.zeros(shape), np.zeros(shape), np.zeros(shape)
        for label, slot in enumerate(gathered.slots):
            if slot == 0:
                good[label, classes[slot]] = 1.0
                continue
            free[label, classes[slot]] = 1.0
            marked = slot if slot >= states else slot + states
            silent[label, classes[marked] if classes[marked] >= 0 else classes[slot]] = 1.0
        return Lineage(good, free, silent)
