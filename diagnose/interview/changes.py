"""What an entry makes of a case: observed, worked on, told, left out, struck out. From a case to a new one.

Nothing here diagnoses: what follows from a change is seen when the new case is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

from diagnose.advice.gates import after
from diagnose.interview.record import (
    CANNOT,
    CONFIRMED,
    DONE,
    FIELDS,
    HISTORY,
    OBSERVED,
    SAFE,
    TOLD,
    NoSuchEntryError,
    entry_of,
    told_keys,
)
from diagnose.model.assembly import PlacedCheck
from diagnose.model.case import Case, Observation, Work
from diagnose.model.knowledge import Bench, Indication
from diagnose.model.periods import changes_the_set, is_now

T = TypeVar("T")


def observed(case: Case, observations: Sequence[Observation]) -> Case:
    """With observations of now, where they name no other time."""
    period = len(case.work) or None
    new = (replace(o, period=period) if o.period is None else o for o in observations)
    return replace(case, observations=(*case.observations, *new))


def set_up(case: Case, placed: PlacedCheck) -> Case:
    """With the bench as a check wants it."""
    return replace(case, bench=after(case.bench, placed.check.setup))


def concluded(case: Case, placed: PlacedCheck, indications: Mapping[str, Indication]) -> Case:
    """After a check was answered: with the fact that it proves, or without it if something is wrong."""
    fact = placed.check.proves
    latest = {o.name: o for o in case.observations if is_now(case, o)}
    told = [latest[name] for name in placed.reveals if name in latest]
    if not fact or not told:
        return case
    good = [o.state == indications[o.name].states[0].id for o in told]
    if all(good) and len(told) == len(placed.reveals):
        return proven(case, fact)
    if any(o.state and not fine for o, fine in zip(told, good, strict=True)):
        return proven(case, fact, so=False)
    return case


def proven(case: Case, fact: str, *, so: bool = True) -> Case:
    """With a safety fact proven, or no longer so."""
    kept = tuple(known for known in case.safety if known != fact)
    return replace(case, safety=(*kept, fact) if so and fact else kept)


def worked_on(case: Case, new: Work, bench: Bench) -> Case:
    """With a piece of work: what was observed before it belongs to the time before, and live set-ups are left.

    What cannot have changed the set leaves its observations as they are.
    """
    observations = case.observations
    if changes_the_set(new):
        done = len(case.work)
        while done and not changes_the_set(case.work[done - 1]):
            done -= 1  # what says no period was observed before such work, since what comes after it says one
        observations = tuple(replace(o, period=done) if o.period is None else o for o in observations)
    return switched_off(replace(case, observations=observations, work=(*case.work, new)), bench)


def switched_off(case: Case, bench: Bench) -> Case:
    """With every live set-up left: its group is in its first state."""
    left = {
        group: bench.setups[group].first if bench.setups[group].states[state].live else state
        for group, state in case.bench.items()
    }
    return replace(case, bench=left)


def left_out(case: Case, name: str) -> Case:
    """Without a check, or without one thing that checks reveal."""
    return replace(case, cannot=tuple(dict.fromkeys((*case.cannot, name))))


def without(case: Case, name: str, said: str) -> Case:
    """Without a check or a thing that checks reveal, because this set has none, as these words say."""
    return replace(left_out(case, name), has_none={**case.has_none, name: said})


def confirmed(case: Case, cause: str) -> Case:
    """With a cause noted as one that was found."""
    return replace(case, confirmed=tuple(dict.fromkeys((*(case.confirmed or ()), cause))))


def under(case: Case, *, mode: str = "", band: str = "", mains: float | None = None) -> Case:
    """With another usual mode, band or line voltage; what was read so far keeps those it was read under."""
    kept = tuple(
        replace(
            o,
            mode=o.mode or (case.mode if mode else ""),
            band=o.band or (case.band if band else ""),
            mains=case.mains if mains is not None and o.mains is None else o.mains,
        )
        for o in case.observations
    )
    new = {k: v for k, v in (("mode", mode), ("band", band), ("mains", mains)) if v}
    return replace(case, observations=kept, **new)  # type: ignore[arg-type]


def told(case: Case, fact: str, value: object) -> Case:
    """With a fact of the set's history."""
    return replace(case, history={**case.history, fact: value})


def struck(case: Case, number: int) -> Case:
    """Without entry `number` of the record; raises NoSuchEntryError."""
    entry = entry_of(case, number)
    if entry.kind == TOLD:
        return _untold(case, told_keys(case)[entry.index])
    if entry.kind == OBSERVED:
        return replace(case, observations=_without(case.observations, entry.index))
    if entry.kind == CANNOT:
        name = case.cannot[entry.index]
        has_none = {key: said for key, said in case.has_none.items() if key != name}
        return replace(case, cannot=_without(case.cannot, entry.index), has_none=has_none)
    if entry.kind == SAFE:
        return replace(case, safety=_without(case.safety, entry.index))
    if entry.kind == CONFIRMED:
        return replace(case, confirmed=_without(case.confirmed or (), entry.index) or None)
    work = _without(case.work, entry.index)
    observations = tuple(
        replace(o, period=(o.period - 1 if work else None))
        if o.period is not None and o.period > entry.index
        else replace(o, period=o.period if work else None)
        for o in case.observations
    )
    return replace(case, work=work, observations=observations)


def amended(case: Case, number: int, new: Observation | str) -> Case:
    """With another observation (of the same time), or other words for a piece of work, in entry `number`.

    Raises NoSuchEntryError for an entry of which there is neither.
    """
    entry = entry_of(case, number)
    if entry.kind == OBSERVED and isinstance(new, Observation):
        old = case.observations[entry.index]
        new = replace(new, name=old.name, period=old.period, told_by=old.told_by)
        new = replace(new, mode=new.mode or old.mode, band=new.band or old.band)
        new = replace(new, mains=old.mains, meter=new.meter or old.meter, warmth=new.warmth or old.warmth)
        return replace(case, observations=_exchanged(case.observations, entry.index, new))
    if entry.kind == DONE and isinstance(new, str):
        work = replace(case.work[entry.index], did=new)
        return replace(case, work=_exchanged(case.work, entry.index, work))
    raise NoSuchEntryError(f"entry {number} cannot be changed, only struck out")


def _untold(case: Case, key: str) -> Case:
    if key in FIELDS:
        return replace(case, **{key: FIELDS[key]})  # type: ignore[arg-type]
    fact = key.removeprefix(HISTORY)
    return replace(case, history={k: v for k, v in case.history.items() if k != fact})


def _without(items: tuple[T, ...], index: int) -> tuple[T, ...]:
    return items[:index] + items[index + 1 :]


def _exchanged(items: tuple[T, ...], index: int, new: T) -> tuple[T, ...]:
    return (*items[:index], new, *items[index + 1 :])
