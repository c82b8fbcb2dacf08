"""Drift logs of a case: the frequency of an oscillator over time, written out or in a table beside the case."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise, zip_longest

from diagnose.files import values
from diagnose.files.beside import Folder, table_beside
from diagnose.files.choices import choice
from diagnose.files.desk import Desk
from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.read_tables import LOG, cells_of, table_of
from diagnose.model.case import Drift
from diagnose.problems import NOWHERE, Place
from diagnose.units import UnitError, convert, split_quantity

MOST_ROWS = 20_000  # more than a counter that reads each second gives in five hours
FEWEST_BACKWARDS = 4  # rows, all of them going back in time, that are no slip of the pen

Row = Sequence[Node | None]  # time, frequency, mains, temperature; the last two if they were read


@dataclass(frozen=True)
class Quantity:
    """A column of a log: what it is, its unit within, and the one that a bare number has ("" for none)."""

    name: str
    unit: str
    usual: str
    least: float = -math.inf  # values at it and below cannot be


COLUMNS = (
    Quantity("time", "s", "min"),
    Quantity("frequency", "Hz", "", 0.0),
    Quantity("mains", "V", "V", 0.0),
    Quantity("temperature", "degC", "degC"),
)


def read_drift(root: Node, stages: Iterable[str], folder: Folder, desk: Desk) -> Iterator[Drift]:
    """The logs under `drift`: one, or a list; `stages` are those that take one."""
    section, stages = root.get("drift"), tuple(stages)
    if section is None:
        return
    for node in (section,) if section.entries else section.members:
        drift = _drift(node, stages, folder, desk) if node.entries else None
        if drift is not None:
            yield drift


def _drift(node: Node, stages: tuple[str, ...], folder: Folder, desk: Desk) -> Drift | None:
    faults = desk.faults
    stage = _stage(node, stages, faults)
    log, file = node.get("log"), node.get("file")
    if (log is None) == (file is None):
        said = "a drift log has either `log` or `file`"
        hint = "add one of them" if log is None else "remove one of them"
        faults.error(node.key_place, "drift-log", said, hint)
        return None
    rows = _written(log) if log is not None else _from_file(file, folder, desk)
    if rows is None or not stage:
        return None
    read = _read(rows, faults)
    if not read.times:
        return None
    return Drift(
        stage=stage,
        times=tuple(read.times),
        frequencies=tuple(read.frequencies),
        mains=_if_any(read.mains),
        temperatures=_if_any(read.temperatures),
        at_output=values.text(node, "at") == "output",
        band=choice(node.get("band"), "band of this rig", desk.rig.bands, faults),
        file=values.text(file),
        place=node.place,
    )


def _stage(node: Node, stages: tuple[str, ...], faults: Faults) -> str:
    """The stage that was logged: as stated, else the only one that takes a log."""
    entry, word = node.get("stage"), values.text(node, "stage")
    if word in stages:
        return word
    if entry is None and len(stages) == 1:
        return stages[0]
    if entry is not None and word:
        said = f"`{word}` is no stage of this rig that takes a drift log"
        faults.unknown(entry, "unknown-stage", said, word, stages)
    elif entry is None:
        said = "the drift log does not say of which stage it is"
        hint = "add `stage:`, one of: " + ", ".join(stages) if stages else "no stage of this rig takes one"
        faults.error(node.key_place, "missing-key", said, hint)
    return ""


def _written(log: Node) -> list[Row]:
    """The rows of a log in the case."""
    return [row.members[: len(COLUMNS)] for row in log.members if row.members]


def _from_file(node: Node | None, folder: Folder, desk: Desk) -> list[Row] | None:
    """The rows of a log in a table."""
    rows = table_beside(node, folder, desk.faults) if node is not None and node.is_scalar else None
    table = table_of(rows, desk) if rows is not None else None
    if table is None or node is None:
        return None
    if table.sort != LOG:
        said = f"`{values.text(node)}` holds {table.sort}, not a drift log"
        desk.faults.error(node, "table", said, "name it under `tables`; a log has the columns time,frequency")
        return None
    found = (cells_of(record, table, desk) for record in table.rows)
    return [[cells.get(column.name) for column in COLUMNS] for cells in found if cells]


@dataclass
class _Log:
    """The columns of the rows that can be used."""

    times: list[float] = field(default_factory=list)
    frequencies: list[float] = field(default_factory=list)
    mains: list[float] = field(default_factory=list)
    temperatures: list[float] = field(default_factory=list)


@dataclass(frozen=True)
class _Numbers:
    """A row that can be used."""

    row: Row
    time: float
    frequency: float
    mains: float
    temperature: float


def _read(rows: Sequence[Row], faults: Faults) -> _Log:
    """The numbers of all rows; a row without a usable time and frequency is left out."""
    since = len(faults.found)
    if len(rows) > MOST_ROWS:
        said = f"the log has more than {MOST_ROWS} rows; the rest is left out"
        faults.error(_start(rows[MOST_ROWS]), "too-large", said, "keep one of several")
    units = {column.name: column.usual for column in COLUMNS}
    read = (_numbers(row, units, faults) for row in rows[:MOST_ROWS])
    log = _Log()
    for numbers in _oldest_first([each for each in read if each is not None]):
        if log.times and numbers.time < log.times[-1]:
            said = "this time is earlier than the one before it; it is left out"
            faults.error(_start(numbers.row), "drift-log", said)
            continue
        log.times.append(numbers.time)
        log.frequencies.append(numbers.frequency)
        log.mains.append(numbers.mains)
        log.temperatures.append(numbers.temperature)
    faults.keep_few(since, "look at the columns and units of the log")
    return log


def _oldest_first(rows: list[_Numbers]) -> list[_Numbers]:
    """The rows in order of time where a logger wrote the newest first throughout; else as they are."""
    if len(rows) < FEWEST_BACKWARDS or rows[0].time == rows[-1].time:
        return rows
    return rows[::-1] if all(one.time >= next_.time for one, next_ in pairwise(rows)) else rows


def _numbers(row: Row, units: dict[str, str], faults: Faults) -> _Numbers | None:
    time, frequency, mains, temperature = (
        _number(cell, column, units, faults) for cell, column in zip_longest(row, COLUMNS)
    )
    if time is None or frequency is None:
        for cell, column in zip_longest(row[:2], COLUMNS[:2]):
            if (cell is None or not cell.is_scalar) and any(other is not None for other in row):
                faults.error(_start(row), "missing-key", f"this row has no {column.name}")
        return None
    nothing = math.nan
    return _Numbers(
        row,
        time,
        frequency,
        nothing if mains is None else mains,
        nothing if temperature is None else temperature,
    )


def _number(cell: Node | None, column: Quantity, units: dict[str, str], faults: Faults) -> float | None:
    """The magnitude of a cell in the unit of its column; None, with a problem, where it has none."""
    if cell is None or not cell.is_scalar:
        return None
    usual = units[column.name]
    try:
        number, unit = split_quantity(cell.written, usual or column.unit)
        if not unit and not usual:
            said = f"the {column.name} `{cell.written}` has no unit"
            faults.error(cell, "unit", said, "write it like `7000.120 kHz`")
            return None
        found = convert(number, unit or usual, column.unit, written=cell.written)
    except UnitError as error:
        faults.error(cell, "unit", error.text, f"write it like `12.5 {usual or 'kHz'}`")
        return None
    found = round(found, 6)  # 7000.22 kHz is 7000220 Hz, not the nearest binary number
    units[column.name] = unit or usual
    if found <= column.least or (column.name == "time" and found < 0):
        faults.error(cell, "range", f"the {column.name} cannot be {cell.written}")
        return None
    return found


def _start(row: Row) -> Place:
    """Where a row stands."""
    return next((cell.place for cell in row if cell is not None), NOWHERE)


def _if_any(column: list[float]) -> tuple[float, ...]:
    """A column in which something was read; NaN where nothing was."""
    return () if all(map(math.isnan, column)) else tuple(column)
