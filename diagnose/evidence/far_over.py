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
from diagnose.model.periods import settled


@dataclass(frozen=True)
class Over:
    """A figure far over its limit: what was read for it (ids on the rig), and the period of the last of it.

    None for the period: nothing of it says one, so it is of the set as it is now.
    """

    names: tuple[str, ...]
    period: int | None


def far_over(now: Workings, figures: Sequence[str], times: float, sure: float) -> tuple[Over, ...]:
    """Those of these figures (ids on the rig) that were so many times their limit or more when they were last known.

    `now`: the workings of the case as it is; `sure`: the chance from which it is taken for so. What was read before
    work stands for the set until it is read again. Without work between, a smaller reading does not take back a
    greater one.
    """
    read = _read_for(now, figures)
    count = len(now.case.work)
    for period in sorted({settled(now.case, period) for period in range(count + 1)}, reverse=True):
        known = False
        for workings in _one_by_one(now, read, period):
            over = []
            for name in figures:
                for stage, limit, had in _found(workings, name):
                    known = True
                    if _is_over(workings, stage, limit, had, times, sure):
                        over.append(_read(workings, had))
            if over:
                return tuple(over)
        if known:
            return ()
    return ()


def _read(workings: Workings, had: Had) -> Over:
    """What a figure far over its limit was read from."""
    used = [workings.case.observations[number] for number in sorted(had.used)]
    said = (o.period for o in used if o.period is not None)
    return Over(tuple(dict.fromkeys(o.name for o in used)), max(said, default=None))


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
    """The workings of the set as it was up to a period: at its end, and where something was read again also before."""
    case, last = now.case, len(now.case.work)
    inside = [o for o in case.observations if settled(case, o.period) == period]
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
    """The case as it was in a period, with what was read of the set as it was then alone."""
    return replace(case, work=case.work[:period], observations=tuple(observations))
