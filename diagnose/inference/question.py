"""What is asked of the network for one case: the posterior, exactly, or bounded where it is too wide."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from diagnose.evidence.collect import Findings, collect
from diagnose.inference.contraction import TooWide
from diagnose.inference.instruments import Readings, readings_of
from diagnose.inference.network import Network
from diagnose.inference.rig_network import (
    Skeleton,
    finding_likelihood,
    inspected_likelihood,
    network_for,
    skeleton,
)
from diagnose.inference.scale import Array
from diagnose.inference.solve import Solution, log_evidence, solve
from diagnose.inference.structure import DEFAULT_BUDGET, Impossible, Layout, Structure
from diagnose.inference.through_time import UNLIKELY, Time, through_time
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case
from diagnose.model.result import Finding

DOUBTED = 0.98  # how often an observation is right when some of them contradict each other
LAST_RESORT = 25 * DEFAULT_BUDGET
AS_GOOD = 0.1  # likelihood of the good state, of the greatest, from which an observation is hardened to it
CLOSE_ENOUGH = 1e-6  # estimated error from rounding up to which a posterior is called exact
ROUNDED = 0.1  # error from rounding, of what is left out anyhow, up to which it adds nothing
MOST_ROUNDED = 1e-3  # the same at the most: figures are told in hundredths
BOUNDED = 2e7  # cells of one product of tables over all the worlds that are bounded at once
ROUGHLY = 0.1  # accuracy of bounds, which are told by their orders of magnitude
LEFT_OUT = 1e-7  # share of the evidence up to which an instrument that is astray may be left out
WIDE = 3e6  # cells of one product of tables from which it pays to look for instruments that are true
SHARED_BY = 4  # readings on one instrument from which it makes a network wide
READ_WIDENS = 10  # how many times wider dials make a network, about
MOST_JOINT = 2  # such instruments that are looked at together


@dataclass(frozen=True, eq=False)
class Question:
    """A network with its evidence. `likelihood` by node index; `abnormal` nodes are signs of a fault.

    What was read with instruments that may be astray is evidence on a dial: a node of its own, whose
    quantity is in `dials`. `assumed` nodes are instruments whose likelihood is no observation of theirs.
    `left_out` bounds the share of the evidence in which instruments that were taken as true are not.
    `read`: what it was made of, the question without what was read with instruments, and these readings.
    """

    bones: Skeleton
    network: Network
    likelihood: Mapping[int, Array]
    abnormal: frozenset[int]
    dials: Mapping[int, int] = field(default_factory=dict)
    assumed: frozenset[int] = frozenset()
    left_out: float = 0.0
    read: tuple[Question, Readings] | None = None

    def name_of(self, node: int) -> str:
        """The id on the rig of a node, of a dial that of its quantity."""
        return self.bones.names[self.dials.get(node, node)]

    def finding_of(self, node: int, findings: Findings) -> Finding:
        """The finding behind an observed node, be it of the set as it is or of one before work."""
        at = self.dials.get(node, node)
        name = self.bones.names[at]
        return findings.of_copy(name, self.bones.copy_of.get(at, findings.periods.last(name)))

    def observed(self, node: int) -> bool:
        """Whether anything was observed of a node, be it through a dial."""
        return node in self.observations or node in self._read

    @property
    def accuracy(self) -> float:
        """The error from rounding that does no harm: where something is left out, more than otherwise."""
        return min(MOST_ROUNDED, max(CLOSE_ENOUGH, ROUNDED * self.left_out))

    @cached_property
    def observations(self) -> tuple[int, ...]:
        """The nodes that something was observed of, dials instead of what was read on them."""
        return tuple(node for node in sorted(self.likelihood) if node not in self.assumed)

    @cached_property
    def _read(self) -> frozenset[int]:
        return frozenset(self.dials.values())

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
        """The layout of this question, in an order within the budget; see `layout`."""
        if not asked and marks is True and not opened:
            return self._layout.planned(budget)
        return self.layout(asked, marks=marks, opened=opened).planned(budget)

    def layout(
        self,
        asked: Collection[int] = (),
        *,
        marks: bool | Collection[int] = True,
        read: Collection[int] | None = None,
        opened: Mapping[int, Collection[int]] | None = None,
    ) -> Layout:
        """The layout of this question without an order; `opened` widens the support of some nodes (variants)."""
        support: dict[int, Collection[int]] = dict(self.support())
        support.update(opened or {})
        return Layout(self.network, support, self.abnormal, asked, marks, read)

    @cached_property
    def _layout(self) -> Layout:
        return self.layout()

    def without(self, node: int) -> Question:
        """The same question with one observation left out."""
        kept = {n: values for n, values in self.likelihood.items() if n != node}
        return replace(self, likelihood=kept, abnormal=self.abnormal - {node})

    def hardened(self) -> Question:
        """The same question with every observation taken as its most likely state, all instruments true.

        Good sets are common: what may well be good is taken as good, and what says nothing convicts nobody.
        """
        hard = {}
        for node in self.observations:
            values = self.likelihood[node]
            states = self.network.nodes[self.dials.get(node, node)].scale.size
            sure = np.zeros_like(values)
            best = int(values[:states].argmax())
            sure[0 if values[0] >= AS_GOOD * values[best] else best] = 1.0
            hard[node] = sure
        return replace(self, likelihood={**self.likelihood, **hard})

    def doubted(self) -> Question:
        """The same question with every observation right in DOUBTED of cases, and saying nothing else."""
        soft = {}
        for node in self.observations:
            values = self.likelihood[node]
            soft[node] = DOUBTED * values / values.max() + (1.0 - DOUBTED)
        return replace(self, likelihood={**self.likelihood, **soft}, read=None)

    def trusting(self, doubtful: Collection[int]) -> Question:
        """The same question with all instruments true but these: narrower, where readings hang on many."""
        if self.read is None:
            return self
        asked, readings = self.read
        return _placed(asked, readings, [node for node in readings.used if node not in doubtful])

    def certain_only(self) -> Question:
        """The same question without the observations that leave more than one state possible."""
        kept = {n: v for n, v in self.likelihood.items() if n in self.assumed or np.count_nonzero(v) == 1}
        return replace(self, likelihood=kept, abnormal=self.abnormal & frozenset(kept))


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
    Where that cannot be together with what was found since, what was observed before that work is set aside.
    """
    contradicted = False
    for since in range(len(case.work)):
        findings = collect(assembly, case, since)
        question = ask(assembly, case, findings)
        if not findings.earlier:
            return findings, replace(answer(question), set_aside=since if contradicted else 0)
        if not _too_wide(question, DEFAULT_BUDGET):
            found = _possible(question)
            if found is not None:
                return findings, replace(found, set_aside=since if contradicted else 0)
            contradicted = True
    findings = collect(assembly, case, len(case.work))
    found = answer(ask(assembly, case, findings))
    return findings, replace(found, set_aside=len(case.work) if contradicted else 0)


