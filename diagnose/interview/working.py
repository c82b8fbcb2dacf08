"""Words for work that was done, and for the cause that was found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from diagnose.interview.confirming import cause_title, likeliest_cause
from diagnose.interview.course import Course
from diagnose.interview.dialogue import NONE, UNSURE, Ended, numbers_in
from diagnose.interview.indexes import parts
from diagnose.interview.named import LIKELY, heard
from diagnose.interview.search import Entry
from diagnose.interview.session import Session
from diagnose.interview.setups import to_make_safe
from diagnose.interview.standing import leaders
from diagnose.interview.touched import touched
from diagnose.interview.which_one import part_named
from diagnose.render.page import listed, styled

UNKNOWN_PART: Final = (
    "Since no part is named, it may have changed anything: what was read before it is kept as the state before, and "
    "counts no longer. Read again what matters, or take the work back with `strike` and say it with its part."
)


@dataclass(frozen=True)
class Touched:
    """What work was done to: parts, lines said meanwhile for afterwards, and whether it changed the set at all."""

    parts: tuple[str, ...] = ()
    later: tuple[str, ...] = ()
    changed: bool = True


def did(session: Session, rest: str) -> None:
    """Work that was done, to which part, and which stop order it answers."""
    course, dialogue = session.course, session.dialogue
    words = rest or dialogue.ask("What was done?")
    if not words:
        return
    orders = course.standing.stop_orders
    given = numbers_in(words)
    blamed = leaders(course.standing)
    if given is not None:
        if not all(1 <= number <= len(blamed) for number in given):
            dialogue.say(f"The list has no {words}; say what was done in words.")
            return
        chosen = [blamed[number - 1] for number in given]
        remedies = [part.causes[0].remedy for part in chosen]
        words = "; ".join(r.do if r else p.title for r, p in zip(remedies, chosen, strict=True))
        done_to = [part.id for part in chosen]
        cures = [part.causes[0].id for part in chosen if part.causes[0].remedy is not None]
    else:
        done_to, cures = [], []
    touched = Touched(tuple(done_to))
    answered = [o.id for o in orders if dialogue.yes(f"Does this answer the order: {o.text} [y/n]")]
    first, *others = answered or [""]
    if given is None:
        try:
            touched = _touched(session, words, maybe_none=bool(answered))
        except (Ended, KeyboardInterrupt):  # it was done, whatever it was done to
            session.apply(lambda now: now.did(words, (), first))
            raise
    session.hand.drop()
    session.apply(lambda now: now.did(words, touched.parts, first, cures, changed=touched.changed))
    for order in others:  # the same work, done once
        session.apply(lambda now, order=order: now.did(words, (), order))  # type: ignore[misc]
    _say_done(session, course, words, touched, answers=bool(answered))
    for line in touched.later:
        session.take(line)


def _say_done(session: Session, before: Course, words: str, touched: Touched, *, answers: bool) -> None:
    """What was entered, what the work also moves, and what becomes of what was read before it."""
    dialogue = session.dialogue
    named = listed(session.words.part(part) for part in touched.parts)
    dialogue.say(f"Entered: work, {words}{f' ({named})' if named else ''}.")
    for part in touched.parts:
        lead = next((c for c in before.standing.causes if c.part == part), None)
        if lead is not None and lead.remedy is not None and lead.remedy.moves:
            dialogue.say(f"It also moves: {'; '.join(lead.remedy.moves)}.")
    if touched.parts:
        dialogue.say("What was read before it is kept as the state before; it is no longer the state of now.")
    elif not touched.changed:
        dialogue.say("Nothing in the set was touched: what was read before it is still so.")
    elif not answers:
        dialogue.say(UNKNOWN_PART)
    if answers:  # power is off, and no more than that: what was charged still is
        dialogue.say(styled(("Before a hand goes in:", "caution")))
        for caution in to_make_safe(session.course.assembly.book.bench):
            dialogue.say(styled((caution, "caution")), indent=2)


def confirm(session: Session, rest: str) -> None:
    """Notes what a part had as the cause that was found."""
    part = part_named(session, rest) if rest else None
    if part is None:
        if not rest:
            session.dialogue.say("Say which part it was: `confirm 1`, or `confirm` and its name.")
        return
    cause = likeliest_cause(session.course, part)
    if not cause:
        session.dialogue.say("The book names no way in which that fails; it cannot be noted as a cause.")
        return
    session.apply(lambda now: now.confirm(cause))
    title = cause_title(session.course, cause)
    session.dialogue.say(f"Confirmed: {title}. `strike` with its number in the `record` takes it back.")


def _touched(session: Session, words: str, *, maybe_none: bool = False) -> Touched:
    """What work was done to, by its words.

    What only answers an order is likely to have been done to no part: that is offered first then. What is no answer
    to this question is never lost: a reading waits for the answer, new work and the end of the interview leave it out.
    """
    none = ["no part: nothing was changed in the set"] if maybe_none else []
    later: list[str] = []
    offered = _offered(session, words)
    while True:
        if offered:
            session.dialogue.say("To which part was it done?")
            titles = [*none, *(entry.title for entry in offered)]
            picked = session.dialogue.pick(
                "Numbers (`1 3` for several), `none`, `?` (not known), or other words.", titles
            )
        else:
            line = session.dialogue.ask(
                "To which part was it done? Say it in other words, `none`, or `?` (not known)."
            )
            picked = () if not line or line.casefold().rstrip(".") in NONE else line
        if not isinstance(picked, str):
            parts = tuple(offered[n - len(none)].name for n in picked if n >= len(none))
            if parts or none:
                return Touched(parts, tuple(later))
            changed = session.dialogue.yes("Was anything in the set changed by it? [y/n; Enter: not known]")
            if not changed:
                return Touched((), tuple(later), changed=changed is None)
            offered = ()
            continue
        verb = picked.split(maxsplit=1)[0].casefold()
        if verb in ("did", "finish"):
            return Touched((), (*later, picked))
        if picked.casefold() in UNSURE:
            return Touched((), tuple(later))
        if verb in session.verbs or _is_reading(session, picked):
            later.append(picked)
            session.dialogue.say(
                f"`{picked}` is no answer to this question; it is taken after it. Answer with numbers, or `none`."
            )
            continue
        offered = _offered(session, picked)


def _offered(session: Session, words: str) -> tuple[Entry, ...]:
    """What the words are likely to mean; else all that has some of them."""
    hits = parts(session.course.assembly).find(words)
    if hits and hits[0].score >= LIKELY:
        return tuple(hit.entry for hit in hits)
    return touched(words, session.course.assembly)


def _is_reading(session: Session, line: str) -> bool:
    """Whether a line is plainly a reading or sign, and no words for a part."""
    told = heard(line, session.course)
    if "=" in line:
        return bool(told.said) or told.refused is not None
    return bool(told.value) and all(said.sure for said in told.said)
