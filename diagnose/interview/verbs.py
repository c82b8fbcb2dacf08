"""The words that may be used at any prompt, beside answers: what each does with what follows it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from diagnose.interview.amending import amend, strike
from diagnose.interview.complaint import noted
from diagnose.interview.dialogue import numbers_in
from diagnose.interview.intake import line_voltage
from diagnose.interview.looking import grounds, others, proof, readings, record, suppose
from diagnose.interview.same_named import check_title
from diagnose.interview.session import Session
from diagnose.interview.setups import other_states, stands
from diagnose.interview.which_one import is_number
from diagnose.interview.working import confirm, did
from diagnose.model.proofs import unproven
from diagnose.render import numbers
from diagnose.render.page import capital, styled

Verb = Callable[[Session, str], None]


def take(session: Session, rest: str) -> None:
    """Takes a check of the list that `others` showed last, else of the one that it would show now."""
    course = session.course
    if course.standing.stop_orders:
        session.dialogue.say("A stop order stands. It comes before any check.")
        return
    listed = session.listed or tuple(step.id for step in course.options)
    given = numbers_in(rest)
    if not listed:
        session.dialogue.say("There is no check to take.")
    elif given is None or len(given) != 1 or not 1 <= given[0] <= len(listed):
        session.dialogue.say(f"Say which: `take N`, N from 1 to {len(listed)} as `others` lists them.")
    else:
        _take(session, listed[given[0] - 1])


def _take(session: Session, check: str) -> None:
    """A check of the list, if it can still be done."""
    course = session.course
    step = next((option for option in course.options if option.id == check), None)
    title = check_title(course.assembly, check, course.assembly.checks[check].check.title)
    if step is None and check not in {placed.id for placed in course.possible}:
        session.dialogue.say(
            f"{capital(title)}: that cannot be done as things stand now. `others` lists anew."
        )
        return
    if step is None:  # it tells nothing that is still open, and is the person's own choice
        step = course.step(check)
    session.hand.take(step)


def note(session: Session, rest: str) -> None:
    """A sign in the person's own words, found and confirmed."""
    words = rest or session.dialogue.ask("What do you see, hear or smell?")
    if words:
        noted(session.dialogue, session.course, session.apply, words)


def cannot(session: Session, rest: str) -> None:
    """Leaves what is asked out: it cannot be taken on this bench."""
    meant = session.meant("can't measure")
    if meant is None:
        session.dialogue.say("Nothing is asked that could be left out.")
        return
    session.answer(meant)


def mains(session: Session, rest: str) -> None:
    """Another line voltage from now on."""
    volts = line_voltage(session.dialogue, session.course, rest.removeprefix("=").strip())
    if volts is not None:
        case = session.course.case
        session.apply(lambda now: now.under(mains=volts))
        said = f"Line voltage from now on: {numbers.value(volts, 'V')}."
        if any(observation.value is not None for observation in case.observations):
            was = "" if case.mains is None else numbers.value(case.mains, "V")
            said += (
                f" What was read before stays with the line voltage it was read under ({was})."
                if was
                else (" It holds for what was read before too, since no other was told.")
            )
        session.dialogue.say(said)


def bench(session: Session, rest: str) -> None:
    """How the bench is taken to stand, and what of that is otherwise."""
    if session.course.standing.stop_orders:
        session.dialogue.say("A stop order stands. It comes before the bench.")
        return
    session.dialogue.say(f"The bench is taken to stand so: {stands(session.course)}.")
    others = other_states(session.course)
    picked = session.dialogue.pick(
        "Which of these is so instead? [numbers; Enter: none]", [state.title for _, state in others]
    )
    if not is_number(picked, session):
        return
    now = {**session.course.case.bench, **{others[n][0]: others[n][1].id for n in picked}}
    session.apply(lambda course: course.amended(bench=now))
    session.dialogue.say(f"The bench is taken to stand so: {stands(session.course)}.")
    for number in picked:
        for caution in others[number][1].cautions:
            session.dialogue.say(styled((caution, "caution")), indent=2)


def proven(session: Session, rest: str) -> None:
    """What of the bench's safety is proven now."""
    bench = session.course.assembly.book.bench
    missing = unproven(bench, session.course.case)
    if not missing:
        session.dialogue.say("All that this bench asks to be proven is proven.")
    for fact in missing:
        asked = bench.safety_facts[fact]
        if session.dialogue.yes(f"{asked.ask or f'{capital(asked.title)}?'} [y/n]"):
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
        "Answer what is asked: a value (`145`, `about 145 mA`, `60-80`, `145 on 20m`), a word (`low`, `ok`), "
        "`y`, `n`, `not sure`, `can't measure`, `no such control`. Or one of these words:"
    )
    for word, meaning in HELP.items():
        page.row((word, meaning), (24, page.width - 28))
    session.dialogue.show(page)


HELP: Final[Mapping[str, str]] = {
    "grounds, grounds check": "why this is asked, and why the check that it is of",
    "grounds PART": "why a part is blamed, and why not more (its number or name)",
    "suppose NAME VALUE": "what would follow; nothing is entered",
    "readings": "the readings so far, as they are understood",
    "record": "all entries with their numbers",
    "proof": "the readings that prove the set, with what is still to be taken",
    "strike N, amend N VALUE": "take an entry back, or change it",
    "others, take N": "other checks, and taking one of them",
    "NAME VALUE": "any reading or sign: `plate current 95 mA`",
    "note WORDS": "something seen, heard or smelt",
    "did WORDS": "work done (`did 1`: the remedy of the first part)",
    "confirm PART": "it was this part: noted as the cause that was found",
    "cannot": "this cannot be taken on this bench",
    "mains VALUE": "another line voltage from now on",
    "band, mode, ... VALUE": "so too what else was asked once: `band 20m`",
    "proven": "what is proven safe on this bench",
    "bench": "how the bench is taken to stand, to be put right",
    "again, help, finish": "the screen again, this list, the end",
}
VERBS: Final[Mapping[str, Verb]] = {
    "grounds": grounds,
    "suppose": suppose,
    "readings": readings,
    "record": record,
    "proof": proof,
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
    "bench": bench,
    "again": again,
    "help": help_,
    "finish": finish,
}
