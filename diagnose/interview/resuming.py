"""Taking up a case that was begun before: what in it is sooner a slip is looked at once more."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from diagnose.diagnosis import diagnose
from diagnose.interview.course import Course, begin
from diagnose.interview.unlikely import times_told, unlikely
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Book

LAST: Final = 6  # answers of an earlier run that are judged anew, at most: each costs a diagnosis


def resumed(book: Book, case: Case) -> Course:
    """The course of a case that was begun before: what by all else in it is sooner a slip is looked at once more.

    These are the last signs of a fault of now, and a good answer if it was the last of all: older ones were looked at by
    then. The first thing that a case holds is what it was opened for, and is not doubted.
    """
    course = begin(book, case)
    end = len(case.observations) - 1
    standing = {
        finding.observation: finding
        for finding in course.found.values()
        if course.is_now(finding.observation)
    }
    told_once = [
        number
        for number, o in enumerate(case.observations)
        if number and o in standing and times_told(course.standing, standing[o]) == 1
        if o.name in course.abnormal or (number == end and o.name in course.found)
    ]
    carried: dict[Observation, float] = {}
    for number in told_once[-LAST:]:
        last = case.observations[number]
        others = (*case.observations[:number], *case.observations[number + 1 :])
        before = diagnose(course.assembly, replace(case, observations=others), advice=False, details=False)
        now = replace(course.standing, case=replace(case, observations=(*others, last)))
        carried.update(unlikely(course.assembly, before, now))
    again = replace(course, carried=carried)
    again.__dict__["standing"] = course.standing  # of the same case
    return again
