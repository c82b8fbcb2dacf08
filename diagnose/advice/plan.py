"""The best few things to do next, gated by safety, with set-up changes paid once."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from diagnose.advice.gates import (
    after,
    at_hand,
    is_dangerous,
    is_live,
    judgeable,
    limits_current,
    missing_proofs,
    not_found_yet,
    provers,
    risk,
    setup_cost,
)
from diagnose.advice.outlook import (
    BUDGET,
    LARGE_BUDGET,
    MOST_WORK,
    Outlook,
    Outlooks,
    Prospect,
    promising,
)
from diagnose.advice.worth import Remedies, expected_minutes, gain_bits, minutes_saved
from diagnose.evidence.collect import Findings, to_see_again
from diagnose.inference.question import Question
from diagnose.model.assembly import Assembly, PlacedCheck
from diagnose.model.case import Case
from diagnose.model.knowledge import Bench
from diagnose.model.result import (
    Advice,
    NextCheck,
    Outcome,
    RankedCause,
    RankedPart,
    Ranking,
    Withheld,
)

SCREENED = 10  # checks judged exactly, of those that may be done now
SCREENED_UNSAFE = 4  # the same, of those that are withheld
SCREENED_NEAR = 4  # of these, those that promise most for their minutes from the bench as it is
WORTH_SAYING = 0.01  # bits below which a check is not worth a line
IN_VAIN = 2  # times that a remedy was done, from which it is not proposed once more: the spare may have been bad once
SUSPECTS = 8  # most blamed parts among which the needed remedy is sought


@dataclass(frozen=True)
class _Judged:
    """A check with its worth."""

    placed: PlacedCheck
    outlook: Outlook | None
    saved: float  # minutes, before its own
    bits: float


def advise(
    assembly: Assembly,
    case: Case,
    findings: Findings,
    question: Question,
    ranking: Ranking,
    most: int = 5,
) -> Advice:
    """What to do next when no stop order stands."""
    blamed = [part for part in ranking.parts if part.blame > 0][:SUSPECTS]
    first_aid = tuple(c for c in ranking.also_due if c.first_aid)
    waiting = bool(to_see_again(assembly, case, findings)) and not findings.abnormal()
    if not blamed or waiting:
        return _unread(assembly, case, findings, most, first_aid)
    remedies = _remedies(assembly, blamed)
    nodes = [question.bones.index[part.id] for part in blamed]
    weights = np.array([[part.blame for part in blamed]])
    now = float(expected_minutes(remedies, weights / weights.sum())[0])
    possible = [check for check in at_hand(assembly, case) if judgeable(assembly, findings, check)]
    suspects = [(question.bones.index[p.id], p.blame) for p in blamed]
    bench = assembly.book.bench
    views = Outlooks(assembly, question, nodes)
    if not np.isfinite(views.width(BUDGET)):
        views = Outlooks(assembly, question.trusting(nodes), nodes)
    narrow = np.isfinite(views.width(BUDGET))

    def worth(checks: Sequence[PlacedCheck]) -> list[_Judged]:
        unsafe = {check.id for check in checks if missing_proofs(bench, case, check)}
        safe = [c for c in checks if c.id not in unsafe]
        prospects = [
            *_screened(bench, case.bench, promising(assembly, question, safe, suspects, len(checks))),
            *promising(assembly, question, [c for c in checks if c.id in unsafe], suspects, SCREENED_UNSAFE),
        ]
        judged = _judge(views, prospects, remedies, BUDGET) if narrow else []
        if len(judged) < len(prospects) and not any(j.bits >= WORTH_SAYING for j in judged):
            judged = _judge(views, prospects, remedies, LARGE_BUDGET, MOST_WORK)
        return judged

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
    bench: Bench, possible: Sequence[PlacedCheck], worth: Callable[[Sequence[PlacedCheck]], list[_Judged]]
) -> list[_Judged]:
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


def _screened(bench: Bench, now: Mapping[str, str], ranked: Sequence[Prospect]) -> list[Prospect]:
    """The most promising, among them those that promise most for their minutes from the bench as it is."""

    def rate(prospect: Prospect) -> float:
        check = prospect.check.check
        return prospect.score / max(check.minutes + setup_cost(bench, now, check.setup)[0], 1.0)

    near = sorted(ranked, key=rate, reverse=True)[:SCREENED_NEAR]
    others = [p for p in ranked if p not in near]
    kept = {p.check.id for p in (*near, *others[: SCREENED - len(near)])}
    return [p for p in ranked if p.check.id in kept]


def _judge(
    views: Outlooks,
    prospects: Sequence[Prospect],
    remedies: Remedies,
    budget: float,
    work: float = float("inf"),
) -> list[_Judged]:
    """The worth of each prospect that can be solved within the budget and the work."""
    judged = []
    for prospect, view in zip(prospects, views.of(prospects, budget, work=work), strict=True):
        if view is not None:
            joint = view.joint()
            saved, bits = minutes_saved(remedies, joint), gain_bits(joint)
            judged.append(_Judged(prospect.check, view, saved, bits))
    return judged


def _remedies(assembly: Assembly, blamed: Sequence[RankedPart]) -> Remedies:
    figures = assembly.book.bench.advice
    retest = figures["retest_minutes"]
    minutes, works = [], []
    for part in blamed:
        remedy = part.causes[0].remedy
        minutes.append((remedy.minutes if remedy else figures["search_minutes"]) + retest)
        works.append(remedy.works if remedy else 0.0)
    return Remedies(np.array(minutes), np.array(works), figures["search_minutes"])


def _choose(
    assembly: Assembly,
    case: Case,
    ranking: Ranking,
    blamed: Sequence[RankedPart],
    judged: Sequence[_Judged],
    now: float,
    first_aid: tuple[RankedCause, ...],
    most: int,
    powered: bool = True,  # whether a safety fact may be proven with power on
) -> Advice:
    bench = assembly.book.bench
    allowed = [j for j in judged if j.bits >= WORTH_SAYING and not missing_proofs(bench, case, j.placed)]
    held = [j for j in judged if missing_proofs(bench, case, j.placed) and j.bits >= WORTH_SAYING]
    held.sort(key=lambda j: (-j.saved, j.placed.id))
    picked = _greedy(assembly, case.bench, allowed, most)
    wanted = dict.fromkeys(need for j in held[:3] for need in missing_proofs(bench, case, j.placed))
    chosen = {j.placed.check.proves for j in picked}
    for need in wanted:
        # one check for each, a cold one if there is one
        proofs = sorted(provers(at_hand(assembly, case), [need]), key=lambda c: (is_live(bench, c), c.id))
        if proofs and need not in chosen and (powered or not is_live(bench, proofs[0])):
            picked.append(_Judged(proofs[0], None, 0.0, 0.0))
    shown = _render(assembly, case.bench, blamed, picked)
    remedy, reason = _remedy_first(assembly, case, ranking, shown, held)
    withheld = tuple(
        Withheld(j.placed.id, j.placed.check.title, _because(assembly, case, j.placed)) for j in held[:most]
    )
    return Advice(shown, withheld, remedy, reason, now, first_aid)


def _because(assembly: Assembly, case: Case, check: PlacedCheck) -> str:
    bench = assembly.book.bench
    hazard = bench.hazards.get(check.check.hazard)
    power = [
        bench.setups[g].states[s].title
        for g, s in check.check.setup.items()
        if bench.setups[g].states[s].live
    ]
    danger = hazard.title if hazard is not None and hazard.needs else ", ".join(power)
    needs = "; ".join(bench.safety[need] for need in missing_proofs(bench, case, check))
    return f"{danger}: not yet proven on this bench: {needs}"


def _greedy(
    assembly: Assembly, bench_now: Mapping[str, str], judged: Sequence[_Judged], most: int
) -> list[_Judged]:
    """Pick by net minutes, each pick from the set-up the one before left; cold before live where it can answer."""
    bench = assembly.book.bench
    left = list(judged)
    picked: list[_Judged] = []
    now: Mapping[str, str] = dict(bench_now)

    def way_back(j: _Judged) -> float:
        """Minutes to come back to the set-up that is left, if something is still to be done in it."""
        then = after(now, j.placed.check.setup)
        if any(j is not other and here(other) for other in left) and not here(j):
            return setup_cost(bench, then, now)[0]
        return 0.0

    def here(j: _Judged) -> bool:
        return not setup_cost(bench, now, j.placed.check.setup)[1]

    def worth(j: _Judged) -> tuple[bool, float]:
        """Minutes it saves on the whole; of checks that save none what they tell for each of their minutes."""
        cost = j.placed.check.minutes + setup_cost(bench, now, j.placed.check.setup)[0] + way_back(j)
        pays = j.saved > cost
        return pays, j.saved - cost if pays else j.bits / cost

    def order(j: _Judged) -> tuple[bool, float, float, str]:
        return (*worth(j), j.bits, j.placed.id)

    while left and len(picked) < most:
        best = max(left, key=order)
        if is_dangerous(bench, best.placed) and not here(best):  # power up already is not taken down for it
            cold = [
                j for j in left if not is_live(bench, j.placed) and j.bits >= 0.5 * best.bits and j.bits > 0
            ]
            if cold:
                best = max(cold, key=order)
        left.remove(best)
        picked.append(best)
        now = after(now, best.placed.check.setup)
    return picked


def described(assembly: Assembly, case: Case, check: PlacedCheck) -> NextCheck:
    """A check as a next step from the bench as it is, without its worth."""
    return _render(assembly, case.bench, (), [_Judged(check, None, 0.0, 0.0)])[0]


def _render(
    assembly: Assembly,
    bench_now: Mapping[str, str],
    blamed: Sequence[RankedPart],
    picked: Sequence[_Judged],
) -> tuple[NextCheck, ...]:
    bench = assembly.book.bench
    now: Mapping[str, str] = dict(bench_now)
    shown = []
    for j in picked:
        check = j.placed.check
        minutes, changes, cautions = setup_cost(bench, now, check.setup)
        now = after(now, check.setup)
        hazard = bench.hazards[check.hazard] if check.hazard else None
        shown.append(
            NextCheck(
                check=j.placed.id,
                title=check.title,
                how=check.how.strip(),
                instrument=_titled(bench, check.instrument),
                good=check.good,
                minutes=check.minutes,
                setup_minutes=minutes,
                setup_changes=changes,
                minutes_saved=j.saved - check.minutes - minutes,
                gain_bits=j.bits,
                hazard=hazard.title if hazard else "",
                separates=_separates(blamed, j.outlook),
                cautions=(*cautions, *(hazard.cautions if hazard else ())),
                outcomes=_outcomes(assembly, blamed, j.outlook),
                swap_warning=_swap_warning(assembly, j.placed, blamed),
                proves=bench.safety.get(check.proves, ""),
            )
        )
    return tuple(shown)


def _titled(bench: Bench, id: str) -> str:
    """An instrument in words; one that the bench does not declare by its id."""
    return bench.instruments[id].title if id in bench.instruments else id


def _separates(blamed: Sequence[RankedPart], view: Outlook | None) -> tuple[str, ...]:
    """The parts whose blame the check is expected to move most."""
    if view is None:
        return ()
    now = view.chance @ view.blame  # before it
    moved = view.chance @ np.abs(view.blame - now)
    order = np.argsort(-moved, kind="stable")
    return tuple(blamed[i].id for i in order[:4] if moved[i] > 0.01)


def _outcomes(assembly: Assembly, blamed: Sequence[RankedPart], view: Outlook | None) -> tuple[Outcome, ...]:
    if view is None:
        return ()
    outcomes = []
    for row, states in enumerate(view.states):
        chance = float(view.chance[row])
        if chance < 0.005:
            continue
        leader = int(np.argmax(view.blame[row]))
        text = ", ".join(f"{assembly.indications[name].indication.title}: {state}" for name, state in states)
        outcomes.append(
            Outcome(
                states,
                text,
                chance,
                blamed[leader].id,
                blamed[leader].title,
                float(view.blame[row, leader]),
            )
        )
    outcomes.sort(key=lambda o: -o.probability)
    return tuple(outcomes)


def _swap_warning(assembly: Assembly, placed: PlacedCheck, blamed: Sequence[RankedPart]) -> str:
    """Warn when a fault that would kill the spare is likely enough in the same stage."""
    if not placed.swaps:
        return ""
    dangers = []
    for part in blamed:
        if part.stage != placed.stage or part.id == placed.swaps:
            continue
        for cause in part.causes:
            warning = assembly.cause(cause.id)[1].endangers_spare
            if warning and cause.probability > 0.03:
                dangers.append(f"{cause.title}: {warning}")
    return "; ".join(dangers)


def _remedy_first(
    assembly: Assembly,
    case: Case,
    ranking: Ranking,
    shown: Sequence[NextCheck],
    held: Sequence[_Judged],
) -> tuple[RankedCause | None, str]:
    """The leading remedy when it is sure enough or when no check pays; one that was done in vain twice no more."""
    named = [part for part in ranking.parts if not part.unnamed and part.blame > 0]
    if not named or named[0].causes[0].remedy is None:
        return None, ""
    lead = named[0]
    if ranking.parts[0].unnamed or times_done(case, lead.causes[0].id) >= IN_VAIN:
        return None, ""
    if not any(check.minutes_saved > 0 for check in shown):
        if lead.blame >= assembly.book.bench.advice["remedy_worth"]:
            return lead.causes[0], "it is likely enough, and no check would pay for its minutes"
        if not shown and not held and _worth_trying(assembly, lead):
            return lead.causes[0], "no check of this book would tell more"
    return None, ""


def times_done(case: Case, cause: str) -> int:
    """How often the remedy of a cause was done."""
    return sum(cause in work.cures for work in case.work)


def _worth_trying(assembly: Assembly, part: RankedPart) -> bool:
    """Whether trying the remedy costs less than the search that it may save."""
    figures, remedy = assembly.book.bench.advice, part.causes[0].remedy
    if remedy is None:
        return False
    return part.blame * remedy.works * figures["search_minutes"] > remedy.minutes + figures["retest_minutes"]


def _unread(
    assembly: Assembly, case: Case, findings: Findings, most: int, first_aid: tuple[RankedCause, ...]
) -> Advice:
    """With nothing abnormal found: signs that work may have cured first, then the readings that prove the set."""
    bench = assembly.book.bench
    proof = [name for name in assembly.rig.proof if name not in findings.as_it_is]
    picked: list[_Judged] = []
    held: list[PlacedCheck] = []
    told: set[str] = set()
    for wanted in ([finding.name for finding in to_see_again(assembly, case, findings)], proof):
        for check in _showing(assembly, case, findings, wanted):
            fresh = {name for name in check.reveals if name in wanted} - told
            if fresh and missing_proofs(bench, case, check):
                held.append(check)
            elif fresh and len(picked) < most:
                told |= fresh
                picked.append(_Judged(check, None, 0.0, 0.0))
    held = [check for check in held if not told & set(check.reveals)][:most]
    picked = [*_proving(assembly, case, held, {j.placed.check.proves for j in picked}), *picked]
    withheld = tuple(Withheld(check.id, check.check.title, _because(assembly, case, check)) for check in held)
    return Advice(_render(assembly, case.bench, (), picked), withheld, first_aid=first_aid)


def _showing(assembly: Assembly, case: Case, findings: Findings, wanted: Sequence[str]) -> list[PlacedCheck]:
    """The checks that show any of these: those without danger first, then those that show most of them."""
    bench = assembly.book.bench
    found = []
    for check in at_hand(assembly, case):
        shows = [name for name in check.reveals if name in wanted]
        if shows and judgeable(assembly, findings, check):
            danger = is_dangerous(bench, check)
            found.append((danger, -len(shows), check.check.minutes, check.id, check))
    found.sort(key=lambda item: item[:4])
    return [check for *_, check in found]


def _proving(
    assembly: Assembly, case: Case, held: Sequence[PlacedCheck], chosen: Collection[str]
) -> list[_Judged]:
    """One check for each safety fact that these wait for, a cold one if there is one."""
    bench = assembly.book.bench
    found = []
    for need in dict.fromkeys(need for check in held for need in missing_proofs(bench, case, check)):
        proofs = sorted(provers(assembly.checks.values(), [need]), key=lambda c: (is_live(bench, c), c.id))
        if proofs and need not in chosen:
            found.append(_Judged(proofs[0], None, 0.0, 0.0))
    return found
