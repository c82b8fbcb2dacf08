"""Which parts together take part in what was observed: the probability of exactly these and no others.

Let g(S) be the probability of the evidence with every part outside S blameless. Then exactly S takes
part with probability sum over T in S of (-1)^(|S|-|T|) g(T), divided by the probability of the evidence.
S is small, so the alternating sum has at most eight terms.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from diagnose.inference.question import Answer
from diagnose.inference.solve import Blameless, log_evidence

Set = tuple[int, ...]


def explanations(
    answer: Answer, suspects: Sequence[int], most: int = 3, pairs_among: int = 6
) -> dict[Set, float]:
    """Probability of each set of up to three suspects being exactly the parts that take part.

    Singles among all suspects, pairs among the first `pairs_among`, triples among the first four. The
    empty set stands for "nothing but chance signs".
    """
    wanted: list[Set] = [()]
    wanted += [(part,) for part in suspects]
    wanted += list(combinations(suspects[:pairs_among], 2))
    if most > 2:
        wanted += list(combinations(suspects[:4], 3))
    held_parts = answer.structure.parts
    held = {}
    for part in held_parts:
        inside = np.array([1.0 if part in chosen else 0.0 for chosen in wanted])
        held[part] = Blameless(free=inside, silent=1.0 - inside)
    log = log_evidence(answer.structure, answer.question.likelihood, held)
    base = float(answer.solution.log_evidence[0])
    share = {chosen: float(np.exp(value - base)) for chosen, value in zip(wanted, log, strict=True)}
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
    held = {
        part: Blameless(free=np.zeros(1), silent=np.ones(1))
        for part in answer.structure.parts
        if part in set(parts)
    }
    log = log_evidence(answer.structure, answer.question.likelihood, held)
    return float(np.exp(log[0] - answer.solution.log_evidence[0]))
