"""Noting the cause that was found: offered when the work has cured it, or when the person says so."""

from __future__ import annotations

from typing import Final

from diagnose.interview.course import Course
from diagnose.model.result import Repair
from diagnose.render.page import capital

SURE: Final = 0.9  # chance that the part was bad, from which its cause is offered as the one that was found


def found_by_work(course: Course) -> tuple[Repair, ...]:
    """The repairs that cured the set and were surely needed, and whose cause is not noted yet."""
    if not course.cured:
        return ()
    noted = course.case.confirmed or ()
    return tuple(r for r in course.standing.repairs if r.bad_before > SURE and r.cause not in noted)


def likeliest_cause(course: Course, part: str) -> str:
    """What a part most likely had: before the last work on it, else now; "" where the book names no way."""
    repaired = [repair for repair in course.standing.repairs if repair.part == part and repair.cause]
    if repaired:
        return repaired[-1].cause
    return next((c.id for c in course.standing.causes if c.part == part and not c.unnamed), "")


def cause_title(course: Course, cause: str) -> str:
    """A cause in words: `Final tube (final amplifier): weak`."""
    placed, mode = course.assembly.cause(cause)
    stage = course.assembly.rig.stages[placed.stage].title
    return f"{capital(placed.part.title)} ({stage}): {mode.title}"
