"""Readings and symptoms of a case as observations; what is unusable is named and left out."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import Faults, did_you_mean
from diagnose.files.plausible import odd_magnitude
from diagnose.files.read_history import NOT_KNOWN
from diagnose.files.rig_names import RigNames
from diagnose.model.case import Observation
from diagnose.model.knowledge import Indication, Rig
from diagnose.problems import Place
from diagnose.units import UnitError, parse_quantity

ROUGHLY = 0.10  # what `about` in front of a reading says of its accuracy

_ABOUT = re.compile(r"(?:about|around|roughly|approx\.?|ca\.?|~)\s*", re.IGNORECASE)


@dataclass(frozen=True)
class Desk:
    """What is needed to judge what a case says."""

    rig: Rig
    names: RigNames
    reports: Mapping[str, float]
    faults: Faults


def read_readings(root: Node, desk: Desk) -> Iterator[Observation]:
    """The observations under `readings`: a mapping by name, or a list with `quantity` in each."""
    section = root.get("readings")
    if section is None:
        return
    for name, node in section.entries.items():
        yield from _observation(name, node.key_place, node, "value", desk)
    for node in section.members:
        quantity = node.get("quantity")
        if quantity is not None and quantity.is_scalar:
            yield from _observation(values.text(quantity), quantity.place, node, "value", desk)


def read_symptoms(root: Node, desk: Desk) -> Iterator[Observation]:
    """The observations under `symptoms`."""
    section = root.get("symptoms")
    for name, node in section.entries.items() if section is not None else ():
        yield from _observation(name, node.key_place, node, "answer", desk)


def choice(node: Node | None, what: str, known: Iterable[str], faults: Faults) -> str:
    """The word of a node if it is among the known ones; "" with a problem if not."""
    word = values.text(node)
    if node is None or not word:
        return ""
    known = tuple(known)
    if word in known:
        return word
    id = f"unknown-{what.split(maxsplit=1)[0]}"
    faults.unknown(node, id, f"`{word}` is no {what}", word, known)
    return ""


def _observation(name: str, place: Place, node: Node, key: str, desk: Desk) -> Iterator[Observation]:
    """The observation of one entry, plain or with its circumstances; nothing if it is unusable."""
    indication = _indication(name, place, desk)
    said = node.get(key) if node.entries else node
    if indication is None or said is None or not (said.is_scalar or said.value is None):
        return
    seen = _seen(name, indication, said, desk)
    if seen is None:
        return
    if not node.entries:
        yield replace(seen, place=place)
        return
    within = values.share(node.get("within"), desk.faults)
    yield replace(
        seen,
        within=seen.within if within is None else within,
        mode=choice(node.get("mode"), "mode of this rig", desk.rig.features.get("modes", ()), desk.faults),
        band=choice(node.get("band"), "band of this rig", desk.rig.bands, desk.faults),
        mains=values.quantity(node.get("mains"), "V", desk.faults),
        told_by=choice(node.get("told_by"), "report of the bench", desk.reports, desk.faults) or seen.told_by,
        while_showing=values.flag(node, "while_showing") if "while_showing" in node.entries else None,
        place=place,
    )


def _indication(name: str, place: Place, desk: Desk) -> Indication | None:
    indication = desk.names.indications.get(name)
    if indication is None:
        if name in desk.names.absent:
            said = f"this rig has no `{name}`"
            hint = f"that is found only with {desk.names.absent[name]}"
            desk.faults.error(place, "not-on-this-rig", said, hint)
        else:
            said = f"`{name}` is no quantity or symptom of the rig {desk.rig.id}"
            desk.faults.unknown(place, "unknown-name", said, name, desk.names.indications)
    return indication


def _seen(name: str, indication: Indication, said: Node, desk: Desk) -> Observation | None:
    """A state, a measured value, or "not known"."""
    written = values.text(said)
    word = written.lower()
    if indication.sort == "symptom" and isinstance(said.value, bool):
        word = "yes" if said.value else "no"
    if said.value is None or word in NOT_KNOWN:
        return Observation(name, as_written=written)
    states = {state.id.lower(): state.id for state in indication.states}
    if word in states:
        return Observation(name, state=states[word], as_written=written)
    if indication.sort == "quantity" and any(character.isdigit() for character in written):
        return _measured(name, indication, said, desk)
    known = [*states.values(), "not known"]
    text = f"`{written}` is no state of {name}"
    hint = did_you_mean(written, known)
    if indication.sort == "quantity" and not hint.startswith("did"):
        hint = f"write a value like `12.5 {indication.unit}` or one of: " + ", ".join(known)
    desk.faults.error(said, "unknown-state", text, hint)
    return None


def _measured(name: str, indication: Indication, said: Node, desk: Desk) -> Observation | None:
    written = values.text(said)
    about = _ABOUT.match(written)
    number = written[about.end() :] if about else written
    try:
        value = parse_quantity(number, indication.unit)
    except UnitError as error:
        desk.faults.error(said, "unit", f"{name}: {error.text}", error.hint)
        return None
    odd = odd_magnitude(name, value, indication, desk.rig.chart)
    if odd is not None:
        text, hint = odd
        desk.faults.warning(said, "odd-magnitude", f"{name}: {text}; it is left out", hint)
        return None
    within = ROUGHLY if about else None
    return Observation(name, value=value, as_written=written, within=within)
