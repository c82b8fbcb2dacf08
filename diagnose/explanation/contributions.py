"""What each observation adds to the log odds of a cause, so that the parts add up to the whole.

Along the path t in [0, 1] every likelihood is raised to the power t. The derivative of the log odds of a
cause c with respect to observation i on that path is

    E[log lambda_i(X_i) | c, t] - E[log lambda_i(X_i) | not c, t],

and its integral over t is the contribution of i: the Aumann-Shapley value, which does not depend on the order
of entry (R. J. Aumann and L. S. Shapley, Values of Non-Atomic Games, 1974; M. Sundararajan, A. Taly and
Q. Yan, "Axiomatic attribution for deep networks", 2017, for the discrete reading of it). Excluded states
get the likelihood FLOOR for this purpose only; what that and the quadrature leave over is the residual.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from diagnose.inference.answer import LAST_RESORT
from diagnose.inference.contraction import TooWide
from diagnose.inference.question import CLOSE_ENOUGH, Question
from diagnose.inference.scale import Array
from diagnose.inference.solve import log_evidence, solve
from diagnose.inference.structure import Structure

FLOOR = 1e-7
_STEPS = 10


@dataclass(frozen=True)
class Contribution:
    """What one observation adds to the log odds of the cause: positive bits speak for it."""

    name: str
    title: str
    state: str
    bits: float
    rule_ids: tuple[str, ...]


def contributions(question: Question, part: int, mode: int) -> tuple[dict[int, float], float]:
    """Bits by node of each observation for "part is in mode", and the residual in bits.

    The sum of all, residual included, is log2 of posterior odds over prior odds.
    """
    total = _log_odds_change(question, part, mode)
    observed = [node for node in question.observations if node != part]
    try:
        shares = _integrated(question, part, mode, observed)
    except TooWide:
        shares = {node: total - _log_odds_change(question.without(node), part, mode) for node in observed}
    return shares, total - sum(shares.values())


def chance_before(question: Question, part: int, mode: int) -> float:
    """The chance of "part is in mode" before anything was observed, with what other faults may do to the part."""
    return 1.0 / (1.0 + math.exp(-_log_odds(_unasked(question, part), part, mode)))


def _log_odds_change(question: Question, part: int, mode: int) -> float:
    """log2 of posterior odds over prior odds, the part's own inspection included."""
    before = _log_odds(_unasked(question, part), part, mode)
    return (_log_odds(question, part, mode) - before) / math.log(2)


def _unasked(question: Question, part: int) -> Question:
    """The question before anything was observed."""
    size = question.network.nodes[part].scale.size
    return Question(question.bones, question.network, {part: np.ones(size)}, frozenset())


def _log_odds(question: Question, part: int, mode: int) -> float:
    """Natural logarithm of the odds of "part is in mode"."""
    size = question.network.nodes[part].scale.size
    both = np.stack([np.eye(size)[mode], 1.0 - np.eye(size)[mode]])
    structure = question.structure(opened={part: range(size)}, marks=False, budget=LAST_RESORT)
    values = dict(question.likelihood)
    values[part] = both * question.likelihood.get(part, np.ones(size))
    log = log_evidence(structure, values, accuracy=CLOSE_ENOUGH)
    return float(log[0] - log[1])


def _integrated(question: Question, part: int, mode: int, observed: list[int]) -> dict[int, float]:
    size = question.network.nodes[part].scale.size
    own = question.likelihood.get(part, np.ones(size))
    clamp = np.stack([np.eye(size)[mode], 1.0 - np.eye(size)[mode]]) * own
    logs = {node: np.log(np.maximum(np.asarray(question.likelihood[node]), FLOOR)) for node in observed}
    opened = {node: range(len(values)) for node, values in logs.items()}
    opened[part] = range(size)
    structure = question.structure(observed, marks=False, opened=opened)
    known = {node: question.likelihood[node] for node in question.assumed}
    shares = dict.fromkeys(observed, 0.0)
    points, weights = np.polynomial.legendre.leggauss(_STEPS)
    for point, weight in zip(0.5 * (points + 1.0), 0.5 * weights, strict=True):
        for node, bits in _slopes(structure, part, clamp, logs, known, float(point)).items():
            shares[node] += float(weight) * bits
    return shares


def _slopes(
    structure: Structure, part: int, clamp: Array, logs: dict[int, Array], known: dict[int, Array], t: float
) -> dict[int, float]:
    """Derivative of the log odds, in bits, by each observation at one point of the path.

    What is `known` of nodes that are no observations holds on the whole path.
    """
    values = known | {node: np.exp(t * log) for node, log in logs.items()}
    values[part] = clamp
    states = solve(structure, values, accuracy=CLOSE_ENOUGH).states
    slopes = {}
    for node, log in logs.items():
        expected = states[node] @ log  # given the cause, and given its absence
        slopes[node] = float(expected[0] - expected[1]) / math.log(2)
    return slopes
