"""Published sources and tube data."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.files import values
from diagnose.files.document import Node
from diagnose.files.faults import Faults, did_you_mean
from diagnose.files.frozen import Frozen
from diagnose.files.read_rules import UNPUBLISHED
from diagnose.model.knowledge import Source, Tube

# Blocks of figures beside the working points; they go by their own names among those.
FURTHER = ("ratings_phone", "drop", "regulator")


def read_sources(section: Node | None) -> Frozen[str, Source]:
    """The sources by id."""
    entries = section.entries if section is not None else {}
    return Frozen(
        {
            id: Source(
                id,
                values.text(node, "title", id.replace("_", " ")),
                values.text(node, "section"),
                values.text(node, "url"),
            )
            for id, node in entries.items()
        }
    )


def read_tubes(section: Node | None, sources: Mapping[str, Source], faults: Faults) -> Frozen[str, Tube]:
    """The tubes by type."""
    entries = section.entries if section is not None else {}
    return Frozen({id: _tube(id, node, sources, faults) for id, node in entries.items()})


def _tube(id: str, node: Node, sources: Mapping[str, Source], faults: Faults) -> Tube:
    source = values.text(node, "source")
    entry = node.get("source")
    if entry is not None and source not in UNPUBLISHED and source not in sources:
        hint = did_you_mean(source, (*UNPUBLISHED, *sources))
        faults.error(entry, "unknown-source", f"`{source}` is no source", hint)
    typical = node.get("typical")
    blocks = dict(typical.entries if typical is not None else {})
    blocks.update({name: block for name, block in node.entries.items() if name in FURTHER})
    return Tube(
        id=id,
        kind=values.text(node, "kind"),
        heater=_figures(node.get("heater")),
        ratings=_figures(node.get("ratings")),
        typical=Frozen({service: _figures(block) for service, block in blocks.items()}),
        source=source,
        notes=values.text(node, "notes"),
        place=node.key_place,
        characteristics=_figures(node.get("characteristics")),
    )


def _figures(node: Node | None) -> Frozen[str, str]:
    """Figures as written, with their units."""
    entries = node.entries if node is not None else {}
    return Frozen({name: values.text(figure) for name, figure in entries.items()})
