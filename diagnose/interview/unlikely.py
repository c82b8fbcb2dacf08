"""An answer that by all else is so unlikely that it may well be a slip: it is looked at once more.

What was found has some chance by what was known before: a sign of a fault in a set that does well, or nothing wrong
where all points at it. Against it stands the chance that one looked at another thing, or wrote another word (the bench's
figure for `slips`). Where a slip is not much less likely, a second look costs less than a hunt on a wrong track.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import prod
from typing import Final

from diagnose.interview.changes import is_now
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case
from diagnose.model.result import Diagnosis

SLIPS: Final = "slips"  # the figure of the bench: how often an answer names another state than the set shows
WORTH_A_LOOK: Final = 1 / 3  # odds of slips against the sign from which it is looked at again


def unlikely(assembly: Assembly, before: Diagnosis, now: Diagnosis) -> Mapping[str, float]:
    """What is sooner a slip among the last answers, each with the chance that it had: signs of a fault, or a single answer.

    Several signs at once are all slips only if each is one. Reports that count as doubtful anyhow, and what was
    answered twice, are left as they are; and all where more than observations was entered since.
    """
    known = len(before.case.observations)
    if not _only_observed(before.case, now.case):
        return {}
    new = now.case.observations[known:]
    told = {f.name: f for f in now.findings if f.counted and f.right >= 1 and f.observation in new}
    odd = {name: f for name, f in told.items() if f.abnormal or len(new) == 1}
    odd = {name: f for name, f in odd.items() if times_told(now.case, name) == 1}
    if not odd:
        return {}
    possible = now.set_aside <= before.set_aside
    chance = min(1.0, 10.0 ** (now.log10_evidence - before.log10_evidence)) if possible else 0.0
    slips = assembly.book.bench.advice.get(SLIPS, 0.0)
    slipped = (1.0 - chance) * prod(slips / (len(f.states) - 1) for f in odd.values())
    return dict.fromkeys(odd, chance) if slipped >= WORTH_A_LOOK * chance else {}


def times_told(case: Case, name: str) -> int:
    """How often something was answered since the last work."""
    return sum(o.name == name and is_now(case, o) for o in case.observations)


def _only_observed(before: Case, now: Case) -> bool:
    """Whether all that was entered since are observations; safety and the bench as it stands say nothing of the set."""
    known = len(before.observations)
    same = replace(
        before, bench=now.bench, safety=now.safety, cannot=now.cannot, observations=now.observations
    )
    return same == now and now.observations[:known] == before.observations
