"""A rig file as a rig: its stages, and how they feed each other."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.files import values
from diagnose.files.choices import choice, choices
from diagnose.files.cycles import find_cycle
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.frozen import Frozen
from diagnose.files.read_chart import read_chart
from diagnose.files.read_features import stated_features
from diagnose.files.read_meters import read_meters
from diagnose.files.read_rig_measuring import (
    read_multiplication,
    read_sockets,
    read_with,
    stated_values,
)
from diagnose.files.scope import Library, require
from diagnose.model.knowledge import Rig, Stage, StageKind

MAINS_VOLTAGE = 117.0
MAINS_FREQUENCY = 60.0


def rig_features(root: Node) -> dict[str, tuple[str, ...]]:
    """The features of a rig as a whole; a single word counts as a list of one."""
    section = root.get("features")
    entries = section.entries if section is not None else {}
    return {name: values.texts(node) for name, node in entries.items()}


def read_rig(root: Node, library: Library, shop: str = "") -> Rig:
    """The rig that a (merged) rig document declares; `shop` marks local files."""
    faults = library.faults
    id = values.text(root, "rig")
    require(root, "a rig", ("title", "about", "mains", "bands", "stages"), faults)
    features = rig_features(root)
    bands = values.texts(root, "bands")
    section = root.get("stages")
    nodes = section.entries if section is not None else {}
    stages = {name: _stage(name, node, nodes, library) for name, node in nodes.items()}
    _check_bindings(nodes, stages, library)
    _check_feeding(nodes, stages, faults)
    mains = root.get("mains")
    voltage, frequency = (
        values.quantity(mains.get(key), unit, faults) if mains is not None else None
        for key, unit in (("voltage", "V"), ("frequency", "Hz"))
    )
    place = root.entries["rig"].key_place if root.get("rig") is not None else root.place
    chart_meters = read_meters(root.get("chart_meters"), library.instruments, faults)
    return Rig(
        id=id,
        title=values.text(root, "title", id.replace("_", " ")),
        about=values.text(root, "about"),
        features=Frozen(features),
        mains_voltage=MAINS_VOLTAGE if voltage is None else voltage,
        mains_frequency=MAINS_FREQUENCY if frequency is None else frequency,
        bands=bands,
        stages=Frozen(stages),
        chart=tuple(read_chart(root.get("chart"), stages, features, bands, chart_meters, library)),
        local=bool(shop) and any(node.place.file.startswith(shop) for node in root.walk()),
        place=place,
        proof=_proof(root.get("proof"), stages, library),
        read_with=read_with(root.get("read_with"), stages, library),
        chart_meters=chart_meters,
        chart_meter=choice(
            root.get("chart_meter"), "chart meter of this rig", chart_meters, faults, id="unknown-meter"
        ),
        multiplication=read_multiplication(root.get("multiplication"), bands, faults),
        sockets=read_sockets(root.get("sockets"), stages, library),
    )


def _proof(node: Node | None, stages: Mapping[str, Stage], library: Library) -> tuple[str, ...]:
    """The indications that prove the set; each must exist on the stage that it names."""
    known = [
        f"{id}.{name}"
        for id, stage in stages.items()
        if stage.kind in library.kinds
        for name in library.kinds[stage.kind].indications
    ]
    choices(node, "indication of this rig", known, library.faults)
    return values.texts(node)


def _stage(id: str, node: Node, stages: Mapping[str, Node], library: Library) -> Stage:
    faults = library.faults
    kind_id = values.text(node, "kind")
    kind = library.kinds.get(kind_id)
    if kind is None and kind_id:
        said = f"`{kind_id}` is no kind of stage"
        faults.unknown(node.entries["kind"], "unknown-kind", said, kind_id, library.kinds)
    choices(node, "tube type that the book knows", library.tubes, faults, "tubes")
    return Stage(
        id=id,
        kind=kind_id,
        title=values.text(node, "title", id.replace("_", " ")),
        features=Frozen(_features(node, kind, faults)),
        fed_by=Frozen(_fed_by(id, node, kind, stages, faults)),
        tubes=values.texts(node, "tubes"),
        values=stated_values(node.get("values"), kind, faults),
        place=node.key_place,
    )


def _features(node: Node, kind: StageKind | None, faults: Faults) -> dict[str, str]:
    """The features of a stage, with the first value of each that it does not mention."""
    section = node.get("features")
    if kind is None:
        entries = section.entries if section is not None else {}
        return {name: values.text(entry) for name, entry in entries.items()}
    defaults = {name: allowed[0] for name, allowed in kind.features.items() if allowed}
    return {**defaults, **stated_features(section, kind, faults)}


def _fed_by(
    id: str, node: Node, kind: StageKind | None, stages: Mapping[str, Node], faults: Faults
) -> dict[str, str]:
    section = node.get("fed_by")
    fed_by: dict[str, str] = {}
    for port, entry in section.entries.items() if section is not None else ():
        feeder = values.text(entry)
        if kind is not None and port not in kind.ports:
            said = f"`{port}` is no port of the kind {kind.id}"
            faults.unknown(entry.key_place, "unknown-port", said, port, kind.ports)
        elif feeder == id:
            faults.error(entry, "cycle", f"the stage {id} feeds itself")
        elif feeder not in stages:
            said = f"`{feeder}` is no stage of this rig"
            faults.unknown(entry, "unknown-stage", said, feeder, stages)
        else:
            fed_by[port] = feeder
    return fed_by


def _check_bindings(nodes: Mapping[str, Node], stages: Mapping[str, Stage], library: Library) -> None:
    """Every port that is not optional is bound, and to a stage that offers what it gives."""
    for id, stage in stages.items():
        kind = library.kinds.get(stage.kind)
        if kind is None:
            continue
        section = nodes[id].get("fed_by")
        stated = section.entries if section is not None else {}
        for port in kind.ports.values():
            if port.id not in stage.fed_by:
                if port.id not in stated and not port.optional:
                    said = f"nothing feeds the port {port.id} of the stage {id}"
                    hint = f"add `fed_by: {{{port.id}: ...}}` ({port.title})"
                    library.faults.error(stage.place, "unbound-port", said, hint)
                continue
            feeder = library.kinds.get(stages[stage.fed_by[port.id]].kind)
            for name in port.gives if feeder is not None else ():
                if feeder is not None and name not in offered(feeder):
                    said = (
                        f"the stage {stage.fed_by[port.id]} of the kind {feeder.id} offers no"
                        f" `{name}`, which the port {port.id} of the kind {kind.id} uses"
                    )
                    library.faults.unknown(stated[port.id], "port-gives", said, name, offered(feeder))


def offered(kind: StageKind) -> tuple[str, ...]:
    """The names of a kind that a port may give."""
    return (*kind.indications, *kind.figures, *kind.derived)


def _check_feeding(nodes: Mapping[str, Node], stages: Mapping[str, Stage], faults: Faults) -> None:
    """The stages do not feed each other in a circle."""
    circle = find_cycle({id: tuple(stage.fed_by.values()) for id, stage in stages.items()})
    if circle:
        section = nodes[circle[0]].get("fed_by")
        entries = section.entries.values() if section is not None else ()
        where = next((e for e in entries if values.text(e) == circle[1]), nodes[circle[0]])
        said = "stages feed each other in a circle: " + " from ".join(circle)
        faults.error(where, "cycle", said)
