"""The record of an interview in words: what was told, observed, done, left out and proven."""

from __future__ import annotations

from typing import Final

from diagnose.interview.confirming import cause_title
from diagnose.interview.course import Course
from diagnose.interview.record import (
    CONFIRMED,
    DONE,
    HISTORY,
    OBSERVED,
    SAFE,
    TOLD,
    Entry,
    record_of,
    told_keys,
)
from diagnose.model.case import Observation
from diagnose.render import numbers
from diagnose.render.page import Page, capital, listed, styled
from diagnose.render.words import Words, unscored

_TOLD: Final = {
    "about": "Complaint",
    "mode": "Mode",
    "band": "Band",
    "mains": "Line voltage",
    "instruments": "Instruments at hand",
}


BEFORE: Final = "Before the last work:"  # over entries of a time that is over
NOW: Final = "Since then:"


def record(page: Page, course: Course, words: Words) -> None:
    """All entries with their numbers."""
    page.heading("The record")
    entries = record_of(course.case)
    if not entries:
        page.say("Nothing is entered yet.", indent=2)
    time = NOW
    for number, entry in enumerate(entries, start=1):
        if entry.kind == OBSERVED:
            was, time = time, NOW if course.is_now(course.case.observations[entry.index]) else BEFORE
            if time != was:
                page.say(styled((time, "quiet")), indent=2)
        page.say(entry_text(course, entry, words), first=f"{number:>4} ", indent=6)


def entry_text(course: Course, entry: Entry, words: Words) -> str:
    """One entry in words."""
    case = course.case
    if entry.kind == TOLD:
        return told_text(course, told_keys(course.case)[entry.index], words)
    if entry.kind == OBSERVED:
        return observation_text(course, case.observations[entry.index], words)
    if entry.kind == DONE:
        work = case.work[entry.index]
        parts = f" [{', '.join(words.part(part) for part in work.parts)}]" if work.parts else ""
        answers = " (answers a stop order)" if work.answers else ""
        return f"Work: {work.did}{parts}{answers}"
    if entry.kind == CONFIRMED:
        return f"Confirmed cause: {cause_title(course, (case.confirmed or ())[entry.index])}"
    if entry.kind == SAFE:
        return f"Proven: {words.safety.get(case.safety[entry.index], case.safety[entry.index])}"
    name = case.cannot[entry.index]
    check = course.assembly.checks.get(name)
    title = check.check.title if check is not None else words.placed(name)
    if name in case.has_none:
        return f"This set has none: {title} (`{case.has_none[name]}`)"
    return f"Cannot be taken here: {title}"


def told_text(course: Course, key: str, words: Words) -> str:
    """What was told at the intake."""
    if key.startswith(HISTORY):
        fact = key.removeprefix(HISTORY)
        value = course.case.history[fact]
        known = course.assembly.book.bench.facts.get(fact)
        said = (
            ", ".join(unscored(str(v)) for v in value) if isinstance(value, tuple) else unscored(str(value))
        )
        return f"{capital(known.title if known is not None else unscored(fact))}: {said}"
    told: object = getattr(course.case, key)
    if key == "mains" and course.case.mains is not None:
        told = numbers.value(course.case.mains, "V")
    if key == "instruments":
        told = listed(words.instruments.get(id, id) for id in course.case.instruments or ()) or "none"
    return f"{_TOLD[key]}: {told}"


def observation_text(course: Course, observation: Observation, words: Words) -> str:
    """An observation with its circumstances."""
    title = words.placed(observation.name) if observation.name in words.indications else observation.name
    if observation.value is not None:
        said = observation.as_written or numbers.digits(observation.value)
    else:
        said = words.state(observation.name, observation.state)
    under = [observation.mode, observation.band, observation.warmth]
    under += [f"with {words.instrument(observation.meter)}"] if observation.meter else []
    first = next(iter(course.assembly.book.bench.reports), "")
    under += [f"told by {observation.told_by}"] if observation.told_by != first else []
    told = ", ".join(text for text in under if text)
    return f"{title}: {said}" + (f" ({told})" if told else "")
