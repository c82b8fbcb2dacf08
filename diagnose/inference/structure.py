"""From a network and the pattern of its evidence to tables: prune, restrict, absorb, lay out.

What cannot matter to the question is left out: nodes that are no ancestor of an observation or of a
node asked for; states that cannot occur or that the observation excludes; marks (see `scale`)
where no abnormal observation lies downstream. A root part that acts on one remaining node only is
absorbed into that node's accumulation, which costs a vector instead of a table.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from diagnose.inference.contraction import Contraction, plan_contraction
from diagnose.inference.network import Arrow, Network
from diagnose.inference.scale import Array, Drawn, Gathering, gathering

DEFAULT_BUDGET = 2e7  # cells of one product of tables


class Impossible(Exception):
    """The observation of `node` cannot occur under the network."""

    def __init__(self, node: int) -> None:
        super().__init__(f"node {node}")
        self.node = node


@dataclass(frozen=True, eq=False)
class Absorbed:
    """A root part folded into its only child: transitions of shape (X, K, K) by its outcome."""

    part: int
    transitions: Array


@dataclass(frozen=True, eq=False)
class Laid:
    """One remaining node: its outcomes, its accumulation, and what enters it.

    `start`: shape (S, K), accumulation after its own draw. `entering`: (parent, transitions of shape
    (X_parent, K, K)). `prior` (roots that are parts): probability of each outcome before weights.
    """

    node: int
    outcomes: tuple[Drawn, ...]
    gathered: Gathering | None
    start: Array | None
    absorbed: tuple[Absorbed, ...]
    entering: tuple[tuple[int, Array], ...]
    prior: Array | None


@dataclass(frozen=True, eq=False)
class Piece:
    """One table of the product. `what` says how `solve` fills it."""

    what: str  # "root", "start", "first", "middle", "last", "only", "ends" or "asked"
    node: int
    link: int
    scope: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class Structure:
    """The layout of one question: nodes in order, tables, their contraction."""

    network: Network
    laid: Mapping[int, Laid]
    observed: frozenset[int]
    asked: frozenset[int]
    pieces: tuple[Piece, ...]
    contraction: Contraction
    variables: frozenset[int]  # nodes whose outcome has an axis of its own


def lay_out(
    network: Network,
    support: Mapping[int, Collection[int]],
    abnormal: frozenset[int],
    asked: Collection[int] = (),
    *,
    marks: bool = True,
    budget: float = DEFAULT_BUDGET,
) -> Structure:
    """Structure for observations whose likelihood is positive on the states in `support`.

    `asked` nodes keep a table of their own so that their posterior can be read. With `marks` off only
    presence can be read, not blame. Raises Impossible, or TooWide past the budget.
    """
    asked_set = frozenset(asked)
    relevant = _ancestors(network, (*support, *asked_set))
    matters = _leads_to_sign(network, relevant, abnormal) if marks else frozenset()
    laid: dict[int, Laid] = {}
    children: dict[int, list[int]] = {node: [] for node in relevant}
    for child in relevant:
        for arrow in network.into[child]:
            children[arrow.parent].append(child)
    outcomes: dict[int, tuple[Drawn, ...]] = {}
    gathered: dict[int, Gathering | None] = {}
    for node in relevant:
        outcomes[node], gathered[node] = _outcomes(
            network, node, outcomes, support.get(node), node in abnormal, matters
        )
    folded = {
        node
        for node in relevant
        if not network.into[node]
        and network.nodes[node].is_part
        and len(children[node]) == 1
        and node not in asked_set
    }
    for node in relevant:
        laid[node] = _lay(network, node, outcomes, gathered[node], folded, matters)
    pieces, sizes, own = _pieces(network, relevant, laid, folded, children, asked_set)
    plan = plan_contraction([piece.scope for piece in pieces], sizes, budget)
    return Structure(network, laid, frozenset(support), asked_set, tuple(pieces), plan, own)


def _ancestors(network: Network, nodes: Collection[int]) -> tuple[int, ...]:
    seen = set(nodes)
    waiting = list(nodes)
    while waiting:
        for arrow in network.into[waiting.pop()]:
            if arrow.parent not in seen:
                seen.add(arrow.parent)
                waiting.append(arrow.parent)
    return tuple(sorted(seen))


def _leads_to_sign(
    network: Network, relevant: tuple[int, ...], abnormal: frozenset[int]
) -> frozenset[int]:
    """Nodes from which a push can reach an abnormal observation."""
    found = {node for node in relevant if node in abnormal}
    for node in reversed(relevant):
        if node in found:
            found.update(arrow.parent for arrow in network.into[node] if arrow.carries_blame)
    return frozenset(found)


def _outcomes(
    network: Network,
    node: int,
    known: Mapping[int, tuple[Drawn, ...]],
    support: Collection[int] | None,
    is_sign: bool,
    matters: frozenset[int],
) -> tuple[tuple[Drawn, ...], Gathering | None]:
    """Where the node can end, and its accumulation (None for a part without arrows into it)."""
    data = network.nodes[node]
    states = range(data.scale.size)
    can_be = set(states) if support is None else set(support)
    marked_too = data.is_part and node in matters
    if data.is_part and not network.into[node]:
        plain = [(s, False) for s in states if data.leak[s] > 0 and s in can_be]
        marked = [(s, True) for s, _ in plain if s and marked_too]
        if not plain:
            raise Impossible(node)
        return (*plain, *marked), None
    draws: dict[Drawn, None] = {(s, False): None for s in states if s and data.leak[s] > 0}
    for arrow in network.into[node]:
        keep_marks = arrow.carries_blame and node in matters
        for state, mark in known[arrow.parent]:
            for s in states:
                if s and arrow.draws[state, s] > 0:
                    draws[s, mark and keep_marks and s not in data.scale.mute] = None
    allowed: frozenset[Drawn] | None = None
    if support is not None or is_sign:
        marks = (False,) if is_sign else (False, True)
        allowed = frozenset((s, m) for s in can_be for m in marks)
    result = gathering(data.scale, tuple(sorted(draws)), allowed)
    if result is None:
        raise Impossible(node)
    if not data.is_part:
        return result.outcomes, result
    shadows = [(s, True) for s, m in result.outcomes if s and not m and marked_too]
    return tuple(dict.fromkeys((*result.outcomes, *shadows))), result


def _lay(
    network: Network,
    node: int,
    outcomes: Mapping[int, tuple[Drawn, ...]],
    gathered: Gathering | None,
    folded: set[int],
    matters: frozenset[int],
) -> Laid:
    data = network.nodes[node]
    if gathered is None:
        prior = np.array([data.leak[state] for state, _ in outcomes[node]])
        return Laid(node, outcomes[node], None, None, (), (), prior)
    place = {drawn: d for d, drawn in enumerate(gathered.draws)}
    start = np.zeros((data.scale.size, gathered.size))
    for state in range(data.scale.size):
        if (state, False) in place:
            start[state] = data.leak[state] * gathered.join[place[state, False], 0]
    absorbed, entering = [], []
    for arrow in network.into[node]:
        rows = _rows(arrow, outcomes[arrow.parent], place, node in matters, data.scale.mute)
        transitions = np.tensordot(rows, gathered.join, axes=1)
        if arrow.parent in folded:
            absorbed.append(Absorbed(arrow.parent, transitions))
        else:
            entering.append((arrow.parent, transitions))
    return Laid(node, outcomes[node], gathered, start, tuple(absorbed), tuple(entering), None)


def _rows(
    arrow: Arrow,
    parent_outcomes: tuple[Drawn, ...],
    place: Mapping[Drawn, int],
    child_matters: bool,
    mute: frozenset[int],
) -> Array:
    """Distribution of the draw for each outcome of the parent, shape (X_parent, D)."""
    rows = np.zeros((len(parent_outcomes), len(place)))
    for x, (state, mark) in enumerate(parent_outcomes):
        marked = mark and arrow.carries_blame and child_matters
        for s, chance in enumerate(arrow.draws[state]):
            if chance > 0:
                drawn = (s, marked and s != 0 and s not in mute)
                if drawn in place:
                    rows[x, place[drawn]] += chance
    return rows


def _pieces(
    network: Network,
    relevant: tuple[int, ...],
    laid: Mapping[int, Laid],
    folded: set[int],
    children: Mapping[int, list[int]],
    asked: frozenset[int],
) -> tuple[list[Piece], list[int], frozenset[int]]:
    """The tables, with a variable for each outcome and each stage of an accumulation."""
    pieces: list[Piece] = []
    sizes: list[int] = []
    variable: dict[int, int] = {}

    def new(size: int) -> int:
        sizes.append(size)
        return len(sizes) - 1

    for node in relevant:
        if node in folded:
            continue
        here = laid[node]
        part = network.nodes[node].is_part
        needs_outcome = bool(children[node]) or node in asked or part
        if needs_outcome:
            variable[node] = new(len(here.outcomes))
        end = (variable[node],) if needs_outcome else ()
        if here.gathered is None:
            pieces.append(Piece("root", node, -1, end))
            continue
        count = len(here.entering)
        # a part keeps its last accumulation apart: presence and silence are read off that table
        split_end = part
        before: int | None = None
        for link, (parent, _) in enumerate(here.entering):
            last = link == count - 1 and not split_end
            after: tuple[int, ...] = end if last else (new(here.gathered.size),)
            scope = (variable[parent], *(() if before is None else (before,)), *after)
            what = ("only" if last else "first") if before is None else ("last" if last else "middle")
            pieces.append(Piece(what, node, link, scope))
            before = None if last else after[0]
        if count == 0 and not split_end:
            pieces.append(Piece("root", node, -1, end))
        elif split_end:
            if before is None:
                before = new(here.gathered.size)
                pieces.append(Piece("start", node, -1, (before,)))
            pieces.append(Piece("ends", node, -1, (before, variable[node])))
        if node in asked:
            pieces.append(Piece("asked", node, -1, (variable[node],)))
    return pieces, sizes, frozenset(variable)
