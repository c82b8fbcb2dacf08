"""How well the observations go together.

Each observation is set against what all the others predict: its tail is the predicted probability of
the states that are no more probable than the one found. The least of n such tails, times n, bounds the chance
of seeing any so unbelievable a reading (Bonferroni); it needs no sampling and does not depend on any order.

Found is the state that the finding names. A dial has states more, in which its instrument is astray and shows
a good value as a bad one; where what was read is none of a good set, one of those may be what was found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.evidence.collect import Findings
from diagnose.inference.contraction import TooWide
from diagnose.inference.layout import DEFAULT_BUDGET
from diagnose.inference.question import Question
from diagnose.inference.scale import Array
from diagnose.inference.solve import solve

TOGETHER = 3e6  # cells of one product of tables up to which several observations are opened at once


@dataclass(frozen=True)
class Tail:
    """Bound on the chance of so unbelievable a reading, and the node of the least believable one."""

    chance: float
    node: int | None


def tail(question: Question, findings: Findings) -> Tail:
    """Compare each observation with what all the others predict."""
    observed = [node for node in question.observations if not question.network.nodes[node].is_part]
    least, at = 1.0, None
    for node, predicted in _predictions(question, observed).items():
        found = _found(question, findings, node, predicted)
        chance = float(predicted[predicted <= predicted[found] * (1 + 1e-9)].sum())
        if chance < least - 1e-9:  # of equals the first
            least, at = chance, node
    count = max(len(question.observations), 1)
    return Tail(min(1.0, least * count), at)


def _found(question: Question, findings: Findings, node: int, predicted: Array) -> int:
    """The state of an observed node that was found."""
    finding = question.finding_of(node, findings)
    said: int = finding.states.index(finding.state)
    if node not in question.dials or not finding.abnormal:
        return said
    size = question.network.nodes[question.dials[node]].scale.size
    shown: tuple[int, ...] = (said, *range(size, len(predicted)))
    likely = predicted * np.asarray(question.likelihood[node])
    return max(shown, key=lambda state: float(likely[state]))


def _predictions(question: Question, nodes: Sequence[int]) -> dict[int, Array]:
    """For each node the distribution over its states given all observations but its own.

    All are opened at once where that is not too wide, otherwise one half after the other.
    """
    if not nodes:
        return {}
    budget = TOGETHER if len(nodes) > 1 else DEFAULT_BUDGET
    opened = {node: range(question.network.nodes[node].scale.size) for node in nodes}
    try:
        structure = question.structure(nodes, marks=False, opened=opened, budget=budget)
    except TooWide:
        if len(nodes) == 1:
            return {}
        half = len(nodes) // 2
        return _predictions(question, nodes[:half]) | _predictions(question, nodes[half:])
    solution = solve(structure, question.likelihood, accuracy=question.accuracy)
    predicted = {node: values[0] for node, values in solution.predicted.items()}
    return {node: values for node, values in predicted.items() if np.isfinite(values).all()}
