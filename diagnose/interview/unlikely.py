"""An answer that by all else is so unlikely that it may well be a slip: it is looked at once more.

What was found has some chance by what was known before: a sign of a fault in a set that does well, or nothing wrong
where all points at it. Against it stands the chance that one looked at another thing, or wrote another word (the bench's
figure for `slips`). Where a slip is not much less likely, a second look costs less than a hunt on a wrong track.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Final

from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from diagnose.model.periods import is_now
from diagnose.model.result import Diagnosis, Finding

SLIPS: Final = "slips"  # the figure of the bench: how often an answer names another state than the set shows
WORTH_A_LOOK: Final = 1 / 3  # odds of slips against the sign from which it is looked at again


def unlikely(
    assembly: Assembly, before: Diagnosis, now: Diagnosis, looked_at: Collection[str] = ()
) -> Mapping[Observation, float]:
    """The last answer, if it is sooner a slip, with the chance that it had.

    That is the evidence with it divided by the evidence without it, as long as both speak of the same periods of the
    set and leave little out; nothing is said where they do not. What makes the observations exclude each other, or a
    sign of a fault impossible to see, had no chance; nor has what differs from an answer to the same question, unless
    that was `looked_at` again by it. Reports that count as doubtful anyhow, and what was answered alike twice, are left
    as they are; and all where other things than one observation were entered since.
    """
    new = now.case.observations[len(before.case.observations) :]
    if len(new) != 1 or not _only_observed(before.case, now.case):
        return {}
    told = next((f for f in now.findings if f.observation == new[0] and f.counted and f.right >= 1), None)
    if told is None or times_told(now, told) > 1 or not before.comparable:
        return {}
    told_before = any(
        f.name == told.name and f.counted for f in before.findings if is_now(before.case, f.observation)
    )
    if told_before and told.name in looked_at:
        return {}
    chance = 0.0 if told_before else _chance(assembly, before, now, told.name)
    if chance is None:
        return {}
    slips = assembly.book.bench.advice.get(SLIPS, 0.0)
    slipped = (1.0 - chance) * slips / (len(told.states) - 1)
    return {new[0]: chance} if slipped >= WORTH_A_LOOK * chance and slips > 0 else {}


def _chance(assembly: Assembly, before: Diagnosis, now: Diagnosis, name: str) -> float | None:
    """How probable the last answer, to `name`, was; None where the two diagnoses do not say."""
    counting = {f.name for f in now.findings if f.counted}
    gone = [f.name for f in before.findings if f.counted and f.abnormal and f.name not in counting]
    unseen = any(name == needed for sign in gone for needed, _ in assembly.indications[sign].needs)
    if unseen or now.contradiction or now.set_aside > before.set_aside:
        return 0.0
    if gone or not now.comparable or now.since != before.since:
        return None
    return float(min(1.0, 10.0 ** (now.log10_evidence - before.log10_evidence)))


def times_told(now: Diagnosis, finding: Finding) -> int:
    """How often the same was answered to a question since the last work, or that it cannot be told."""
    alike = (f for f in now.findings if f.name == finding.name and f.state in ("", finding.state))
    return sum(is_now(now.case, f.observation) for f in alike)


def _only_observed(before: Case, now: Case) -> bool:
    """Whether all that was entered since are observations; safety and the bench as it stands say nothing of the set."""
    known = len(before.observations)
    same = replace(
        before, bench=now.bench, safety=now.safety, cannot=now.cannot, observations=now.observations
    )
    return same == now and now.observations[:known] == before.observations
