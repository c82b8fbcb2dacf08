"""CSV text as records of cells with places: RFC 4180, and what no table can be."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.files.csv_text import CsvError, Rows, parse_csv, read_csv
from diagnose.files.limits import MAX_BYTES, MAX_NODES, MAX_SCALAR
from diagnose.problems import Problem
from tests.files.small import said


def table(text: str) -> list[list[str]]:
    """The texts of all cells."""
    return [[cell.text for cell in record] for record in parse_csv(text.encode(), "t.csv")]


def places(text: str) -> list[list[str]]:
    """Where the cells stand, as line:column."""
    return [
        [f"{cell.place.line}:{cell.place.column}" for cell in record]
        for record in parse_csv(text.encode(), "t.csv")
    ]


WAYS = {
    "commas": ("a,b\n1,2\n", [["a", "b"], ["1", "2"]]),
    "semicolons": ("a;b\n1;2,5\n", [["a", "b"], ["1", "2,5"]]),
    "semicolons beside commas": ("a,b;c\n1,2\n", [["a", "b;c"], ["1", "2"]]),
    "carriage returns": ("a,b\r\n1,2\r\n", [["a", "b"], ["1", "2"]]),
    "no line end at the end": ("a,b\n1,2", [["a", "b"], ["1", "2"]]),
    "empty cells": ("a,b,c\n,2,\n", [["a", "b", "c"], ["", "2", ""]]),
    "an empty cell at the very end": ("a,b\n1,", [["a", "b"], ["1", ""]]),
    "blank lines": ("\n\na,b\n\n , \n1,2\n\n", [["a", "b"], ["1", "2"]]),
    "blanks around": (" a ,\tb\n 1 , 2 \n", [["a", "b"], ["1", "2"]]),
    "quotes": ('a,b\n"1,200 V","say ""no"""\n', [["a", "b"], ["1,200 V", 'say "no"']]),
    "quotes with blanks around": ('a,b\n "1" , "2"\n', [["a", "b"], ["1", "2"]]),
    "a line end in quotes": ('a,b\n"one\ntwo",2\n', [["a", "b"], ["one\ntwo", "2"]]),
    "a quote inside": ('a,b\n5" pipe,2\n', [["a", "b"], ['5" pipe', "2"]]),
    "rows of other lengths": ("a,b\n1\n1,2,3\n", [["a", "b"], ["1"], ["1", "2", "3"]]),
    "a byte order mark": ("\ufeffa,b\n1,2\n", [["a", "b"], ["1", "2"]]),
    "a header in quotes": ('"a";"b, c"\n1;2\n', [["a", "b, c"], ["1", "2"]]),
}


@pytest.mark.parametrize(("text", "cells"), WAYS.values(), ids=WAYS.keys())
def test_ways_of_writing_a_table(text: str, cells: list[list[str]]) -> None:
    """Separators, quotes, line ends as programs and people write them."""
    assert table(text) == cells


def test_every_cell_has_its_place() -> None:
    """Line and column, behind quoted line ends as well."""
    assert places('a,b\r\n\r\n"x\ny", 2,"q""q",\nlast') == [
        ["1:1", "1:3"], ["3:1", "4:4", "4:7", "4:14"], ["5:1"],
    ]  # fmt: skip


REFUSED = {
    "nothing": (b"", "t.csv error table: the table is empty | give it a row of headings"),
    "nothing but blanks": (b" , \n\n", "t.csv error table: the table is empty | give it a row of headings"),
    "no text": (b"a,b\n1,\xff\n", "t.csv:2:1 error encoding: the file is not UTF-8 text | save it as CSV in UTF-8"),
    "zeros": (b"a,b\n1,\x002\n", "t.csv:2:3 error encoding: a character that a text file cannot hold (code 0)"),
    "an open quote": (
        b'a,b\n1,"2\n3,4\n', "t.csv:2:3 error table: a quote is opened here and not closed | close it, or remove it",
    ),
    "something behind a quote": (
        b'a,b\n1,"2"3\n',
        "t.csv:2:3 error table: something stands behind the closing quote | write a quote inside a quoted cell twice",
    ),
    "a huge cell": (b"a\n" + b"x" * (MAX_SCALAR + 1), f"t.csv:2:1 error too-large: a single cell of more than {MAX_SCALAR} characters"),
    "a huge quoted cell": (
        b'a\n"' + b"x" * (MAX_SCALAR + 1) + b'"', f"t.csv:2:1 error too-large: a single cell of more than {MAX_SCALAR} characters",
    ),
    "a huge file": (b"x" * (MAX_BYTES + 1), "t.csv error too-large: the file is larger than 4 MB"),
    "very many cells": (
        b"a,b\n" + b"," * (MAX_NODES + 10), f"t.csv:2:{MAX_NODES - 1} error too-large: more than {MAX_NODES} cells in one file",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("content", "line"), REFUSED.values(), ids=REFUSED.keys())
def test_what_is_no_table(content: bytes, line: str) -> None:
    """One problem with its place."""
    with pytest.raises(CsvError) as caught:
        parse_csv(content, "t.csv")
    assert said([caught.value.problem]) == [line]
    assert str(caught.value) == str(caught.value.problem)


def test_a_file_that_cannot_be_read(tmp_path: Path) -> None:
    """A folder is no file."""
    with pytest.raises(CsvError) as caught:
        read_csv(tmp_path, "t.csv")
    assert caught.value.problem.id == "unreadable"


CELLS = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S", "Zs")), max_size=8).map(
    str.strip
)


@given(
    st.lists(st.lists(CELLS, min_size=1, max_size=5), min_size=1, max_size=6),
    st.sampled_from([",", ";"]),
    st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
)
def test_what_a_writer_of_tables_writes_is_read(rows: list[list[str]], separator: str, quoting: int) -> None:
    """The standard library's writer, with either separator: every cell comes back."""
    header = ["a", "b"]
    out = io.StringIO()
    csv.writer(out, delimiter=separator, quoting=quoting).writerows([header, *rows])  # type: ignore[arg-type]
    wanted = [header, *([cell.strip() for cell in row] for row in rows if any(cell.strip() for cell in row))]
    assert table(out.getvalue()) == wanted


@given(st.one_of(st.binary(max_size=60), st.text(' ab,;"\r\n\ufeff\x00', max_size=40).map(str.encode)))
def test_any_bytes_are_a_table_or_one_problem(content: bytes) -> None:
    """Nothing else is raised, whatever stands there, and every place is inside the text."""
    rows, problem = outcome(content)
    if problem is not None:
        assert problem.place.file == "t.csv"
    lines = content.count(b"\n") + content.count(b"\r") + 1
    assert all(1 <= cell.place.line <= lines and cell.place.column >= 1 for row in rows for cell in row)


def outcome(content: bytes) -> tuple[Rows, Problem | None]:
    """The records, or the problem."""
    try:
        return parse_csv(content, "t.csv"), None
    except CsvError as error:
        return (), error.problem
