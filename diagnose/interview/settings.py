"""What the intake asks once, said later on: `band 20m`, `mode cw`, `instruments all but 3`, `years stored 30`.

A line names one of these if what follows is a value of it, or `=` stands between; other lines are no setting.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from diagnose.interview.course import Course
from diagnose.interview.entries import told_text
from diagnose.interview.facts import retold
from diagnose.interview.questions import Change
from diagnose.interview.record import HISTORY, told_keys
from diagnose.interview.session import Session
from diagnose.render.page import capital, sentence

ASKED: Final = ("mode", "band", "instruments")  # fields of a case; `mains` is a word of its own
_SIGN = re.compile(r"\s*(?:=|:|\bis\b|\bto\b)\s*", re.IGNORECASE)


def set_anew(session: Session, line: str) -> bool:
    """Takes a line that sets one of these, and says what becomes of it; whether it was one."""
    found = setting(line, session.course)
    if found is None:
        return False
    key, change, reason = found
    if change is None:
        session.dialogue.say(capital(sentence(reason)))
        return True
    case = session.course.case
    was = told_text(session.course, key, session.words) if key in told_keys(session.course.case) else ""
    session.apply(change)
    said = f"{told_text(session.course, key, session.words)}, from now on."
    if key in ("mode", "band") and case.observations:
        said += (
            f" What was read before stays with that it was read under ({was})."
            if was
            else " It holds for what was read before too, since no other was told."
        )
    session.dialogue.say(said)
    return True


def setting(line: str, course: Course) -> tuple[str, Change | None, str] | None:
    """What a line sets: its key in the record, the change, and why it cannot be where there is none.

    None where the line is no setting.
    """
    refused: tuple[str, Change | None, str] | None = None
    for key, name in _names(course):
        if not re.match(rf"{re.escape(name)}(?![\w.])", line, re.IGNORECASE):
            continue
        rest = line[len(name) :]
        sign = _SIGN.match(rest)
        value = rest[sign.end() if sign else 0 :].strip()
        if not value:
            continue
        new, reason = retold(course, key, value)
        if new is not None:
            return key, _change(key, value), ""
        if sign and "=" in sign.group():
            refused = refused or (key, None, reason)
    return refused


def _names(course: Course) -> Iterator[tuple[str, str]]:
    """The keys of all that may be set, each with the names that it goes by, the longest first."""
    facts = course.assembly.book.bench.facts
    found = [(key, key) for key in ASKED]
    for id, fact in facts.items():
        found += [(f"{HISTORY}{id}", name) for name in (id, id.replace("_", " "), fact.title) if name]
    yield from sorted(dict.fromkeys(found), key=lambda pair: -len(pair[1]))


def _change(key: str, value: str) -> Change:
    """The change of a course; what was read so far keeps the mode, band or line voltage it was read under."""

    def change(now: Course) -> Course:
        new = retold(now, key, value)[0]
        if new is None:
            return now
        if key in ("mode", "band"):
            return now.under(**{key: getattr(new.case, key)})
        return new

    return change
