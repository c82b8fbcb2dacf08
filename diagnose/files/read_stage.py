"""A stage file as one kind of stage."""

from __future__ import annotations

from dataclasses import dataclass, replace

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.frozen import Frozen
from diagnose.files.read_checks import read_checks, read_stop_orders
from diagnose.files.read_computed import check_computed_from
from diagnose.files.read_figures import read_derived, read_figures, read_values, units_of_derived
from diagnose.files.read_indications import check_indications, read_indications
from diagnose.files.read_measuring import with_measuring
from diagnose.files.read_parts import read_parts
from diagnose.files.read_rules import read_rules
from diagnose.files.read_series import read_drift_log
from diagnose.files.scope import Borrowed, Pending, Scope, Shelf, require
from diagnose.model.knowledge import Port, StageKind

UNNAMED_PRIOR = 0.002
UNNAMED_PUSHES = 0.3


@dataclass(frozen=True)
class ReadKind:
    """A kind of stage, the names it uses of its neighbours, and what its figures wait to be checked for."""

    kind: StageKind
    borrowed: tuple[Borrowed, ...]
    pending: tuple[Pending, ...]


def read_stage(root: Node, shelf: Shelf, shop: str = "") -> ReadKind:
    """The kind of stage that a (merged) stage document declares; `shop` marks local files."""
    kind = values.text(root, "kind")
    require(root, "a kind of stage", ("title", "about"), shelf.faults)
    scope = Scope(kind, shelf, Frozen(_features(root)), Frozen(_ports(root)))
    scope = replace(scope, indications=Frozen(read_indications(root, shelf)))
    check_indications(root, scope)
    scope = replace(scope, values=Frozen(read_values(root, shelf.faults)))
    scope = replace(scope, figures=Frozen(read_figures(root, scope)))
    scope = replace(scope, derived=Frozen(units_of_derived(root, scope)))
    derived = Frozen(read_derived(root, scope))
    scope = replace(scope, indications=Frozen(with_measuring(root, scope)))
    check_computed_from(scope)
    parts = Frozen(read_parts(root, scope))
    scope = replace(scope, parts=parts)
    prior, pushes, only = _unnamed(root.get("unnamed"), scope)
    read = StageKind(
        id=kind,
        title=values.text(root, "title", kind.replace("_", " ")),
        about=values.text(root, "about"),
        features=scope.features,
        ports=scope.ports,
        indications=scope.indications,
        parts=parts,
        rules=Frozen(read_rules(root, scope, shop)),
        checks=Frozen(read_checks(root, scope)),
        stop_orders=Frozen(read_stop_orders(root, scope, derived)),
        unnamed_prior=prior,
        unnamed_pushes=pushes,
        unnamed_only=only,
        values=scope.values,
        figures=scope.figures,
        derived=derived,
        drift_log=read_drift_log(root.get("drift_log"), scope),
        place=root.entries["kind"].key_place if root.get("kind") is not None else root.place,
    )
    return ReadKind(read, tuple(scope.borrowed), tuple(scope.pending))


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
