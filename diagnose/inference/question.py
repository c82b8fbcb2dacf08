"""What is asked of the network for one case: the posterior, exactly, or bounded where it is too wide."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np

from diagnose.evidence.collect import Findings
from diagnose.inference.contraction import TooWide
from diagnose.inference.network import Network
from diagnose.inference.rig_network import (
    Skeleton,
    finding_likelihood,
    inspected_likelihood,
    network_for,
    skeleton,
)
from diagnose.inference.scale import Array
from diagnose.inference.solve import Solution, solve
from diagnose.inference.structure import DEFAULT_BUDGET, Impossible, Structure, lay_out
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case

DOUBTED = 0.98  # how often an observation is right when some of them contradict each other
LAST_RESORT = 25 * DEFAULT_BUDGET
CLOSE_ENOUGH = 1e-6  # estimated error from rounding up to which a posterior is called exact


@dataclass(frozen=True, eq=False)
class Question:
    """A network with its evidence. `likelihood` by node index; `abnormal` nodes are signs of a fault."""

    bones: Skeleton
    network: Network
    likelihood: Mapping[int, Array]
    abnormal: frozenset[int]

    def support(self) -> dict[int, tuple[int, ...]]:
        """States of each observed node that the observation leaves possible."""
        return {
            node: tuple(np.flatnonzero(np.atleast_2d(values).max(0) > 0).tolist())
            for node, values in self.likelihood.items()
        }

    def structure(
        self,
        asked: Collection[int] = (),
        *,
        marks: bool | Collection[int] = True,
        opened: Mapping[int, Collection[int]] | None = None,
        budget: float = DEFAULT_BUDGET,
    ) -> Structure:
        """The layout of this question; `opened` widens the support of some nodes (variants)."""
        support: dict[int, Collection[int]] = dict(self.support())
        support.update(opened or {})
        return lay_out(self.network, support, self.abnormal, asked, marks=marks, budget=budget)

    def without(self, node: int) -> Question:
        """The same question with one observation left out."""
        kept = {n: values for n, values in self.likelihood.items() if n != node}
        return replace(self, likelihood=kept, abnormal=self.abnormal - {node})

    def hardened(self) -> Question:
        """The same question with every observation taken as its most likely state."""
        hard = {}
        for node, values in self.likelihood.items():
            sure = np.zeros_like(values)
            sure[int(values.argmax())] = 1.0
            hard[node] = sure
        return replace(self, likelihood=hard)

    def doubted(self) -> Question:
        """The same question with every observation right in DOUBTED of cases, and saying nothing else."""
        soft = {n: DOUBTED * v / v.max() + (1.0 - DOUBTED) for n, v in self.likelihood.items()}
        return replace(self, likelihood=soft)

    def certain_only(self) -> Question:
        """The same question without the observations that leave more than one state possible."""
        kept = {n: v for n, v in self.likelihood.items() if np.count_nonzero(v) == 1}
        return replace(self, likelihood=kept, abnormal=self.abnormal & frozenset(kept))


@dataclass(frozen=True, eq=False)
class Answer:
    """The posterior of a question. Where it is not exact, `bounds` gives a second reading of the evidence;
    the truth under the full evidence is reported as lying between the two.

    `contradiction`: the observations cannot all be right together, and each was taken as right in most
    cases only; `question` is then the doubted one.
    """

    question: Question
    structure: Structure
    solution: Solution
    exact: bool
    bounds: Solution | None = None
    contradiction: bool = False


def ask(assembly: Assembly, case: Case, findings: Findings) -> Question:
    """The question that a case puts to its rig's network."""
    bones = skeleton(assembly)
    network = network_for(bones, case.history)
    likelihood = {}
    abnormal = set()
    for name, finding in findings.counted.items():
        node = bones.index[name]
        likelihood[node] = finding_likelihood(bones, finding)
        if finding.abnormal:
            abnormal.add(node)
    for part, found in case.inspected.items():
        likelihood[bones.index[part]] = inspected_likelihood(bones, part, found)
    return Question(bones, network, likelihood, frozenset(abnormal))


def answer(question: Question) -> Answer:
    """The posterior. Observations that exclude each other are doubted, each as much as the others.

    Past the budget of work, soft readings are hardened, and once more left out.
    """
    try:
        found = _answer(question)
        if np.isfinite(found.solution.log_evidence[0]):
            return found
    except Impossible:
        pass
    return replace(_answer(question.doubted()), contradiction=True)


def _answer(question: Question) -> Answer:
    try:
        structure = question.structure()
        solution = solve(structure, question.likelihood, accuracy=CLOSE_ENOUGH)
        return Answer(question, structure, solution, exact=solution.error <= CLOSE_ENOUGH)
    except TooWide:
        hard = question.hardened()
        fewer = question.certain_only()
        first = hard.structure(budget=LAST_RESORT)
        second = fewer.structure(budget=LAST_RESORT)
        return Answer(
            hard,
            first,
            solve(first, hard.likelihood, accuracy=CLOSE_ENOUGH),
            exact=False,
            bounds=solve(second, fewer.likelihood, accuracy=CLOSE_ENOUGH),
        )
