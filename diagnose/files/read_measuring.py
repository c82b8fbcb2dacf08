"""How a quantity is measured: with what, across which resistance, and what it may be at most."""

from __future__ import annotations

from dataclasses import replace

from diagnose.files import values
from diagnose.files.choices import choices
from diagnose.files.document import Node
from diagnose.files.frozen import Frozen
from diagnose.files.read_computed import read_computed
from diagnose.files.read_references import read_reference
from diagnose.files.read_rules import read_source
from diagnose.files.read_series import read_of_pair, read_over_bands
from diagnose.files.scope import Scope, Wanted
from diagnose.model.knowledge import Indication
from diagnose.model.measuring import Limit, Reference
from diagnose.problems import Place


def with_measuring(root: Node, scope: Scope) -> dict[str, Indication]:
    """The indications of the scope with what their entries say of readings."""
    found = dict(scope.indications)
    for section, read in (("quantities", _quantity), ("symptoms", _series), ("patterns", _series)):
        node = root.get(section)
        for id, entry in node.entries.items() if node is not None else ():
            if id in found and found[id].place == entry.key_place:
                found[id] = read(found[id], entry, scope)
    return found


def _quantity(quantity: Indication, node: Node, scope: Scope) -> Indication:
    limit = node.get("limit")
    return replace(
        quantity,
        read_with=read_instruments_used(node.get("read_with"), scope),
        source_resistance=wanted(node.get("source_resistance"), "ohm", scope),
        computed=read_computed(node.get("computed"), quantity, scope),
        limit=read_limit(limit, quantity.unit, scope) if limit is not None and limit.entries else None,
    )


def _series(indication: Indication, node: Node, scope: Scope) -> Indication:
    return replace(
        indication,
        over_bands=read_over_bands(node.get("over_bands"), indication, scope),
        of_pair=read_of_pair(node.get("of_pair"), indication, scope),
    )


def read_instruments_used(node: Node | None, scope: Scope) -> tuple[str, ...]:
    """The instruments of the bench that something is usually read with."""
    return choices(node, "instrument of the bench", scope.shelf.bench.instruments, scope.faults)


def read_limit(node: Node | None, unit: str, scope: Scope) -> Limit | None:
    """What a figure in `unit` may be at most, or at least."""
    if node is None or not node.entries:
        return None
    modes = node.get("in_mode")
    if modes is None and not _has_a_side(node, scope):
        return None
    whole = Limit(
        most=wanted(node.get("most"), unit, scope),
        least=wanted(node.get("least"), unit, scope),
        says=values.text(node, "says"),
        source=read_source(node.get("source"), scope),
        place=node.key_place,
    )
    return replace(whole, in_mode=Frozen(_in_modes(modes, whole, unit, scope)))


def _has_a_side(node: Node, scope: Scope) -> bool:
    if node.get("most") is not None or node.get("least") is not None:
        return True
    said = "a limit has `most`, `least` or both, and this has none"
    scope.faults.error(node.key_place, "missing-key", said, "add `most:` or `least:`")
    return False


def _in_modes(node: Node | None, whole: Limit, unit: str, scope: Scope) -> dict[str, Limit]:
    """The limits of single modes; what they do not say is that of the whole."""
    found: dict[str, Limit] = {}
    for mode, entry in node.entries.items() if node is not None else ():
        if check_mode(entry.key_place, mode, scope) and entry.entries and _has_a_side(entry, scope):
            most = wanted(entry.get("most"), unit, scope)
            least = wanted(entry.get("least"), unit, scope)
            found[mode] = replace(
                whole,
                most=whole.most if most is None else most,
                least=whole.least if least is None else least,
                says=values.text(entry, "says") or whole.says,
                source=read_source(entry.get("source"), scope) or whole.source,
                place=entry.key_place,
            )
    return found


def check_mode(place: Place, mode: str, scope: Scope) -> bool:
    """Whether some rig has such a mode."""
    known = scope.shelf.rig_features.get("modes", ())
    if mode in known:
        return True
    scope.faults.unknown(place, "unknown-mode", f"`{mode}` is no mode of any rig", mode, known)
    return False


def wanted(node: Node | None, unit: str, scope: Scope) -> Reference | None:
    """A reference to something of the dimension of `unit`, which is checked when all kinds are known."""
    reference = read_reference(node, scope, unit)
    if reference is not None:
        scope.pending.append(Wanted(scope.kind, reference, unit))
    return reference
