"""A value that may be meant, and yet is so far from what is usual that it is asked again before it is believed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from diagnose.evidence.expected import expectation
from diagnose.interview.course import Course
from diagnose.interview.dialogue import Dialogue
from diagnose.model.case import Observation
from diagnose.model.knowledge import Rig
from diagnose.render import numbers
from diagnose.render.page import capital

FAR: Final = 10.0  # times what a good set shows: faults reach that far seldom, slips of the pen often
NEAR_LINE: Final = (
    0.8,
    1.2,
)  # of the line voltage a rig is made for: what lines have; slips are seldom in it
ONCE_MORE: Final = "Say it once more if it is so."


@dataclass
class Doubts:
    """What was hard to believe and was said once."""

    once: tuple[str, object] | None = None

    def doubted(self, dialogue: Dialogue, name: str, value: object, reason: str) -> bool:
        """Whether a value is not believed yet: for that reason, which is told, it has to be said twice."""
        if not reason or (name, value) == self.once:
            self.once = None
            return False
        self.once = (name, value)
        dialogue.say(f"{capital(reason)}. {ONCE_MORE}")
        return True


def doubt_line(volts: float, rig: Rig) -> str:
    """Why a line voltage is hard to believe, or ""; a slow bring-up is begun far below the usual."""
    low, high = NEAR_LINE
    if low * rig.mains_voltage <= volts <= high * rig.mains_voltage:
        return ""
    usual, said = numbers.value(rig.mains_voltage, "V"), numbers.value(volts, "V")
    return f"{said} is far from the {usual} that this set is made for"


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
