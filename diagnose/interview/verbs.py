"""The words that may be used at any prompt, beside answers: what each does with what follows it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final, TypeGuard

from diagnose.explanation.account import account
from diagnose.interview import entries, screen
from diagnose.interview.amending import amend, strike
from diagnose.interview.closing import closing_page
from diagnose.interview.confirming import cause_title, likeliest_cause
from diagnose.interview.course import REMEDY, Course
from diagnose.interview.dialogue import numbers_in
from diagnose.interview.intake import line_voltage, noted
from diagnose.interview.named import LIKELY, Said, heard
from diagnose.interview.search import parts
from diagnose.interview.session import Session, not_usable
from diagnose.render import numbers
from diagnose.render.account import explained
from diagnose.render.page import capital, listed
from diagnose.render.readings import readings as readings_page

Verb = Callable[[Session, str], None]


def grounds(session: Session, rest: str) -> None:
    """Why this is asked; with a part, why it ranks where it does and not higher."""
    page, course = session.dialogue.page(), session.course
    if rest:
        part = _part(session, rest)
        if part is None:
            return
        cause = next((c.id for c in course.standing.causes if c.part == part), None)
        if cause is not None:
            found = account(course.assembly, course.case, course.standing, cause)
            page = explained(course.standing, found, session.words, page.width)
    elif session.step is not None:
        screen.outcomes(page, course, session.step, session.words)
    else:
        closing_page(page, course, session.words)
    session.dialogue.show(page)


def suppose(session: Session, rest: str) -> None:
    """What would follow from a reading that has not been taken."""
    if not rest:
        session.dialogue.say("Say what to suppose: `suppose plate current 95 mA`.")
        return
    said = _one(session, rest)
    if said is None:
        return
    then = session.course.enter(said.observation)
    supposed = Course(then.assembly, then.case, session.course.standing)
    page = session.dialogue.page()
    page.say(
        f"Supposing {entries.observation_text(supposed, said.observation, session.words)}; nothing is entered."
    )
    if supposed.standing.stop_orders:
        screen.stop(page, supposed.standing.stop_orders, session.words)
    screen.standing(page, supposed)
    closing = supposed.closing
    if closing is not None and closing.kind == REMEDY and closing.cause and closing.cause.remedy:
        page.say(f"Then it would be worth doing: {closing.cause.remedy.do}.")
    elif supposed.proposal is not None:
        page.say(f"Then the next check would be: {supposed.proposal.advised.title}.")
    session.dialogue.show(page)


def readings(session: Session, rest: str) -> None:
    """The readings so far as they are understood."""
    page = session.dialogue.page()
    readings_page(page, session.course.standing, session.words, workings=False)
    if not page.lines:
        page.say("Nothing was read or seen yet.")
    session.dialogue.show(page)


def record(session: Session, rest: str) -> None:
    """All entries with their numbers."""
    page = session.dialogue.page()
    entries.record(page, session.course, session.words)
    session.dialogue.show(page)


def others(session: Session, rest: str) -> None:
    """What else may be done now."""
    if session.course.standing.stop_orders:
        session.dialogue.say("A stop order stands. It comes before any check.")
        return
    page = session.dialogue.page()
    screen.others(page, session.course.options, session.course, session.words)
    session.dialogue.show(page)
    session.dialogue.say(
        "`take N` takes one of them." if session.course.options else "There is nothing else."
    )


def take(session: Session, rest: str) -> None:
    """Takes a check of the list instead of the one proposed."""
    options = session.course.options
    given = numbers_in(rest)
    if given is None or len(given) != 1 or not 1 <= given[0] <= len(options):
        session.dialogue.say(f"Say which: `take N`, N from 1 to {len(options)} as `others` lists them.")
        return
    session.choose(options[given[0] - 1])


def note(session: Session, rest: str) -> None:
    """A sign in the person's own words, found and confirmed."""
    words = rest or session.dialogue.ask("What do you see, hear or smell?")
    if words:
        noted(session.dialogue, session.course, session.apply, words)


def did(session: Session, rest: str) -> None:
    """Work that was done, to which part, and which stop order it answers."""
    course, dialogue = session.course, session.dialogue
    words = rest or dialogue.ask("What was done?")
    if not words:
        return
    orders = course.standing.stop_orders
    given = numbers_in(words)
    leaders = screen.leaders(course.standing)
    if given is not None:
        if not all(1 <= number <= len(leaders) for number in given):
            dialogue.say(f"The list has no {words}; say what was done in words.")
            return
        chosen = [leaders[number - 1] for number in given]
        remedies = [part.causes[0].remedy for part in chosen]
        words = "; ".join(r.do if r else p.title for r, p in zip(remedies, chosen, strict=True))
        done_to = [part.id for part in chosen]
        cures = [part.causes[0].id for part in chosen if part.causes[0].remedy is not None]
    else:
        done_to, cures = [], []
    answered = [o.id for o in orders if dialogue.yes(f"Does this answer the order: {o.text} [y/n]")]
    if given is None:
        done_to = _parts(session, words)
    session.step = None
    for order in answered or [""]:
        session.apply(lambda now, order=order: now.did(words, done_to, order, cures))  # type: ignore[misc]
    named = listed(session.words.part(part) for part in done_to)
    dialogue.say(f"Entered: work, {words}{f' ({named})' if named else ''}.")
    for part in done_to:
        lead = next((c for c in course.standing.causes if c.part == part), None)
        if lead is not None and lead.remedy is not None and lead.remedy.moves:
            dialogue.say(f"It also moves: {'; '.join(lead.remedy.moves)}.")
    if done_to or not answered:
        dialogue.say("What was read before it is kept as the state before; it is no longer the state of now.")


