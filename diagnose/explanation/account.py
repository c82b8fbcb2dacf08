"""Why one cause is believed as much as it is: prior, chain, evidence for and against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.evidence.collect import Findings
from diagnose.explanation.chain import ChainStep, steps, strongest_path
from diagnose.explanation.contributions import Contribution, chance_before, contributions
from diagnose.inference.answer import solved
from diagnose.inference.question import Question
from diagnose.model.assembly import Assembly, Link, PlacedPart
from diagnose.model.case import Case
from diagnose.model.conditions import holds
from diagnose.model.knowledge import Mode
from diagnose.model.result import Diagnosis, RankedCause
from diagnose.model.when import Test
from diagnose.problems import Place

__all__ = ["Account", "ChainStep", "Contribution", "Place", "account"]

NOTICED = 0.02  # share of a prior from which it is said that other faults add to it
OF_OTHERS = "; with what other faults may do to it"


@dataclass(frozen=True)
class Account:
    """The reasons for and against one cause.

    Contributions and `residual` add up to the difference of the posterior and prior log odds, in bits.
    """

    cause: RankedCause
    prior: float
    prior_because: str
    chain: tuple[ChainStep, ...]
    evidence: tuple[Contribution, ...]
    residual: float
    would_change: tuple[str, ...]
    contrast: str


def account(assembly: Assembly, case: Case, diagnosis: Diagnosis, cause_id: str | None = None) -> Account:
    """The account of one cause, or of the leading one. KeyError for a cause this rig does not have."""
    ranked = {cause.id: cause for cause in diagnosis.causes}
    lead = diagnosis.causes[0]
    cause = lead if cause_id is None else ranked[cause_id]
    findings, posterior = solved(assembly, case)
    question = posterior.question
    evidence, residual = _evidence(assembly, case, findings, question, cause)
    placed, mode = assembly.cause(cause.id)
    prior = chance_before(question, *_of_cause(assembly, question, cause))
    return Account(
        cause=cause,
        prior=prior,
        prior_because=(
            "after the work done to it: what that leaves of the old fault, and what work can do"
            if findings.periods.last(placed.id)
            else _prior_because(assembly, case, placed, mode)
            + (OF_OTHERS if prior > (1.0 + NOTICED) * cause.prior else "")
        ),
        chain=_chain(assembly, findings, cause),
        evidence=evidence,
        residual=residual,
        would_change=_would_change(diagnosis, cause),
        contrast=_contrast(assembly, case, findings, question, diagnosis, cause, evidence),
    )


def _of_cause(assembly: Assembly, question: Question, cause: RankedCause) -> tuple[int, int]:
    """The node of a cause and the number of its mode."""
    modes = [mode.id for mode in assembly.parts[cause.part].part.modes]
    return question.bones.index[cause.part], 1 + modes.index(cause.id.rpartition(".")[2])


def _evidence(
    assembly: Assembly, case: Case, findings: Findings, question: Question, cause: RankedCause
) -> tuple[tuple[Contribution, ...], float]:
    shares, residual = contributions(question, *_of_cause(assembly, question, cause))
    rows = []
    for node, bits in shares.items():
        name = question.name_of(node)
        if name in assembly.parts:
            title, state = assembly.parts[name].part.title, case.inspected.get(name, "")
            rules: tuple[str, ...] = ()
        else:
            title, state = _indication_title(assembly, name), question.finding_of(node, findings).state
            path = strongest_path(assembly, cause.id, name)
            rules = tuple(dict.fromkeys(link.rule.id for link in path))
        rows.append(Contribution(name, title, state, bits, rules))
    rows.sort(key=lambda row: (-abs(row.bits), row.name))
    return tuple(rows), residual


def _indication_title(assembly: Assembly, name: str) -> str:
    placed = assembly.indications[name]
    return f"{assembly.rig.stages[placed.stage].title}: {placed.indication.title}"


def _chain(assembly: Assembly, findings: Findings, cause: RankedCause) -> tuple[ChainStep, ...]:
    """The strongest paths to the abnormal observations that the cause can reach."""
    links: list[Link] = []
    for finding in findings.abnormal():
        links.extend(strongest_path(assembly, cause.id, finding.name, finding.state))
    if not links:
        for finding in findings.counted.values():
            links.extend(strongest_path(assembly, cause.id, finding.name))
    return steps(assembly, links)


def _prior_because(assembly: Assembly, case: Case, placed: PlacedPart, mode: Mode) -> str:
    known = {**placed.features, **case.history}
    for line in mode.history:
        if holds(line.when, known):
            tests = " and ".join(_test_text(assembly, test) for test in line.when)
            return f"because of the history: {tests}"
    if not mode.history:
        return "the same for every history"
    return "no line of its history applies, so the figure for an unknown history"


def _test_text(assembly: Assembly, test: Test) -> str:
    fact = assembly.book.bench.facts.get(test.name)
    title = fact.title if fact else test.name.replace("_", " ")
    titles = fact.values if fact else {}
    if test.at_least is not None and test.below is not None:
        return f"{title}, {test.at_least:g} to below {test.below:g}"
    if test.at_least is not None:
        return f"{title}, at least {test.at_least:g}"
    if test.below is not None:
        return f"{title}, below {test.below:g}"
    words = " or ".join(str(titles.get(word, word)).replace("_", " ") for word in test.any_of)
    if test.none_of:
        words = "not " + " or ".join(word.replace("_", " ") for word in test.none_of)
    return f"{title}: {words}"


def _would_change(diagnosis: Diagnosis, cause: RankedCause) -> tuple[str, ...]:
    """Outcomes of the next checks that would put another part in the lead, or this one."""
    lead = diagnosis.parts[0].id if diagnosis.parts else ""
    lines = []
    for check in diagnosis.advice.next if diagnosis.advice else ():
        for outcome in check.outcomes:
            changes = outcome.leader != lead
            if changes and cause.part in (outcome.leader, lead):
                share = round(100 * outcome.leader_blame)
                lines.append(
                    f"{check.title}: if it shows {outcome.text}, the {outcome.leader_title} "
                    f"leads with {share} of 100"
                )
    return tuple(lines[:5])


def _contrast(
    assembly: Assembly,
    case: Case,
    findings: Findings,
    question: Question,
    diagnosis: Diagnosis,
    cause: RankedCause,
    evidence: Sequence[Contribution],
) -> str:
    """Why this cause is not higher: the observation that speaks most for the leader instead of it."""
    lead = diagnosis.causes[0]
    if cause.part == lead.part or not evidence:
        return ""
    theirs, _ = _evidence(assembly, case, findings, question, lead)
    bits = {row.name: row.bits for row in theirs}
    gaps = sorted(
        ((bits.get(row.name, 0.0) - row.bits, row) for row in evidence),
        key=lambda gap: (-gap[0], gap[1].name),
    )
    gap, row = gaps[0]
    if gap > 0.3:
        return (
            f"The {lead.title} stands higher chiefly because of {row.title}: {row.state.replace('_', ' ')}."
        )
    if lead.prior > 2 * cause.prior:
        return f"The {lead.title} stands higher chiefly because it is the commoner fault."
    return f"The {lead.title} stands a little higher on the evidence as a whole."
