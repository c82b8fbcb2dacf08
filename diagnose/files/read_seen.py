"""What was read or seen: a state, a value, a range of values, or "not known"."""

from __future__ import annotations

import re

from diagnose.files import values
from diagnose.files.desk import Desk
from diagnose.files.document import Node
from diagnose.files.faults import did_you_mean
from diagnose.files.plausible import odd_magnitude
from diagnose.files.read_history import NOT_KNOWN
from diagnose.model.case import Observation
from diagnose.model.knowledge import Indication
from diagnose.model.measuring import Figure
from diagnose.units import UnitError, parse_quantity, split_quantity

ROUGHLY = 0.10  # what `about` in front of a reading says of its accuracy

Subject = Indication | Figure

_ABOUT = re.compile(r"(?:about|around|roughly|approx\.?|ca\.?|~)\s*", re.IGNORECASE)
_BETWEEN = re.compile(r"between\s+(.+?)\s+and\s+(.+)\Z", re.IGNORECASE | re.DOTALL)
_TO = re.compile(r"(?:from\s+)?([-+.0-9].*?)\s+to\s+([-+.0-9].*)\Z", re.IGNORECASE | re.DOTALL)
_TO_ONE = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s+to\s+(?:1|one)\Z", re.IGNORECASE)


def seen(name: str, subject: Subject, said: Node, desk: Desk) -> Observation | None:
    """The observation of one entry that says something; None, with a problem, where it is unusable."""
    written = values.text(said)
    word = written.lower()
    if isinstance(subject, Indication) and subject.sort == "symptom" and isinstance(said.value, bool):
        word = "yes" if said.value else "no"
    if said.value is None or word in NOT_KNOWN:
        return Observation(name, as_written=written)
    known = subject.states if isinstance(subject, Indication) else ()
    states = {state.id.lower(): state.id for state in known}
    if word in states:
        return Observation(name, state=states[word], as_written=written)
    measured = isinstance(subject, Figure) or subject.sort == "quantity"
    if measured and any(character.isdigit() for character in written):
        return _measured(name, subject, said, desk)
    _say_no_state(name, subject, said, [*states.values(), "not known"], desk)
    return None


def _say_no_state(name: str, subject: Subject, said: Node, known: list[str], desk: Desk) -> None:
    written = values.text(said)
    if isinstance(subject, Figure):
        text = f"`{written}` is no value of {name}"
        desk.faults.error(said, "unit", text, f"write it like `12.5 {subject.unit}`".strip())
        return
    hint = did_you_mean(written, known)
    if subject.sort == "quantity" and not hint.startswith("did"):
        hint = f"write a value like `12.5 {subject.unit}` or one of: " + ", ".join(known)
    desk.faults.error(said, "unknown-state", f"`{written}` is no state of {name}", hint)


def _measured(name: str, subject: Subject, said: Node, desk: Desk) -> Observation | None:
    written = values.text(said)
    about = _ABOUT.match(written)
    number = written[about.end() :] if about else written
    try:
        ends = _ends(number, subject.unit)
    except UnitError as error:
        desk.faults.error(said, "unit", f"{name}: {error.text}", error.hint)
        return None
    for value in ends:
        odd = odd_magnitude(name, value, subject, desk.rig.chart) if isinstance(subject, Indication) else None
        if odd is not None:
            text, hint = odd
            desk.faults.error(said, "odd-magnitude", f"{name}: {text}; it is left out", hint)
            return None
    low, high = ends[0], ends[-1]
    if low == high:
        return Observation(name, value=low, as_written=written, within=ROUGHLY if about else None)
    return Observation(name, value=(low + high) / 2, low=low, high=high, as_written=written)


def _ends(written: str, unit: str) -> tuple[float, ...]:
    """One value in `unit`, or the lowest and the highest of a range; raises UnitError."""
    ratio = _TO_ONE.match(written)
    if (
        ratio and unit in ("", "dimensionless") and float(ratio.group(1)) > 1
    ):  # a range begins at its lower end
        return (float(ratio.group(1)),)
    match = _BETWEEN.match(written) or _TO.match(written)
    if match is None:
        return (parse_quantity(written, unit),)
    first, second = match.groups()
    # what has no unit of its own has that of the other: 60 to 80 mA, 0.6 kV to 0.7
    if not split_quantity(first, unit)[1]:
        first = f"{first} {split_quantity(second, unit)[1]}".strip()
    elif not split_quantity(second, unit)[1]:
        second = f"{second} {split_quantity(first, unit)[1]}".strip()
    return tuple(sorted((parse_quantity(first, unit), parse_quantity(second, unit))))
