"""Random networks and evidence, drawn by a seeded generator or by hypothesis alike.

Everything is drawn as plain data in exact fractions (see `oracle`); `network` and `likelihoods`
turn it into the values the program takes.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol, TypeVar

import numpy as np
from hypothesis import strategies as st

from diagnose.inference.network import Arrow, Network, Node
from diagnose.inference.scale import Array, Scale
from tests.oracle import (
    DOWN,
    GOOD,
    OVER,
    UP,
    PlainArrow,
    PlainEvidence,
    PlainNetwork,
    PlainNode,
    Row,
)

T = TypeVar("T")


class Chooser(Protocol):
    """A source of choices."""

    def between(self, low: int, high: int) -> int:
        """A whole number, both ends included."""


class Seeded:
    """Choices from a numpy generator."""

    def __init__(self, seed: int) -> None:
        self._rng = np.random.default_rng(seed)

    def between(self, low: int, high: int) -> int:
        """A whole number, both ends included."""
        return int(self._rng.integers(low, high + 1))


class Drawn:
    """Choices from hypothesis, which can then make a failing network smaller."""

    def __init__(self, draw: st.DrawFn) -> None:
        self._draw = draw

    def between(self, low: int, high: int) -> int:
        """A whole number, both ends included."""
        return self._draw(st.integers(low, high))


@dataclass(frozen=True)
class Size:
    """How large and how varied a network may be. Chances are counted in tenths."""

    parts: tuple[int, int] = (1, 4)
    indications: tuple[int, int] = (1, 4)
    modes: int = 2
    parents: int = 3  # arrows into one node at most
    damages: int = 3  # tenths of the parts that others can ruin
    needs: int = 2
    observed: int = 6
    soft: int = 3
    inspected: int = 1  # parts with evidence of their own
    tiny: bool = False  # leaks and priors of 1 in 1000 to 1 in 100 000
    certain: int = 1  # rows with zeros and ones
    unnamed: int = 3  # parts that push broadly


SMALL = Size()


def picked(choose: Chooser, options: Sequence[T]) -> T:
    """One of these."""
    return options[choose.between(0, len(options) - 1)]


def happens(choose: Chooser, tenths: int) -> bool:
    """True in so many tenths of cases."""
    return choose.between(1, 10) <= tenths


def _scale_of_part(choose: Chooser, size: Size) -> tuple[tuple[int, ...], tuple[int, ...]]:
    count = choose.between(1, size.modes)
    side = picked(choose, (UP, DOWN, OVER))
    return (GOOD, *[side] * count), (0, *range(1, count + 1))


_LADDERS: tuple[tuple[tuple[int, ...], tuple[int, ...]], ...] = (
    ((GOOD, UP), (0, 1)),
    ((GOOD, OVER), (0, 1)),
    ((GOOD, DOWN, UP), (0, 1, 1)),
    ((GOOD, OVER, DOWN, UP), (0, 2, 1, 1)),
    ((GOOD, DOWN, UP, OVER), (0, 1, 1, 1)),
    ((GOOD, UP, UP), (0, 1, 2)),
    ((GOOD, OVER, OVER, OVER), (0, 1, 2, 3)),
    ((GOOD, DOWN, DOWN, UP, OVER), (0, 2, 1, 1, 1)),
    ((GOOD, UP, DOWN, UP, DOWN), (0, 1, 1, 3, 2)),
)


def _split(choose: Chooser) -> Row:
    return picked(
        choose,
        (
            (Fraction(1, 2), Fraction(1, 4), Fraction(1, 4)),
            (Fraction(1, 3), Fraction(1, 2), Fraction(1, 6)),
            (Fraction(0), Fraction(3, 4), Fraction(1, 4)),
            (Fraction(1), Fraction(0), Fraction(0)),
        ),
    )


def row_of(choose: Chooser, states: Sequence[int], width: int, certain: int) -> Row:
    """A distribution over 0 (no draw) and some of `states`."""
    row = [Fraction(0)] * width
    if not states:
        return (Fraction(1), *row[1:])
    if happens(choose, certain):
        row[picked(choose, states)] = Fraction(1)
        return tuple(row)
    left = Fraction(choose.between(1, 19), 20)
    for _ in range(choose.between(1, 2)):
        share = left * Fraction(choose.between(1, 4), 4)
        row[picked(choose, states)] += share
        left -= share
    row[0] = Fraction(1 - sum(row[1:]))
    return tuple(row)


def leak_of(choose: Chooser, states: Sequence[int], width: int, size: Size) -> Row:
    """A distribution of a node's own draw over 0 (no draw) and `states`."""
    row = [Fraction(0)] * width
    for state in states:
        if size.tiny:
            row[state] = Fraction(choose.between(1, 9), 10 ** choose.between(4, 6))
        elif not happens(choose, 3):
            row[state] = Fraction(choose.between(1, 9), picked(choose, (40, 100, 1000)))
    row[0] = Fraction(1 - sum(row[1:]))
    return tuple(row)


