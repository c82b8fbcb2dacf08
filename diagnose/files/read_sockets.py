"""The pins of tube sockets read in one go, as readings of what each pin shows on this rig."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from diagnose.files.desk import Desk
from diagnose.files.document import Node
from diagnose.files.read_circumstances import CIRCUMSTANCES
from diagnose.files.read_readings import observations
from diagnose.model.case import Observation
from diagnose.problems import Place


def read_sockets(root: Node, desk: Desk) -> Iterator[Observation]:
    """The observations under `sockets`."""
    section = root.get("sockets")
    for socket, node in section.entries.items() if section is not None else ():
        if not is_socket(socket, node.key_place, desk):
            continue
        shared = {key: entry for key, entry in node.entries.items() if key in CIRCUMSTANCES}
        for pin, said in node.entries.items():
            if pin not in CIRCUMSTANCES:
                yield from pin_observations(socket, pin, said.key_place, said, shared, desk)


def is_socket(socket: str, place: Place, desk: Desk) -> bool:
    """Whether the rig has a socket of that name; a problem if not."""
    sockets = desk.rig.sockets
    if socket in sockets:
        return True
    said = f"`{socket}` is no socket of the rig {desk.rig.id}"
    if sockets:
        desk.faults.unknown(place, "unknown-socket", said, socket, sockets)
    else:
        desk.faults.error(place, "unknown-socket", said, "its file lists no sockets: name the quantity")
    return False


def pin_observations(
    socket: str, pin: str, place: Place, said: Node, shared: dict[str, Node], desk: Desk
) -> Iterator[Observation]:
    """The observations of one pin."""
    pins = desk.rig.sockets[socket].pins
    if pin not in pins:
        text = f"`{pin}` is no pin of {socket} that the rig knows"
        desk.faults.unknown(place, "unknown-pin", text, pin, [*pins, *CIRCUMSTANCES])
        return
    entry = replace(said, value={"value": said, **shared}) if shared else said
    yield from observations(pins[pin], place, entry, desk)
