"""Many cases as a table, one row each."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from typing import Any, Final

from diagnose.render import numbers
from diagnose.render.page import Page, styled

Record = dict[str, Any]

COLUMNS: Final = (
    "file",
    "case",
    "rig",
    "verdict",
    "top_cause",
    "title",
    "probability",
    "blame",
    "stop_orders",
    "unexplained",
    "exact",
)


def csv_row(path: str, record: Record) -> str:
    """One case as a row of comma-separated values."""
    top: Record = record["causes"][0] if record["causes"] else {}
    return csv_line(
        (
            path,
            record["case"],
            record["rig"],
            record["verdict"],
            top.get("id", ""),
            top.get("title", ""),
            top.get("probability", ""),
            top.get("blame", ""),
            " ".join(order["id"] for order in record["stop_orders"]),
            record["unexplained"]["probability"],
            "yes" if record["exact"] else "no",
        )
    )


def csv_line(cells: Iterable[object]) -> str:
    """Cells as one line, with a line end."""
    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerow(cells)
    return stream.getvalue()


def head(page: Page) -> None:
    """The head of the table for people."""
    titles = ("case", "verdict", "of 100", "leading part")
    page.row([styled((title, "heading")) for title in titles], _widths(page), indent=0)


def row(page: Page, record: Record, leader: Record) -> None:
    """One case of the table for people: its name, verdict, and the part that takes most of the blame."""
    verdict = styled((record["verdict"], "stop" if record["stop_orders"] else ""))
    named = f"{leader['part']}, {leader['stage']}" if leader else ""
    blame = numbers.chance(leader["blame"]).removesuffix(" of 100") if leader else ""
    page.row((record["case"], verdict, blame, named), _widths(page), indent=0)


def _widths(page: Page) -> tuple[int, int, int, int]:
    case = max(page.width * 2 // 5 - 4, 16)
    return (case, 16, -6, page.width - case - 28)
