"""What to do with nothing abnormal found: signs that work may have cured, and readings that prove the set."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.advice.gates import (
    at_hand,
    is_dangerous,
    judgeable,
    limits_current,
    missing_proofs,
    why_withheld,
)
from diagnose.advice.judging import Judged
from diagnose.advice.next_steps import next_steps
from diagnose.advice.proofs import proofs_towards
from diagnose.evidence.collect import Findings, to_see_again
from diagnose.model.assembly import Assembly, PlacedCheck
from diagnose.model.case import Case
from diagnose.model.result import Advice, RankedCause, Withheld


def proving_first(
    assembly: Assembly, case: Case, findings: Findings, most: int, first_aid: tuple[RankedCause, ...]
) -> Advice:
    """With nothing abnormal found: signs that work may have cured first, then the readings that prove the set."""
    bench = assembly.book.bench
    proof = [name for name in assembly.rig.proof if name not in findings.as_it_is]
    picked: list[Judged] = []
    held: list[PlacedCheck] = []
    told: set[str] = set()
    for wanted in ([finding.name for finding in to_see_again(assembly, case, findings)], proof):
        for check in _showing(assembly, case, findings, wanted):
            fresh = {name for name in check.reveals if name in wanted} - told
            if fresh and missing_proofs(bench, case, check):
                held.append(check)
            elif fresh and len(picked) < most:
                told |= fresh
                picked.append(Judged(check))
    held = [check for check in held if not told & set(check.reveals)][:most]
    chosen = {j.placed.check.proves for j in picked}
    wanted = [need for check in held for need in missing_proofs(bench, case, check)]
    towards = proofs_towards(assembly, case, wanted)
    proofs = [check for check in towards.possible if check.check.proves not in chosen]
    gently = [Judged(check) for check in proofs if limits_current(bench, check)]  # after what is done cold
    others = [Judged(check) for check in proofs if not limits_current(bench, check)]
    withheld = tuple(
        Withheld(check.id, check.check.title, why_withheld(assembly, case, check)) for check in held
    )
    shown = next_steps(assembly, case.bench, (), [*others, *picked, *gently])
    return Advice(shown, towards.told_with(withheld, most), first_aid=first_aid)


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
