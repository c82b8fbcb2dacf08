"""How well the observations go together.

Each observation is set against what all the others predict: its tail is the predicted probability of
the states that are no more probable than the one found. The least of n such tails, times n, bounds the chance
of seeing any so unbelievable a reading (Bonferroni); it needs no sampling and does not depend on any order.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnose.inference.contraction import TooWide
from diagnose.inference.question import CLOSE_ENOUGH, Question
from diagnose.inference.solve import log_evidence


@dataclass(frozen=True)
class Tail:
    """Bound on the chance of so unbelievable a reading, and the node of the least believable one."""

    chance: float
    node: int | None


def tail(question: Question) -> Tail:
    """Leave each observation out in turn and compare it with what the rest predicts."""
    least, at = 1.0, None
    for node in sorted(question.likelihood):
        if question.network.nodes[node].is_part:
            continue
        chance = _one_tail(question, node)
        if chance < least:
            least, at = chance, node
    count = max(len(question.likelihood), 1)
    return Tail(min(1.0, least * count), at)


def _one_tail(question: Question, node: int) -> float:
    size = question.network.nodes[node].scale.size
    found = int(np.asarray(question.likelihood[node]).argmax())
    rest = question.without(node)
    likelihood = dict(rest.likelihood)
    likelihood[node] = np.eye(size)
    try:
        structure = rest.structure(opened={node: range(size)}, marks=False)
        log = log_evidence(structure, likelihood, accuracy=CLOSE_ENOUGH)
    except TooWide:
        return 1.0
    possible = np.isfinite(log)
    if not possible.any():
        return 1.0
    predicted = np.where(possible, np.exp(log - log[possible].max()), 0.0)
    predicted /= predicted.sum()
    return float(predicted[predicted <= predicted[found] * (1 + 1e-9)].sum())
