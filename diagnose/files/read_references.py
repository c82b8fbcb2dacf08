"""References: where a figure that a rule file names comes from.

Here the words are checked that one kind of stage can answer for. What a neighbour, a tube or the units of
others decide is noted, and checked by `check_figures` when all kinds are known.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import did_you_mean
from diagnose.files.scope import Scope
from diagnose.model.measuring import Reference
from diagnose.problems import Place
from diagnose.units import UnitError, dimension, split_quantity

RIG_UNITS: Mapping[str, str] = {"mains_voltage": "V", "mains_frequency": "Hz", "multiplication": ""}
_TUBE = re.compile(r"[a-z0-9_]+\.[a-z0-9_]+\Z")
_NUMBER = re.compile(r"[-+.0-9]")


def read_reference(node: Node | None, scope: Scope, unit: str = "") -> Reference | None:
    """The reference of an entry; a bare amount is in `unit`. None where it cannot be used."""
    if node is None:
        return None
    if node.is_scalar:
        return _plain(node, scope)
    if not node.entries:
        return None
    named = [name for name in _READERS if node.get(name) is not None]
    if len(named) != 1:
        found = " and ".join(f"`{name}`" for name in named) or "none"
        said = f"a reference has one of {', '.join(_READERS)}, and this has {found}"
        scope.faults.error(node.key_place, "reference", said)
        return None
    entry = node.entries[named[0]]
    reference = _READERS[named[0]](entry, scope, unit) if entry.is_scalar else None
    return _with_rest(reference, named[0], node, scope, unit)


def read_inputs(node: Node | None, scope: Scope) -> dict[str, Reference]:
    """The names of a formula or a method, each with its reference; unusable ones are left out."""
    inputs: dict[str, Reference] = {}
    for name, entry in node.entries.items() if node is not None else ():
        reference = read_reference(entry, scope)
        if reference is not None:
            inputs[name] = reference
    return inputs


def _with_rest(
    reference: Reference | None, named: str, node: Node, scope: Scope, unit: str
) -> Reference | None:
    """The reference with what else the mapping says of it."""
    for key, belongs in (("which", "tube"), ("expected", "quantity")):
        entry = node.get(key)
        if entry is not None and named != belongs:
            said = f"`{key}` is said of a {belongs} only, and this names `{named}`"
            scope.faults.error(entry.key_place, "reference", said)
    which = node.get("which")
    position = which.value if which is not None else 1
    if position == 0:
        said = "tubes are counted from 1, or from the end by -1"
        scope.faults.error(which or node, "reference", said)
        position = 1
    within = values.share(node.get("within"), scope.faults)
    other = read_reference(node.get("or"), scope, unit)
    if reference is None:
        return None
    return replace(
        reference,
        which=position if isinstance(position, int) and not isinstance(position, bool) else 1,
        expected=values.flag(node, "expected"),
        within=within,
        other=other,
        place=node.place,
    )


def _plain(node: Node, scope: Scope) -> Reference | None:
    word = values.text(node)
    if _NUMBER.match(word):
        said = f"`{word}` is no name of a quantity, figure or derived figure"
        scope.faults.error(node, "reference", said, f"write `{{amount: {word}}}`")
        return None
    return _quantity(node, scope, "")


def _quantity(node: Node, scope: Scope, _: str) -> Reference | None:
    word = values.text(node)
    return Reference(quantity=word, place=node.place) if check_figure(node.place, word, scope) else None


def check_figure(place: Place, name: str, scope: Scope) -> bool:
    """Whether a name is a quantity, figure or derived figure, own or through a port."""
    if "." in name:
        return scope.check_name(place, name)
    indication = scope.indications.get(name)
    if name in scope.figures or name in scope.derived or (indication and indication.sort == "quantity"):
        return True
    if indication is not None:
        said = f"`{name}` is a {indication.sort}, not a quantity, figure or derived figure"
        scope.faults.error(place, "reference", said)
        return False
    said = f"`{name}` is no quantity, figure or derived figure of the kind {scope.kind}"
    hint = did_you_mean(name, figure_names(scope))
    for key, known in (("value", scope.values), ("feature", scope.features)):
        hint = f"write `{{{key}: {name}}}`" if name in known else hint
    scope.faults.error(place, "unknown-name", said, hint)
    return False


def figure_names(scope: Scope) -> Iterable[str]:
    """What a reference may name as a quantity: own names, then those of the neighbours."""
    yield from (i.id for i in scope.indications.values() if i.sort == "quantity")
    yield from scope.figures
    yield from scope.derived
    for port in scope.ports.values():
        yield from (f"{port.id}.{name}" for name in port.gives)


def _value(node: Node, scope: Scope, _: str) -> Reference | None:
    word = values.text(node)
    if word in scope.values:
        return Reference(value=word, place=node.place)
    said = f"`{word}` is no value that the kind {scope.kind} declares"
    scope.faults.unknown(node, "unknown-value", said, word, scope.values)
    return None


def _tube(node: Node, scope: Scope, _: str) -> Reference | None:
    word = values.text(node)
    if _TUBE.match(word):
        return Reference(tube=word, place=node.place)
    said = f"`{word}` is no figure of a tube"
    scope.faults.error(node, "reference", said, "write it like `ratings.plate_dissipation`")
    return None


def _rig(node: Node, scope: Scope, _: str) -> Reference | None:
    word = values.text(node)
    if word in RIG_UNITS:
        return Reference(rig=word, place=node.place)
    scope.faults.unknown(node, "reference", f"`{word}` is no figure of a rig", word, RIG_UNITS)
    return None


def _feature(node: Node, scope: Scope, _: str) -> Reference | None:
    word = values.text(node)
    if word in scope.features or word in scope.shelf.rig_features:
        return Reference(feature=word, place=node.place)
    said = f"`{word}` is no feature of the kind {scope.kind} or of a rig"
    known = [*scope.features, *scope.shelf.rig_features]
    scope.faults.unknown(node, "unknown-feature", said, word, known)
    return None


def _amount(node: Node, scope: Scope, unit: str) -> Reference | None:
    """An amount as written: a number, or a number and its unit."""
    plain = values.number(node)
    if plain is not None:
        return Reference(amount=plain, unit=unit, place=node.place)
    try:
        number, own = split_quantity(node.written, unit)
        dimension(own)
    except UnitError as error:
        scope.faults.error(node, "unit", error.text, error.hint)
        return None
    return Reference(amount=number, unit=own or unit, place=node.place)


_READERS: Mapping[str, Callable[[Node, Scope, str], Reference | None]] = {
    "quantity": _quantity,
    "value": _value,
    "tube": _tube,
    "rig": _rig,
    "feature": _feature,
    "amount": _amount,
}
