"""The book laid out over one rig: every part, indication, arrow and check of its stages.

Rules are written for a kind of stage; here they are placed on each stage of that kind, ports are
followed to the neighbouring stage, and what the rig's features exclude is left out.
Ids on a rig are `<stage>.<local name>`, causes `<stage>.<part>.<mode>`.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from diagnose.model.conditions import features_of, holds
from diagnose.model.knowledge import (
    Book,
    Check,
    Indication,
    Mode,
    Part,
    Remedy,
    Rig,
    Rule,
    Stage,
    StageKind,
    StopOrder,
)
from diagnose.model.measuring import Meter

UNNAMED = "unnamed"


@dataclass(frozen=True)
class PlacedPart:
    """A part on a stage of the rig; `facts` are the features that its priors may test."""

    id: str
    stage: str
    part: Part
    features: Mapping[str, object] = field(default_factory=dict)

    def cause_id(self, mode: Mode) -> str:
        """Id of the cause that this part is in this mode."""
        return f"{self.id}.{mode.id}"

    def remedy(self, mode: Mode) -> Remedy | None:
        """The remedy of one mode: its own, else the part's."""
        return mode.remedy or self.part.remedy


@dataclass(frozen=True)
class PlacedIndication:
    """An indication on a stage of the rig, with its needs as ids on the rig."""

    id: str
    stage: str
    indication: Indication
    needs: tuple[tuple[str, tuple[str, ...]], ...] = ()


@dataclass(frozen=True)
class Link:
    """One arrow on the rig. `parent` is a part or an indication, `child` likewise (`damages`)."""

    parent: str
    parent_state: str
    child: str
    child_state: str
    chance: float
    rule: Rule


@dataclass(frozen=True)
class PlacedCheck:
    """A check on a stage of the rig; `reveals` and `swaps` as ids on the rig."""

    id: str
    stage: str
    check: Check
    reveals: tuple[str, ...]
    swaps: str = ""


@dataclass(frozen=True)
class PlacedStop:
    """A stop order on a stage of the rig; `observed` maps indication ids to states, `far_over` holds ids of figures."""

    id: str
    stage: str
    order: StopOrder
    observed: Mapping[str, str]
    far_over: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False)
class Assembly:
    """One rig's own network, before any case. `order` lists part and indication ids, parents first."""

    book: Book
    rig: Rig
    parts: Mapping[str, PlacedPart]
    indications: Mapping[str, PlacedIndication]
    links: tuple[Link, ...]
    checks: Mapping[str, PlacedCheck]
    stop_orders: Mapping[str, PlacedStop]
    order: tuple[str, ...]

    def instrument(self, name: str) -> str | None:
        """The indication on the rig of what an instrument shows, by its id or that of the instrument; or None."""
        placed = self.indications.get(name)
        if placed is not None:
            return name if placed.indication.sort == "instrument" else None
        return self.instruments.get(name)

    @cached_property
    def instruments(self) -> Mapping[str, str]:
        """What each instrument on the bench shows, by the id of the instrument: a stage with one such indication."""
        shown: dict[str, list[str]] = {}
        for placed in self.indications.values():
            if placed.indication.sort == "instrument":
                shown.setdefault(placed.stage, []).append(placed.id)
        return {stage: ids[0] for stage, ids in shown.items() if len(ids) == 1}

    @cached_property
    def shows_in(self) -> Mapping[str, tuple[str, ...]]:
        """The indications that each part or indication pushes, or that need it."""
        children: dict[str, list[str]] = {}
        for link in self.links:
            if link.child in self.indications:
                children.setdefault(link.parent, []).append(link.child)
        for name, placed in self.indications.items():
            for target, _ in placed.needs:
                children.setdefault(target, []).append(name)
        return {name: tuple(dict.fromkeys(found)) for name, found in children.items()}

    def cause(self, cause_id: str) -> tuple[PlacedPart, Mode]:
        """The part and mode of a cause id; KeyError if this rig has none of that name."""
        part_id, _, mode_id = cause_id.rpartition(".")
        placed = self.parts[part_id]
        for mode in placed.part.modes:
            if mode.id == mode_id:
                return placed, mode
        raise KeyError(cause_id)

    def causes(self) -> Iterable[tuple[str, PlacedPart, Mode]]:
        """Every cause of the rig: id, part, mode."""
        for placed in self.parts.values():
            for mode in placed.part.modes:
                yield placed.cause_id(mode), placed, mode


