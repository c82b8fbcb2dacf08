"""Whatever is changed in what a book or a case says of measuring: problems come out, never an exception."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.files.gather import RuleFile
from diagnose.files.read_book import read_files
from diagnose.files.read_case import case_of
from diagnose.files.rig_names import names_on
from diagnose.files.yaml_parse import parse
from diagnose.model.assembly import assemble, at_bench
from diagnose.model.knowledge import Book
from diagnose.problems import Place, Problem, errors
from tests.files.measured import ALL
from tests.files.test_book_fuzz import data_of, spoil

SHOP = """\
kind: feed
values: {choke: {title: choke, unit: H}}
derived: {sum: {title: sum, unit: V, formula: a + b, from: {a: voltage, b: {amount: 3 V}}, source: from memory}}
amend:
  quantities: {voltage: {limit: {most: {amount: 700 V}}, computed: null}}
  derived: {modulation: {from: {top: {amount: 10 V, or: envelope_min}}}}
withdraw: {figures: []}
"""

CASE = """\
case: c
rig: finch
mains: 120 V
mains_frequency: 50 Hz
meters: {dvm: {instrument: voltmeter, unit: V, ranges: [20, 200], accuracy: {digits: 2}, resolution: 0.1}}
readings:
  hv.voltage: [590 V, {value: 580 to 600 V, with: dvm, range: 200 V}, {before: 480, after: 590, work: 1}]
  final.current: {bands: {80m: 99 mA, 40m: low}, warmth: warm, minutes: 5, period: 1}
  hv.envelope_max: {cold: 12 V, warm: between 12 and 13 V}
sockets: {V1: {1: 590 V, 3: 12, with: vom, range: 1000 V}}
drift: {stage: final, at: output, band: 80m, log: [[0, 7 MHz, 117, 20], [1, 7.001 MHz], [2, 7000.2 kHz]]}
tables: [t.csv]
work: [one, {did: two, parts: [final.valve]}]
symptoms: {hv.flashes: no}
"""

GOOD = {name: data_of(text) for name, text in ALL.items()}
GOOD["rigs/finch.yaml"]["stages"]["hv"]["tubes"] = ["6E5"]  # as plain data it would be a number
GOOD["rigs/finch.yaml"]["sockets"]["V1"]["tube"] = "6E5"
GOOD["shop.yaml"] = data_of(SHOP)
GOOD["case.yaml"] = data_of(CASE)


@st.composite
def spoilt(draw: st.DrawFn, among: tuple[str, ...]) -> dict[str, Any]:
    """All files with one to four changes in some of them."""
    files = copy.deepcopy(GOOD)
    for _ in range(draw(st.integers(1, 4))):
        spoil(files[draw(st.sampled_from(among))], draw)
    return files


def read(files: dict[str, Any]) -> tuple[Book | None, tuple[Problem, ...]]:
    """The book in the files; JSON is YAML too."""
    gathered = tuple(
        RuleFile(f"{'shop' if name == 'shop.yaml' else 'rules'}/{name}", Path(name), json.dumps(data).encode(), name == "shop.yaml")
        for name, data in files.items()
        if name != "case.yaml"
    )  # fmt: skip
    return read_files(gathered, Path("rules"), Path("shop"))


UNSPOILT, _said = read(GOOD)


def test_unspoilt_there_is_nothing_to_say() -> None:
    """The files as they are make a book."""
    assert UNSPOILT is not None
    assert _said == ()


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(spoilt(tuple(name for name in sorted(GOOD) if name != "case.yaml")))
def test_a_spoilt_book_gives_placed_problems_or_a_book_that_holds_together(files: dict[str, Any]) -> None:
    """Without a book there is an error; a book that comes out can be laid out over its rigs."""
    book, problems = read(files)
    assert all(isinstance(problem.place, Place) and problem.place.file for problem in problems)
    assert (book is None) == bool(errors(problems))
    for rig in book.rigs.values() if book is not None else ():
        assemble(book, at_bench(book, rig, book.meters.values()))  # type: ignore[arg-type]


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(spoilt(("case.yaml",)))
def test_a_spoilt_case_gives_placed_problems_or_a_case(files: dict[str, Any]) -> None:
    """A case comes out, or a problem says why not; every observation is one of its rig, with usable numbers."""
    assert UNSPOILT is not None
    found, problems = parse(json.dumps(files["case.yaml"]), "c.yaml")
    assert found is not None
    case, said = case_of(found, UNSPOILT, problems)
    assert all(problem.place.file for problem in said)
    if case is None:
        assert said
        return
    rig = at_bench(UNSPOILT, UNSPOILT.rigs[case.rig], (*UNSPOILT.meters.values(), *case.meters.values()))
    names = names_on(UNSPOILT, rig)
    for seen in case.observations:
        assert seen.name in names.figures or seen.name in names.indications
        assert seen.period is None or 0 <= seen.period <= len(case.work)
        assert seen.range is None or seen.range > 0
        assert seen.low is None or seen.high is None or seen.low < seen.high
    for drift in case.drift:
        assert len(drift.times) == len(drift.frequencies) > 0
        assert {len(drift.mains), len(drift.temperatures)} <= {0, len(drift.times)}
        assert list(drift.times) == sorted(drift.times)