def cannot(session: Session, rest: str) -> None:
    """Leaves what is asked out: it cannot be taken on this bench."""
    meant = session.meant("can't measure")
    if meant is None:
        session.dialogue.say("Nothing is asked that could be left out.")
        return
    session.answer(meant)


def confirm(session: Session, rest: str) -> None:
    """Notes what a part had as the cause that was found."""
    part = _part(session, rest) if rest else None
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


def mains(session: Session, rest: str) -> None:
    """Another line voltage from now on."""
    volts = line_voltage(session.dialogue, session.course, rest)
    if volts is not None:
        session.apply(lambda now: now.under(mains=volts))
        session.dialogue.say(f"Line voltage from now on: {numbers.value(volts, 'V')}.")


def proven(session: Session, rest: str) -> None:
    """What of the bench's safety is proven now."""
    missing = [f for f in session.words.safety if f not in session.course.case.safety]
    if not missing:
        session.dialogue.say("All that this bench asks to be proven is proven.")
    for fact in missing:
        if session.dialogue.yes(f"{capital(session.words.safety[fact])}? [y/n]"):
            session.apply(lambda now, fact=fact: now.prove(fact))  # type: ignore[misc]


def again(session: Session, rest: str) -> None:
    """Shows the screen again."""
    session.seen, session.whole = None, True
    session.said.clear()


def finish(session: Session, rest: str) -> None:
    """Ends the interview."""
    session.over = True


def help_(session: Session, rest: str) -> None:
    """The words that may be used."""
    page = session.dialogue.page()
    page.say(
        "Answer what is asked: a value (`145`, `about 145 mA`, `60-80`, `145 on 20m`), a word (`low`, `ok`),"
    )
    page.say("`y`, `n`, `not sure`, `can't measure`, `no such control`. Or one of these words:")
    for word, meaning in HELP.items():
        page.row((word, meaning), (24, page.width - 28))
    session.dialogue.show(page)


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
        said = _choose(session, found)
        if said is not None:
            session.enter(said.observation)
        return True
    return False


def _one(session: Session, line: str) -> Said | None:
    told = heard(line, session.course)
    if told.refused is not None:
        session.dialogue.say(not_usable(told.refused))
        return None
    if not told.said:
        session.dialogue.say(
            f"`{line}` names no reading or sign with a value. Like this: `plate current 95 mA`."
        )
        return None
    return _choose(session, told.said)


def _choose(session: Session, found: tuple[Said, ...]) -> Said | None:
    if len(found) == 1 and found[0].sure:
        return found[0]
    titles = [
        capital(entries.observation_text(session.course, said.observation, session.words)) for said in found
    ]
    session.dialogue.say("Which of these?" if len(found) > 1 else "Is this meant?")
    picked = session.dialogue.pick("A number, or `none`.", titles, several=False)
    return found[picked[0]] if _is_number(picked, session) else None


def _part(session: Session, words: str) -> str | None:
    """One part of the rig by its number in the list, its id or words."""
    course = session.course
    given = numbers_in(words)
    blamed = [part.id for part in screen.leaders(course.standing)]
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
    return hits[picked[0]].entry.name if _is_number(picked, session) else None


def _is_number(picked: tuple[int, ...] | str, session: Session) -> TypeGuard[tuple[int, ...]]:
    """Whether something was picked; other words are taken as if they had been said at the prompt."""
    if isinstance(picked, str):
        session.take(picked)
        return False
    return bool(picked)


def _parts(session: Session, words: str) -> list[str]:
    """The parts that work was done to, by its words; none where it was none of the book's."""
    while True:
        hits = parts(session.course.assembly).find(words)
        if not hits or hits[0].score < LIKELY:
            words = session.dialogue.ask("To which part was it done? (Enter: none that the book knows)")
            if not words:
                return []
            continue
        session.dialogue.say("To which part was it done?")
        picked = session.dialogue.pick("Numbers, `none`, or other words.", [h.entry.title for h in hits])
        if not isinstance(picked, str):
            return [hits[number].entry.name for number in picked]
        words = picked


HELP: Final[Mapping[str, str]] = {
    "grounds": "why this is asked",
    "grounds PART": "why a part is blamed, and why not more (its number or name)",
    "suppose NAME VALUE": "what would follow; nothing is entered",
    "readings": "the readings so far, as they are understood",
    "record": "all entries with their numbers",
    "strike N, amend N VALUE": "take an entry back, or change it",
    "others, take N": "other checks, and taking one of them",
    "NAME VALUE": "any reading or sign: `plate current 95 mA`",
    "note WORDS": "something seen, heard or smelt",
    "did WORDS": "work done (`did 1`: the remedy of the first part)",
    "confirm PART": "it was this part: noted as the cause that was found",
    "cannot": "this cannot be taken on this bench",
    "mains VALUE": "another line voltage from now on",
    "proven": "what is proven safe on this bench",
    "again, help, finish": "the screen again, this list, the end",
}
VERBS: Final[Mapping[str, Verb]] = {
    "grounds": grounds,
    "suppose": suppose,
    "readings": readings,
    "record": record,
    "others": others,
    "take": take,
    "note": note,
    "did": did,
    "strike": strike,
    "amend": amend,
    "confirm": confirm,
    "cannot": cannot,
    "mains": mains,
    "proven": proven,
    "again": again,
    "help": help_,
    "finish": finish,
}
