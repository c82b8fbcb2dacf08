"""Readings and symptoms of a case as observations; what is unusable is named and left out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from diagnose.files import values
from diagnose.files.desk import Desk
from diagnose.files.document import Node
from diagnose.files.read_circumstances import WARMTH, circumstances, work_number
from diagnose.files.read_seen import Subject, seen
from diagnose.model.case import Observation
from diagnose.problems import Place

# Keys of an entry that say what was read; those of one group go together.
SAID = {
    "value": "value",
    "bands": "bands",
    **dict.fromkeys(WARMTH, "warmth"),
    **dict.fromkeys(("before", "after"), "work"),
}

Said = tuple[Node, dict[str, Any]]  # what was read, with the fields that go with it alone


def read_readings(root: Node, desk: Desk) -> Iterator[Observation]:
    """The observations under `readings`: a mapping by name, or a list with `quantity` or `symptom` in each."""
    section = root.get("readings")
    if section is None:
        return
    for name, node in section.entries.items():
        if node.members:
            for member in node.members:
                yield from observations(name, member.place, member, desk)
        else:
            yield from observations(name, node.key_place, node, desk)
    for node in section.members:
        quantity, symptom = node.get("quantity"), node.get("symptom")
        if quantity is not None and quantity.is_scalar:
            yield from observations(values.text(quantity), quantity.place, node, desk)
        elif symptom is not None and symptom.is_scalar:
            if node.get("answer") is None:
                said = "a symptom wants `answer`, which is not here"
                desk.faults.error(node.key_place, "missing-key", said, "add `answer:`, yes, no or a state")
            yield from _answered(values.text(symptom), symptom.place, node, desk)
        elif node.entries and quantity is None and symptom is None:
            said = "a reading wants `quantity`, which is not here"
            hint = "add `quantity:` with stage.quantity, or `symptom:` with stage.symptom"
            desk.faults.error(node.key_place, "missing-key", said, hint)


def read_symptoms(root: Node, desk: Desk) -> Iterator[Observation]:
    """The observations under `symptoms`."""
    section = root.get("symptoms")
    for name, node in section.entries.items() if section is not None else ():
        if node.members:
            for member in node.members:
                yield from _answered(name, member.place, member, desk)
        else:
            yield from _answered(name, node.key_place, node, desk)


def _answered(name: str, place: Place, node: Node, desk: Desk) -> Iterator[Observation]:
    """The observation of one answer, plain or with its circumstances."""
    subject = subject_of(name, place, desk)
    answer = node.get("answer") if node.entries else node
    if subject is not None and answer is not None:
        shared = circumstances(node, subject.unit, desk) | _own_words(node)
        yield from _observed(name, subject, [(answer, {})], shared, place, desk)


def _own_words(node: Node) -> dict[str, Any]:
    """The person's own words, where they stand beside what was understood."""
    said = node.get("said")
    return {"as_written": values.text(said)} if said is not None and said.is_scalar else {}


def observations(name: str, place: Place, node: Node, desk: Desk) -> Iterator[Observation]:
    """The observations of one entry, plain or with its circumstances; nothing if it is unusable."""
    subject = subject_of(name, place, desk)
    if subject is None:
        return
    if not node.entries:
        yield from _observed(name, subject, [(node, {})], {}, place, desk)
        return
    said = _said(name, place, node, desk)
    shared = circumstances(node, subject.unit, desk)
    if "value" in node.entries:
        shared |= _own_words(node)
    yield from _observed(name, subject, said, shared, place, desk)


def _observed(
    name: str, subject: Subject, said: list[Said], shared: dict[str, Any], place: Place, desk: Desk
) -> Iterator[Observation]:
    for node, own in said:
        if not (node.is_scalar or node.value is None):
            continue
        found = seen(name, subject, node, desk)
        if found is not None:
            yield replace(found, **{"place": node.key_place if own else place, **shared, **own})


def subject_of(name: str, place: Place, desk: Desk) -> Subject | None:
    """The quantity, symptom, pattern or figure of a name; None, with a problem, for what is none of them."""
    names = desk.names
    subject = names.indications.get(name) or names.figures.get(name)
    if subject is not None:
        return subject
    if name in names.absent:
        said = f"this rig has no `{name}`"
        desk.faults.error(place, "not-on-this-rig", said, f"that is found only with {names.absent[name]}")
    elif name in names.derived:
        said = f"`{name}` is worked out from other readings"
        hint = "give " + ", ".join(names.derived[name]) if names.derived[name] else ""
        desk.faults.error(place, "worked-out", said, hint)
    else:
        said = f"`{name}` is no quantity or symptom of the rig {desk.rig.id}"
        desk.faults.unknown(place, "unknown-name", said, name, names.readable())
    return None


def _said(name: str, place: Place, node: Node, desk: Desk) -> list[Said]:
    """What an entry says was read: one value, or one for each band, for cold and warm, before and after."""
    keys = [key for key in SAID if key in node.entries]
    groups = {SAID[key] for key in keys}
    if not groups:
        said = "a reading wants `value`, which is not here"
        desk.faults.error(place, "missing-key", said, "add `value:` (A value with its unit, or a state)")
        return []
    if len(groups) > 1:
        said = f"{name}: " + " and ".join(f"`{key}`" for key in keys) + " do not go together"
        desk.faults.error(place, "reading", said, "write a list of readings")
        return []
    group = groups.pop()
    work = node.get("work")
    if work is not None and group != "work":
        said = "`work` goes with `before` and `after`"
        desk.faults.error(work.key_place, "reading", said, "say how many were done by `period:`")
    if group == "value":
        return [(node.entries["value"], {})]
    if group == "bands":
        return _by_band(node, desk)
    if group == "warmth":
        return [(node.entries[key], {"warmth": key}) for key in keys]
    return _around_work(node, desk)


def _by_band(node: Node, desk: Desk) -> list[Said]:
    """One reading for each band."""
    own = node.get("band")
    if own is not None:
        said = "`band` and `bands` do not go together"
        desk.faults.error(own.key_place, "reading", said, "remove `band`")
    found: list[Said] = []
    for band, entry in node.entries["bands"].entries.items():
        if band in desk.rig.bands:
            found.append((entry, {"band": band}))
        else:
            said = f"`{band}` is no band of this rig"
            desk.faults.unknown(entry.key_place, "unknown-band", said, band, desk.rig.bands)
    return found


def _around_work(node: Node, desk: Desk) -> list[Said]:
    """The reading before a piece of work and the one after it; without any work, only the latter."""
    work = node.get("work")
    number = desk.works if work is None else work_number(work, 1, desk)
    before, after = node.get("before"), node.get("after")
    if work is None and not desk.works and before is not None:
        said = "nothing is entered under `work` that this was read before"
        desk.faults.error(before.key_place, "no-work", said, "enter what was done, or write `value`")
    if not number:
        return [(after, {"period": None})] if after is not None and work is None else []
    found = ((before, number - 1), (after, number))
    return [(entry, {"period": period}) for entry, period in found if entry is not None]
