"""The answer to a question: the posterior, exactly, or bounded where it is too wide."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from diagnose.evidence.collect import Findings, collect
from diagnose.inference.asking import ask
from diagnose.inference.contraction import TooWide
from diagnose.inference.layout import DEFAULT_BUDGET, Impossible
from diagnose.inference.question import CLOSE_ENOUGH, MOST_ROUNDED, Question, too_wide
from diagnose.inference.solve import Solution, solve
from diagnose.inference.structure import Structure
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case

LAST_RESORT = 25 * DEFAULT_BUDGET  # cells of one product of tables, where all else is past the budget


@dataclass(frozen=True, eq=False)
class Answer:
    """The posterior of a question. Where it is not exact, `bounds` gives a second reading of the evidence;
    the truth under the full evidence is reported as lying between the two.

    `contradiction`: the observations cannot all be right together, and each was taken as right in most
    cases only; `question` is then the doubted one. `set_aside`: pieces of work before which nothing that was observed
    counts, because it cannot be together with what was found since.
    """

    question: Question
    structure: Structure
    solution: Solution
    exact: bool
    bounds: Solution | None = None
    contradiction: bool = False
    set_aside: int = 0


def solved(assembly: Assembly, case: Case) -> tuple[Findings, Answer]:
    """What is found of a case, and the posterior.

    Of a set that was worked on the latest work is left that the network can hold, and what was observed before it.
    Where that cannot be together with what was found since, what was observed before that work is set aside; where
    nothing was found since, or that contradicts itself, all of it is doubted.
    """
    contradicted: tuple[Findings, Question] | None = None
    for since in range(len(case.work) + 1):
        findings = collect(assembly, case, since)
        question = ask(assembly, case, findings)
        if findings.earlier and too_wide(question, DEFAULT_BUDGET):
            continue
        found = _possible(question)
        if found is not None and (contradicted is None or findings.counted):
            return findings, replace(found, set_aside=since if contradicted else 0)
        contradicted = contradicted or (findings, question)
        if not findings.earlier:
            break
    assert contradicted is not None
    return contradicted[0], replace(_reconciled(contradicted[1]), contradiction=True)


def answer(question: Question) -> Answer:
    """The posterior. Observations that exclude each other are doubted, each as much as the others.

    Past the budget of work, soft readings are hardened, and once more left out.
    """
    return _possible(question) or replace(_reconciled(question), contradiction=True)


def _reconciled(question: Question) -> Answer:
    """The posterior of observations that exclude each other: each doubted; where that is too wide with the instruments
    true, and where that is too wide without one of the signs.
    """
    for each in (question, question.trusting(())):
        doubted = each.doubted()
        if not too_wide(doubted, DEFAULT_BUDGET):
            found = _possible(doubted)
            if found is not None:
                return found
    for sign in sorted(question.abnormal):
        found = _possible(question.without(sign))
        if found is not None:
            return replace(found, exact=False)
    return replace(_answer(replace(question, likelihood={}, abnormal=frozenset(), read=None)), exact=False)


def _possible(question: Question) -> Answer | None:
    """The posterior; None where the observations exclude each other."""
    try:
        found = _answer(question)
    except Impossible:
        return None
    return found if np.isfinite(found.solution.log_evidence[0]) else None


def _answer(question: Question) -> Answer:
    try:
        structure = question.structure()
        solution = solve(structure, question.likelihood, accuracy=question.accuracy)
        exact = max(solution.error, question.left_out) <= CLOSE_ENOUGH
        return Answer(question, structure, solution, exact)
    except TooWide:
        hard = question.hardened()
        fewer = question.certain_only()
        first = hard.structure(budget=LAST_RESORT)
        second = fewer.structure(budget=LAST_RESORT)
        return Answer(
            hard,
            first,
            solve(first, hard.likelihood, accuracy=MOST_ROUNDED),
            exact=False,
            bounds=solve(second, fewer.likelihood, accuracy=MOST_ROUNDED),
        )
