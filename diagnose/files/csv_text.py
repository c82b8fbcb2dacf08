"""Tables as CSV text (RFC 4180) in which every cell knows its line and column.

The fields of a record are parted by commas, or by semicolons where the header has those and no commas. A
field in double quotes may hold anything, two of them standing for one. Lines end in CR LF or LF.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from diagnose.files.limits import MAX_BYTES, MAX_NODES, MAX_SCALAR
from diagnose.problems import ERROR, Place, Problem

_BINARY = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f]")
_PLAIN = {",": re.compile(r"[^,\r\n]*"), ";": re.compile(r"[^;\r\n]*")}
_QUOTED = re.compile(r'"((?:[^"]++|"")*+)"[ \t]*')  # possessive: a quote that is not closed costs nothing


@dataclass(frozen=True, slots=True)
class Cell:
    """One field, without blanks around it."""

    text: str
    place: Place


Record = tuple[Cell, ...]
Rows = tuple[Record, ...]


class CsvError(ValueError):
    """A text that is no table; `problem` says why and where."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(str(problem))
        self.problem = problem


def read_csv(path: Path, name: str) -> Rows:
    """The records of a file that are not blank, the header first; raises CsvError. `name` is used in places."""
    try:
        with path.open("rb") as stream:
            content = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        raise _refusal(Place(name), "unreadable", f"cannot read this: {reason}") from error
    return parse_csv(content, name)


def parse_csv(content: bytes, name: str) -> Rows:
    """The same for the bytes of a file."""
    if len(content) > MAX_BYTES:
        raise _refusal(Place(name), "too-large", f"the file is larger than {MAX_BYTES // 1_000_000} MB")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        said = "the file is not UTF-8 text"
        raise _refusal(Place(name, line, 1), "encoding", said, "save it as CSV in UTF-8") from error
    odd = _BINARY.search(text)
    if odd is not None:
        line = text.count("\n", 0, odd.start()) + 1
        said = f"a character that a text file cannot hold (code {ord(odd.group())})"
        raise _refusal(Place(name, line, odd.start() - text.rfind("\n", 0, odd.start())), "encoding", said)
    rows = tuple(record for record in _records(text, name) if any(cell.text for cell in record))
    if not rows:
        raise _refusal(Place(name), "table", "the table is empty", "give it a row of headings")
    return rows


def _refusal(place: Place, id: str, text: str, hint: str = "") -> CsvError:
    return CsvError(Problem(place, ERROR, id, text, hint))


def _records(text: str, name: str) -> Iterator[Record]:
    """The records, blank ones as well."""
    separator = _separator(text)
    at = line = cells = 0
    start = 0  # of the line
    record: list[Cell] = []
    while at < len(text):
        place = Place(name, line + 1, at - start + 1)
        field, end = _field(text, at, separator, place)
        record.append(Cell(field.strip(), place))
        cells += 1
        if cells > MAX_NODES:
            raise _refusal(place, "too-large", f"more than {MAX_NODES} cells in one file")
        breaks = text.count("\n", at, end)
        if breaks:
            line, start = line + breaks, text.rfind("\n", at, end) + 1
        at = end
        if at < len(text) and text[at] == separator:
            at += 1
            if at == len(text):
                record.append(Cell("", Place(name, line + 1, at - start + 1)))
            continue
        yield tuple(record)
        record = []
        at += 2 if text.startswith("\r\n", at) else 1
        line, start = line + 1, at
    if record:
        yield tuple(record)


def _separator(text: str) -> str:
    """What parts the fields, by the first line that is not blank."""
    header = text.lstrip("\r\n").partition("\n")[0]
    header = re.sub(r'"[^"]*"', "", header)
    return ";" if ";" in header and "," not in header else ","


def _field(text: str, at: int, separator: str, place: Place) -> tuple[str, int]:
    """The text of one field and where it ends: at a separator, a line end or the end of the text."""
    first = at
    while first < len(text) and text[first] in " \t":
        first += 1
    if first < len(text) and text[first] == '"':
        quoted = _QUOTED.match(text, first)
        if quoted is None:
            raise _refusal(place, "table", "a quote is opened here and not closed", "close it, or remove it")
        if quoted.end() < len(text) and text[quoted.end()] not in (separator, "\r", "\n"):
            said = "something stands behind the closing quote"
            raise _refusal(place, "table", said, "write a quote inside a quoted cell twice")
        field, end = quoted.group(1).replace('""', '"'), quoted.end()
    else:
        plain = _PLAIN[separator].match(text, at)
        assert plain is not None  # it matches nothing at all as well
        field, end = plain.group(), plain.end()
    if len(field) > MAX_SCALAR:
        raise _refusal(place, "too-large", f"a single cell of more than {MAX_SCALAR} characters")
    return field, end
