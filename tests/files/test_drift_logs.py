"""Drift logs in a case and beside it."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from diagnose.files.read_case import read_case
from diagnose.model.case import Case, Drift
from diagnose.model.knowledge import Book
from diagnose.problems import Place
from tests.files.measured import RIG, book_in
from tests.files.small import said, swapped


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """The book with all that can be measured; its stage `final` takes a drift log."""
    return book_in(tmp_path_factory.mktemp("drift"))


def read(folder: Path, book: Book, section: str, table: str = "") -> tuple[Case, list[str]]:
    """A case with a section `drift`, a table `d.csv` beside it, and what is said of them."""
    (folder / "d.csv").write_text(table, encoding="utf-8")
    (folder / "case.yaml").write_text(f"case: c\nrig: finch\n{section}\n", encoding="utf-8")
    case, problems = read_case(folder / "case.yaml", book, "c.yaml")
    assert case is not None
    return case, said(problems)


def good(folder: Path, book: Book, section: str, table: str = "") -> Drift:
    """The one log, without problems."""
    case, lines = read(folder, book, section, table)
    assert lines == []
    (drift,) = case.drift
    return drift


LOG = """\
drift:
  stage: final
  at: output
  band: 40m
  log:
    - [0 min, 7000.120 kHz, 117 V, 21 degC]
    - [5, 7.00022 Mc]
    - [10, 7000220 Hz, null, 72 degF]
    - [0.5 h, 7000210]
