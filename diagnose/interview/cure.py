"""When the work was the cure: what it convicts, and what is still to be read before the set is called good."""

from __future__ import annotations

from typing import Final

from diagnose.interview.course import Course
from diagnose.interview.good import expected
from diagnose.model.result import Repair
from diagnose.render import numbers
from diagnose.render.page import Page, capital, listed, styled
from diagnose.render.words import Words

SHOWN: Final = 5  # readings of a list that is told with other things
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


def proof(page: Page, course: Course, words: Words, most: int = SHOWN) -> None:
    """The readings that are still to be taken, at most so many, with what a good set shows."""
    missing = course.proof_missing
    shown = missing[:most] if len(missing) > most + 1 else missing
    for name in shown:
        good = expected(course, name) or words.state(name, words.good[name])
        page.say(f"{words.placed(name)}: {good}", first="  -", indent=4)
    if len(shown) < len(missing):
        page.say(f"and {len(missing) - len(shown)} more: `proof` lists all", first="  -", indent=4)


def proof_page(page: Page, course: Course, words: Words) -> None:
    """All that proves the rig good: what is to be taken, and what is known."""
    page.heading("What proves this set")
    missing = course.proof_missing
    if missing:
        page.say("To be taken:", indent=2)
        proof(page, course, words, len(missing))
    wanted = (name for name in course.assembly.rig.proof if name in course.found)
    known = [f"{words.placed(name)}: {words.state(name, course.found[name].state)}" for name in wanted]
    if known:
        page.say("Known of it as it is:", indent=2)
        for said in known:
            page.say(said, first="  -", indent=4)
    if not missing and not known:
        page.say("This rig names no readings that prove it.", indent=2)
