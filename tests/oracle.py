"""Brute force in exact fractions: every world of a small network, one after another.

Written from the meaning of the model alone; it shares no code with the program and imports none of
it. A world is one complete outcome of all draws and splits. Worlds that agree in the states of all
nodes and in which draws are visible are counted together, which loses nothing.

What a world means:

* Every parent state draws one state of the child, or nothing (column 0), from its own row; the
  child draws once on its own account. All draws are independent.
* Any over draw: the child ends in the highest over state drawn. Otherwise the strongest down and the
  strongest up draw count; both present, the split chooses good, down or up; one present, it wins;
  none, the child is good.
* A draw is *visible* when the state drawn is the abnormal, not mute state the child ended in, and
  its arrow carries blame.
* A node *takes part* when one of its draws is visible at a child that is a sign (observed as
  abnormal) or that itself takes part.
* What was read depends on the state of its quantity and on those of the instruments it was read with: the
  likelihood of a world is the product over all that was observed.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import product

GOOD, DOWN, UP, OVER = 0, 1, 2, 3

Row = tuple[Fraction, ...]
World = tuple[tuple[int, ...], frozenset[tuple[int, int]]]  # states; visible (parent, child)


@dataclass(frozen=True)
class PlainNode:
    """Sides and ranks per state, split (good, down, up), mute states, own draw, part or not."""

    sides: tuple[int, ...]
    ranks: tuple[int, ...]
    split: Row
    mute: tuple[int, ...]
    leak: Row
    part: bool


@dataclass(frozen=True)
class PlainArrow:
    """`rows[parent state][child state]`: chance of that draw, column 0 for no draw."""

    parent: int
    child: int
    rows: tuple[Row, ...]
    carries_blame: bool


@dataclass(frozen=True)
class PlainNetwork:
    """Nodes, parents first, and arrows in any order."""

    nodes: tuple[PlainNode, ...]
    arrows: tuple[PlainArrow, ...]

    def into(self, child: int) -> tuple[PlainArrow, ...]:
        """The arrows into a node."""
        return tuple(arrow for arrow in self.arrows if arrow.child == child)


@dataclass(frozen=True)
class PlainWitness:
    """What was read of `node` with some instruments: `rows[what these do][state of the node]`."""

    node: int
    instruments: tuple[int, ...]
    rows: Mapping[tuple[int, ...], Row]

    def likelihood(self, states: Sequence[int]) -> Fraction:
        """Likelihood of the reading where the nodes are in these states."""
        return self.rows[tuple(states[node] for node in self.instruments)][states[self.node]]


@dataclass(frozen=True)
class PlainEvidence:
    """Likelihood of each state of the observed nodes, and which of them are signs of a fault.

    `joint`: readings whose likelihood depends on instruments too.
    """

    likelihood: Mapping[int, Row] = field(default_factory=dict)
    signs: frozenset[int] = frozenset()
    joint: tuple[PlainWitness, ...] = ()


def combine(node: PlainNode, drawn: Sequence[int]) -> tuple[tuple[int, Fraction], ...]:
    """States a node can end in after these draws, each with its chance."""
    over = [state for state in drawn if node.sides[state] == OVER]
    if over:
        return ((max(over, key=lambda state: node.ranks[state]), Fraction(1)),)
    down = [state for state in drawn if node.sides[state] == DOWN]
    up = [state for state in drawn if node.sides[state] == UP]
    strongest_down = max(down, key=lambda state: node.ranks[state], default=0)
    strongest_up = max(up, key=lambda state: node.ranks[state], default=0)
    if down and up:
        chosen = (0, strongest_down, strongest_up)
        return tuple((s, share) for s, share in zip(chosen, node.split, strict=True) if share)
    return ((strongest_down or strongest_up, Fraction(1)),)


def worlds(network: PlainNetwork, evidence: PlainEvidence) -> Iterator[tuple[World, Fraction]]:
    """All worlds with their probability times the likelihood of what was observed."""
    known: dict[World, Fraction] = {((), frozenset()): Fraction(1)}
    for child, node in enumerate(network.nodes):
        arrows = network.into(child)
        likelihood = evidence.likelihood.get(child)
        now_known = [w for w in evidence.joint if max(w.node, *w.instruments) == child]
        grown: dict[World, Fraction] = {}
        ends: dict[tuple[int, ...], list[tuple[int, frozenset[tuple[int, int]], Fraction]]] = {}
        for (states, visible), weight in known.items():
            parents = tuple(states[arrow.parent] for arrow in arrows)
            if parents not in ends:
                ends[parents] = list(_endings(node, child, arrows, parents))
            for state, seen, chance in ends[parents]:
                factor = likelihood[state] if likelihood is not None else Fraction(1)
                for witness in now_known:
                    factor *= witness.likelihood((*states, state))
                if factor:
                    world = ((*states, state), visible | seen)
                    grown[world] = grown.get(world, Fraction(0)) + weight * chance * factor
        known = grown
    yield from known.items()


def _endings(
    node: PlainNode, child: int, arrows: Sequence[PlainArrow], parents: Sequence[int]
) -> Iterator[tuple[int, frozenset[tuple[int, int]], Fraction]]:
    """Where the child ends given its parents' states, and which draws are then visible."""
    rows = [node.leak, *(a.rows[s] for a, s in zip(arrows, parents, strict=True))]
    merged: dict[tuple[int, frozenset[tuple[int, int]]], Fraction] = {}
    options = [[(s, p) for s, p in enumerate(row) if p] for row in rows]
    for draws in product(*options):
        chance = Fraction(1)
        for _, p in draws:
            chance *= p
        drawn = [s for s, _ in draws]
        for state, share in combine(node, drawn):
            seen = frozenset(
                (arrow.parent, child)
                for arrow, s in zip(arrows, drawn[1:], strict=True)
                if s == state != 0 and s not in node.mute and arrow.carries_blame
            )
            key = (state, seen)
            merged[key] = merged.get(key, Fraction(0)) + chance * share
    for (state, seen), chance in merged.items():
        yield state, seen, chance


