"""One reading as an uncertain amount: at the mains of today, or carried to the chart's.

What two readings share, the same meter above all, is one source of uncertainty in both (JCGM 100:2008, F.1.2.3).
"""

from __future__ import annotations

import math

from diagnose.evidence.figures import ohms_of
from diagnose.evidence.path import path_of
from diagnose.model.assembly import Assembly, PlacedIndication
from diagnose.model.case import Case, Observation
from diagnose.model.result import Path
from diagnose.uncertain import Uncertain

SMALLEST = 0.02  # of its uncertainty: no reading is told to be less, for what is known in shares needs a size
# Lines of the budget of a path.
READING, LOAD, EXPECTED = "reading it", "load of the meter", "expected value"
_OF_METER, _OF_MAINS = "accuracy of", "mains"


def today(name: str, observation: Observation, path: Path) -> Uncertain:
    """A reading in the unit of its quantity, without the load of its meter, at the mains it was taken at.

    `name` is that of the quantity on the rig.
    """
    parts: dict[str, float] = {}
    for line, share in path.budget:
        if line == READING:
            parts[f"reading {name}{_told_apart(observation)}"] = share * path.corrected
        elif line.startswith(_OF_METER):
            parts[line] = share * path.corrected
        elif line == LOAD:
            parts[f"{line} at {name}"] = share * path.corrected
    return Uncertain(path.corrected, parts)


def at_chart(name: str, observation: Observation, path: Path) -> Uncertain:
    """The same, carried to the mains of the chart."""
    here = today(name, observation, path)
    if not path.corrected:
        return here
    scale = path.at_chart / path.corrected
    parts = {source: scale * part for source, part in here.parts.items()}
    for line, share in path.budget:
        if line not in (READING, LOAD, EXPECTED) and _OF_MAINS in line:
            # two readings at one line voltage are carried alike
            parts[f"{line}, {path.mains:g} V, by the power {path.follows:g}"] = share * path.at_chart
    return Uncertain(path.at_chart, parts)


def path_to(assembly: Assembly, case: Case, placed: PlacedIndication, observation: Observation) -> Path:
    """The path of a reading that is held against nothing."""
    source = ohms_of(assembly, placed.stage, placed.indication.source_resistance)
    return path_of(assembly, case, placed, observation, None, source)


def as_told(value: float, standard: float) -> tuple[float, float]:
    """A value with its standard uncertainty the way a reading states them: the value, and a share of it.

    What is less than SMALLEST of its uncertainty is told as that much, with its sign.
    """
    if abs(value) < SMALLEST * standard:
        value = math.copysign(SMALLEST * standard, value)
    return value, standard / abs(value) if value else 0.0


def _told_apart(observation: Observation) -> str:
    """What tells a reading from others of the same quantity."""
    words = [observation.mode, observation.band, observation.warmth]
    if observation.period is not None:
        many = observation.period
        words.append(f"after {many} piece{'' if many == 1 else 's'} of work")
    return "".join(f", {word}" for word in words if word)
