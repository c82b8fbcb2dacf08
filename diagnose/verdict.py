"""The answer in a word. The rule behind it is written out in docs/reasoning.md."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.evidence.collect import Findings, to_see_again
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case
from diagnose.model.result import (
    FAULT,
    GOOD,
    OPEN,
    STOP,
    UNLISTED,
    RankedPart,
    Ranking,
    StandingOrder,
    Verdict,
)


def verdict(
    assembly: Assembly,
    case: Case,
    findings: Findings,
    orders: Sequence[StandingOrder],
    ranking: Ranking,
) -> Verdict:
    """Stop before all; good only with every proof reading taken; a fault from the stated share of blame on."""
    if orders:
        return Verdict(STOP, "Remove power now. The orders below come before any diagnosis.")
    again = to_see_again(assembly, case, findings)
    if again and not findings.abnormal():
        titles = ", ".join(finding.title for finding in again[:3])
        more = f" and {len(again) - 3} more" if len(again) > 3 else ""
        return Verdict(OPEN, f"Work was done since; to be looked at again: {titles}{more}.")
    if not findings.abnormal():
        return _nothing_abnormal(assembly, findings)
    leaders = [part for part in ranking.parts if part.blame > 0]
    if not leaders:
        return Verdict(OPEN, "Nothing that this book knows explains what was observed.")
    lead = leaders[0]
    unnamed = sum(part.blame for part in leaders if part.unnamed)
    best_named = max((part.blame for part in leaders if not part.unnamed), default=0.0)
    if lead.unnamed and unnamed > best_named and unnamed >= assembly.book.bench.advice["fault_indicated"]:
        return Verdict(
            UNLISTED,
            f"No listed fault explains these signs well. Look in the {lead.stage_title} for something "
            "that this book does not know.",
        )
    if lead.blame >= assembly.book.bench.advice["fault_indicated"]:
        return Verdict(FAULT, f"The {_name(lead)} is the probable cause.")
    return Verdict(OPEN, f"Several causes remain; the {_name(lead)} leads.")


def _name(part: RankedPart) -> str:
    cause = part.causes[0]
    if part.unnamed:
        return part.title
    return f"{part.title} ({part.stage_title}; {cause.mode_title})"


def _nothing_abnormal(assembly: Assembly, findings: Findings) -> Verdict:
    proof = [name for name in assembly.rig.proof if name in assembly.indications]
    missing = [name for name in proof if name not in findings.as_it_is]
    if proof and not missing:
        return Verdict(GOOD, "Every proof reading was taken and is within its limits.")
    if not findings.counted:
        return Verdict(OPEN, "Nothing was observed yet that counts.")
    if not proof:
        return Verdict(OPEN, "Nothing abnormal was observed; this rig names no proof readings.")
    return Verdict(
        OPEN,
        f"Nothing abnormal was observed, but {len(missing)} of {len(proof)} proof readings are missing.",
    )
