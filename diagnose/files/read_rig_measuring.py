"""What a rig says of measuring: values of its parts, instruments, sockets, multiplication."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from diagnose.files import values
from diagnose.files.choices import choices
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.frozen import Frozen
from diagnose.files.scope import Library
from diagnose.model.knowledge import Socket, Stage, StageKind
from diagnose.model.measuring import Reference


def stated_values(section: Node | None, kind: StageKind | None, faults: Faults) -> Frozen[str, Reference]:
    """The values of its parts that a stage states, in the units of its kind."""
    stated: dict[str, Reference] = {}
    for name, node in (section.entries if section is not None and kind is not None else {}).items():
        known = kind.values if kind is not None else {}
        if name not in known:
            said = f"`{name}` is no value that the kind {kind.id if kind is not None else ''} declares"
            faults.unknown(node.key_place, "unknown-value", said, name, known)
            continue
        entry = node.get("amount") if node.entries else node
        amount = values.quantity(entry, known[name].unit, faults)
        within = values.share(node.get("within"), faults)
        if amount is not None:
            stated[name] = Reference(amount=amount, unit=known[name].unit, within=within, place=node.place)
    return Frozen(stated)


def read_with(
    section: Node | None, stages: Mapping[str, Stage], library: Library
) -> Frozen[str, tuple[str, ...]]:
    """The instruments by quantity or figure: of the bench, or meters of the rig."""
    readable, meters = tuple(_readable(stages, library)), tuple(_meters(stages, library))
    known = (*library.instruments, *meters)
    used: dict[str, tuple[str, ...]] = {}
    for name, node in section.entries.items() if section is not None else ():
        if name not in readable:
            said = f"`{name}` is no quantity or figure of this rig"
            library.faults.unknown(node.key_place, "unknown-quantity", said, name, readable)
            continue
        used[name] = choices(node, "instrument of the bench and no meter of this rig", known, library.faults)
    return Frozen(used)


def _readable(stages: Mapping[str, Stage], library: Library) -> Iterator[str]:
    """The full names of all that can be read as a number."""
    for id, kind in _kinds(stages, library):
        yield from (f"{id}.{i.id}" for i in kind.indications.values() if i.sort == "quantity")
        yield from (f"{id}.{figure}" for figure in kind.figures)


def _meters(stages: Mapping[str, Stage], library: Library) -> Iterator[str]:
    """The full names of the rig's own meters."""
    for id, kind in _kinds(stages, library):
        yield from (f"{id}.{i.id}" for i in kind.indications.values() if i.sort == "instrument")


def _kinds(stages: Mapping[str, Stage], library: Library) -> Iterator[tuple[str, StageKind]]:
    for id, stage in stages.items():
        if stage.kind in library.kinds:
            yield id, library.kinds[stage.kind]


def read_multiplication(section: Node | None, bands: tuple[str, ...], faults: Faults) -> Frozen[str, float]:
    """The frequency of the output over that of the oscillator, by band; what is not above 0 is left out."""
    factors: dict[str, float] = {}
    for band, node in section.entries.items() if section is not None else ():
        factor = values.number(node)
        if band not in bands:
            said = f"`{band}` is no band of this rig"
            faults.unknown(node.key_place, "unknown-band", said, band, bands)
        elif factor is not None and factor > 0:
            factors[band] = factor
    return Frozen(factors)


def read_sockets(section: Node | None, stages: Mapping[str, Stage], library: Library) -> Frozen[str, Socket]:
    """The sockets with what each pin shows."""
    readable = tuple(_readable(stages, library)) if section is not None else ()
    sockets: dict[str, Socket] = {}
    for id, node in section.entries.items() if section is not None else ():
        stage, tube, entry = values.text(node, "stage"), values.text(node, "tube"), node.get("pins")
        if stage and stage not in stages:
            said = f"`{stage}` is no stage of this rig"
            library.faults.unknown(node.entries["stage"], "unknown-stage", said, stage, stages)
        if tube and tube not in library.tubes:
            said = f"`{tube}` is no tube type that the book knows"
            library.faults.unknown(node.entries["tube"], "unknown-tube", said, tube, library.tubes)
        elif tube and stage in stages and tube not in stages[stage].tubes:
            said = f"the stage {stage} has no tube `{tube}`"
            library.faults.unknown(node.entries["tube"], "unknown-tube", said, tube, stages[stage].tubes)
        pins: dict[str, str] = {}
        for pin, shown in entry.entries.items() if entry is not None else ():
            name = values.text(shown)
            if name in readable:
                pins[pin] = name
            elif name:
                said = f"`{name}` is no quantity or figure of this rig"
                library.faults.unknown(shown, "unknown-quantity", said, name, readable)
        sockets[id] = Socket(id, stage, tube, Frozen(pins), node.key_place)
    return Frozen(sockets)
