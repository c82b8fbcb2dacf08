"""The states of a graded quantity, as a grading of the bench lays them out, and their leaks."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import Faults, did_you_mean
from diagnose.files.scope import Shelf
from diagnose.model.knowledge import State

_TERM = re.compile(r"(?:(\d+(?:\.\d+)?)\s+)?([a-z_]+)\Z")


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


def graded(id: str, node: Node, unit: str, shelf: Shelf) -> tuple[tuple[State, ...], str]:
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
    usual = _states(grading, edges, shelf.faults)
    own = _states(node, edges, shelf.faults)
    masks = [state for id, state in own.items() if id not in usual and state.side == "over"]
    worse = [state for id, state in own.items() if id not in usual and state.side != "over"]
    # A masking state of its own is milder than `absent`; a further degree is more severe.
    states = (*masks, *(own.get(id, state) for id, state in usual.items()), *worse)
    good = [state for state in states if state.side == ""]
    if len(good) != 1:
        said = f"{id} has {len(good)} states without a side; exactly one is the good one"
        shelf.faults.error(node.key_place, "grading", said)
        return (), ""
    ordered = (*good, *(state for state in states if state.side))
    scale = values.text(grading, "scale")
    return with_leaks(ordered, node.get("leak"), id, shelf.faults), scale


def _states(node: Node, edges: _Edges, faults: Faults) -> dict[str, State]:
    section = node.get("states")
    entries = section.entries if section is not None else {}
    return {id: _state(id, entry, edges, faults) for id, entry in entries.items()}


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
        entry = edges.quantity.get(key)
        if entry is None or entry.entries:
            said = f"the grading {values.text(edges.quantity, 'grading')} wants `{key}`, which is not here"
            said = said if entry is None else said.replace("which is not here", "and here it is no edge")
            faults.error(edges.quantity.key_place, "grading", said, f"add `{key}:`")
        return None
    return float(match.group(1) or 1) * edges.known[name]


def with_leaks(states: tuple[State, ...], node: Node | None, id: str, faults: Faults) -> tuple[State, ...]:
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