class CycleError(ValueError):
    """The arrows of a rig run in a circle; `names` lists the circle."""

    def __init__(self, names: tuple[str, ...]) -> None:
        super().__init__(" -> ".join(names))
        self.names = names


def at_bench(book: Book, rig: Rig, meters: Iterable[Meter] = ()) -> Rig:
    """The rig with the instruments of the bench beside it, each a stage of its own; so are `meters`.

    An instrument whose id is that of a stage of the rig is left out: the rig's own comes first.
    """
    bench = book.bench.instruments
    wanted = [(i.id, i.title, i) for i in bench.values()]
    wanted += [(m.id, m.title, bench[m.instrument]) for m in meters if m.instrument in bench]
    stages = dict(rig.stages)
    for id, title, instrument in wanted:
        if instrument.kind in book.kinds and id not in rig.stages:
            features = {name: allowed[0] for name, allowed in book.kinds[instrument.kind].features.items()}
            stages[id] = Stage(id, instrument.kind, title, features | dict(instrument.features), {})
    return replace(rig, stages=stages)


def assemble(book: Book, rig: Rig) -> Assembly:
    """Lay the book out over a rig. Raises CycleError when its arrows run in a circle."""
    features = {sid: features_of(rig, stage) for sid, stage in rig.stages.items()}
    parts: dict[str, PlacedPart] = {}
    indications: dict[str, PlacedIndication] = {}
    for sid, stage in rig.stages.items():
        kind = book.kinds[stage.kind]
        for part in (*kind.parts.values(), *_unnamed_part(kind, stage)):
            if holds(part.when, features[sid]):
                parts[f"{sid}.{part.id}"] = PlacedPart(f"{sid}.{part.id}", sid, part, features[sid])
        for indication in kind.indications.values():
            if holds(indication.when, features[sid]):
                name = f"{sid}.{indication.id}"
                indications[name] = PlacedIndication(name, sid, indication)
    indications = {name: _with_needs(rig, placed, indications) for name, placed in indications.items()}
    links: list[Link] = []
    checks: dict[str, PlacedCheck] = {}
    stops: dict[str, PlacedStop] = {}
    for sid, stage in rig.stages.items():
        kind = book.kinds[stage.kind]
        links.extend(_links(kind, stage, features[sid], parts, indications))
        placed_checks = (
            _check(check, stage, features[sid], parts, indications) for check in kind.checks.values()
        )
        checks.update((placed.id, placed) for placed in placed_checks if placed is not None)
        stops.update((stop.id, stop) for stop in _stops(kind, stage, features[sid], indications))
    order = _parents_first(rig, parts, indications, links)
    return Assembly(book, rig, parts, indications, tuple(links), checks, stops, order)


def _with_needs(
    rig: Rig, placed: PlacedIndication, indications: Mapping[str, PlacedIndication]
) -> PlacedIndication:
    """The indication with those of its needs that this rig can have."""
    targets = [
        (resolve(rig.stages[placed.stage], need.name), need.states) for need in placed.indication.needs
    ]
    needs = tuple(
        (target, states) for target, states in targets if target is not None and target in indications
    )
    return PlacedIndication(placed.id, placed.stage, placed.indication, needs)


def _stops(
    kind: StageKind,
    stage: Stage,
    features: Mapping[str, object],
    indications: Mapping[str, PlacedIndication],
) -> Iterable[PlacedStop]:
    """The stop orders that this stage can give."""
    worked_out = {one.id for one in kind.derived.values() if holds(one.when, features)}
    for order in kind.stop_orders.values():
        far = [] if order.far_over is None else [f"{stage.id}.{name}" for name in order.far_over.of]
        here = tuple(id for id in far if id in indications or id.partition(".")[2] in worked_out)
        if far and not here:
            continue
        targets = {resolve(stage, name): state for name, state in order.observed.items()}
        observed = {name: state for name, state in targets.items() if name is not None}
        if len(observed) == len(order.observed) and all(name in indications for name in observed):
            yield PlacedStop(f"{stage.id}.{order.id}", stage.id, order, observed, here)


def resolve(stage: Stage, name: str) -> str | None:
    """Id on the rig of a local name ("voltage", "mains.primary_voltage"); None for an unbound port."""
    port, dot, rest = name.partition(".")
    if not dot:
        return f"{stage.id}.{name}"
    neighbour = stage.fed_by.get(port)
    return None if neighbour is None else f"{neighbour}.{rest}"


