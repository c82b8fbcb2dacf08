"""Tables beside a case: readings, readings per band, pins of sockets, and where they may lie."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.files.limits import MAX_BYTES
from diagnose.files.read_case import case_of, read_case
from diagnose.files.yaml_parse import parse
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Book
from diagnose.problems import Place
from tests.files.measured import book_in
from tests.files.small import said
from tests.files.test_case_readings import told


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """The book with all that can be measured."""
    return book_in(tmp_path_factory.mktemp("tables"))


def read(folder: Path, book: Book, table: str | bytes, rest: str = "") -> tuple[Case, list[str]]:
    """A case with one table beside it, and what is said of both."""
    content = table if isinstance(table, bytes) else table.encode()
    (folder / "t.csv").write_bytes(content)
    (folder / "case.yaml").write_text(f"case: c\nrig: finch\ntables: t.csv\n{rest}", encoding="utf-8")
    case, problems = read_case(folder / "case.yaml", book, "at/c.yaml")
    assert case is not None
    return case, said(problems)


def good(folder: Path, book: Book, table: str, rest: str = "") -> tuple[Observation, ...]:
    """The observations of a table without problems."""
    case, lines = read(folder, book, table, rest)
    assert lines == []
    return case.observations


def test_a_table_of_readings(tmp_path: Path, book: Book) -> None:
    """Any columns in any order; the value with its unit, or a unit beside it, in the heading or in no place."""
    seen = good(
        tmp_path, book,
        "value,quantity,note,with,range,mode,warmth,minutes\n"
        "590 V,hv.voltage,\"loaded, key down\",vom,1000,cw,warm,20\n"
        "low,final.current,,,,phone,,\n"
        "560 to 580,hv.voltage,,,,,cold,\n"
        "12,hv.envelope_max\n",
    )  # fmt: skip
    assert [one.name for one in seen] == ["hv.voltage", "final.current", "hv.voltage", "hv.envelope_max"]
    assert told(seen[0]) == {
        "value": 590, "meter": "vom", "range": 1000, "mode": "cw", "warmth": "warm", "minutes": 20,
    }  # fmt: skip
    assert told(seen[1]) == {"state": "low", "mode": "phone"}
    assert told(seen[2]) == {"value": 570, "low": 560, "high": 580, "warmth": "cold"}
    assert told(seen[3]) == {"value": 12}
    assert seen[0].place == Place("at/t.csv", 2, 7)


UNITS = {
    "a column of units": "quantity,value,unit\nhv.voltage,0.59,kV\n",
    "a unit in the heading": "quantity,value (kV)\nhv.voltage,0.59\n",
    "a unit in square brackets": "quantity;value [kV]\nhv.voltage;0.59\n",
    "a unit in the cell": "quantity,value (V)\nhv.voltage,0.59 kV\n",
    "the unit of the quantity": "quantity,value\nhv.voltage,590\n",
    "capitals and blanks": " Quantity , Value , Unit \nhv.voltage,590,V\n",
}


@pytest.mark.parametrize("table", UNITS.values(), ids=UNITS.keys())
def test_where_the_unit_may_stand(table: str, tmp_path: Path, book: Book) -> None:
    """In the cell, in a column, in the heading, or left to the quantity."""
    (seen,) = good(tmp_path, book, table)
    assert (seen.name, seen.value) == ("hv.voltage", pytest.approx(590))


def test_before_and_after_work(tmp_path: Path, book: Book) -> None:
    """Around the last piece of work, or after a number of them."""
    table = "quantity,value,work,period\nhv.voltage,480,before,\nhv.voltage,590,after,\nhv.voltage,470,,0\n"
    seen = good(tmp_path, book, table, "work: [one, two]\n")
    assert [(one.value, one.period) for one in seen] == [(480, 1), (590, 2), (470, 0)]


def test_a_table_per_band(tmp_path: Path, book: Book) -> None:
    """One row for each band, one column for each quantity; an empty cell says nothing."""
    table = "band;final.current (mA);hv.voltage;with;note\n80m;99;590 V;vom;x\n40m;;585;;\n20m;60 to 70;absent;;\n"
    case, lines = read(tmp_path, book, table)
    assert lines == ["at/t.csv:4:14 error unknown-state: `absent` is no state of hv.voltage | write a value like"
                     " `12.5 V` or one of: normal, low, high, not known"]  # fmt: skip
    assert [(one.name, one.band, one.value, one.meter) for one in case.observations] == [
        ("final.current", "80m", 99, "vom"),
        ("hv.voltage", "80m", 590, "vom"),
        ("hv.voltage", "40m", 585, ""),
        ("final.current", "20m", 65, ""),
    ]
    assert case.observations[0].place == Place("at/t.csv", 2, 5)


def test_a_table_of_pins(tmp_path: Path, book: Book) -> None:
    """One row for each pin."""
    seen = good(
        tmp_path, book, "socket,pin,value,unit,with\nV1,1,590,V,vom\nV1,3,11 to 13,V,\nV2,cap,98,mA,\n"
    )
    assert [(one.name, one.value, one.meter) for one in seen] == [
        ("hv.voltage", 590, "vom"), ("hv.envelope_max", 12, ""), ("final.current", 98, ""),
    ]  # fmt: skip


def test_tables_come_between_readings_and_symptoms(tmp_path: Path, book: Book) -> None:
    """Several files, in folders below the case as well, in the order in which they are named."""
    (tmp_path / "below").mkdir()
    (tmp_path / "below" / "b.csv").write_text("quantity,value\nhv.voltage,603\n", encoding="utf-8")
    text = (
        "case: c\nrig: finch\nsymptoms: {hv.flashes: no}\ntables: [below/b.csv, t.csv]\n"
        "readings: {hv.voltage: 601}\nsockets: {V1: {1: 602}}\n"
    )
    (tmp_path / "t.csv").write_text("quantity,value\nhv.voltage,604\n", encoding="utf-8")
    (tmp_path / "case.yaml").write_text(text, encoding="utf-8")
    case, problems = read_case(tmp_path / "case.yaml", book, "c.yaml")
    assert case is not None
    values = [one.value for one in case.observations]
    left_out = [problem.id for problem in problems]
    assert (values, left_out) == ([601, 602, 603, 604, None], [])
    assert case.observations[2].place.file == "below/b.csv"


FAULTS: dict[str, tuple[str, list[str], int]] = {
    "headings of nothing": (
        "what,how much\nhv.voltage,5\n",
        ["at/t.csv:1:1 error table: these headings are none of a table that is known here"
         " | begin with one of: socket,pin,value; quantity,value; time,frequency; band"], 0,
    ),
    "a heading is missing": (
        "quantity,mode\nhv.voltage,cw\n",
        ["at/t.csv:1:1 error table: these headings are none of a table that is known here"
         " | readings want the column `value`"], 0,
    ),
    "no headings": (
        "hv.voltage,590\n",
        ["at/t.csv:1:1 error table: these headings are none of a table that is known here"
         " | begin with one of: socket,pin,value; quantity,value; time,frequency; band"], 0,
    ),
    "a column that is not known": (
        "quantity,value,witth\nhv.voltage,590,vom\n",
        ["at/t.csv:1:16 error unknown-key: `witth` is no column of readings | did you mean `with`?"], 1,
    ),
    "a column twice": (
        "quantity,value,mode,mode\nhv.voltage,590,cw,cw\n",
        ["at/t.csv:1:21 error duplicate-key: the column `mode` is here twice"], 1,
    ),
    "a bad value": (
        "quantity,value\nhv.voltage,590 mA\nhv.voltage,585\n",
        ["at/t.csv:2:12 error unit: hv.voltage: `590 mA` is a current, but a voltage (V) is wanted"
         " | write it like `12.5 V`"], 1,
    ),
    "a decimal comma": (
        "quantity;value\nhv.voltage;590,5\n",
        ["at/t.csv:2:12 error unit: hv.voltage: `590,5` holds a comma"
         " | write the number with a decimal point, or none"], 0,
    ),
    "a bad circumstance": (
        "quantity,value,mode,with\nhv.voltage,590,am,vom\n",
        ["at/t.csv:2:16 error unknown-mode: `am` is no mode of this rig | known here: cw, phone"], 1,
    ),
    "a name that is not there": (
        "quantity,value\nhv.voltag,590\n",
        ["at/t.csv:2:1 error unknown-name: `hv.voltag` is no quantity or symptom of the rig finch"
         " | did you mean `hv.voltage`?"], 0,
    ),
    "a row without a value": (
        "quantity,value\nhv.voltage,\n", ["at/t.csv:2:1 error missing-key: this row has no `value`"], 0,
    ),
    "a row that is too long": (
        "quantity,value\nhv.voltage,1,200 V\nhv.voltage,585\n",
        ["at/t.csv:2:14 error table: this row has more cells than there are headings (2)"
         " | put a text that holds a comma in quotes"], 1,
    ),
    "work in other words": (
        "quantity,value,work\nhv.voltage,590,later\n",
        ["at/t.csv:2:16 error table: `later` is neither `before` nor `after`"
         " | give the number of pieces of work in a column `period`"], 0,
    ),
    "a band that the rig does not have": (
        "band,hv.voltage\n10m,590\n80m,585\n",
        ["at/t.csv:2:1 error unknown-band: `10m` is no band of this rig | known here: 80m, 40m, 20m"], 1,
    ),
    "a row without a band": (
        "band,hv.voltage\n,590\n80m,585\n", ["at/t.csv:2:1 error missing-key: this row has no `band`"], 1,
    ),
    "a column of no quantity": (
        "band,hv.voltag\n80m,590\n40m,580\n",
        ["at/t.csv:1:6 error unknown-name: `hv.voltag` is no quantity or symptom of the rig finch"
         " | did you mean `hv.voltage`?"], 0,
    ),
    "a pin that the rig does not know": (
        "socket,pin,value\nV1,7,590\nV1,1,585\n",
        ["at/t.csv:2:4 error unknown-pin: `7` is no pin of V1 that the rig knows"], 1,
    ),
    "a socket that the rig does not have": (
        "socket,pin,value\nV3,1,590\n",
        ["at/t.csv:2:1 error unknown-socket: `V3` is no socket of the rig finch | known here: V1, V2"], 0,
    ),
    "a drift log": (
        "time (min),frequency (kHz)\n0,7000\n",
        ["at/c.yaml:3:9 error table: `t.csv` is a drift log | name it under `drift: {file: ...}`"], 0,
    ),
}  # fmt: skip


@pytest.mark.parametrize(("table", "lines", "kept"), FAULTS.values(), ids=FAULTS.keys())
def test_a_bad_cell_costs_that_cell_only(
    table: str, lines: list[str], kept: int, tmp_path: Path, book: Book
) -> None:
    """Line, column, id, text and suggestion; and how many readings are left."""
    case, found = read(tmp_path, book, table)
    assert found == lines
    assert len(case.observations) == kept


def test_a_table_that_is_wrong_throughout_is_said_in_few_words(tmp_path: Path, book: Book) -> None:
    """Nobody reads five thousand messages."""
    _, lines = read(tmp_path, book, "quantity,value\n" + "hv.voltage,5 A\n" * 5000)
    assert len(lines) == 21
    assert lines[-1] == (
        "at/t.csv:22:12 error more: 4980 more faults in this table are not listed"
        " | look at the columns and units of this table"
    )


OUTSIDE = {
    "above": ("../t.csv", "`../t.csv` is outside the case's folder | keep it beside the case"),
    "above in a roundabout way": ("below/../../t.csv", "`below/../../t.csv` is outside the case's folder | keep it beside the case"),
    "absolute": ("/etc/passwd", "`/etc/passwd` is no path from the case's folder | keep it beside the case"),
    "absolute elsewhere": (r"C:\t.csv", r"`C:\t.csv` is no path from the case's folder | keep it beside the case"),
    "through a link": ("link/t.csv", "`link/t.csv` is outside the case's folder | keep it beside the case"),
}  # fmt: skip


@pytest.mark.parametrize(("path", "text"), OUTSIDE.values(), ids=OUTSIDE.keys())
def test_a_file_outside_the_folder_of_the_case_is_not_read(
    path: str, text: str, tmp_path: Path, book: Book
) -> None:
    """Not even where it is there."""
    folder = tmp_path / "case"
    (folder / "below").mkdir(parents=True)
    (tmp_path / "t.csv").write_text("quantity,value\nhv.voltage,590\n", encoding="utf-8")
    (folder / "link").symlink_to(tmp_path)
    (folder / "case.yaml").write_text(f"case: c\nrig: finch\ntables: [{path}]\n", encoding="utf-8")
    case, problems = read_case(folder / "case.yaml", book, "c.yaml")
    assert case is not None
    assert case.observations == ()
    assert said(problems) == [f"c.yaml:3:10 error outside: {text}"]


def test_a_file_that_is_not_there(tmp_path: Path, book: Book) -> None:
    """The nearest that is there is named; a folder and a pipe are no files."""
    (tmp_path / "readings.csv").write_text("quantity,value\n", encoding="utf-8")
    (tmp_path / "folder.csv").mkdir()
    os.mkfifo(tmp_path / "pipe.csv")
    text = "case: c\nrig: finch\ntables: [reading.csv, folder.csv, pipe.csv]\n"
    (tmp_path / "case.yaml").write_text(text, encoding="utf-8")
    _, problems = read_case(tmp_path / "case.yaml", book, "c.yaml")
    assert said(problems)[0] == (
        "c.yaml:3:10 error no-file: there is no file `reading.csv` beside the case | did you mean `readings.csv`?"
    )
    assert [problem.id for problem in problems] == ["no-file"] * 3


def test_a_case_that_is_in_no_file_names_no_others(book: Book) -> None:
    """A case read from elsewhere has no folder."""
    document, _ = parse("case: c\nrig: finch\ntables: t.csv\n", "c.yaml")
    assert document is not None
    _, problems = case_of(document, book)
    assert said(problems) == [
        "c.yaml:3:9 error outside: this case is in no folder, so it cannot name other files"
    ]


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (
            b"\xff\xfe\x00",
            "at/t.csv:1:1 error encoding: the file is not UTF-8 text | save it as CSV in UTF-8",
        ),
        (b"PK\x03\x04", "at/t.csv:1:3 error encoding: a character that a text file cannot hold (code 3)"),
        (b"1" * (MAX_BYTES + 1), "at/t.csv error too-large: the file is larger than 4 MB"),
    ],
)
def test_what_is_no_text_is_one_problem(content: bytes, line: str, tmp_path: Path, book: Book) -> None:
    """A spreadsheet's own file, a huge one: said once, at the file."""
    assert read(tmp_path, book, content)[1] == [line]


