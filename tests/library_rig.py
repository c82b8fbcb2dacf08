"""A rig's network for a general-purpose library (pyAgrum), wide nodes taken apart into chains.

A node with many arrows is built up one draw at a time: the running worst draw on each side is a variable of
its own, so that no table ranges over more than three variables. Blame is left out; presence is enough to
compare the time of the same posterior.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import pyagrum as gum

from diagnose.inference.network import Network, Node
from diagnose.inference.scale import DOWN, OVER, UP, Array

Worst = tuple[int, int, int]  # worst state drawn so far: down, up, over


def presence_by_library(network: Network, likelihood: Mapping[int, Array]) -> tuple[float, dict[int, Array]]:
    """Logarithm of the probability of the evidence, and the posterior of every part."""
    net = gum.BayesNet("rig")
    for index, node in enumerate(network.nodes):
        _add_node(net, network, index, node)
    scale, evidence = 0.0, {}
    for index, values in likelihood.items():
        scale += math.log(float(np.max(values)))
        evidence[f"x{index}"] = (np.asarray(values) / np.max(values)).tolist()
    engine = gum.LazyPropagation(net)
    engine.setEvidence(evidence)
    parts = [index for index, node in enumerate(network.nodes) if node.is_part]
    for index in parts:
        engine.addTarget(f"x{index}")
    engine.makeInference()
    found = {index: np.asarray(engine.posterior(f"x{index}").tolist()) for index in parts}
    return math.log(engine.evidenceProbability()) + scale, found


def _add_node(net: gum.BayesNet, network: Network, index: int, node: Node) -> None:
    """The node's draws one after another, and its state from the worst of them."""
    worst: list[Worst] = [(0, 0, 0)]
    before = ""
    draws = [("", node.leak[np.newaxis]), *((f"x{a.parent}", a.draws) for a in network.into[index])]
    for number, (parent, rows) in enumerate(draws):
        drawn = {int(state) for state in np.flatnonzero(rows.max(0) > 0)}
        after = sorted({_worse(node, so_far, state) for so_far in worst for state in drawn})
        name = f"w{index}_{number}"
        net.add(gum.LabelizedVariable(name, "", len(after)))
        parents = [above for above in (parent, before) if above]
        for above in parents:
            net.addArc(above, name)
        for row, chances in enumerate(rows):
            for column, so_far in enumerate(worst):
                table = np.zeros(len(after))
                for state in drawn:
                    table[after.index(_worse(node, so_far, state))] += chances[state]
                key = {parent: row} if parent else {}
                key |= {before: column} if before else {}
                net.cpt(name)[key] = table.tolist()
        worst, before = after, name
    _add_state(net, index, node, worst, before)


def _add_state(net: gum.BayesNet, index: int, node: Node, worst: list[Worst], before: str) -> None:
    net.add(gum.LabelizedVariable(f"x{index}", "", node.scale.size))
    net.addArc(before, f"x{index}")
    for column, (down, up, over) in enumerate(worst):
        table = np.zeros(node.scale.size)
        if over:
            table[over] = 1.0
        elif down and up:
            for state, share in zip((0, down, up), node.scale.split, strict=True):
                table[state] += share
        else:
            table[down or up] = 1.0
        net.cpt(f"x{index}")[{before: column}] = table.tolist()


def _worse(node: Node, so_far: Worst, state: int) -> Worst:
    sides = list(so_far)
    if state:
        place = (DOWN, UP, OVER).index(node.scale.sides[state])
        if node.scale.ranks[state] > (node.scale.ranks[sides[place]] if sides[place] else 0):
            sides[place] = state
    down, up, over = sides
    return down, up, over
