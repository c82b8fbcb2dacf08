"""The record of a case: all that was entered, in its order and with its numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from diagnose.model.case import Case

TOLD: Final = "told"
OBSERVED: Final = "observed"
DONE: Final = "done"
CANNOT: Final = "cannot"
SAFE: Final = "safe"
CONFIRMED: Final = "confirmed"

HISTORY: Final = "history."  # before the id of a fact, among what was told
FIELDS: Final = {
    "about": "",
    "mode": "",
    "band": "",
    "mains": None,
    "instruments": None,
}  # of the case, told at the intake, with what stands for nothing


@dataclass(frozen=True)
class Entry:
    """One entry of the record: what kind, and which of the case's list of that kind (from 0)."""

    kind: str
    index: int


class NoSuchEntryError(LookupError):
    """A number that is not in the record."""


def record_of(case: Case) -> tuple[Entry, ...]:
    """All entries: what was told, what was observed and the work after it, what cannot be, and is, proven."""
    found = [Entry(TOLD, index) for index in range(len(told_keys(case)))]
    done = len(case.work)
    for period in range(done + 1):
        for index, observation in enumerate(case.observations):
            if (done if observation.period is None else observation.period) == period:
                found.append(Entry(OBSERVED, index))
        if period < done:
            found.append(Entry(DONE, period))
    found += [Entry(CANNOT, index) for index in range(len(case.cannot))]
    found += [Entry(SAFE, index) for index in range(len(case.safety))]
    found += [Entry(CONFIRMED, index) for index in range(len(case.confirmed or ()))]
    return tuple(found)


def told_keys(case: Case) -> tuple[str, ...]:
    """What was told at the intake: fields of the case, and facts of its history."""
    fields = (key for key, nothing in FIELDS.items() if getattr(case, key) != nothing)
    return (*fields, *(f"{HISTORY}{fact}" for fact in case.history))


def entry_of(case: Case, number: int) -> Entry:
    """Entry `number`, counted from 1; raises NoSuchEntryError."""
    record = record_of(case)
    if not 1 <= number <= len(record):
        raise NoSuchEntryError(f"the record has no entry {number}")
    return record[number - 1]
