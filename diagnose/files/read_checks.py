"""Checks, and the stop orders that follow from combinations."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import replace

from diagnose.files import values
from diagnose.files.choices import choice
from diagnose.files.document import Node
from diagnose.files.frozen import Frozen
from diagnose.files.scope import Scope
from diagnose.model.knowledge import Check, FarOver, StopOrder
from diagnose.model.measuring import Derived, Limit


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


def read_stop_orders(root: Node, scope: Scope, derived: Mapping[str, Derived]) -> dict[str, StopOrder]:
    """All stop orders of a stage file; `derived`: its derived figures."""
    section = root.get("stop_orders")
    entries = section.entries if section is not None else {}
    limits = {id: indication.limit for id, indication in scope.indications.items()}
    limits |= {id: figure.limit for id, figure in derived.items()}
    return {id: _stop_order(id, node, scope, limits) for id, node in entries.items()}


def _only(node: Node | None, known: Container[str]) -> Node | None:
    """A mapping without the entries that are unknown."""
    if node is None:
        return None
    return replace(node, value={key: entry for key, entry in node.entries.items() if key in known})


def _far_over(node: Node, scope: Scope, limits: Mapping[str, Limit | None]) -> FarOver:
    """Figures of the stage that have a most, and how many times that is too much."""
    for name in values.scalars(node, "of"):
        word = values.text(name)
        limit = limits.get(word)
        if word not in limits:
            said = f"`{word}` is no quantity or derived figure of the kind {scope.kind}"
            scope.faults.unknown(name, "unknown-name", said, word, limits)
        elif limit is None or limit.most is None:
            said = f"`{word}` has no limit with a `most` that it could be far over"
            scope.faults.error(name, "stop-order", said, "name a figure that has one")
    times = values.number(node, "times")
    return FarOver(values.texts(node, "of"), 1.0 if times is None else float(times))


def _stop_order(id: str, node: Node, scope: Scope, limits: Mapping[str, Limit | None]) -> StopOrder:
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
    far = node.get("far_over")
    if section is None and node.get("facts") is None and far is None:
        said = f"nothing brings the stop order {id} about"
        scope.faults.error(node.key_place, "stop-order", said, "add `observed:`, `facts:` or `far_over:`")
    return StopOrder(
        id=id,
        text=values.text(node, "text"),
        observed=Frozen(observed),
        facts=values.condition(node.get("facts")),
        far_over=_far_over(far, scope, limits) if far is not None else None,
        place=node.key_place,
    )
