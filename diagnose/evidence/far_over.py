"""Figures so far over their limit that a bench would switch off at once, with enough certainty.

A figure y with a limit L is k times over it with the chance Phi((y - k L) / u), u the standard uncertainty of their
difference: what a meter may be wrong by is in it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from diagnose.evidence.derived import Workings
from diagnose.evidence.limits import chance_beyond, sides_of
from diagnose.evidence.worked_out import Had
from diagnose.model.case import Case
from diagnose.model.knowledge import Stage
from diagnose.model.measuring import MOST, Limit


@dataclass(frozen=True)
class Over:
    """A figure far over its limit: what was read for it (ids on the rig), and in which time between work."""

    names: tuple[str, ...]
    period: int


def far_over(now: Workings, figures: Sequence[str], times: float, sure: float) -> Over | None:
    """Whether one of these figures (ids on the rig), as it was last known, is so many times its limit or more.

    `now`: the workings of the case as it is; `sure`: the chance from which it is taken for so. What was read before
    work stands for the set until it is read again.
    """
    for period in range(len(now.case.work), -1, -1):
        workings = now if period == len(now.case.work) else Workings(now.assembly, _as_of(now.case, period))
        known = [(name, found) for name in figures for found in _found(workings, name)]
        for name, (stage, limit, had) in known:
            here = limit.at(had.mode)
            for side, most, _ in sides_of(workings, stage, had, here):
                if side == MOST and chance_beyond(had.amount, times * most, MOST) >= sure:
                    names = dict.fromkeys(workings.case.observations[n].name for n in sorted(had.used))
                    return Over(tuple(names) or (name,), period)
        if known:
            return None
    return None


def _found(workings: Workings, name: str) -> Iterator[tuple[Stage, Limit, Had]]:
    """A figure with its limit, once for each condition under which it is known."""
    derived, placed = workings.layout.derived.get(name), workings.assembly.indications.get(name)
    if derived is not None and derived.derived.limit is not None:
        for had in (found.had for found in workings.worked_out(name)):
            if had is not None:
                yield derived.stage, derived.derived.limit, had
    elif placed is not None and placed.indication.limit is not None:
        stage = workings.assembly.rig.stages[placed.stage]
        for had in workings.readings(name):
            yield stage, placed.indication.limit, had


def _as_of(case: Case, period: int) -> Case:
    """The case as it was in a time between work, with what was read in that time alone."""
    last = len(case.work)
    kept = (o for o in case.observations if (last if o.period is None else o.period) == period)
    return replace(case, work=case.work[:period], observations=tuple(kept))
