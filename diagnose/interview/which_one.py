"""Which reading, sign or part was meant by what a person typed, asked back where it may be several."""

from __future__ import annotations

from typing import TypeGuard

from diagnose.interview import entries
from diagnose.interview.dialogue import is_yes, numbers_in
from diagnose.interview.indexes import parts
from diagnose.interview.meant import not_usable
from diagnose.interview.named import Heard, Said, heard
from diagnose.interview.session import Session
from diagnose.interview.settings import set_anew
from diagnose.interview.standing import leaders
from diagnose.render.page import capital


def elsewhere(session: Session, line: str) -> bool:
    """A reading or sign out of order: `NAME VALUE`, or words that a sign goes by."""
    if set_anew(session, line):
        return True
    told = heard(line, session.course)
    if told.refused is not None:
        session.dialogue.say(not_usable(told.refused))
        return True
    if session.course.standing.stop_orders and not told.value:
        return False  # what was done is no sign
    if told.said:
        said = choose(session, told)
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
    return choose(session, told)


def choose(session: Session, told: Heard) -> Said | None:
    """Which of these was meant, asked unless it is sure; None where none was.

    Other words name something else of which the same is said, unless they say something of their own.
    """
    while True:
        found = told.said
        if len(found) == 1 and found[0].sure:
            return found[0]
        titles = [
            capital(entries.observation_text(session.course, said.observation, session.words))
            for said in found
        ]
        session.dialogue.say("Which of these?" if len(found) > 1 else "Is this meant?")
        question = "A number, or `none`." if len(found) > 1 else "`y` (or 1), or `none`."
        picked = session.dialogue.pick(question, titles, several=False)
        if isinstance(picked, str) and is_yes(picked):
            if len(found) == 1:
                return found[0]
            continue
        if not isinstance(picked, str):
            if not picked:
                session.dialogue.say("Nothing is entered.")
            return found[picked[0]] if picked else None
        again = _of_other_words(session, picked, told.value)
        if again is None:
            session.take(picked)
            return None
        told = again


def _of_other_words(session: Session, words: str, value: str) -> Heard | None:
    """The same value said of what other words name; None where they are a word of the interview or tell a value."""
    if (
        not value
        or words.split(maxsplit=1)[0].casefold() in session.verbs
        or heard(words, session.course).value
    ):
        return None
    again = heard(f"{words} = {value}", session.course)
    return again if again.said else None


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
