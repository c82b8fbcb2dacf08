"""What checks are worth: of all that may be done the most promising few are judged one by one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.advice.gates import setup_cost
from diagnose.advice.outlook import Outlook, Outlooks
from diagnose.advice.prospects import Prospect
from diagnose.advice.worth import Remedies, gain_bits, minutes_saved
from diagnose.model.assembly import Assembly, PlacedCheck
from diagnose.model.knowledge import Bench
from diagnose.model.result import RankedPart

SCREENED = 10  # checks judged, of those that may be done now
SCREENED_UNSAFE = 4  # the same, of those that are withheld
SCREENED_NEAR = 4  # of these, those that promise most for their minutes from the bench as it is
WORTH_SAYING = 0.01  # bits below which a check is not worth a line


@dataclass(frozen=True)
class Judged:
    """A check with its worth; one that is not done to tell causes apart has none."""

    placed: PlacedCheck
    outlook: Outlook | None = None
    saved: float = 0.0  # minutes, before its own
    bits: float = 0.0


def screened(bench: Bench, now: Mapping[str, str], ranked: Sequence[Prospect]) -> list[Prospect]:
    """The most promising, among them those that promise most for their minutes from the bench as it is."""

    def rate(prospect: Prospect) -> float:
        check = prospect.check.check
        return prospect.score / max(check.minutes + setup_cost(bench, now, check.setup)[0], 1.0)

    near = sorted(ranked, key=rate, reverse=True)[:SCREENED_NEAR]
    others = [p for p in ranked if p not in near]
    kept = {p.check.id for p in (*near, *others[: SCREENED - len(near)])}
    return [p for p in ranked if p.check.id in kept]


def judge(
    views: Outlooks,
    prospects: Sequence[Prospect],
    remedies: Remedies,
    budget: float,
    work: float = float("inf"),
) -> list[Judged]:
    """The worth of each prospect that can be solved within the budget (cells) and the work of all (as in `Outlooks`)."""
    judged = []
    for prospect, view in zip(prospects, views.of(prospects, budget, work=work), strict=True):
        if view is not None:
            joint = view.joint()
            saved, bits = minutes_saved(remedies, joint), gain_bits(joint)
            judged.append(Judged(prospect.check, view, saved, bits))
    return judged


def remedies_of(assembly: Assembly, blamed: Sequence[RankedPart]) -> Remedies:
    """The remedy of the leading mode of each part; where it has none, the minutes of a search."""
    figures = assembly.book.bench.advice
    retest = figures["retest_minutes"]
    minutes, works = [], []
    for part in blamed:
        remedy = part.causes[0].remedy
        minutes.append((remedy.minutes if remedy else figures["search_minutes"]) + retest)
        works.append(remedy.works if remedy else 0.0)
    return Remedies(np.array(minutes), np.array(works), figures["search_minutes"])
