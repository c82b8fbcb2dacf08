"""What several readings of one quantity say together: over the bands, as a pair, in a drift log."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.frozen import Frozen
from diagnose.files.read_references import check_figure
from diagnose.files.scope import Scope
from diagnose.model.knowledge import Indication
from diagnose.model.measuring import DriftLog, OfPair, OverBands, Shape
from diagnose.units import dimension

SPREAD = 0.05  # from band to band in a good set, where nothing is said

# What the fit of a drift log gives, with the units that a quantity for it may have.
DRIFT_FIGURES: Mapping[str, tuple[str, ...]] = {
    "warm_up": ("Hz",),
    "residual": ("Hz", "Hz/h"),  # in an hour, whether the unit says so or the title
    "jump_size": ("Hz",),
    "jump_number": ("",),
    "per_volt": ("Hz", "Hz/V"),
    "per_degree": ("Hz", "Hz/K"),
}


def read_over_bands(node: Node | None, indication: Indication, scope: Scope) -> OverBands | None:
    """The pattern that readings of one quantity over the bands make."""
    if node is None or not node.entries:
        return None
    shapes: dict[str, Shape] = {}
    section = node.get("shapes")
    for state, entry in section.entries.items() if section is not None else ():
        size = _size(entry.get("size"), scope)
        if _is_bad_state(state, entry, indication, scope) and size is not None:
            shapes[state] = Shape(values.text(entry, "kind"), size)
    spread = values.share(node.get("spread"), scope.faults)
    return OverBands(
        quantity=_quantity(node, scope),
        shapes=Frozen(shapes),
        spread=SPREAD if spread is None else spread,
    )


def read_of_pair(node: Node | None, indication: Indication, scope: Scope) -> OfPair | None:
    """The answer that two readings of one quantity give."""
    if node is None or not node.entries:
        return None
    states = {}
    for key in ("rose", "fell"):
        entry = node.get(key)
        if entry is not None and _is_bad_state(values.text(entry), entry, indication, scope):
            states[key] = values.text(entry)
    if node.get("rose") is None and node.get("fell") is None:
        said = "nothing is said of what a change means"
        scope.faults.error(node.key_place, "missing-key", said, "add `rose:` or `fell:` with a state")
    return OfPair(
        quantity=_quantity(node, scope),
        pair=values.text(node, "pair"),
        by=values.share(node.get("by"), scope.faults) or 0.0,
        rose=states.get("rose", ""),
        fell=states.get("fell", ""),
    )


def read_drift_log(node: Node | None, scope: Scope) -> DriftLog | None:
    """The quantities that the fit of a drift log gives."""
    if node is None or not node.entries:
        return None
    gives: dict[str, str] = {}
    section = node.get("gives")
    quantities = {i.id: i for i in scope.indications.values() if i.sort == "quantity"}
    for figure, entry in section.entries.items() if section is not None else ():
        name = values.text(entry)
        if figure not in DRIFT_FIGURES:
            said = f"`{figure}` is no figure of a drift log"
            scope.faults.unknown(entry.key_place, "unknown-name", said, figure, DRIFT_FIGURES)
        elif name not in quantities:
            said = f"`{name}` is no quantity of the kind {scope.kind}"
            scope.faults.unknown(entry, "unknown-name", said, name, quantities)
        elif not _is_in(quantities[name].unit, DRIFT_FIGURES[figure]):
            said = f"{name} is {dimension(quantities[name].unit)}, and `{figure}` is not"
            scope.faults.error(entry, "unit", said, f"give it the unit {DRIFT_FIGURES[figure][-1] or 'none'}")
        else:
            gives[figure] = name
    return DriftLog(Frozen(gives), values.flag(node, "multiplied", default=True))


def _quantity(node: Node, scope: Scope) -> str:
    """The name of the quantity that is read several times, if it is one."""
    entry, name = node.get("quantity"), values.text(node, "quantity")
    return name if entry is not None and name and check_figure(entry.place, name, scope) else ""


def _is_bad_state(state: str, where: Node, indication: Indication, scope: Scope) -> bool:
    """Whether the word is an abnormal state of the indication."""
    known = [known.id for known in indication.states[1:]]
    if state in known:
        return True
    said = f"`{state}` is no abnormal state of {indication.id}"
    place = where.place if where.is_scalar else where.key_place
    scope.faults.unknown(place, "unknown-state", said, state, known)
    return False


def _size(node: Node | None, scope: Scope) -> tuple[float, float] | None:
    """The least and the greatest ratio to the expected value."""
    ends = [values.ratio(end, scope.faults) for end in node.members] if node is not None else []
    if node is None or len(ends) != 2 or ends[0] is None or ends[1] is None:
        return None
    if ends[0] >= ends[1]:
        scope.faults.error(node, "range", "the least ratio is not below the greatest")
        return None
    return ends[0], ends[1]


def _is_in(unit: str, units: tuple[str, ...]) -> bool:
    return any(dimension(unit) == dimension(other) for other in units)
