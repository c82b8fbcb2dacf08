"""When the leading remedy is proposed before any check."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.advice.judging import Judged
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case
from diagnose.model.result import NextCheck, RankedCause, RankedPart, Ranking

IN_VAIN = 2  # times that a remedy was done, from which it is not proposed once more: the spare may have been bad once


def remedy_first(
    assembly: Assembly,
    case: Case,
    ranking: Ranking,
    shown: Sequence[NextCheck],
    held: Sequence[Judged],
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
