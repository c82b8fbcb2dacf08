"""The same model written out for a general-purpose Bayesian-network library (pyAgrum).

An independent formulation: every draw is a variable of its own, a child is a table over all draws on
it, and lineage runs backwards, from the signs to the parts, as deterministic nodes:

    seen(p -> c)  = the draw of p on c is the abnormal, not mute state c ended in
    part_of(c)    = or over arrows c -> k of (seen(c -> k) and (k is a sign or part_of(k)))

A draw that is certain, whatever state it comes from, needs no variable: it is told by that state.

Blame of a part's mode is the joint posterior of the part in that mode and part_of(part) true.
Likelihoods are children with one observed state (J. Pearl, virtual evidence, 1988): of the node alone, or
of a quantity together with the instruments that it was read with.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from typing import Any

import numpy as np
import pyagrum

from tests.oracle import PlainArrow, PlainEvidence, PlainNetwork, PlainNode, PlainWitness, Row, combine

gum: Any = pyagrum  # comes without types


class TooLarge(Exception):
    """A network that the library may need more memory for than was granted."""


@dataclass(frozen=True)
class LibraryAnswer:
    """Logarithm of P(evidence); posterior states of every node; blame of every part's modes."""

    log_evidence: float
    states: tuple[tuple[float, ...], ...]
    blame: tuple[tuple[float, ...], ...]


def solve(network: PlainNetwork, evidence: PlainEvidence, largest: float = math.inf) -> LibraryAnswer:
    """Exact inference by the library's junction tree. Raises TooLarge past so many cells of one table."""
    net = gum.BayesNet("rig")
    _states(net, network)
    _lineage(net, network, evidence)
    log_scale = 0.0
    hard: dict[str, int] = {}
    for node, values in evidence.likelihood.items():
        top = max(values)
        log_scale += math.log(top)
        _table(net, f"e{node}", 2, [f"x{node}"], lambda s, v=values, t=top: _two(float(v[s] / t)))
        hard[f"e{node}"] = 1
    for number, witness in enumerate(evidence.joint):
        top = max(max(row) for row in witness.rows.values())
        log_scale += math.log(top)

        def read(state: int, *shown: int, w: PlainWitness = witness, t: Fraction = top) -> list[float]:
            return _two(float(w.rows[shown][state] / t))

        used = [f"x{node}" for node in (witness.node, *witness.instruments)]
        _table(net, f"r{number}", 2, used, read)
        hard[f"r{number}"] = 1
    engine = gum.LazyPropagation(net)
    engine.setEvidence(hard)
    for node, data in enumerate(network.nodes):
        engine.addTarget(f"x{node}")
        if data.part:
            engine.addJointTarget({f"x{node}", f"t{node}"})
    if math.isfinite(largest):
        tree = engine.junctionTree()
        cliques = [tree.clique(number) for number in tree.nodes()]
        if max(math.prod(net.variable(v).domainSize() for v in clique) for clique in cliques) > largest:
            raise TooLarge
    engine.makeInference()
    log_evidence = math.log(engine.evidenceProbability()) + log_scale if hard else 0.0
    states, blame = [], []
    for node, data in enumerate(network.nodes):
        states.append(tuple(engine.posterior(f"x{node}").tolist()))
        width = len(data.sides)
        if not data.part:
            blame.append((0.0,) * width)
            continue
        joint = engine.jointPosterior({f"x{node}", f"t{node}"})
        blame.append(tuple(joint[{f"x{node}": s, f"t{node}": 1}] for s in range(width)))
    return LibraryAnswer(log_evidence, tuple(states), tuple(blame))


def _states(net: Any, network: PlainNetwork) -> None:
    for child, node in enumerate(network.nodes):
        width = len(node.sides)
        draws: list[_Draw] = []
        if _certain(node.leak) is None:
            _table(net, f"own{child}", width, [], lambda n=node: [float(p) for p in n.leak])
            draws.append(_Draw(f"own{child}", tuple(range(width))))
        for arrow in network.into(child):
            draw = _draw_of(arrow)
            if draw.name != f"x{arrow.parent}":
                _table(
                    net,
                    draw.name,
                    width,
                    [f"x{arrow.parent}"],
                    lambda s, a=arrow: [float(p) for p in a.rows[s]],
                )
            draws.append(draw)

        def ended(
            *told: int, n: PlainNode = node, w: int = width, ds: Sequence[_Draw] = draws
        ) -> list[float]:
            row = [0.0] * w
            drawn = [draw.of[state] for draw, state in zip(ds, told, strict=True)]
            for state, share in combine(n, [_certain(n.leak) or 0, *drawn]):
                row[state] += float(share)
            return row

        _table(net, f"x{child}", width, [draw.name for draw in draws], ended)


@dataclass(frozen=True)
class _Draw:
    """The variable that a draw is told by, and the state that each of its values draws."""

    name: str
    of: tuple[int, ...]


def _draw_of(arrow: PlainArrow) -> _Draw:
    """A variable of its own, or the parent itself where each of its states draws one for certain."""
    certain = [_certain(row) for row in arrow.rows]
    if None not in certain:
        return _Draw(f"x{arrow.parent}", tuple(state or 0 for state in certain))
    return _Draw(f"d{arrow.parent}_{arrow.child}", tuple(range(len(arrow.rows[0]))))


def _certain(row: Row) -> int | None:
    """The state that is drawn for certain, if any is."""
    return row.index(Fraction(1)) if Fraction(1) in row else None


def _lineage(net: Any, network: PlainNetwork, evidence: PlainEvidence) -> None:
    for parent in reversed(range(len(network.nodes))):
        marks: list[str] = []
        for arrow in network.arrows:
            if arrow.parent != parent or not arrow.carries_blame:
                continue
            child, mute = arrow.child, network.nodes[arrow.child].mute
            draw, name = _draw_of(arrow), f"s{parent}_{child}"
            told = (
                [draw.name, f"x{child}"] if child in evidence.signs else [draw.name, f"x{child}", f"t{child}"]
            )

            def seen(d: int, x: int, t: int = 1, m: tuple[int, ...] = mute, of: _Draw = draw) -> list[float]:
                return _two(float(of.of[d] == x != 0 and x not in m and t == 1))

            _table(net, name, 2, told, seen)
            marks.append(name)
        _table(net, f"t{parent}", 2, marks, lambda *m: _two(float(any(m))))


def _two(chance: float) -> list[float]:
    return [1.0 - chance, chance]


def _table(net: Any, name: str, width: int, parents: Sequence[str], row: object) -> None:
    """Add a variable with one row of chances per combination of its parents."""
    assert callable(row)
    net.add(gum.RangeVariable(name, name, 0, width - 1))
    for parent in parents:
        net.addArc(parent, name)
    table = net.cpt(name)
    order = list(reversed(table.names))  # its axes, the variable itself last
    sizes = [net.variable(parent).domainSize() for parent in order[:-1]]
    values = np.empty((*sizes, width))
    asked = [order.index(parent) for parent in parents]
    for place in product(*[range(size) for size in sizes]):
        values[place] = row(*[place[axis] for axis in asked])
    table[:] = values