"""


def test_a_log_in_the_case(tmp_path: Path, book: Book) -> None:
    """Seconds, hertz, volts and degrees; a bare number has the unit of the one above, no entry is no number."""
    drift = good(tmp_path, book, LOG)
    assert (drift.stage, drift.at_output, drift.band, drift.file) == ("final", True, "40m", "")
    assert drift.place == Place("c.yaml", 4, 3)
    assert drift.times == pytest.approx((0, 300, 600, 1800))
    assert drift.frequencies == pytest.approx((7000120, 7000220, 7000220, 7000210), abs=1e-6)
    assert drift.mains[0] == 117
    assert all(map(math.isnan, drift.mains[1:]))
    assert drift.temperatures == pytest.approx((21, math.nan, 22.222, math.nan), abs=1e-3, nan_ok=True)


TABLES = {
    "units in the headings": "time (s),frequency (kHz),mains (V),temperature (degC)\n0,7000.12,117,21\n300,7000.22,118,22\n",
    "units in the cells": "time,frequency,mains,temperature\n0 min,7000.12 kc,117,21\n5 min,7000.22 kc,118 V,22 degC\n",
    "units in the first row": "time;frequency;mains;temperature\n0 s;7000120 Hz;117;21\n300;7000220;118;22\n",
    "another order": "frequency (MHz),temperature,time,mains\n7.00012,21,0,117\n7.00022,22,5,118\n",
    "temperature by the letter": "time,frequency (kHz),mains,temperature\n0,7000.12,117,21 C\n5,7000.22,118,22 C\n",
}


@pytest.mark.parametrize("table", TABLES.values(), ids=TABLES.keys())
def test_a_log_in_a_table(table: str, tmp_path: Path, book: Book) -> None:
    """Beside the case, with units where a person puts them; minutes where time has none."""
    drift = good(tmp_path, book, "drift: {stage: final, file: d.csv}", table)
    assert drift.times == pytest.approx((0, 300))
    assert drift.frequencies == pytest.approx((7000120, 7000220), abs=1e-6)
    assert drift.mains == (117, 118)
    assert drift.temperatures == pytest.approx((21, 22))
    assert (drift.file, drift.at_output) == ("d.csv", False)


def test_what_was_not_read_is_not_there(tmp_path: Path, book: Book) -> None:
    """No column of line voltages or temperatures is none of numbers that are no numbers."""
    drift = good(tmp_path, book, "drift: {stage: final, log: [[0, 7 MHz], [1, 7], [2, 7.001]]}")
    assert (drift.mains, drift.temperatures) == ((), ())


def test_a_logger_that_writes_the_newest_first(tmp_path: Path, book: Book) -> None:
    """A table that goes back in time throughout is the same log, its rows turned round."""
    rows = ["0,7000.12,117", "5,7000.22,118", "10,7000.25,", "15,7000.26,119"]
    section, heads = "drift: {stage: final, file: d.csv}", "time,frequency (kHz),mains"
    forwards = good(tmp_path, book, section, "\n".join([heads, *rows]))
    backwards = good(tmp_path, book, section, "\n".join([heads, *reversed(rows)]))
    assert forwards.times == backwards.times == (0, 300, 600, 900)
    assert forwards.frequencies == backwards.frequencies
    assert str(forwards.mains) == str(backwards.mains)  # with the one that is no number in its place


def test_rows_of_one_time_stay_in_their_order(tmp_path: Path, book: Book) -> None:
    """Where time stands still nothing says that the newest was written first."""
    rows = ["0,7000.12", "0,7000.22", "0,7000.25", "0,7000.26"]
    log = good(
        tmp_path, book, "drift: {stage: final, file: d.csv}", "\n".join(["time,frequency (kHz)", *rows])
    )
    assert list(log.frequencies) == sorted(log.frequencies)


def test_several_logs(tmp_path: Path, book: Book) -> None:
    """A list of them; the stage need not be said where only one takes a log."""
    section = "drift: [{log: [[0, 7 MHz]]}, {stage: final, at: oscillator, log: [[0, 3.5 MHz]]}]"
    case, lines = read(tmp_path, book, section)
    assert lines == []
    assert [(d.stage, d.frequencies) for d in case.drift] == [("final", (7e6,)), ("final", (3.5e6,))]


FAULTS: dict[str, tuple[str, str, list[str], int]] = {
    "neither log nor file": (
        "drift: {stage: final}", "", ["c.yaml:3:1 error drift-log: a drift log has either `log` or `file` | add one of them"], 0,
    ),
    "log and file": (
        "drift: {stage: final, file: d.csv, log: [[0, 7 MHz]]}", "",
        ["c.yaml:3:1 error drift-log: a drift log has either `log` or `file` | remove one of them"], 0,
    ),
    "a stage that takes none": (
        "drift: {stage: hv, log: [[0, 7 MHz]]}", "",
        ["c.yaml:3:16 error unknown-stage: `hv` is no stage of this rig that takes a drift log | known here: final"], 0,
    ),
    "a band that is not there": (
        "drift: {stage: final, band: 10m, log: [[0, 7 MHz]]}", "",
        ["c.yaml:3:29 error unknown-band: `10m` is no band of this rig | known here: 80m, 40m, 20m"], 1,
    ),
    "neither oscillator nor output": (
        "drift: {stage: final, at: antenna, log: [[0, 7 MHz]]}", "",
        ["c.yaml:3:27 error word: `at` cannot be `antenna` | known here: oscillator, output"], 1,
    ),
    "a frequency without a unit": (
        "drift: {stage: final, log: [[0, 7000.12]]}", "",
        ["c.yaml:3:33 error unit: the frequency `7000.12` has no unit | write it like `7000.120 kHz`"], 0,
    ),
    "a frequency of another kind": (
        "drift: {stage: final, log: [[0, 7 V], [1, 7 MHz]]}", "",
        ["c.yaml:3:33 error unit: `7 V` is a voltage, but a frequency (Hz) is wanted | write it like `12.5 kHz`"], 1,
    ),
    "a frequency of nothing": (
        "drift: {stage: final, log: [[0, 0 Hz], [1, 7 MHz]]}", "",
        ["c.yaml:3:33 error range: the frequency cannot be 0 Hz"], 1,
    ),
    "a time that goes back": (
        "drift: {stage: final, log: [[5, 7 MHz], [4, 7 MHz], [6, 7 MHz]]}", "",
        ["c.yaml:3:42 error drift-log: this time is earlier than the one before it; it is left out"], 2,
    ),
    "a time before the first": (
        "drift: {stage: final, log: [[-5, 7 MHz], [4, 7 MHz]]}", "",
        ["c.yaml:3:30 error range: the time cannot be -5"], 1,
    ),
    "a time as a clock shows it": (
        "drift: {stage: final, log: [['14:05', 7 MHz], [4, 7 MHz]]}", "",
        ["c.yaml:3:30 error unit: `:05` is no unit | write it like `12.5 min`"], 1,
    ),
    "a row without a frequency": (
        "drift: {stage: final, file: d.csv}", "time,frequency (kHz),mains\n0,7000,117\n5,,118\n10,7001,119\n",
        ["d.csv:3:1 error missing-key: this row has no frequency"], 2,
    ),
    "a bad line voltage": (
        "drift: {stage: final, file: d.csv}", "time,frequency (kHz),mains\n0,7000,117\n5,7001,high\n",
        ["d.csv:3:8 error unit: `high` is no number with a unit | write it like `12.5 V`"], 2,
    ),
    "a column that is not known": (
        "drift: {stage: final, file: d.csv}", "time,frequency (kHz),humidity\n0,7000,60\n",
        ["d.csv:1:22 error unknown-key: `humidity` is no column of a drift log"
         " | known here: time, frequency, mains, temperature"], 1,
    ),
    "a table of readings": (
        "drift: {stage: final, file: d.csv}", "quantity,value\nhv.voltage,600\n",
        ["c.yaml:3:29 error table: `d.csv` holds readings, not a drift log"
         " | name it under `tables`; a log has the columns time,frequency"], 0,
    ),
    "a file that is not there": (
        "drift: {stage: final, file: e.csv}", "",
        ["c.yaml:3:29 error no-file: there is no file `e.csv` beside the case | did you mean `d.csv`?"], 0,
    ),
    "too many numbers in a row": (
        "drift: {stage: final, log: [[0, 7 MHz, 117, 20, 5]]}", "",
        ["c.yaml:3:29 error count: `log` has 5 entries, more than 4"], 1,
    ),
}  # fmt: skip


@pytest.mark.parametrize(("section", "table", "lines", "rows"), FAULTS.values(), ids=FAULTS.keys())
def test_a_slip_in_a_log_costs_its_row_at_most(
    section: str, table: str, lines: list[str], rows: int, tmp_path: Path, book: Book
) -> None:
    """Line, column, id, text and suggestion; and how many rows are left."""
    case, found = read(tmp_path, book, section, table)
    assert found == lines
    assert sum(len(drift.times) for drift in case.drift) == rows


def test_a_rig_with_no_oscillator_to_log(tmp_path: Path) -> None:
    """Nothing takes the log then."""
    rig = swapped(RIG, "  final: {kind: amplifier, title: final, fed_by: {supply: hv}}\n", "")
    for gone in ("  - {quantity: final.current, value: 100 mA}\n", "final.current: panel.plate_range, ",
                 "  V2: {stage: final, pins: {cap: final.current}}\n"):  # fmt: skip
        rig = swapped(rig, gone, "")
    book = book_in(tmp_path, {"rigs/finch.yaml": rig})
    case, lines = read(tmp_path, book, "drift: {log: [[0, 7 MHz]]}")
    assert case.drift == ()
    assert lines == [
        "c.yaml:3:1 error missing-key: the drift log does not say of which stage it is"
        " | no stage of this rig takes one"
    ]


def test_a_log_that_is_too_long(tmp_path: Path, book: Book) -> None:
    """The first twenty thousand rows are used."""
    table = "time (s),frequency (Hz)\n" + "".join(f"{second},7000000\n" for second in range(20_003))
    case, lines = read(tmp_path, book, "drift: {stage: final, file: d.csv}", table)
    assert lines == [
        "d.csv:20002:1 error too-large: the log has more than 20000 rows; the rest is left out | keep one of several"
    ]
    assert len(case.drift[0].times) == 20_000


def test_a_log_that_is_wrong_throughout_is_said_in_few_words(tmp_path: Path, book: Book) -> None:
    """Twenty messages, and how many more there are."""
    table = "time (s),frequency (V)\n" + "1,7\n" * 1000
    _, lines = read(tmp_path, book, "drift: {stage: final, file: d.csv}", table)
    assert len(lines) == 21
    assert lines[-1].endswith(
        "980 more faults in this table are not listed | look at the columns and units of the log"
    )
