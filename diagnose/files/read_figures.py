"""Values of parts that rigs state, figures read at the bench, and figures worked out from others."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diagnose.files import values
from diagnose.files.cycles import find_cycle
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.frozen import Frozen
from diagnose.files.read_answers import read_answers
from diagnose.files.read_indications import READS_WITHIN
from diagnose.files.read_measuring import check_mode, read_instruments_used, read_limit
from diagnose.files.read_references import read_inputs
from diagnose.files.read_rules import read_source
from diagnose.files.scope import Scope, Worked
from diagnose.model.measuring import Derived, Figure, PartValue, Reference
from diagnose.units import dimension


def read_values(root: Node, faults: Faults) -> dict[str, PartValue]:
    """The values of parts that a rig may state."""
    return {
        id: PartValue(
            id=id,
            title=values.text(node, "title", id.replace("_", " ")),
            unit=values.stated_unit(node, faults),
            within=values.share(node.get("within"), faults) or 0.0,
            place=node.key_place,
        )
        for id, node in _entries(root, "values")
    }


def read_figures(root: Node, scope: Scope) -> dict[str, Figure]:
    """The figures of a stage file; one that is called like an indication is a problem."""
    figures: dict[str, Figure] = {}
    for id, node in _entries(root, "figures"):
        if id in scope.indications:
            _taken(id, scope.indications[id].sort, node, scope)
            continue
        within = values.share(node.get("reads_within"), scope.faults)
        figures[id] = Figure(
            id=id,
            title=values.text(node, "title", id.replace("_", " ")),
            ask=values.text(node, "ask"),
            unit=values.stated_unit(node, scope.faults),
            reads_within=READS_WITHIN if within is None else within,
            read_with=read_instruments_used(node.get("read_with"), scope),
            condition=values.text(node, "condition"),
            words=values.texts(node, "words"),
            place=node.key_place,
        )
    return figures


def units_of_derived(root: Node, scope: Scope) -> dict[str, str]:
    """The names of the derived figures with their units, which they may need of each other."""
    units: dict[str, str] = {}
    for id, node in _entries(root, "derived"):
        taken = scope.indications[id].sort if id in scope.indications else "figure"
        if id in scope.indications or id in scope.figures:
            _taken(id, taken, node, scope)
        else:
            units[id] = values.stated_unit(node, scope.faults)
    return units


def _taken(id: str, sort: str, node: Node, scope: Scope) -> None:
    said = f"`{id}` is already the name of a {sort}"
    scope.faults.error(node.key_place, "duplicate-id", said, "give it another name")


def read_derived(root: Node, scope: Scope) -> dict[str, Derived]:
    """The derived figures of a stage file, which do not follow from themselves."""
    derived = {id: _derived(id, node, scope) for id, node in _entries(root, "derived") if id in scope.derived}
    circle = find_cycle(_follows(derived.values()))
    if circle:
        worked = next(derived[name] for name in circle if name in derived)
        said = "a figure is worked out from itself: " + " from ".join(circle)
        scope.faults.error(worked.place, "cycle", said)
    return derived


def _derived(id: str, node: Node, scope: Scope) -> Derived:
    scope.check_condition(node.get("when"))
    formula = node.get("formula")
    modes = values.scalars(node.get("in_mode"))
    limit = read_limit(node.get("limit"), scope.derived[id], scope)
    answers = read_answers(node.get("gives"), limit, scope)
    read = Derived(
        id=id,
        title=values.text(node, "title", id.replace("_", " ")),
        unit=scope.derived[id],
        formula=values.text(formula),
        inputs=Frozen(read_inputs(node.get("from"), scope)),
        when=values.condition(node.get("when")),
        gives="" if answers is not None else _gives(node.get("gives"), scope.derived[id], scope),
        answers=answers or (),
        limit=limit,
        in_mode=tuple(values.text(m) for m in modes if check_mode(m.place, values.text(m), scope)),
        quiet=values.flag(node, "quiet"),
        source=read_source(node.get("source"), scope),
        place=node.key_place,
    )
    stated = node.get("from")
    spoilt = stated is not None and len(read.inputs) < len(stated.entries)
    if formula is not None and formula.is_scalar and not spoilt:
        scope.pending.append(Worked(scope.kind, read, formula))
    return read


def _gives(node: Node | None, unit: str, scope: Scope) -> str:
    """The quantity of the stage that a derived figure in `unit` is a reading of."""
    word = values.text(node)
    if node is None or not word:
        return ""
    quantities = {i.id: i for i in scope.indications.values() if i.sort == "quantity"}
    if word in quantities:
        if unit == values.NO_UNIT or dimension(quantities[word].unit) == dimension(unit):
            return word
        said = f"{word} is {dimension(quantities[word].unit)}, and this figure is {dimension(unit)}"
        scope.faults.error(node, "unit", said)
        return ""
    said = f"`{word}` is no quantity, symptom or pattern of the kind {scope.kind}"
    scope.faults.unknown(node, "unknown-name", said, word, scope.indications)
    return ""


def _follows(derived: Iterable[Derived]) -> Mapping[str, list[str]]:
    """What each name of a stage follows from: a figure from its inputs, a quantity from what gives it."""
    follows: dict[str, list[str]] = {}
    for figure in derived:
        follows.setdefault(figure.id, []).extend(
            name for reference in figure.inputs.values() for name in read_in(reference)
        )
        if figure.gives:
            follows.setdefault(figure.gives, []).append(figure.id)
    return follows


def read_in(reference: Reference) -> Iterable[str]:
    """The names whose readings a reference uses."""
    at: Reference | None = reference
    while at is not None:
        if at.quantity and not at.expected:
            yield at.quantity
        at = at.other


def _entries(root: Node, section: str) -> Iterable[tuple[str, Node]]:
    node = root.get(section)
    return node.entries.items() if node is not None else ()