def takes_part(world: World, signs: frozenset[int]) -> frozenset[int]:
    """The nodes that take part in at least one sign."""
    states, visible = world
    found: set[int] = set()
    for parent in reversed(range(len(states))):
        for start, child in visible:
            if start == parent and (child in signs or child in found):
                found.add(parent)
    return frozenset(found)


@dataclass(frozen=True)
class Answer:
    """Exact results: probability of the evidence; per node the states; per part the blame."""

    evidence: Fraction
    states: tuple[Row, ...]  # posterior of every node, parts included
    blame: tuple[Row, ...]  # posterior of (state and takes part); zeros for what is no part
    silent: Mapping[frozenset[int], Fraction]  # P(evidence and no part of the set takes part)


def solve(
    network: PlainNetwork,
    evidence: PlainEvidence,
    sets: Collection[frozenset[int]] = (),
    held: frozenset[int] = frozenset(),
) -> Answer | None:
    """Everything at once; None when the evidence is impossible.

    Only worlds in which no part of `held` takes part are counted.
    """
    total = Fraction(0)
    states = [[Fraction(0)] * len(node.sides) for node in network.nodes]
    blame = [[Fraction(0)] * len(node.sides) for node in network.nodes]
    silent = {parts: Fraction(0) for parts in sets}
    for world, weight in worlds(network, evidence):
        blamed = takes_part(world, evidence.signs)
        if held & blamed:
            continue
        total += weight
        for node, state in enumerate(world[0]):
            states[node][state] += weight
            if node in blamed and network.nodes[node].part:
                blame[node][state] += weight
        for parts in silent:
            if not parts & blamed:
                silent[parts] += weight
    if not total:
        return None

    def shares(rows: list[list[Fraction]]) -> tuple[Row, ...]:
        return tuple(tuple(value / total for value in row) for row in rows)

    return Answer(total, shares(states), shares(blame), silent)
