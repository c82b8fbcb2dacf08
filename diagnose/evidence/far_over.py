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
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Stage
from diagnose.model.measuring import MOST, Limit


@dataclass(frozen=True)
class Over:
    """A figure far over its limit: what was read for it (ids on the rig), and in which time between work."""

    names: tuple[str, ...]
    period: int


def far_over(now: Workings, figures: Sequence[str], times: float, sure: float) -> Over | None:
    """Whether one of these figures (ids on the rig), when it was last known, was so many times its limit or more.

    `now`: the workings of the case as it is; `sure`: the chance from which it is taken for so. What was read before
    work stands for the set until it is read again. Without work between, a smaller reading does not take back a
    greater one.
    """
    read = _read_for(now, figures)
    for period in range(len(now.case.work), -1, -1):
        known = False
        for workings in _one_by_one(now, read, period):
            for name in figures:
                for stage, limit, had in _found(workings, name):
                    known = True
                    if _is_over(workings, stage, limit, had, times, sure):
                        names = dict.fromkeys(workings.case.observations[n].name for n in sorted(had.used))
                        return Over(tuple(names), period)
        if known:
            return None
    return None


def _is_over(workings: Workings, stage: Stage, limit: Limit, had: Had, times: float, sure: float) -> bool:
    sides = sides_of(workings, stage, had, limit.at(had.mode))
    return any(
        side == MOST and chance_beyond(had.amount, times * most, MOST) >= sure for side, most, _ in sides
    )


def _found(workings: Workings, name: str) -> Iterator[tuple[Stage, Limit, Had]]:
    """A figure with its limit, once for each condition under which it is known."""
    derived, placed = workings.layout.derived.get(name), workings.assembly.indications.get(name)
    if derived is not None and derived.derived.limit is not None:
        for found in workings.worked_out(name):
            if found.had is not None:
                yield derived.stage, derived.derived.limit, found.had
    elif placed is not None and placed.indication.limit is not None:
        for had in workings.readings(name):
            yield workings.assembly.rig.stages[placed.stage], placed.indication.limit, had


def _read_for(workings: Workings, figures: Sequence[str]) -> frozenset[str]:
    """All that is read, or could be, for these figures."""
    names = list(figures)
    for name in names:  # grows while it is gone through
        derived = workings.layout.derived.get(name)
        more = derived.names if derived is not None else workings.layout.giving.get(name, ())
        names.extend(other for other in more if other not in names)
    return frozenset(names)


def _one_by_one(now: Workings, read: frozenset[str], period: int) -> Iterator[Workings]:
    """The workings of one time between work: as they were at its end, and where something was read again also before."""
    case, last = now.case, len(now.case.work)
    inside = [o for o in case.observations if (last if o.period is None else o.period) == period]
    wanted = [n for n, o in enumerate(inside) if o.name in read and o.value is not None]
    if not wanted:
        return
    whole = now if period == last else Workings(now.assembly, _as_of(case, period, inside))
    yield whole
    seen = {(inside[n].name, *whole.condition(inside[n])) for n in wanted}
    if len(seen) < len(wanted):
        for n in wanted[:-1]:
            yield Workings(now.assembly, _as_of(case, period, inside[: n + 1]))


def _as_of(case: Case, period: int, observations: Sequence[Observation]) -> Case:
    """The case as it was in a time between work, with what was read in that time alone."""
    return replace(case, work=case.work[:period], observations=tuple(observations))
