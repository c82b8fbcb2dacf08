"""`diagnose rigs`: list and show the types of transmitter."""

from __future__ import annotations

import argparse

from diagnose.commands import status
from diagnose.commands.opening import nearest, open_book
from diagnose.commands.output import Output
from diagnose.model.knowledge import Book, Rig
from diagnose.render.book import rig_page, rigs_page, unit_of
from diagnose.render.json_text import as_text, number


def command(options: argparse.Namespace, output: Output) -> int:
    """Carries out one action on the rigs."""
    book = open_book(options.shop)
    if options.action == "list":
        return _list(book, options, output)
    rig = book.rigs.get(options.rig)
    if rig is None:
        hint = nearest(options.rig, book.rigs) or f"the rigs are {', '.join(book.rigs)}."
        output.message(f"diagnose: `{options.rig}` is no rig of the book; {hint}")
        return status.USAGE
    if options.format == "json":
        output.write(as_text(_record(book, rig)) + "\n")
        return status.DONE
    page = output.page()
    rig_page(page, book, rig)
    output.show(page)
    return status.DONE


def _list(book: Book, options: argparse.Namespace, output: Output) -> int:
    if options.format == "json":
        brief = [{"rig": rig.id, "title": rig.title, "local": rig.local} for rig in book.rigs.values()]
        output.write(as_text(brief) + "\n")
        return status.DONE
    page = output.page()
    rigs_page(page, book)
    output.show(page)
    return status.DONE


def _record(book: Book, rig: Rig) -> dict[str, object]:
    return {
        "rig": rig.id,
        "title": rig.title,
        "local": rig.local,
        "mains_voltage": number(rig.mains_voltage),
        "mains_frequency": number(rig.mains_frequency),
        "bands": list(rig.bands),
        "stages": [
            {
                "id": stage.id,
                "kind": stage.kind,
                "title": stage.title,
                "features": dict(stage.features),
                "fed_by": dict(stage.fed_by),
                "tubes": list(stage.tubes),
            }
            for stage in rig.stages.values()
        ],
        "chart": [
            {
                "quantity": row.quantity,
                "value": number(row.value),
                "unit": unit_of(book, rig, row.quantity),
                "mode": row.mode,
                "band": row.band,
                "tolerance": number(row.tolerance),
                "note": row.note,
            }
            for row in rig.chart
        ],
        "proof": list(rig.proof),
    }
