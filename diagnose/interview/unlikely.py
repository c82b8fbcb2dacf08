"""An answer that by all else is so unlikely that it may well be a slip: it is looked at once more.

A sign of a fault that was found has some chance by what was known before. Against it stands the chance that one looked
at another thing, or wrote another word (the bench's figure for `slips`). Where a slip is not much less likely than the
sign, a second look costs less than a hunt for a fault that is not there.
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
    """The signs among the last answers that are sooner slips, each with the chance that it had.

    Several signs at once are all slips only if each is one. Reports that count as doubtful anyhow, and what was
    answered twice, are left as they are; and all where more than observations was entered since.
    """
    known = len(before.case.observations)
    if not _only_observed(before.case, now.case):
        return {}
    new = now.case.observations[known:]
    signs = {
        f.name: f for f in now.findings if f.counted and f.abnormal and f.right >= 1 and f.observation in new
    }
    signs = {name: sign for name, sign in signs.items() if times_told(now.case, name) == 1}
    if not signs:
        return {}
    possible = now.set_aside <= before.set_aside
    chance = min(1.0, 10.0 ** (now.log10_evidence - before.log10_evidence)) if possible else 0.0
    slips = assembly.book.bench.advice.get(SLIPS, 0.0)
    slipped = prod(slips / (len(sign.states) - 1) for sign in signs.values())
    return dict.fromkeys(signs, chance) if slipped >= WORTH_A_LOOK * chance else {}


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