def ask(assembly: Assembly, case: Case, findings: Findings) -> Question:
    """The question that a case puts to its rig's network."""
    bones = skeleton(assembly)
    network = network_for(bones, case.history)
    if not findings.periods.touched and not findings.periods.before:
        return _read(assembly, findings, _asked(case, findings, bones, network))
    for time in through_time(bones, network, findings, UNLIKELY if findings.earlier else ()):
        question = _asked(case, findings, time.bones, time.bones.network, time)
        if not _too_wide(question, WIDE / READ_WIDENS):
            break
    return _read(assembly, findings, question)


def _asked(
    case: Case, findings: Findings, bones: Skeleton, network: Network, time: Time | None = None
) -> Question:
    """The question with every instrument true."""
    likelihood: dict[int, Array] = {}
    abnormal = set()
    said = [(bones.index[name], finding, True) for name, finding in findings.counted.items()]
    said += [
        (bones.at(name, copy), found[0], findings.latest(name, copy))
        for (name, copy), found in findings.earlier.items()
    ]
    for node, finding, stands in said:
        likelihood[node] = finding_likelihood(bones, finding)
        if finding.abnormal and stands:
            abnormal.add(node)
    for part, found in case.inspected.items():
        node, values = inspected_likelihood(bones, part, found)
        likelihood[node] = values
    if time is None:
        return Question(bones, network, likelihood, frozenset(abnormal))
    for node, values in time.ruled_out.items():
        likelihood[node] = values * likelihood.get(node, np.ones(len(values)))
    left_out = time.left_out
    return Question(bones, network, likelihood, frozenset(abnormal), {}, frozenset(time.ruled_out), left_out)


