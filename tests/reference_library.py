"""The same model written out for a general-purpose Bayesian-network library (pyAgrum).

An independent formulation: every draw is a variable of its own, a child is a table over all draws on
it, and lineage runs backwards, from the signs to the parts, as deterministic nodes:

    seen(p -> c)  = the draw of p on c is the abnormal, not mute state c ended in
    part_of(c)    = or over arrows c -> k of (seen(c -> k) and (k is a sign or part_of(k)))

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

from tests.oracle import PlainEvidence, PlainNetwork, PlainWitness, combine

gum: Any = pyagrum  # comes without types


@dataclass(frozen=True)
class LibraryAnswer:
    """Logarithm of P(evidence); posterior states of every node; blame of every part's modes."""

    log_evidence: float
    states: tuple[tuple[float, ...], ...]
    blame: tuple[tuple[float, ...], ...]


def solve(network: PlainNetwork, evidence: PlainEvidence) -> LibraryAnswer:
    """Exact inference by the library's junction tree."""
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
        _table(net, f"own{child}", width, [], lambda n=node: [float(p) for p in n.leak])
        draws = [f"own{child}"]
        for arrow in network.into(child):
            name = f"d{arrow.parent}_{child}"
            _table(
                net,
                name,
                width,
                [f"x{arrow.parent}"],
                lambda s, a=arrow: [float(p) for p in a.rows[s]],
            )
            draws.append(name)

        def ended(*drawn: int, n: object = node, w: int = width) -> list[float]:
            row = [0.0] * w
            for state, share in combine(n, drawn):  # type: ignore[arg-type]
                row[state] += float(share)
            return row

        _table(net, f"x{child}", width, draws, ended)


def _lineage(net: Any, network: PlainNetwork, evidence: PlainEvidence) -> None:
    for parent in reversed(range(len(network.nodes))):
        marks: list[str] = []
        for arrow in network.arrows:
            if arrow.parent != parent or not arrow.carries_blame:
                continue
            child, mute = arrow.child, network.nodes[arrow.child].mute
            name = f"s{parent}_{child}"
            if child in evidence.signs:
                _table(
                    net,
                    name,
                    2,
                    [f"d{parent}_{child}", f"x{child}"],
                    lambda d, x, m=mute: _two(float(d == x != 0 and x not in m)),
                )
            else:
                _table(
                    net,
                    name,
                    2,
                    [f"d{parent}_{child}", f"x{child}", f"t{child}"],
                    lambda d, x, t, m=mute: _two(float(d == x != 0 and x not in m and t == 1)),
                )
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
