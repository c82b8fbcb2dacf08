"""Words that show and enter nothing: reasons, suppositions, readings, the record, other checks."""

from __future__ import annotations

from typing import Final

from diagnose.explanation.account import account
from diagnose.interview import entries
from diagnose.interview.closing import closing_page
from diagnose.interview.course import REMEDY, Course
from diagnose.interview.cure import proof_page
from diagnose.interview.dangers import stop
from diagnose.interview.reasons import others as other_checks
from diagnose.interview.reasons import outcomes
from diagnose.interview.same_named import check_title
from diagnose.interview.session import Session
from diagnose.interview.standing import standing
from diagnose.interview.weighing import question_grounds
from diagnose.interview.which_one import one, part_named
from diagnose.render.account import explained
from diagnose.render.readings import readings as readings_page

_WHOLE: Final = frozenset({"check", "the check", "whole check", "the whole check"})


def grounds(session: Session, rest: str) -> None:
    """Why this is asked; of the whole check; with a part, why it ranks where it does and not higher."""
    page, course = session.dialogue.page(), session.course
    whole = rest.casefold() in _WHOLE
    if session.step is not None and (whole or (not rest and not session.name)):
        outcomes(page, course, session.step, session.words)
    elif rest and not whole:
        part = part_named(session, rest)
        if part is None:
            return
        cause = next((c.id for c in course.standing.causes if c.part == part), None)
        if cause is not None:
            found = account(course.assembly, course.case, course.standing, cause)
            page = explained(course.standing, found, session.words, page.width)
    elif session.step is not None:
        question_grounds(page, course, session.step, session.name, session.words)
    else:
        closing_page(page, course, session.words)
    session.dialogue.show(page)


def suppose(session: Session, rest: str) -> None:
    """What would follow from a reading that has not been taken."""
    if not rest:
        session.dialogue.say("Say what to suppose: `suppose plate current 95 mA`.")
        return
    said = one(session, rest)
    if said is None:
        return
    then = session.course.enter(said.observation)
    supposed = Course(then.assembly, then.case, session.course.standing)
    page = session.dialogue.page()
    page.say(
        f"Supposing {entries.observation_text(supposed, said.observation, session.words)}; nothing is entered."
    )
    if supposed.standing.stop_orders:
        stop(page, supposed.standing.stop_orders, session.words)
    standing(page, supposed)
    closing = supposed.closing
    if closing is not None and closing.kind == REMEDY and closing.cause and closing.cause.remedy:
        page.say(f"Then it would be worth doing: {closing.cause.remedy.do}.")
    elif supposed.proposal is not None:
        proposal = supposed.proposal
        title = check_title(supposed.assembly, proposal.id, proposal.advised.title)
        page.say(f"Then the next check would be: {title}.")
    session.dialogue.show(page)


def readings(session: Session, rest: str) -> None:
    """The readings so far as they are understood."""
    page = session.dialogue.page()
    readings_page(page, session.course.standing, session.words, workings=False)
    if not page.lines:
        page.say("Nothing was read or seen yet.")
    session.dialogue.show(page)


def proof(session: Session, rest: str) -> None:
    """The readings that prove the set: what is still to be taken, and what is known."""
    page = session.dialogue.page()
    proof_page(page, session.course, session.words)
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
    session.listed = tuple(step.id for step in session.course.options)
    other_checks(page, session.course.options, session.course, session.words)
    session.dialogue.show(page)
    session.dialogue.say(
        "`take N` takes one of them." if session.course.options else "There is nothing else."
    )
