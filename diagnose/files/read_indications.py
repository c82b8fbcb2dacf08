"""Quantities, symptoms, patterns and instruments of a kind of stage as indications with their states."""

from __future__ import annotations

from dataclasses import replace

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.frozen import Frozen
from diagnose.files.read_instruments import instrument_states, read_astray
from diagnose.files.read_states import graded, with_leaks
from diagnose.files.scope import Scope, Shelf
from diagnose.model.knowledge import Indication, Need, State

SYMPTOM_LEAK = 0.003
PATTERN_LEAK = 0.002
READS_WITHIN = 0.03
SPLIT = (0.5, 0.25, 0.25)


def read_indications(root: Node, shelf: Shelf) -> dict[str, Indication]:
    """All indications of a stage file; a name used twice is a problem."""
    found: dict[str, Indication] = {}
    sorts = (
        ("quantities", _quantity),
        ("symptoms", _symptom),
        ("patterns", _pattern),
        ("instruments", _instrument),
    )
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
    for section in ("quantities", "symptoms", "patterns", "instruments"):
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
        complaints=Frozen(_complaints(id, node, states, shelf.faults)),
        stop=values.text(node, "stop"),
        place=node.key_place,
    )


def _complaints(id: str, node: Node, states: tuple[State, ...], faults: Faults) -> dict[str, tuple[str, ...]]:
    """How people complain of it, by state; without one it is the last, which of a symptom is yes."""
    said = node.get("complaints")
    if said is None:
        return {}
    if not said.entries:
        return {states[-1].id: values.texts(said)}
    known = [state.id for state in states if state.side]
    for state in said.entries:
        if state not in known:
            text = f"`{state}` is no abnormal state of {id}"
            faults.unknown(said.entries[state].key_place, "unknown-state", text, state, known)
    return {state: values.texts(phrases) for state, phrases in said.entries.items() if state in known}


def _symptom(id: str, node: Node, shelf: Shelf) -> Indication:
    leak = values.frequency(node.get("leak"), shelf.faults)
    yes = State("yes", "up", leak=SYMPTOM_LEAK if leak is None else leak)
    otherwise = values.text(node, "otherwise")
    no = State("no", title=f"no, {otherwise}" if otherwise else "")
    return _common(id, "symptom", node, (no, yes), shelf)


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
    states = with_leaks((State("normal"), *bad), node.get("leak"), id, shelf.faults)
    return _common(id, "pattern", node, states, shelf)


def _instrument(id: str, node: Node, shelf: Shelf) -> Indication:
    """What a meter of the stage does to everything that is read with it."""
    states = with_leaks(instrument_states(), node.get("leak"), id, shelf.faults)
    common = _common(id, "instrument", node, states, shelf)
    return replace(common, astray=Frozen(read_astray(node, shelf.faults)))


def _quantity(id: str, node: Node, shelf: Shelf) -> Indication:
    faults = shelf.faults
    unit = values.unit(node.get("unit"), faults)
    states, scale = graded(id, node, unit, shelf) if unit is not None else ((), "")
    unit = unit or ""
    plausible = node.get("plausible")
    ends = [values.quantity(end, unit, faults) for end in plausible.members] if plausible else []
    low, high = (*ends, None, None)[:2]
    if plausible is not None and low is not None and high is not None and low >= high:
        faults.error(plausible, "range", f"the plausible range of {id} runs backwards")
    within = values.share(node.get("reads_within"), faults)
    follows, drops_out = _follows_mains(node.get("follows_mains"), faults)
    return replace(
        _common(id, "quantity", node, states, shelf),
        unit=unit,
        condition=values.text(node, "condition"),
        scale=scale,
        tolerance=values.share(node.get("tolerance"), faults) or 0.0,
        follows_mains=follows,
        drops_out_below=drops_out,
        reads_within=within if within is not None else READS_WITHIN,
        plausible=(low, high) if low is not None and high is not None else None,
        rests_on=values.texts(node, "rests_on"),
    )


def _follows_mains(node: Node | None, faults: Faults) -> tuple[float, float]:
    """The power of the line voltage, and the share of it below which a regulated quantity follows after all."""
    if node is None or not node.entries:
        return values.number(node) or 0.0, 0.0
    return values.number(node, "power") or 0.0, values.share(node.get("drops_out_below"), faults) or 0.0


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
