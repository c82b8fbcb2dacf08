"""Taking an entry of the record back, or changing it: any of them, not only the last."""

from __future__ import annotations

from diagnose.interview.answers import understood
from diagnose.interview.course import Course
from diagnose.interview.doubtful import doubt, doubt_line
from diagnose.interview.entries import entry_text
from diagnose.interview.facts import retold
from diagnose.interview.meant import UNCLEAR, not_usable
from diagnose.interview.record import (
    DONE,
    OBSERVED,
    TOLD,
    Entry,
    NoSuchEntryError,
    entry_of,
    record_of,
    told_keys,
)
from diagnose.interview.session import Session
from diagnose.render.page import capital, sentence


def strike(session: Session, rest: str) -> None:
    """Takes an entry back."""
    entry = _entry(session, rest)
    if entry is None:
        return
    text = entry_text(session.course, entry, session.words)
    session.apply(lambda now: now.strike(_number(now, entry)))
    session.dialogue.say(f"Struck out: {text}.")


def amend(session: Session, rest: str) -> None:
    """Changes an entry."""
    number, _, value = rest.partition(" ")
    entry, value = _entry(session, number), value.strip()
    if entry is None:
        return
    if not value:
        session.dialogue.say("Say also what it should be: `amend N VALUE`.")
        return
    refused = _amended(session, entry, value)
    if refused:
        session.dialogue.say(refused)
    if refused != "":
        return
    session.dialogue.say(f"Changed: {entry_text(session.course, entry, session.words)}.")


def _amended(session: Session, entry: Entry, value: str) -> str | None:
    """Changes an entry, and gives ""; else why it cannot be, or None where it has to be said once more."""
    course = session.course
    if entry.kind == TOLD:
        key = told_keys(course.case)[entry.index]
        new, reason = retold(course, key, value)
        if new is None:
            return capital(sentence(reason))
        mains = new.case.mains
        far = doubt_line(mains, course.assembly.rig) if mains not in (None, course.case.mains) else ""
        if session.doubts.doubted(session.dialogue, key, mains, far):
            return None
        session.apply(lambda now: retold(now, key, value)[0] or now)
    elif entry.kind == OBSERVED:
        name = course.case.observations[entry.index].name
        meant = understood(value, name, course.assembly, course.case)
        observation = meant.observation
        if observation is None:
            return not_usable(meant) if meant.kind == UNCLEAR else "`strike` takes an entry back."
        if session.doubts.doubted(session.dialogue, name, observation.value, doubt(course, observation)):
            return None
        session.apply(lambda now: now.amend(_number(now, entry), observation))
    elif entry.kind == DONE:
        session.apply(lambda now: now.amend(_number(now, entry), value))
    else:
        return "That cannot be changed, only struck out: `strike`."
    return ""


def _entry(session: Session, number: str) -> Entry | None:
    """The entry of a number; None, with a word on it, for what is none."""
    if not number.isdecimal():
        session.dialogue.say("Say which, by its number in the `record`.")
        return None
    try:
        return entry_of(session.course.case, int(number))
    except NoSuchEntryError as error:
        session.dialogue.say(sentence(str(error)))
        return None


def _number(course: Course, entry: Entry) -> int:
    """The number of an entry; raises NoSuchEntryError where the file was changed and it is gone."""
    record = record_of(course.case)
    if entry not in record:
        raise NoSuchEntryError("that entry is no longer in the case file")
    return record.index(entry) + 1
