"""The pipeline: a case against a rig's network, to a diagnosis."""

from __future__ import annotations

import math

import numpy as np

from diagnose.advice.gates import standing_orders
from diagnose.advice.plan import advise
from diagnose.evidence.collect import Findings, to_see_again
from diagnose.evidence.derived import Workings
from diagnose.evidence.drift_logs import drift_figures, fitted
from diagnose.evidence.limits import flags
from diagnose.inference.answer import Answer, solved
from diagnose.inference.conflict import tail
from diagnose.inference.sets import all_blameless, explanations
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case
from diagnose.model.proofs import unproven
from diagnose.model.result import Advice, Conflict, Diagnosis, Explanation, Ranking
from diagnose.ranking import rank
from diagnose.repairs import repairs
from diagnose.verdict import verdict

_SUSPECTS = 8
_HARDLY_TOGETHER = 0.01
_COMPARABLE = 0.1  # share of the evidence that may be left out of what is compared


def diagnose(
    assembly: Assembly, case: Case, *, advice: bool = True, details: bool = True, most: int = 5
) -> Diagnosis:
    """All that can be said of a case. `advice` asks for next checks, `details` for sets and conflict."""
    findings, posterior = solved(assembly, case)
    workings = Workings(assembly, case, findings.all)
    orders = standing_orders(assembly, case, findings, workings)
    ranking = rank(assembly, posterior)
    next_steps: Advice | None = None
    if advice:
        next_steps = (
            Advice() if orders else advise(assembly, case, findings, posterior.question, ranking, most)
        )
    return Diagnosis(
        case=case,
        rig_title=assembly.rig.title,
        verdict=verdict(assembly, case, findings, orders, ranking),
        exact=posterior.exact,
        stop_orders=orders,
        findings=findings.all,
        parts=ranking.parts,
        causes=ranking.causes,
        also_due=ranking.also_due,
        explanations=_explanations(posterior, ranking) if details else (),
        unexplained=_unexplained(posterior),
        unexplained_stages=tuple(
            (part.stage, part.blame) for part in ranking.parts if part.unnamed and part.blame > 0.005
        ),
        conflict=_conflict(assembly, posterior, findings) if details else Conflict(None),
        log10_evidence=float(posterior.solution.log_evidence[0] / math.log(10)),
        advice=next_steps,
        local_rules=_local_rules(assembly, posterior),
        withdrawn_rules=_withdrawn_rules(assembly),
        messages=case.problems,
        intervals=_intervals(posterior),
        derived=(
            *(found.figure for found in workings.results),
            *drift_figures(fitted(assembly, case)),
        ),
        flags=flags(workings, findings.all),
        repairs=repairs(assembly, case, findings, posterior),
        see_again=tuple(finding.name for finding in to_see_again(assembly, case, findings)),
        unproven=unproven(assembly.book.bench, case),
        left_out=posterior.question.left_out,
        set_aside=posterior.set_aside,
        since=findings.since,
        contradiction=posterior.contradiction,
        comparable=not posterior.contradiction
        and posterior.bounds is None
        and posterior.question.left_out <= _COMPARABLE,
    )


def _explanations(posterior: Answer, ranking: Ranking) -> tuple[Explanation, ...]:
    bones = posterior.question.bones
    suspects = [part for part in ranking.parts if part.blame > 0.01][:_SUSPECTS]
    if not suspects:
        return ()
    by_node = {bones.index[part.id]: part for part in suspects}
    found = explanations(posterior.question, list(by_node))
    ranked = sorted(found.items(), key=lambda item: -item[1])
    return tuple(
        Explanation(
            tuple(by_node[node].id for node in chosen),
            tuple(by_node[node].causes[0].id for node in chosen),
            probability,
        )
        for chosen, probability in ranked[:6]
        if probability > 0.005
    )


def _unexplained(posterior: Answer) -> float:
    """Chance that at least one unnamed part takes part."""
    bones = posterior.question.bones
    unnamed = [bones.index[p.id] for p in bones.assembly.parts.values() if p.part.unnamed]
    return max(0.0, 1.0 - all_blameless(posterior, unnamed))


def _conflict(assembly: Assembly, posterior: Answer, findings: Findings) -> Conflict:
    found = tail(posterior.question, findings)
    if posterior.contradiction:
        name = "" if found.node is None else posterior.question.name_of(found.node)
        return Conflict(
            0.0, name, "These observations exclude each other; they are believed in most cases only."
        )
    if posterior.set_aside:
        before = f"before work {posterior.set_aside}"
        said = f"What was observed {before} cannot be together with what was found since, and does not count."
        return Conflict(0.0, "", said)
    if found.node is None:
        return Conflict(found.chance)
    name = posterior.question.name_of(found.node)
    text = ""
    if found.chance < _HARDLY_TOGETHER:
        title = assembly.indications[name].indication.title
        state = posterior.question.finding_of(found.node, findings).state
        text = f"These observations hardly go together; the least believable is {title}: {state}."
    return Conflict(found.chance, name, text)


def _local_rules(assembly: Assembly, posterior: Answer) -> tuple[str, ...]:
    """Rules of the shop folder whose arrow lies in the part of the network that was solved."""
    laid = posterior.structure.nodes
    index = posterior.question.bones.index
    return tuple(
        dict.fromkeys(
            link.rule.id for link in assembly.links if link.rule.local and index[link.child] in laid
        )
    )


def _withdrawn_rules(assembly: Assembly) -> tuple[str, ...]:
    """What the shop folder took out of the rig itself or of the kinds of its stages."""
    owners = {assembly.rig.id, *(stage.kind for stage in assembly.rig.stages.values())}
    return tuple(id for id in assembly.book.withdrawn if id.partition("/")[0] in owners)


def _intervals(posterior: Answer) -> tuple[tuple[str, float, float], ...]:
    """Where the posterior is not exact: lowest and highest blame of each cause over both readings."""
    if posterior.exact:
        return ()
    bones = posterior.question.bones
    bounds = posterior.solution if posterior.bounds is None else posterior.bounds
    rounding = posterior.solution.error
    off = posterior.question.left_out  # of the evidence, so many a share may tell of instruments astray
    rows = []
    for node, first in posterior.solution.blame.items():
        if node in bones.copy_of:
            continue
        second = bounds.blame.get(node, np.zeros_like(first))
        placed = bones.assembly.parts[bones.names[node]]
        for number, mode in enumerate(placed.part.modes, start=1):
            pair = (float(first[0, number]), float(second[0, number]))
            low = max(0.0, min(pair) / (1.0 + off) - rounding)
            high = min(1.0, 1.0 - (1.0 - max(pair)) / (1.0 + off) + rounding)
            rows.append((placed.cause_id(mode), low, high))
    return tuple(rows)
