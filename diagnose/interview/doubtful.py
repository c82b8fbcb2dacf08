"""A value that may be read, and yet is so far from a good set that it is asked again before it is believed."""

from __future__ import annotations

from typing import Final

from diagnose.evidence.expected import expectation
from diagnose.interview.course import Course
from diagnose.model.case import Observation
from diagnose.render import numbers

FAR: Final = 10.0  # times what a good set shows: faults reach that far seldom, slips of the pen often


def doubt(course: Course, observation: Observation) -> str:
    """Why a value is hard to believe, or ""; only upward, since anything may read next to nothing."""
    placed = course.assembly.indications.get(observation.name)
    if placed is None or observation.value is None or placed.indication.scale != "ratio":
        return ""
    found = expectation(course.assembly, course.case, observation)
    if found is None or abs(observation.value) <= FAR * abs(found.value):
        return ""
    indication = placed.indication
    unit = "" if indication.unit == "dimensionless" else indication.unit
    times = abs(observation.value) / abs(found.value) if found.value else 0.0
    if not times:
        return ""
    good, said = numbers.value(found.value, unit), numbers.value(observation.value, unit)
    return f"{said} is {numbers.digits(round(times))} times what a good set shows here ({good})"
