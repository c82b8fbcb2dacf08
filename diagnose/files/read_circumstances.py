"""Under which circumstances a reading was made: mode, band, mains, meter, warmth, before which work."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from diagnose.files import values
from diagnose.files.choices import choice
from diagnose.files.desk import Desk
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.read_meters import range_in_use
from diagnose.model.knowledge import Rig

WARMTH = ("cold", "warm")

# No line is so far above that of a rig, and a set shows nothing on so little of it.
_MOST_MAINS = 2.5
_LEAST_MAINS = 0.01


def circumstances(node: Node, unit: str, desk: Desk) -> dict[str, Any]:
    """What an entry says of its reading, as fields of an observation; `unit` is that of the quantity."""
    found: dict[str, Any] = {}
    for key, entry in node.entries.items():
        if key in _FIELDS and entry.is_scalar:
            field, read = _FIELDS[key]
            found[field] = read(entry, desk)
    full = node.get("range")
    if full is not None:
        name = found.get("meter", "")
        found["range"] = range_in_use(
            full, desk.meter(name), unit, desk.faults, described=name in desk.meters
        )
    return {field: value for field, value in found.items() if value is not None and value != ""}


def read_mains(node: Node | None, rig: Rig, faults: Faults) -> float | None:
    """The line voltage (V), if it can be meant for this rig; None with a problem if not."""
    mains = values.quantity(node, "V", faults)
    if node is None or mains is None:
        return None
    if _LEAST_MAINS * rig.mains_voltage <= mains <= _MOST_MAINS * rig.mains_voltage:
        return mains
    said = f"{mains:g} V is no mains for this rig, which is made for {rig.mains_voltage:g} V; it is left out"
    faults.error(node, "odd-magnitude", said)
    return None


def read_frequency(node: Node | None, faults: Faults) -> float | None:
    """The frequency of the line (Hz); None where it is not stated or cannot be meant."""
    frequency = values.quantity(node, "Hz", faults)
    if node is None or frequency is None or frequency > 0:
        return frequency
    faults.error(node, "range", f"`{node.written}` should be more than 0")
    return None


def _minutes(node: Node, faults: Faults) -> float | None:
    minutes = values.quantity(node, "min", faults)
    if minutes is None or minutes >= 0:
        return minutes
    faults.error(node, "range", f"`{node.written}` should be at least 0")
    return None


def _yes_or_no(node: Node, faults: Faults) -> bool | None:
    if isinstance(node.value, bool):
        return node.value
    word = choice(node, "answer", ("yes", "no"), faults)
    return word == "yes" if word else None


def work_number(node: Node, least: int, desk: Desk) -> int | None:
    """A number of pieces of work in this case, from `least` on."""
    number = node.value
    if not isinstance(number, int) or isinstance(number, bool):
        desk.faults.error(node, "type", f"`{node.written}` is no number of pieces of work")
        return None
    if least <= number <= desk.works:
        return number
    said = f"there are {desk.works or 'no'} pieces of work in this case, and `{number}` is not among them"
    desk.faults.error(node, "no-work", said, "enter what was done under `work`")
    return None


# Keys that say how a reading was made, with the field of an observation that each gives.
_FIELDS: Mapping[str, tuple[str, Callable[[Node, Desk], Any]]] = {
    "with": ("meter", lambda node, desk: choice(node, "instrument here", desk.instruments, desk.faults)),
    "within": ("within", lambda node, desk: values.share(node, desk.faults)),
    "mode": (
        "mode",
        lambda node, desk: choice(node, "mode of this rig", desk.rig.features.get("modes", ()), desk.faults),
    ),
    "band": ("band", lambda node, desk: choice(node, "band of this rig", desk.rig.bands, desk.faults)),
    "mains": ("mains", lambda node, desk: read_mains(node, desk.rig, desk.faults)),
    "mains_frequency": ("mains_frequency", lambda node, desk: read_frequency(node, desk.faults)),
    "warmth": ("warmth", lambda node, desk: choice(node, "warmth of a set", WARMTH, desk.faults)),
    "minutes": ("minutes", lambda node, desk: _minutes(node, desk.faults)),
    "period": ("period", lambda node, desk: work_number(node, 0, desk)),
    "told_by": (
        "told_by",
        lambda node, desk: choice(node, "report of the bench", desk.bench.reports, desk.faults),
    ),
    "while_showing": ("while_showing", lambda node, desk: _yes_or_no(node, desk.faults)),
}
# Keys of a reading's entry, of a socket and of a table's row that say how it was made.
CIRCUMSTANCES = (*_FIELDS, "range")
