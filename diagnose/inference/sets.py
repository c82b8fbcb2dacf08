"""Which parts together take part in what was observed: the probability of each set of suspects.

Let g(S) be the probability of the evidence with every suspect outside S held silent. Then S is exactly the
set of suspects that take part with probability sum over T in S of (-1)^(|S|-|T|) g(T), divided by the
probability of the evidence. S is small, so the alternating sum has at most eight terms. Of parts that are no
suspects nothing is said: they may take part as well.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from diagnose.inference.answer import Answer
from diagnose.inference.contraction import TooWide
from diagnose.inference.question import Question
from diagnose.inference.solve import Blameless, log_evidence
from diagnose.inference.structure import Structure

Set = tuple[int, ...]
MUCH = 5e6  # work from which a narrower structure, that follows these parts alone, is worth laying out


def explanations(
    question: Question, suspects: Sequence[int], pairs_among: int = 6, triples_among: int = 4
) -> dict[Set, float]:
    """Probability that exactly these of the suspects take part, for sets of up to three of them.

    Singles among all suspects, pairs and triples among the first few. The empty set: none of them does.
    """
    wanted: list[Set] = [()]
    wanted += [(part,) for part in suspects]
    wanted += list(combinations(suspects[:pairs_among], 2))
    wanted += list(combinations(suspects[:triples_among], 3))
    share = _silent_shares(question, suspects, wanted)
    found = {}
    for chosen in wanted:
        total = 0.0
        for size in range(len(chosen) + 1):
            for inner in combinations(chosen, size):
                total += (-1.0) ** (len(chosen) - size) * share[inner]
        found[chosen] = max(total, 0.0)
    return found


def all_blameless(answer: Answer, parts: Sequence[int]) -> float:
    """Probability, given the evidence, that none of these parts takes part."""
    structure, question = _narrower(answer, parts), answer.question
    silent = Blameless(free=np.zeros(1), silent=np.ones(1))
    held = {part: silent for part in structure.parts if part in parts}
    log = log_evidence(structure, question.likelihood, held, question.accuracy)
    return float(np.exp(log[0] - answer.solution.log_evidence[0]))


def _narrower(answer: Answer, parts: Sequence[int]) -> Structure:
    """The structure of an answer, or one that follows these parts alone, where that is less work."""
    whole = answer.structure.contraction
    if whole.work <= MUCH:
        return answer.structure
    try:
        found = answer.question.structure(marks=parts, budget=whole.cells)
    except TooWide:
        return answer.structure
    return found if found.contraction.work < whole.work else answer.structure


def _silent_shares(question: Question, suspects: Sequence[int], sets: Sequence[Set]) -> dict[Set, float]:
    """For each set the probability, given the evidence, that every suspect outside it is silent."""
    structure = question.structure(marks=suspects)
    held = {}
    for part in structure.parts:
        if part in suspects:
            inside = np.array([1.0] + [1.0 if part in chosen else 0.0 for chosen in sets])
            held[part] = Blameless(free=inside, silent=1.0 - inside)
    log = np.array(log_evidence(structure, question.likelihood, held, question.accuracy))
    log = np.broadcast_to(log, (1 + len(sets),))  # the first variant holds nobody
    shares = np.exp(log[1:] - log[0])
    return {chosen: float(value) for chosen, value in zip(sets, shares, strict=True)}
