"""Words for work that was done, and for the cause that was found."""

from __future__ import annotations

from diagnose.interview.confirming import cause_title, likeliest_cause
from diagnose.interview.dialogue import NONE, numbers_in
from diagnose.interview.indexes import parts
from diagnose.interview.named import LIKELY, heard
from diagnose.interview.search import Entry
from diagnose.interview.session import Session
from diagnose.interview.standing import leaders
from diagnose.interview.touched import touched
from diagnose.interview.which_one import part_named
from diagnose.render.page import listed


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
    later: list[str] = []
    answered = [o.id for o in orders if dialogue.yes(f"Does this answer the order: {o.text} [y/n]")]
    if given is None:
        done_to, later = _parts(session, words, maybe_none=bool(answered))
    session.hand.drop()
    first, *others = answered or [""]
    session.apply(lambda now: now.did(words, done_to, first, cures))
    for order in others:  # the same work, done once
        session.apply(lambda now, order=order: now.did(words, (), order))  # type: ignore[misc]
    named = listed(session.words.part(part) for part in done_to)
    dialogue.say(f"Entered: work, {words}{f' ({named})' if named else ''}.")
    for part in done_to:
        lead = next((c for c in course.standing.causes if c.part == part), None)
        if lead is not None and lead.remedy is not None and lead.remedy.moves:
            dialogue.say(f"It also moves: {'; '.join(lead.remedy.moves)}.")
    if done_to or not answered:
        dialogue.say("What was read before it is kept as the state before; it is no longer the state of now.")
    for line in later:
        session.take(line)


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


def _parts(session: Session, words: str, *, maybe_none: bool = False) -> tuple[list[str], list[str]]:
    """The parts that work was done to, by its words, none where it was none of the book's; and lines for afterwards.

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
            picked = session.dialogue.pick("Numbers, `none`, or other words.", titles)
        else:
            line = session.dialogue.ask("To which part was it done? Say it in other words, or `none`.")
            picked = () if not line or line.casefold().rstrip(".") in NONE else line
        if not isinstance(picked, str):
            return [offered[n - len(none)].name for n in picked if n >= len(none)], later
        verb = picked.split(maxsplit=1)[0].casefold()
        if verb in ("did", "finish"):
            return [], [*later, picked]
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
