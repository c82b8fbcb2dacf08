"""How the expected value of a quantity is computed from the rig's parts."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.files import values
from diagnose.files.cycles import find_cycle
from diagnose.files.document import Node
from diagnose.files.frozen import Frozen
from diagnose.files.read_references import read_inputs
from diagnose.files.scope import Expected, Scope
from diagnose.model.knowledge import Indication
from diagnose.model.measuring import Computed, Reference


def read_computed(node: Node | None, quantity: Indication, scope: Scope) -> tuple[Computed, ...]:
    """The computations of a quantity: one, or a list of which the first that applies is used."""
    if node is None:
        return ()
    entries = node.members if isinstance(node.value, tuple) else (node,)
    return tuple(_computed(entry, quantity, scope) for entry in entries if entry.entries)


def _computed(node: Node, quantity: Indication, scope: Scope) -> Computed:
    scope.check_condition(node.get("when"))
    read = Computed(
        method=values.text(node, "by"),
        result=values.text(node, "gives"),
        inputs=Frozen(read_inputs(node.get("from"), scope)),
        when=values.condition(node.get("when")),
        place=node.place,
    )
    scope.pending.append(Expected(scope.kind, quantity, read, node))
    return read


def check_computed_from(scope: Scope) -> None:
    """No quantity of the stage is computed from what a good set shows of itself."""
    follows = {
        quantity.id: [
            name
            for computed in quantity.computed
            for reference in computed.inputs.values()
            for name in _names(reference)
        ]
        for quantity in scope.indications.values()
        if quantity.computed
    }
    circle = find_cycle(follows)
    if circle:
        place = scope.indications[circle[0]].computed[0].place
        said = "a quantity is computed from itself: " + " from ".join(circle)
        scope.faults.error(place, "cycle", said)


def _names(reference: Reference | None) -> Iterator[str]:
    while reference is not None:
        if reference.quantity:
            yield reference.quantity
        reference = reference.other
