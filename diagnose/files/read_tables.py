"""Tables of a case (CSV files beside it): readings, readings per band, pins of sockets.

The header tells them apart. A row becomes an entry like one of the case file, so that everything in it is
judged by the same words; what is wrong with a cell costs that cell.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from diagnose.files import values
from diagnose.files.beside import Folder, table_beside
from diagnose.files.choices import choice
from diagnose.files.csv_text import Cell, Record, Rows
from diagnose.files.desk import Desk
from diagnose.files.document import Node
from diagnose.files.faults import did_you_mean
from diagnose.files.read_circumstances import CIRCUMSTANCES
from diagnose.files.read_readings import observations, subject_of
from diagnose.files.read_sockets import is_socket, pin_observations
from diagnose.files.scalars import plain_scalar
from diagnose.model.case import Observation
from diagnose.problems import Place

READINGS = "readings"
BANDS = "readings per band"
SOCKETS = "pins of sockets"
LOG = "a drift log"

# Columns beside the circumstances, by sort of table; the first of each tell it from the others.
WANTED = {
    SOCKETS: ("socket", "pin", "value"),
    READINGS: ("quantity", "value"),
    LOG: ("time", "frequency"),
    BANDS: ("band",),
}
FURTHER = {READINGS: ("unit", "work", "note"), SOCKETS: ("unit", "work", "note"), BANDS: ("note",), LOG: ()}

_HEADING = re.compile(r"(.*?)\s*(?:[\(\[]\s*([^()\[\]]*?)\s*[\)\]])?\Z", re.DOTALL)


@dataclass(frozen=True)
class Column:
    """A column of a table: its heading in plain words, the unit beside it, and where that stands."""

    name: str
    unit: str
    place: Place
    number: int


@dataclass(frozen=True)
class Table:
    """The columns and rows of a table whose sort is known."""

    sort: str
    columns: tuple[Column, ...]
    rows: tuple[Record, ...]
    width: int  # how many headings there are


def read_tables(root: Node, folder: Folder, desk: Desk) -> Iterator[Observation]:
    """The observations of all files under `tables`."""
    for node in values.scalars(root, "tables"):
        rows = table_beside(node, folder, desk.faults)
        table = table_of(rows, desk) if rows is not None else None
        if table is None:
            continue
        if table.sort == LOG:
            said = f"`{values.text(node)}` is a drift log"
            desk.faults.error(node, "table", said, "name it under `drift: {file: ...}`")
            continue
        since = len(desk.faults.found)
        yield from _ROWS[table.sort](table, desk)
        desk.faults.keep_few(since, "look at the columns and units of this table")


def table_of(rows: Rows, desk: Desk) -> Table | None:
    """The table, if its headings say what it is; one problem if not."""
    columns = tuple(_column(cell, number) for number, cell in enumerate(rows[0]))
    names = [column.name for column in columns]
    sort = next((sort for sort, wanted in WANTED.items() if set(wanted) <= set(names)), "")
    if not sort:
        said = "these headings are none of a table that is known here"
        desk.faults.error(rows[0][0].place, "table", said, _nearest_headings(names))
        return None
    known = (*WANTED[sort], *FURTHER[sort], *(("mains", "temperature") if sort == LOG else CIRCUMSTANCES))
    kept: list[Column] = []
    for column in columns:
        if any(other.name == column.name for other in kept):
            desk.faults.error(column.place, "duplicate-key", f"the column `{column.name}` is here twice")
        elif column.name in known or (sort == BANDS and "." in column.name):
            kept.append(column)
        elif column.name:
            said = f"`{column.name}` is no column of {sort}"
            desk.faults.error(column.place, "unknown-key", said, did_you_mean(column.name, known))
    return Table(sort, tuple(kept), rows[1:], len(columns))


def _nearest_headings(names: Iterable[str]) -> str:
    """The headings of the sort of table that shares most of them."""
    names = set(names)
    sort = max(WANTED, key=lambda sort: len(names & set(WANTED[sort])))
    if not names & set(WANTED[sort]):
        return "begin with one of: " + "; ".join(",".join(wanted) for wanted in WANTED.values())
    missing = [name for name in WANTED[sort] if name not in names]
    return f"{sort} want the column " + " and ".join(f"`{name}`" for name in missing)


def _column(cell: Cell, number: int) -> Column:
    match = _HEADING.match(cell.text)
    name, unit = match.groups() if match is not None else (cell.text, None)
    word = re.sub(r"[ -]+", "_", name.strip()) if "." not in name else name.strip()
    return Column(word.lower(), unit or "", cell.place, number)


def cells_of(record: Record, table: Table, desk: Desk) -> dict[str, Node]:
    """The cells of a row that say something, by column; a row longer than the header is told and left out."""
    over = next((cell for cell in record[table.width :] if cell.text), None)
    if over is not None:
        said = f"this row has more cells than there are headings ({table.width})"
        desk.faults.error(over.place, "table", said, "put a text that holds a comma in quotes")
        return {}
    found: dict[str, Node] = {}
    for column in table.columns:
        if column.number < len(record) and record[column.number].text:
            found[column.name] = _node(record[column.number], column.unit)
    return found


def _node(cell: Cell, unit: str) -> Node:
    """A cell as a value of a file; a bare number gets the unit of its heading."""
    text = f"{cell.text} {unit}" if unit and cell.text[-1].isdigit() else cell.text
    return Node(plain_scalar(text), cell.place, cell.place, text)


def _entry(said: Node, cells: dict[str, Node], desk: Desk) -> Node | None:
    """What was read, as an entry with its circumstances; None for a row whose work cannot be told."""
    entry = {key: node for key, node in cells.items() if key in CIRCUMSTANCES}
    key, work = "value", cells.get("work")
    if work is not None:
        key = work.written.strip().lower()
        if key not in ("before", "after"):
            text = f"`{work.written}` is neither `before` nor `after`"
            desk.faults.error(work, "table", text, "give the number of pieces of work in a column `period`")
            return None
    unit = cells.get("unit")
    if unit is not None and said.written[-1:].isdigit():
        text = f"{said.written} {unit.written}"
        said = Node(text, said.place, said.key_place, text)
    if not entry and key == "value":
        return said
    return Node({key: said, **entry}, said.place, said.place)


def _readings(table: Table, desk: Desk) -> Iterator[Observation]:
    for record in table.rows:
        cells = cells_of(record, table, desk)
        quantity, value = cells.get("quantity"), cells.get("value")
        if not _has(record, cells, ("quantity", "value"), desk) or quantity is None or value is None:
            continue
        entry = _entry(value, cells, desk)
        if entry is not None:
            yield from observations(quantity.written, quantity.place, entry, desk)


def _bands(table: Table, desk: Desk) -> Iterator[Observation]:
    """One row for each band, one column for each quantity."""
    quantities = [
        column
        for column in table.columns
        if "." in column.name and subject_of(column.name, column.place, desk) is not None
    ]
    for record in table.rows:
        cells = cells_of(record, table, desk)
        if not _has(record, cells, ("band",), desk) or not _is_band(cells["band"], desk):
            continue
        for column in quantities:
            said = cells.get(column.name)
            entry = _entry(said, cells, desk) if said is not None else None
            if said is not None and entry is not None:
                yield from observations(column.name, said.place, entry, desk)


def _is_band(cell: Node, desk: Desk) -> bool:
    """Whether the row is one of a band of the rig: readings of no band would pass for those of another."""
    return bool(choice(cell, "band of this rig", desk.rig.bands, desk.faults))


def _sockets(table: Table, desk: Desk) -> Iterator[Observation]:
    for record in table.rows:
        cells = cells_of(record, table, desk)
        if not _has(record, cells, ("socket", "pin", "value"), desk):
            continue
        socket, pin = cells["socket"], cells["pin"]
        entry = _entry(cells["value"], cells, desk)
        if entry is not None and is_socket(socket.written, socket.place, desk):
            yield from pin_observations(socket.written, pin.written, pin.place, entry, {}, desk)


_ROWS = {READINGS: _readings, BANDS: _bands, SOCKETS: _sockets}


def _has(record: Record, cells: dict[str, Node], wanted: tuple[str, ...], desk: Desk) -> bool:
    """Whether a row has the cells without which it says nothing."""
    missing = [name for name in wanted if name not in cells]
    if cells and missing:
        said = "this row has no " + " and no ".join(f"`{name}`" for name in missing)
        desk.faults.error(record[0].place, "missing-key", said)
    return not missing
