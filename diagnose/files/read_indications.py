"""Quantities, symptoms and patterns of a kind of stage as indications with their states."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import Faults, did_you_mean
from diagnose.files.scope import Scope, Shelf
from diagnose.model.knowledge import Indication, Need, State
from diagnose.units import UnitError, dimension

SYMPTOM_LEAK = 0.003
PATTERN_LEAK = 0.002
READS_WITHIN = 0.03
SPLIT = (0.5, 0.25, 0.25)

_TERM = re.compile(r"(?:(\d+(?:\.\d+)?)\s+)?([a-z_]+)\Z")


def read_indications(root: Node, shelf: Shelf) -> dict[str, Indication]:
    """All indications of a stage file; a name used twice is a problem."""
    found: dict[str, Indication] = {}
    sorts = (("quantities", _quantity), ("symptoms", _symptom), ("patterns", _pattern))
    for section, read in sorts:
        for id, node in _entries(root, section):
            if id in found:
                said = f"`{id}` is already the name of a {found[id].sort}"
                shelf.faults.error(node.key_place, "duplicate-id", said, "give it another name")
                continue
            found[id] = read(id, node, shelf)
    return found


def check_indications(root: Node, scope: Scope) -> None:
    """Whether needs and conditions of the indications speak of what exists."""
    for section in ("quantities", "symptoms", "patterns"):
        for id, node in _entries(root, section):
            scope.check_condition(node.get("when"))
            needs = node.get("needs")
            for name, states in needs.entries.items() if needs is not None else ():
                if name == id:
                    said = f"{id} cannot need itself"
                    scope.faults.error(states.key_place, "needs-itself", said)
                else:
                    scope.check_name(states.key_place, name, values.scalars(states))
            for name_node in values.scalars(node, "rests_on"):
                scope.check_name(name_node, values.text(name_node))


def _entries(root: Node, section: str) -> list[tuple[str, Node]]:
    node = root.get(section)
    return list(node.entries.items()) if node is not None else []


def _common(id: str, sort: str, node: Node, states: tuple[State, ...], shelf: Shelf) -> Indication:
    """What all sorts share."""
    needs = node.get("needs")
    return Indication(
        id=id,
        sort=sort,
        title=values.text(node, "title", id.replace("_", " ")),
        ask=values.text(node, "ask"),
        states=states,
        split=_split(node.get("split"), shelf.faults),
        needs=tuple(
            Need(name, values.texts(allowed))
            for name, allowed in (needs.entries.items() if needs is not None else ())
        ),
        when=values.condition(node.get("when")),
        words=values.texts(node, "words"),
        stop=values.text(node, "stop"),
        place=node.key_place,
    )


def _symptom(id: str, node: Node, shelf: Shelf) -> Indication:
    leak = values.frequency(node.get("leak"), shelf.faults)
    yes = State("yes", "up", leak=SYMPTOM_LEAK if leak is None else leak)
    return _common(id, "symptom", node, (State("no"), yes), shelf)


def _pattern(id: str, node: Node, shelf: Shelf) -> Indication:
    """The declared states from mild to severe, all on the side that lets the severest win."""
    declared = node.get("states")
    bad = [
        State(state, "over", values.text(title), PATTERN_LEAK)
        for state, title in (declared.entries.items() if declared is not None else ())
    ]
    if any(state.id == "normal" for state in bad):
        place = declared.entries["normal"].key_place if declared is not None else node.place
        shelf.faults.error(place, "duplicate-id", "the state normal is there already", "remove it")
        bad = [state for state in bad if state.id != "normal"]
    states = _with_leaks((State("normal"), *bad), node.get("leak"), id, shelf.faults)
    return _common(id, "pattern", node, states, shelf)


def _quantity(id: str, node: Node, shelf: Shelf) -> Indication:
    faults = shelf.faults
    unit = _unit(node.get("unit"), faults)
    states, scale = _graded(id, node, unit, shelf) if unit is not None else ((), "")
    unit = unit or ""
    plausible = node.get("plausible")
    ends = [values.quantity(end, unit, faults) for end in plausible.members] if plausible else []
    low, high = (*ends, None, None)[:2]
    if plausible is not None and low is not None and high is not None and low >= high:
        faults.error(plausible, "range", f"the plausible range of {id} runs backwards")
    within = values.share(node.get("reads_within"), faults)
    follows = values.number(node, "follows_mains")
    return replace(
        _common(id, "quantity", node, states, shelf),
        unit=unit,
        condition=values.text(node, "condition"),
        scale=scale,
        tolerance=values.share(node.get("tolerance"), faults) or 0.0,
        follows_mains=follows if follows is not None else 0.0,
        reads_within=within if within is not None else READS_WITHIN,
        plausible=(low, high) if low is not None and high is not None else None,
        rests_on=values.texts(node, "rests_on"),
    )


def _unit(node: Node | None, faults: Faults) -> str | None:
    """The unit, or None where it is none."""
    if node is None or not isinstance(node.value, str):
        return None
    unit = values.text(node)
    try:
        dimension(unit)
    except UnitError as error:
        faults.error(node, "unit", error.text, error.hint or "write a unit like V, mA or percent")
        return None
    return unit


def _split(node: Node | None, faults: Faults) -> tuple[float, float, float]:
    """How often a push both ways ends normal, down and up."""
    if node is None or len(node.members) != 3:
        return SPLIT
    parts = [values.frequency(member, faults) for member in node.members]
    normal, down, up = (part if part is not None else 0.0 for part in parts)
    if None not in parts and abs(normal + down + up - 1) > 1e-9:
        said = f"the split adds up to {normal + down + up:g}, not to 1"
        faults.error(node, "split", said, "write it like `[0.5, 0.25, 0.25]`")
        return SPLIT
    return (normal, down, up)


@dataclass(frozen=True)
class _Edges:
    """The numbers a grading may name, for one quantity."""

    known: Mapping[str, float]
    wanted: Mapping[str, str]  # what the quantity must say for a number to be known
    quantity: Node


_WANTED = {
    "lower_edge": "tolerance",
    "upper_edge": "tolerance",
    "half_tolerance": "tolerance",
    "limit": "limit",
    "lower_limit": "limits",
    "upper_limit": "limits",
}


def _edges(node: Node, unit: str, faults: Faults) -> _Edges:
    known: dict[str, float] = {}
    silent = Faults()  # a bad tolerance is reported where it is read for the indication itself
    tolerance = values.share(node.get("tolerance"), silent)
    if tolerance is not None:
        known |= {
            "lower_edge": 1 - tolerance,
            "upper_edge": 1 + tolerance,
            "half_tolerance": tolerance / 2,
        }
    limit = values.quantity(node.get("limit"), unit, faults)
    if limit is not None:
        known["limit"] = limit
    limits = node.get("limits")
    ends = [values.quantity(end, unit, faults) for end in limits.members] if limits else []
    if limits is not None and len(ends) == 2 and ends[0] is not None and ends[1] is not None:
        if ends[0] >= ends[1]:
            faults.error(limits, "range", "the lower limit is not below the upper limit")
        else:
            known |= {"lower_limit": ends[0], "upper_limit": ends[1]}
    return _Edges(known, _WANTED, node)


def _graded(id: str, node: Node, unit: str, shelf: Shelf) -> tuple[tuple[State, ...], str]:
    """The states of a quantity by its grading, the good one first, and the scale.

    No states where they cannot be told: then nothing more is said of them.
    """
    word = values.text(node, "grading")
    grading = shelf.gradings.get(word)
    if grading is None:
        where = node.get("grading")
        if word and where is not None:
            said = f"`{word}` is no grading of the bench"
            shelf.faults.unknown(where, "unknown-grading", said, word, shelf.gradings)
        return (), ""
    edges = _edges(node, unit, shelf.faults)
    graded = {
        state: _state(state, entry, edges, shelf.faults) for state, entry in _entries(grading, "states")
    }
    own = {state: _state(state, entry, edges, shelf.faults) for state, entry in _entries(node, "states")}
    masks = [state for id, state in own.items() if id not in graded and state.side == "over"]
    worse = [state for id, state in own.items() if id not in graded and state.side != "over"]
    # A masking state of its own is milder than `absent`; a further degree is more severe.
    states = (*masks, *(own.get(id, state) for id, state in graded.items()), *worse)
    good = [state for state in states if state.side == ""]
    if len(good) != 1:
        said = f"{id} has {len(good)} states without a side; exactly one is the good one"
        shelf.faults.error(node.key_place, "grading", said)
        return (), ""
    ordered = (*good, *(state for state in states if state.side))
    scale = values.text(grading, "scale")
    return _with_leaks(ordered, node.get("leak"), id, shelf.faults), scale


def _state(id: str, node: Node, edges: _Edges, faults: Faults) -> State:
    leak = values.frequency(node.get("leak"), faults)
    return State(
        id=id,
        side=values.text(node, "side"),
        title=values.text(node, "title"),
        leak=leak if leak is not None else 0.0,
        between=_pair(list(node.entries["between"].members), edges, faults)
        if node.get("between") is not None
        else None,
        around=_pair([node.entries["around"], node.entries["spread"]], edges, faults)
        if node.get("around") is not None and node.get("spread") is not None
        else None,
    )


def _pair(nodes: list[Node], edges: _Edges, faults: Faults) -> tuple[float, float] | None:
    numbers = [_term(node, edges, faults) for node in nodes]
    if len(numbers) != 2 or numbers[0] is None or numbers[1] is None:
        return None
    return (numbers[0], numbers[1])


def _term(node: Node, edges: _Edges, faults: Faults) -> float | None:
    """A number of a grading: plain, named, or a multiple of a named one (`10 limit`)."""
    plain = values.number(node)
    if plain is not None:
        return plain
    match = _TERM.match(values.text(node))
    name = match.group(2) if match else values.text(node)
    if match is None or name not in edges.wanted:
        said = f"`{values.text(node)}` is no number of a grading"
        faults.error(node, "grading", said, did_you_mean(name, edges.wanted))
        return None
    if name not in edges.known:
        key = edges.wanted[name]
        if edges.quantity.get(key) is None:
            said = f"the grading {values.text(edges.quantity, 'grading')} wants `{key}`, which is not here"
            faults.error(edges.quantity.key_place, "grading", said, f"add `{key}:`")
        return None
    return float(match.group(1) or 1) * edges.known[name]


def _with_leaks(states: tuple[State, ...], node: Node | None, id: str, faults: Faults) -> tuple[State, ...]:
    """The states with the leaks that the indication declares: one for all, or one by one."""
    if node is None:
        return states
    if node.is_scalar:
        leak = values.frequency(node, faults)
        if leak is None:
            return states
        return tuple(replace(state, leak=leak) if state.side else state for state in states)
    known = [state.id for state in states if state.side]
    leaks: dict[str, float] = {}
    for state, entry in node.entries.items():
        if state not in known:
            said = f"`{state}` is no abnormal state of {id}"
            faults.unknown(entry.key_place, "unknown-state", said, state, known)
            continue
        leak = values.frequency(entry, faults)
        if leak is not None:
            leaks[state] = leak
    return tuple(replace(state, leak=leaks.get(state.id, state.leak)) for state in states)