WORDS = st.sampled_from(
    ["quantity", "value", "unit", "band", "socket", "pin", "time", "frequency", "mains", "temperature", "with",
     "range", "mode", "work", "period", "minutes", "hv.voltage", "final.current", "hv.envelope_max", "V1", "1",
     "80m", "590 V", "0.5", "low", "before", "vom", "1000 V", "cw", "-3 mA", "value (V)", "60 to 80 mA", "", "x",
     '"', '"a, b"', "\u03a9", "1e400", "between 1 and", "~", "about", "nan", "yes"]
)  # fmt: skip


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rows=st.lists(st.lists(WORDS, min_size=1, max_size=6), min_size=1, max_size=5),
    separator=st.sampled_from([",", ";"]),
    log=st.booleans(),
)
def test_any_table_gives_readings_or_placed_problems(
    rows: list[list[str]], separator: str, log: bool, tmp_path: Path, book: Book
) -> None:
    """Words of tables in any order: nothing is raised, every problem has its place, every value is a number."""
    table = "\n".join(separator.join(row) for row in rows)
    (tmp_path / "t.csv").write_text(table, encoding="utf-8")
    section = "drift: {file: t.csv}" if log else "tables: [t.csv]"
    (tmp_path / "case.yaml").write_text(f"case: c\nrig: finch\n{section}\nwork: [x]\n", encoding="utf-8")
    case, problems = read_case(tmp_path / "case.yaml", book, "c.yaml")
    assert case is not None
    assert all(problem.place.file in ("c.yaml", "t.csv") for problem in problems)
    for seen in case.observations:
        assert seen.value is None or abs(seen.value) < float("inf")
        assert seen.place.line > 0