def plain_network(choose: Chooser, size: Size = SMALL) -> PlainNetwork:
    """A network with parts, damages, chains, needs and parts that push broadly."""
    kinds = [True] * choose.between(*size.parts) + [False] * choose.between(*size.indications)
    for last in range(len(kinds) - 1, 0, -1):  # shuffled, but a part comes first
        other = choose.between(1, last)
        kinds[last], kinds[other] = kinds[other], kinds[last]
    nodes: list[PlainNode] = []
    arrows: list[PlainArrow] = []
    broad = [part and happens(choose, size.unnamed) for part in kinds]
    for child, part in enumerate(kinds):
        if part:
            sides, ranks = _scale_of_part(choose, size)
            earlier = [p for p in range(child) if kinds[p]] if happens(choose, size.damages) else []
        else:
            sides, ranks = picked(choose, _LADDERS)
            earlier = list(range(child))
        own = tuple(range(1, len(sides)))
        needs = not part and bool(earlier) and happens(choose, size.needs)
        mute: tuple[int, ...] = ()
        if needs:
            mute = (len(sides),)
            sides, ranks = (*sides, OVER), (*ranks, max(ranks) + 1)
        width = len(sides)
        parents = _parents(choose, earlier, broad, size, part)
        for parent in parents:
            rows = tuple(
                row_of(choose, own if s else (), width, size.certain) for s in range(len(nodes[parent].sides))
            )
            arrows.append(PlainArrow(parent, child, rows, True))
        unpaired = [p for p in earlier if p not in parents]
        if needs and unpaired:
            parent = picked(choose, unpaired)
            muted = tuple(Fraction(s == mute[0]) for s in range(width))
            pushed = tuple(Fraction(s == 0) for s in range(width))
            unmet = [happens(choose, 4 if s else 1) for s in range(len(nodes[parent].sides))]
            arrows.append(PlainArrow(parent, child, tuple(muted if u else pushed for u in unmet), False))
        leak = leak_of(choose, own, width, size)
        nodes.append(PlainNode(sides, ranks, _split(choose), mute, leak, part))
    return PlainNetwork(tuple(nodes), tuple(arrows))


def _parents(
    choose: Chooser, earlier: Sequence[int], broad: Sequence[bool], size: Size, part: bool
) -> list[int]:
    if not earlier:
        return []
    count = choose.between(1, 1 if part else size.parents)
    near = [picked(choose, earlier[-6:]) for _ in range(count)]
    pushed = [] if part else [p for p in earlier if broad[p] and happens(choose, 6)]
    return list(dict.fromkeys((*near, *pushed)))[: size.parents]


def plain_evidence(choose: Chooser, network: PlainNetwork, size: Size = SMALL) -> PlainEvidence:
    """Hard and soft observations; what lies on an abnormal state is a sign of a fault."""
    likelihood: dict[int, Row] = {}
    signs: set[int] = set()
    for number, node in enumerate(network.nodes):
        if not happens(choose, size.inspected if node.part else size.observed):
            continue
        width = len(node.sides)
        if happens(choose, size.soft):
            values = [Fraction(choose.between(0, 10), 10) for _ in range(width)]
            top = choose.between(0, width - 1)
            values[top] = Fraction(1)
        else:
            can = [s for s in range(width) if s == 0 or node.leak[s] or _drawn(network, number, s)]
            top = picked(choose, can if happens(choose, 3) else can[1:] or can)
            values = [Fraction(s == top) for s in range(width)]
        likelihood[number] = tuple(values)
        if top and top not in node.mute and (not node.part or happens(choose, 5)):
            signs.add(number)
    return PlainEvidence(likelihood, frozenset(signs))


def _drawn(network: PlainNetwork, child: int, state: int) -> bool:
    return any(row[state] for arrow in network.into(child) for row in arrow.rows)


@st.composite
def cases(draw: st.DrawFn, size: Size = SMALL) -> tuple[PlainNetwork, PlainEvidence]:
    """A network and evidence on it."""
    choose = Drawn(draw)
    plain = plain_network(choose, size)
    return plain, plain_evidence(choose, plain, size)


def network(plain: PlainNetwork) -> Network:
    """The same network as the program takes it; the order of arrows is kept."""
    nodes = tuple(
        Node(
            Scale(n.sides, n.ranks, _triple(n.split), frozenset(n.mute)),
            floats(n.leak),
            n.part,
        )
        for n in plain.nodes
    )
    into = tuple(
        tuple(
            Arrow(a.parent, a.child, np.array([floats(r) for r in a.rows]), a.carries_blame)
            for a in plain.into(child)
        )
        for child in range(len(nodes))
    )
    return Network(nodes, into)


def likelihoods(evidence: PlainEvidence) -> dict[int, Array]:
    """The likelihoods as the program takes them."""
    return {node: floats(values) for node, values in evidence.likelihood.items()}


def support(likelihood: Mapping[int, Array]) -> dict[int, frozenset[int]]:
    """The states that the observations leave possible, in any row of a batch."""
    return {
        node: frozenset(np.flatnonzero(np.atleast_2d(values).max(0) > 0).tolist())
        for node, values in likelihood.items()
    }


def floats(row: Row) -> Array:
    """The row as the program takes it."""
    return np.array([float(value) for value in row])


def _triple(split: Row) -> tuple[float, float, float]:
    one, two, three = split
    return float(one), float(two), float(three)
