"""Which reading, sign or part was meant by what a person typed, asked back where it may be several."""

from __future__ import annotations

from typing import TypeGuard

from diagnose.interview import entries
from diagnose.interview.dialogue import numbers_in
from diagnose.interview.indexes import parts
from diagnose.interview.meant import not_usable
from diagnose.interview.named import Said, heard
from diagnose.interview.session import Session
from diagnose.interview.standing import leaders
from diagnose.render.page import capital


def elsewhere(session: Session, line: str) -> bool:
    """A reading or sign out of order: `NAME VALUE`, or words that a sign goes by."""
    told = heard(line, session.course)
    if told.refused is not None:
        session.dialogue.say(not_usable(told.refused))
        return True
    found = told.said
    if session.course.standing.stop_orders:
        found = tuple(said for said in found if said.sure)  # what was done is no sign
    if found:
        said = choose(session, found)
        if said is not None:
            session.enter(said.observation)
        return True
    return False


def one(session: Session, line: str) -> Said | None:
    """The reading or sign that a line names, with what it says of it; None, with a word on it, where it names none."""
    told = heard(line, session.course)
    if told.refused is not None:
        session.dialogue.say(not_usable(told.refused))
        return None
    if not told.said:
        session.dialogue.say(
            f"`{line}` names no reading or sign with a value. Like this: `plate current 95 mA`."
        )
        return None
    return choose(session, told.said)


def choose(session: Session, found: tuple[Said, ...]) -> Said | None:
    """Which of these was meant, asked unless it is sure; None where none was."""
    if len(found) == 1 and found[0].sure:
        return found[0]
    titles = [
        capital(entries.observation_text(session.course, said.observation, session.words)) for said in found
    ]
    session.dialogue.say("Which of these?" if len(found) > 1 else "Is this meant?")
    picked = session.dialogue.pick("A number, or `none`.", titles, several=False)
    return found[picked[0]] if is_number(picked, session) else None


def part_named(session: Session, words: str) -> str | None:
    """One part of the rig by its number in the list, its id or words."""
    course = session.course
    given = numbers_in(words)
    blamed = [part.id for part in leaders(course.standing)]
    if given is not None and len(given) == 1 and 1 <= given[0] <= len(blamed):
        return blamed[given[0] - 1]
    if words in course.assembly.parts:
        return words
    hits = parts(course.assembly).find(words)
    if not hits:
        session.dialogue.say(f"No part of this rig goes by `{words}`.")
        return None
    if len(hits) == 1 or hits[0].score > 1.3 * hits[1].score:
        return hits[0].entry.name
    session.dialogue.say("Which part?")
    picked = session.dialogue.pick("A number, or `none`.", [h.entry.title for h in hits], several=False)
    return hits[picked[0]].entry.name if is_number(picked, session) else None


def is_number(picked: tuple[int, ...] | str, session: Session) -> TypeGuard[tuple[int, ...]]:
    """Whether something was picked; other words are taken as if they had been said at the prompt."""
    if isinstance(picked, str):
        session.take(picked)
        return False
    return bool(picked)