def _read(assembly: Assembly, findings: Findings, question: Question) -> Question:
    """The question with what was read through instruments as evidence on their dials."""
    readings = readings_of(assembly, question.bones, findings)
    read = {reading.node for reading in readings.readings}
    if not read:
        return question
    kept = {node: values for node, values in question.likelihood.items() if node not in read}
    return with_dials(replace(question, likelihood=kept, abnormal=question.abnormal - read), readings)


def with_dials(question: Question, readings: Readings) -> Question:
    """The question with a dial for every reading. Where that is too wide, those instruments are taken as true
    that the readings prove to be so; then, the least doubtful first, others that several readings hang on; in
    the end all.
    """
    whole = _placed(question, readings, ())
    if not _too_wide(whole, WIDE):
        return whole
    several = [node for node, count in readings.used.items() if count > 1]
    shared = [node for node in several if readings.used[node] >= SHARED_BY]
    shared = sorted(shared, key=lambda node: -readings.used[node])[:MOST_JOINT]
    shares = _shares_astray(question, readings, shared)
    trusted = [node for node in shared if shares[node] <= LEFT_OUT]
    fewer = _placed(question, readings, trusted, sum(shares[node] for node in trusted))
    if not _too_wide(fewer, DEFAULT_BUDGET):
        return fewer
    others = [node for node in several if node not in shares]
    for first in range(0, len(others), MOST_JOINT):
        shares |= _shares_astray(question, readings, others[first : first + MOST_JOINT])
    for node in sorted(several, key=lambda node: shares[node]):
        if node in trusted:
            continue
        trusted.append(node)
        fewer = _placed(question, readings, trusted, sum(shares[node] for node in trusted))
        if not _too_wide(fewer, DEFAULT_BUDGET):
            return fewer
    return _placed(question, readings, tuple(readings.used), np.inf)


def _placed(
    question: Question, readings: Readings, trusted: Collection[int], left_out: float = 0.0
) -> Question:
    placed = readings.placed(question.network, trusted)
    return replace(
        question,
        network=placed.network,
        likelihood={**question.likelihood, **placed.likelihood, **placed.assumed},
        abnormal=question.abnormal | placed.abnormal,
        dials=placed.of,
        assumed=question.assumed | frozenset(placed.assumed),
        left_out=question.left_out + left_out,
        read=(question, readings),
    )


def _too_wide(question: Question, budget: float) -> bool:
    try:
        question.structure(budget=budget)
    except TooWide:
        return True
    except Impossible:  # said when it is solved
        return False
    return False


def _shares_astray(question: Question, readings: Readings, suspects: Sequence[int]) -> dict[int, float]:
    """For each suspected instrument a bound on the evidence of all worlds in which it is astray, relative to
    that of the world in which all are true; infinite where that cannot be told.
    """
    nothing = dict.fromkeys(suspects, np.inf)
    if not suspects:
        return nothing
    worlds, rows = readings.bounds(question.network, suspects)
    asked = replace(question, likelihood={**question.likelihood, **rows})
    try:
        structure = asked.structure(marks=False, budget=BOUNDED / len(worlds))
        log = log_evidence(structure, asked.likelihood, accuracy=ROUGHLY)
    except (TooWide, Impossible):
        return nothing
    if np.isneginf(log[0]):
        return nothing
    shares = np.exp(np.minimum(log - log[0], 700.0))
    return {
        node: float(sum(share for share, world in zip(shares[1:], worlds[1:], strict=True) if world[place]))
        for place, node in enumerate(suspects)
    }


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
        if not _too_wide(doubted, DEFAULT_BUDGET):
            found = _possible(doubted)
            if found is not None:
                return found
    for sign in sorted(question.abnormal):
        found = _possible(question.without(sign))
        if found is not None:
            return replace(found, exact=False)
    return replace(_answer(replace(question, likelihood={}, abnormal=frozenset())), exact=False)


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
