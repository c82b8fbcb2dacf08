"""The chart of a rig: what a good set shows, row by row."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from diagnose.files import values
from diagnose.files.choices import choice
from diagnose.files.document import Node
from diagnose.files.scope import Library
from diagnose.model.knowledge import ChartRow, Stage
from diagnose.model.measuring import Meter


def read_chart(
    node: Node | None,
    stages: Mapping[str, Stage],
    features: Mapping[str, tuple[str, ...]],
    bands: tuple[str, ...],
    meters: Mapping[str, Meter],
    library: Library,
) -> Iterator[ChartRow]:
    """The rows that can be used, each value in the unit of its quantity; of two for one condition the first."""
    faults = library.faults
    seen: dict[tuple[str, str, str], Node] = {}
    for row in node.members if node is not None else ():
        told = (values.text(row, "quantity"), values.text(row, "mode"), values.text(row, "band"))
        if told in seen:
            said = f"the chart has a row for this already (line {seen[told].place.line})"
            hint = "give one of them another mode or band, or remove it"
            faults.error(row, "duplicate-row", said, hint)
            continue
        seen[told] = row
        for key, known in (("mode", features.get("modes", ())), ("band", bands)):
            word, entry = values.text(row, key), row.get(key)
            if entry is not None and word not in known:
                said = f"`{word}` is no {key} of this rig"
                faults.unknown(entry, f"unknown-{key}", said, word, known)
        meter = choice(row.get("meter"), "chart meter of this rig", meters, faults, id="unknown-meter")
        name_node = row.get("quantity")
        unit = _unit_of(name_node, stages, library)
        value_node = row.get("value")
        if name_node is None or unit is None or value_node is None:
            continue
        value = values.quantity(value_node, unit, faults)
        if value is None:
            continue
        yield ChartRow(
            quantity=values.text(name_node),
            value=value,
            mode=values.text(row, "mode"),
            band=values.text(row, "band"),
            tolerance=values.share(row.get("tolerance"), faults),
            note=values.text(row, "note"),
            meter=meter,
            place=row.place,
        )


def _unit_of(node: Node | None, stages: Mapping[str, Stage], library: Library) -> str | None:
    """The unit of the quantity that a row of the chart names."""
    if node is None or not node.is_scalar:
        return None
    written = values.text(node)
    stage_id, _, name = written.partition(".")
    stage = stages.get(stage_id)
    if stage is None:
        said = f"`{written}` is no quantity: this rig has no stage `{stage_id}`"
        library.faults.unknown(node, "unknown-quantity", said, stage_id, stages)
        return None
    kind = library.kinds.get(stage.kind)
    if kind is None:
        return None
    known = [i.id for i in kind.indications.values() if i.sort == "quantity"]
    if name not in known:
        said = f"`{written}` is no quantity of the kind {kind.id}"
        library.faults.unknown(
            node, "unknown-quantity", said, written, [f"{stage_id}.{other}" for other in known]
        )
        return None
    return kind.indications[name].unit if kind.indications[name].states else None
