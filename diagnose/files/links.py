"""Checks across files: what stages use of each other, circles of arrows, repeated reasons."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

from diagnose.files.cycles import find_cycle
from diagnose.files.faults import Faults, did_you_mean
from diagnose.files.scope import Borrowed
from diagnose.model.conditions import features_of, holds
from diagnose.model.knowledge import Rig, Rule, Stage, StageKind
from diagnose.problems import Place

Kinds = Mapping[str, StageKind]
Rigs = Mapping[str, Rig]


def check_borrowed(borrowed: Iterable[Borrowed], kinds: Kinds, rigs: Rigs, faults: Faults) -> None:
    """States named through a port exist in every kind of stage that some rig binds to it."""
    bound = bound_kinds(kinds, rigs)
    for use in borrowed:
        for kind_id in bound.get((use.kind, use.port), ()):
            indication = kinds[kind_id].indications.get(use.name)
            if indication is None:
                if use.states and (use.name in kinds[kind_id].figures or use.name in kinds[kind_id].derived):
                    said = f"{use.name} of the kind {kind_id} is a figure, and has no states"
                    faults.error(use.place, "unknown-name", said)
                continue  # else said at the rig, where the port is bound
            known = [state.id for state in indication.states]
            for state, place in use.states:
                if known and state not in known:
                    said = f"`{state}` is no state of {use.name} of the kind {kind_id}"
                    faults.error(place, "unknown-state", said, did_you_mean(state, known))


def bound_kinds(kinds: Kinds, rigs: Rigs) -> dict[tuple[str, str], tuple[str, ...]]:
    """The kinds of stage bound to each port of each kind, in all rigs."""
    bound: dict[tuple[str, str], dict[str, None]] = {}
    for rig in rigs.values():
        for stage in rig.stages.values():
            for port, feeder in stage.fed_by.items():
                kind = rig.stages[feeder].kind
                if kind in kinds:
                    bound.setdefault((stage.kind, port), {})[kind] = None
    return {key: tuple(found) for key, found in bound.items()}


@dataclass(frozen=True)
class _Arrow:
    """One arrow on a rig, with what made it: a rule, or the need of an indication."""

    source: str
    target: str
    by: str
    place: Place


def check_circles(kinds: Kinds, rigs: Rigs, faults: Faults) -> None:
    """No indication is its own consequence (or need), and no part ruins itself, on any rig."""
    said_of: set[frozenset[str]] = set()
    for rig in rigs.values():
        arrows: dict[str, dict[str, _Arrow]] = {}
        for arrow in _arrows(kinds, rig):
            arrows.setdefault(arrow.source, {}).setdefault(arrow.target, arrow)
        circle = find_cycle(arrows)
        found = [arrows[source][target] for source, target in pairwise(circle)]
        makers = dict.fromkeys(arrow.by for arrow in found)
        if not found or frozenset(makers) in said_of:
            continue
        said_of.add(frozenset(makers))
        said = f"arrows run in a circle on the rig {rig.id}: " + " to ".join(circle)
        faults.error(found[-1].place, "cycle", said, "they are made by " + ", ".join(makers))


def _arrows(kinds: Kinds, rig: Rig) -> Iterator[_Arrow]:
    """The arrows between indications, or between parts, that apply on this rig."""
    for stage in rig.stages.values():
        kind = kinds.get(stage.kind)
        if kind is None:
            continue
        features = features_of(rig, stage)
        for rule in kind.rules.values():
            if rule.from_name in kind.parts and not rule.damages:
                continue
            source, target = _on_rig(rule.from_name, stage), _on_rig(rule.to_name, stage)
            if source and target and holds(rule.when, features):
                yield _Arrow(source, target, rule.id, rule.place)
        for indication in kind.indications.values():
            for need in indication.needs:
                source = _on_rig(need.name, stage)
                target = f"{stage.id}.{indication.id}"
                if source and source != target and holds(indication.when, features):
                    by = f"the needs of {kind.id}/{indication.id}"
                    yield _Arrow(source, target, by, indication.place)


def _on_rig(name: str, stage: Stage) -> str:
    """The full name on the rig; "" where the port is not bound."""
    port, dot, given = name.partition(".")
    if not dot:
        return f"{stage.id}.{name}"
    return f"{stage.fed_by[port]}.{given}" if port in stage.fed_by else ""


def check_reasons(kinds: Kinds, faults: Faults) -> None:
    """Every rule has a reason of its own."""
    first: dict[str, Rule] = {}
    for kind in kinds.values():
        for rule in kind.rules.values():
            reason = " ".join(rule.because.lower().split())
            if not reason:
                continue
            if reason in first:
                said = f"the rule {rule.id} gives the same reason as {first[reason].id}"
                faults.warning(rule.place, "same-reason", said, "give each rule its own reason")
            else:
                first[reason] = rule
