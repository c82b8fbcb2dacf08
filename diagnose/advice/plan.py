"""The best few things to do next, gated by safety, with set-up changes paid once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from diagnose.advice.gates import (
    at_hand,
    is_live,
    judgeable,
    limits_current,
    missing_proofs,
    not_found_yet,
    risk,
    why_withheld,
)
from diagnose.advice.judging import (
    SCREENED_UNSAFE,
    WORTH_SAYING,
    Judged,
    judge,
    remedies_of,
    screened,
)
from diagnose.advice.next_steps import next_steps
from diagnose.advice.outlook import BUDGET, LARGE_BUDGET, MOST_WORK, Outlooks
from diagnose.advice.picking import in_order
from diagnose.advice.proofs import proofs_towards
from diagnose.advice.prospects import promising
from diagnose.advice.proving import proving_first
from diagnose.advice.remedy import remedy_first
from diagnose.advice.worth import expected_minutes
from diagnose.evidence.collect import Findings, to_see_again
from diagnose.inference.question import Question
from diagnose.model.assembly import Assembly, PlacedCheck
from diagnose.model.case import Case
from diagnose.model.knowledge import Bench
from diagnose.model.result import Advice, RankedCause, RankedPart, Ranking, Withheld

SUSPECTS = 8  # most blamed parts among which the needed remedy is sought


def advise(
    assembly: Assembly,
    case: Case,
    findings: Findings,
    question: Question,
    ranking: Ranking,
    most: int = 5,
) -> Advice:
    """What to do next when no stop order stands; `most` is the most checks, and the most withheld ones, that are told."""
    blamed = [part for part in ranking.parts if part.blame > 0][:SUSPECTS]
    first_aid = tuple(c for c in ranking.also_due if c.first_aid)
    waiting = bool(to_see_again(assembly, case, findings)) and not findings.abnormal()
    if not blamed or waiting:
        return proving_first(assembly, case, findings, most, first_aid)
    remedies = remedies_of(assembly, blamed)
    nodes = [question.bones.index[part.id] for part in blamed]
    weights = np.array([[part.blame for part in blamed]])
    now = float(expected_minutes(remedies, weights / weights.sum())[0])
    possible = [check for check in at_hand(assembly, case) if judgeable(assembly, findings, check)]
    suspects = [(question.bones.index[p.id], p.blame) for p in blamed]
    bench = assembly.book.bench
    views = Outlooks(assembly, question, nodes)
    if not views.narrow(BUDGET):
        views = Outlooks(assembly, question.trusting(nodes), nodes)

    def worth(checks: Sequence[PlacedCheck]) -> list[Judged]:
        unsafe = {check.id for check in checks if missing_proofs(bench, case, check)}
        safe = [c for c in checks if c.id not in unsafe]
        waiting = promising(
            assembly, question, [c for c in checks if c.id in unsafe], suspects, SCREENED_UNSAFE
        )
        prospects = [
            *screened(bench, case.bench, promising(assembly, question, safe, suspects, len(checks))),
            *waiting,
        ]
        judged = judge(views, prospects, remedies, BUDGET, MOST_WORK)
        if len(judged) < len(prospects) and not any(j.bits >= WORTH_SAYING for j in judged):
            judged = judge(views, prospects, remedies, LARGE_BUDGET, MOST_WORK)
        if any(j.bits >= WORTH_SAYING for j in judged if j.placed.id in unsafe):
            return judged
        known = {j.placed.id for j in judged}  # where it is too much to work out, what waits waits unjudged
        return [*judged, *(Judged(p.check) for p in waiting if p.check.id not in known)]

    signs = not_found_yet(assembly, case, findings.counted)
    if not signs:
        return _choose(assembly, case, ranking, blamed, worth(possible), now, first_aid, most)
    live = [check for check in possible if is_live(bench, check)]
    judged = _coldest(bench, possible, worth)
    advice = _choose(assembly, case, ranking, blamed, judged, now, first_aid, most, powered=False)
    offered = {j.placed.id for j in judged}
    refused = [p.check for p in promising(assembly, question, live, suspects, len(live))][:most]
    because = _not_before(assembly, signs)
    withheld = (Withheld(c.id, c.check.title, because) for c in refused if c.id not in offered)
    return replace(advice, withheld=(*advice.withheld, *withheld)[:most])


def _coldest(
    bench: Bench, possible: Sequence[PlacedCheck], worth: Callable[[Sequence[PlacedCheck]], list[Judged]]
) -> list[Judged]:
    """What may be done while a sign that gave a stop order is there and its cause not found.

    Checks without power as long as one of them would tell something; then one with power, the safest, and first
    such as bring the set up with limited current.
    """
    live = [check for check in possible if is_live(bench, check)]
    limited = [check for check in live if limits_current(bench, check)]
    judged = worth([check for check in possible if not is_live(bench, check)])
    if any(j.bits >= WORTH_SAYING for j in judged):
        return judged
    for checks in (limited, [check for check in live if check not in limited]):
        telling = [j for j in worth(checks) if j.bits >= WORTH_SAYING]
        if telling:
            return [min(telling, key=lambda j: risk(bench, j.placed))]
    return []


def _not_before(assembly: Assembly, signs: Sequence[str]) -> str:
    titles = ", ".join(assembly.indications[name].indication.title for name in signs)
    return f"no power while the cause is not found yet: {titles}"


def _choose(
    assembly: Assembly,
    case: Case,
    ranking: Ranking,
    blamed: Sequence[RankedPart],
    judged: Sequence[Judged],
    now: float,
    first_aid: tuple[RankedCause, ...],
    most: int,
    powered: bool = True,  # whether a safety fact may be proven with power on
) -> Advice:
    """The advice from what was judged; facts that withheld checks wait for are proven last."""
    bench = assembly.book.bench
    allowed = [j for j in judged if j.bits >= WORTH_SAYING and not missing_proofs(bench, case, j.placed)]
    held = [
        j
        for j in judged
        if missing_proofs(bench, case, j.placed) and (j.bits >= WORTH_SAYING or j.outlook is None)
    ]
    held.sort(key=lambda j: (-j.saved, j.placed.id))
    picked = in_order(assembly, case.bench, allowed, most)
    wanted = [need for j in held[:3] for need in missing_proofs(bench, case, j.placed)]
    towards = proofs_towards(assembly, case, wanted)
    chosen = {j.placed.check.proves for j in picked}
    for proof in towards.possible:
        if proof.check.proves not in chosen and (powered or not is_live(bench, proof)):
            picked.append(Judged(proof))
    shown = next_steps(assembly, case.bench, blamed, picked)
    remedy, reason = remedy_first(assembly, case, ranking, shown, held)
    withheld = tuple(
        Withheld(j.placed.id, j.placed.check.title, why_withheld(assembly, case, j.placed)) for j in held
    )
    return Advice(shown, towards.told_with(withheld, most), remedy, reason, now, first_aid)
