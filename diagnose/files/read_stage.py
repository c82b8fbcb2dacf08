"""A stage file as one kind of stage."""

from __future__ import annotations

from dataclasses import dataclass, replace

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.frozen import Frozen
from diagnose.files.read_checks import read_checks, read_stop_orders
from diagnose.files.read_indications import check_indications, read_indications
from diagnose.files.read_parts import read_parts
from diagnose.files.read_rules import read_rules
from diagnose.files.scope import Borrowed, Scope, Shelf, require
from diagnose.model.knowledge import Port, StageKind

UNNAMED_PRIOR = 0.002
UNNAMED_PUSHES = 0.3


@dataclass(frozen=True)
class ReadKind:
    """A kind of stage, and the names it uses of its neighbours."""

    kind: StageKind
    borrowed: tuple[Borrowed, ...]


def read_stage(root: Node, shelf: Shelf, shop: str = "") -> ReadKind:
    """The kind of stage that a (merged) stage document declares; `shop` marks local files."""
    kind = values.text(root, "kind")
    require(root, "a kind of stage", ("title", "about"), shelf.faults)
    scope = Scope(kind, shelf, Frozen(_features(root)), Frozen(_ports(root)))
    indications = Frozen(read_indications(root, shelf))
    scope = replace(scope, indications=indications)
    check_indications(root, scope)
    parts = Frozen(read_parts(root, scope))
    scope = replace(scope, parts=parts)
    prior, pushes, only = _unnamed(root.get("unnamed"), scope)
    read = StageKind(
        id=kind,
        title=values.text(root, "title", kind.replace("_", " ")),
        about=values.text(root, "about"),
        features=scope.features,
        ports=scope.ports,
        indications=indications,
        parts=parts,
        rules=Frozen(read_rules(root, scope, shop)),
        checks=Frozen(read_checks(root, scope)),
        stop_orders=Frozen(read_stop_orders(root, scope)),
        unnamed_prior=prior,
        unnamed_pushes=pushes,
        unnamed_only=only,
        place=root.entries["kind"].key_place if root.get("kind") is not None else root.place,
    )
    return ReadKind(read, tuple(scope.borrowed))


def _features(root: Node) -> dict[str, tuple[str, ...]]:
    section = root.get("features")
    entries = section.entries if section is not None else {}
    return {name: values.texts(node) for name, node in entries.items()}


def _ports(root: Node) -> dict[str, Port]:
    section = root.get("ports")
    entries = section.entries if section is not None else {}
    return {
        id: Port(
            id=id,
            title=values.text(node, "title", id.replace("_", " ")),
            gives=values.texts(node, "gives"),
            optional=values.flag(node, "optional"),
            place=node.key_place,
        )
        for id, node in entries.items()
    }


def _unnamed(node: Node | None, scope: Scope) -> tuple[float, float, tuple[str, ...]]:
    """Prior, total push and reach of the fault that the book does not name."""
    if node is None:
        return UNNAMED_PRIOR, UNNAMED_PUSHES, ()
    prior = values.frequency(node.get("prior"), scope.faults)
    pushes = values.frequency(node.get("pushes"), scope.faults)
    for name in values.scalars(node, "only"):
        if values.text(name) not in scope.indications:
            said = f"`{values.text(name)}` is no indication of the kind {scope.kind}"
            scope.faults.unknown(name, "unknown-name", said, values.text(name), scope.indications)
    return (
        UNNAMED_PRIOR if prior is None else prior,
        UNNAMED_PUSHES if pushes is None else pushes,
        values.texts(node, "only"),
    )