def _unnamed_part(kind: StageKind, stage: Stage) -> tuple[Part, ...]:
    if kind.unnamed_prior <= 0:
        return ()
    mode = Mode("present", "a fault that is not in this book", kind.unnamed_prior, place=kind.place)
    return (Part(UNNAMED, f"something else in the {stage.title}", (mode,), unnamed=True, place=kind.place),)


def _links(
    kind: StageKind,
    stage: Stage,
    features: Mapping[str, object],
    parts: Mapping[str, PlacedPart],
    indications: Mapping[str, PlacedIndication],
) -> Iterable[Link]:
    for rule in kind.rules.values():
        if not holds(rule.when, features):
            continue
        parent = resolve(stage, rule.from_name)
        child = resolve(stage, rule.to_name)
        if parent is None or child is None:
            continue
        known_parent = parent in parts or parent in indications
        known_child = child in (parts if rule.damages else indications)
        if known_parent and known_child:
            yield Link(parent, rule.from_state, child, rule.to_state, rule.chance, rule)
    part_id = f"{stage.id}.{UNNAMED}"
    if part_id not in parts:
        return
    for indication in kind.indications.values():
        child = f"{stage.id}.{indication.id}"
        if child not in indications:
            continue
        if kind.unnamed_only and indication.id not in kind.unnamed_only:
            continue
        bad = [state for state in indication.states if state.side]
        for state in bad:
            chance = kind.unnamed_pushes / len(bad)
            rule = Rule(
                f"{kind.id}/{UNNAMED}",
                UNNAMED,
                "present",
                indication.id,
                state.id,
                chance,
                "a fault that the book does not know may show at any indication of its stage",
                "common practice",
                place=kind.place,
            )
            yield Link(part_id, "present", child, state.id, chance, rule)


def _check(
    check: Check,
    stage: Stage,
    features: Mapping[str, object],
    parts: Mapping[str, PlacedPart],
    indications: Mapping[str, PlacedIndication],
) -> PlacedCheck | None:
    if not holds(check.when, features):
        return None
    targets = [resolve(stage, name) for name in check.reveals]
    reveals = tuple(name for name in targets if name is not None and name in indications)
    if not reveals and not check.proves:
        return None
    swaps = f"{stage.id}.{check.swaps}" if check.swaps else ""
    if swaps and swaps not in parts:
        return None
    return PlacedCheck(f"{stage.id}.{check.id}", stage.id, check, reveals, swaps)


def _parents_first(
    rig: Rig,
    parts: Mapping[str, PlacedPart],
    indications: Mapping[str, PlacedIndication],
    links: Iterable[Link],
) -> tuple[str, ...]:
    """Parts and indications so that every arrow and every need points onwards.

    Among what could come next the earliest stage comes first: that keeps the stages together, which the
    elimination order profits from.
    """
    waiting: dict[str, set[str]] = {name: set() for name in (*parts, *indications)}
    for link in links:
        waiting[link.child].add(link.parent)
    for name, placed in indications.items():
        waiting[name].update(target for target, _ in placed.needs)
    children: dict[str, list[str]] = {}
    for name, parents in waiting.items():
        for parent in parents:
            children.setdefault(parent, []).append(name)
    stages = {stage: position for position, stage in enumerate(rig.stages)}
    rank = {name: (stages[name.partition(".")[0]], position) for position, name in enumerate(waiting)}
    missing = {name: len(parents) for name, parents in waiting.items()}
    ready = [(rank[name], name) for name, count in missing.items() if not count]
    heapq.heapify(ready)
    done: list[str] = []
    while ready:
        _, name = heapq.heappop(ready)
        done.append(name)
        for child in children.get(name, ()):
            missing[child] -= 1
            if missing[child] == 0:
                heapq.heappush(ready, (rank[child], child))
    if len(done) < len(waiting):
        left = {name for name in waiting if missing[name]}
        raise CycleError(_circle(left, waiting))
    return tuple(done)


def _circle(left: set[str], parents: Mapping[str, set[str]]) -> tuple[str, ...]:
    """One circle among the names that could not be ordered, each followed by what it leads to."""
    name = min(left)
    path = [name]
    while True:
        name = min(parent for parent in parents[name] if parent in left)
        if name in path:
            circle = path[path.index(name) :]
            return (*reversed(circle), circle[-1])
        path.append(name)
