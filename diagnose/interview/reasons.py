"""Why a check is proposed, in a line, and what each of its outcomes would do; the other checks that may be done."""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.interview.course import Course
from diagnose.interview.same_named import check_title
from diagnose.interview.steps import AGAIN, CHOSEN, PROOF, REPAIR, SAFETY, Step
from diagnose.render import numbers
from diagnose.render.first import time_needed, why
from diagnose.render.page import Page, capital, styled
from diagnose.render.words import Words


def reason_of(course: Course, step: Step, words: Words) -> str:
    """In a line what a step is good for."""
    if step.purpose == AGAIN:
        return once_more(course, step.names[0], words)
    if step.purpose == REPAIR:
        done = course.last_change
        return f"To see whether the work was the cure: {done.did}." if done is not None else ""
    if step.purpose == PROOF:
        return "One of the readings that prove the set."
    if step.purpose == SAFETY:
        return f"Live checks ask for it: {step.advised.proves}."
    if step.purpose == CHOSEN and not step.advised.separates:
        return "Your own choice."
    return why(course.standing, step.advised, words)


def once_more(course: Course, name: str, words: Words) -> str:
    """Why something that was found is looked at again, and what becomes of the answer."""
    indication = course.assembly.indications[name].indication
    state = course.found[name].state if name in course.found else ""
    found = indication.title if state == "yes" else f"{indication.title}, {words.state(name, state)}"
    again = "Look once more: the same answer again is believed, another takes its place."
    state_before = _told_before(course, name)
    if state_before:
        return (
            f"You found: {found}; before that, {words.state(name, state_before)}. One may be a slip. {again}"
        )
    rare = numbers.chance(course.to_look_at.get(name, 0.0))
    return (
        f"You found: {found}. By all else that is known only {rare} such sets show that, so it may be a slip. "
        f"{again}"
    )


def _told_before(course: Course, name: str) -> str:
    """What else was answered to the same question since the last work, last; "" where nothing was."""
    told = [
        f for f in course.standing.findings if f.name == name and f.state and course.is_now(f.observation)
    ]
    return next((f.state for f in reversed(told) if f.state != told[-1].state), "")


def others(page: Page, steps: Iterable[Step], course: Course, words: Words) -> None:
    """The checks that may be done now, numbered for `take N`."""
    page.heading("What may be done now")
    for number, step in enumerate(steps, start=1):
        said = styled(
            (_title(course, step.id, step.advised.title), "suspect"), f": {time_needed(step.advised)}."
        )
        page.say(said, first=f"{number:>3} ", indent=5)
        page.say(styled((reason_of(course, step, words), "quiet")), indent=5)
    advice = course.standing.advice
    withheld = advice.withheld if advice is not None else ()
    if withheld:
        page.say(styled(("Not safe yet; `proven` enters what is proven:", "caution")))
    for held in withheld[:3]:
        page.say(
            f"{check_title(course.assembly, held.check, held.title)} ({held.because})", first="  -", indent=4
        )
    if len(withheld) > 3:
        page.say(f"and {len(withheld) - 3} more", first="  -", indent=4)


def outcomes(page: Page, course: Course, step: Step, words: Words) -> None:
    """Why this is asked: what each outcome would do."""
    page.heading(_title(course, step.id, step.advised.title))
    page.say(reason_of(course, step, words) or "Nothing more is known of its worth.", indent=2)
    if step.advised.gain_bits > 0:
        page.say(
            f"It is worth {numbers.bits(step.advised.gain_bits)} of what is still open; one bit halves it.",
            indent=2,
        )
    for outcome in step.advised.outcomes[:6]:
        leads = f"then {outcome.leader_title} leads with {numbers.chance(outcome.leader_blame)}"
        page.row((numbers.chance(outcome.probability), f"{outcome.text}; {leads}"), (-10, page.width - 14))
    if step.advised.hazard:
        page.say(f"Danger: {step.advised.hazard}.", indent=2)
    for caution in step.advised.cautions:
        page.say(styled((caution, "caution")), first="  -", indent=4)


def _title(course: Course, check: str, title: str) -> str:
    return capital(check_title(course.assembly, check, title))
