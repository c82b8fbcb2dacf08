"""When the work was the cure: what it convicts, and what is still to be read before the set is called good."""

from __future__ import annotations

from typing import Final

from diagnose.interview.course import Course
from diagnose.interview.good import expected
from diagnose.model.result import Repair
from diagnose.render import numbers
from diagnose.render.page import Page, capital, listed, styled
from diagnose.render.words import Words

CONVICTED: Final = 0.5  # chance that a part was bad before the work, from which the work is called its cure


def convicted(course: Course) -> tuple[Repair, ...]:
    """The repairs since the trouble was seen whose part was sooner bad than good before them."""
    since = course.suspected_cures
    return tuple(r for r in course.standing.repairs if r.work - 1 in since and r.bad_before >= CONVICTED)


def cured(page: Page, course: Course, words: Words) -> None:
    """The work was the cure: what is still to be read before the set is called good."""
    repairs = convicted(course)
    done = dict.fromkeys(course.case.work[number].did for number in course.suspected_cures)
    if repairs:
        did = listed(dict.fromkeys(repair.did for repair in repairs))
        page.say(styled((f"Nothing is wrong any more: {did} was the cure.", "good")))
    else:
        page.say(styled((f"Nothing is wrong any more since this was done: {listed(done)}.", "good")))
        page.say(
            "The work helped, but convicts no part: by all that was read it is not likely that what it was done to "
            "was bad. If the trouble comes back, look further.",
            indent=2,
        )
    for repair in repairs:
        was, now = numbers.chance(repair.bad_before), numbers.chance(repair.bad_after)
        title = f"{capital(repair.title)} ({repair.stage_title})"
        page.say(f"{title}: bad before the work in {was} such sets, after it in {now}.", indent=2)
    if course.proof_missing:
        page.say("The final readings that prove the set, to be taken now:")
        proof(page, course, words)


def proof(page: Page, course: Course, words: Words) -> None:
    """The readings that are still to be taken, with what a good set shows."""
    for name in course.proof_missing:
        good = expected(course, name) or words.state(name, words.good[name])
        page.say(f"{words.placed(name)}: {good}", first="  -", indent=4)
