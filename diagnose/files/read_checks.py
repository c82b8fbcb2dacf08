"""Checks, and the stop orders that follow from combinations."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import replace

from diagnose.files import values
from diagnose.files.choices import choice, choices
from diagnose.files.document import Node
from diagnose.files.frozen import Frozen
from diagnose.files.scope import Scope
from diagnose.model.knowledge import Check, StopOrder


def read_checks(root: Node, scope: Scope) -> dict[str, Check]:
    """All checks of a stage file."""
    section = root.get("checks")
    entries = section.entries if section is not None else {}
    return {id: _check(id, node, scope) for id, node in entries.items()}


def _check(id: str, node: Node, scope: Scope) -> Check:
    bench, faults = scope.shelf.bench, scope.faults
    scope.check_condition(node.get("when"))
    for name in values.scalars(node, "reveals"):
        scope.check_name(name, values.text(name))
    for key, known, what in (
        ("instrument", bench.instruments, "instrument of the bench"),
        ("hazard", bench.hazards, "hazard of the bench"),
        ("proves", bench.safety, "safety fact of the bench"),
        ("swaps", scope.parts, f"part of the kind {scope.kind}"),
    ):
        choice(node.get(key), what, known, faults, id=f"unknown-{key}")
    choices(node, "safety fact of the bench", bench.safety, faults, "waits_not_for")
    minutes = values.number(node, "minutes")
    return Check(
        id=id,
        title=values.text(node, "title", id.replace("_", " ")),
        reveals=values.texts(node, "reveals"),
        how=values.text(node, "how"),
        instrument=values.text(node, "instrument"),
        minutes=minutes if minutes is not None else 0.0,
        good=values.text(node, "good"),
        setup=read_setup(node.get("setup"), scope),
        hazard=values.text(node, "hazard"),
        when=values.condition(node.get("when")),
        swaps=values.text(node, "swaps"),
        proves=values.text(node, "proves"),
        waits_not_for=values.texts(node, "waits_not_for"),
        place=node.key_place,
    )


def read_setup(node: Node | None, scope: Scope) -> Frozen[str, str]:
    """The states of the bench that a check wants."""
    setups = scope.shelf.bench.setups
    wanted: dict[str, str] = {}
    for group, entry in node.entries.items() if node is not None else ():
        word = values.text(entry)
        if group not in setups:
            said = f"`{group}` is no set-up of the bench"
            scope.faults.unknown(entry.key_place, "unknown-setup", said, group, setups)
        elif word not in setups[group].states:
            said = f"`{word}` is no state of the set-up {group}"
            scope.faults.unknown(entry, "unknown-setup", said, word, setups[group].states)
        else:
            wanted[group] = word
    return Frozen(wanted)


def read_stop_orders(root: Node, scope: Scope) -> dict[str, StopOrder]:
    """All stop orders of a stage file."""
    section = root.get("stop_orders")
    entries = section.entries if section is not None else {}
    return {id: _stop_order(id, node, scope) for id, node in entries.items()}


def _only(node: Node | None, known: Container[str]) -> Node | None:
    """A mapping without the entries that are unknown."""
    if node is None:
        return None
    return replace(node, value={key: entry for key, entry in node.entries.items() if key in known})


def _stop_order(id: str, node: Node, scope: Scope) -> StopOrder:
    observed: dict[str, str] = {}
    section = node.get("observed")
    for name, state in section.entries.items() if section is not None else ():
        if scope.check_name(state.key_place, name, (state,)):
            observed[name] = values.text(state)
    facts = node.get("facts")
    for name, entry in facts.entries.items() if facts is not None else ():
        if name not in scope.shelf.bench.facts:
            said = f"`{name}` is no fact of a history"
            known = scope.shelf.bench.facts
            scope.faults.unknown(entry.key_place, "unknown-fact", said, name, known)
    scope.check_condition(_only(facts, scope.shelf.bench.facts), history=True)
    if section is None and node.get("facts") is None:
        said = f"nothing brings the stop order {id} about"
        scope.faults.error(node.key_place, "stop-order", said, "add `observed:` or `facts:`")
    return StopOrder(
        id=id,
        text=values.text(node, "text"),
        observed=Frozen(observed),
        facts=values.condition(node.get("facts")),
        place=node.key_place,
    )
