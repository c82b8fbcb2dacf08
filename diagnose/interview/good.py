"""What a good set shows for a quantity, today and on this bench."""

from __future__ import annotations

from diagnose.evidence.expected import expectation
from diagnose.evidence.grade import good_limits, with_tolerance
from diagnose.interview.course import Course
from diagnose.model.case import Observation
from diagnose.render import numbers


def expected(course: Course, name: str) -> str:
    """What a good set shows for a quantity now, with its limits: `585 V (526 to 644 V)`; "" where none is known."""
    placed = course.assembly.indications.get(name)
    if placed is None or placed.indication.sort != "quantity":
        return ""
    indication, states, size = placed.indication, placed.indication.states, 1.0
    unit = "" if indication.unit == "dimensionless" else indication.unit
    centre = ""
    if indication.scale == "ratio":
        mains = course.case.mains
        found = expectation(course.assembly, course.case, Observation(name))
        if found is None:
            return ""
        if found.tolerance is not None:
            states = with_tolerance(states, indication.tolerance, found.tolerance)
        rig = course.assembly.rig
        size = found.value
        if mains is not None and indication.follows_mains:
            size *= (mains / rig.mains_voltage) ** indication.follows_mains
        by = "" if found.by == "the chart" else ", worked out"
        centre = f"{numbers.value(size, unit)}{by}"
    limits = good_limits(states)
    if limits is None:
        return centre
    low, high = sorted(limit * size for limit in limits)
    sides = {state.side for state in states}
    if centre:
        return f"{centre} ({numbers.span(low, high, unit)})"
    if "up" not in sides:
        return f"{numbers.value(low, unit)} or more"
    if "down" not in sides:
        return f"up to {numbers.value(high, unit)}"
    return numbers.span(low, high, unit)
