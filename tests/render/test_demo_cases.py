"""Every demo case on its screens and in its record: what must hold whatever the result."""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from diagnose.diagnosis import diagnose
from diagnose.files.find import rules_folder, schema_folder
from diagnose.files.read_book import load_book
from diagnose.files.read_case import assembly_of, read_case
from diagnose.model.knowledge import Book
from diagnose.render.first import LINES, View, first_screen
from diagnose.render.json_text import as_line
from diagnose.render.page import Page
from diagnose.render.record import record
from diagnose.render.screen import report
from diagnose.render.words import words_of

CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.yaml"))
SCHEMA = json.loads((schema_folder() / "result.schema.json").read_text(encoding="utf-8"))


@cache
def built_in() -> Book:
    book, problems = load_book(rules_folder())
    assert book is not None, "\n".join(map(str, problems))
    return book


def test_there_are_demo_cases_for_every_rig() -> None:
    rigs = {
        line
        for path in CASES
        for line in path.read_text(encoding="utf-8").splitlines()
        if line.startswith("rig: ")
    }
    assert rigs == {f"rig: {rig}" for rig in built_in().rigs}


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_demo_case_keeps_to_the_screen_and_the_schema(path: Path) -> None:
    case, problems = read_case(path, built_in())
    assert case is not None
    assert problems == ()
    assembly = assembly_of(built_in(), case.rig)
    diagnosis = diagnose(assembly, case, advice=False, details=False)
    view = View(words_of(assembly), workings=True)
    page = Page(80)
    first_screen(page, diagnosis, view)
    assert diagnosis.stop_orders or len(page.lines) <= LINES
    for line in report(diagnosis, view, 80).text().splitlines():
        assert len(line) <= 80
        assert line == line.rstrip()
    made = json.loads(as_line(record(diagnosis)))
    assert [error.message for error in Draft202012Validator(SCHEMA).iter_errors(made)] == []
    assert (made["verdict"] == "stop") == bool(made["stop_orders"])
    assert not made["exact"] or made["left_out"] <= 1e-6
    for reading in made["readings"]:
        holds_together(reading)


def holds_together(reading: dict[str, Any]) -> None:
    """The path of a reading ends where the published fields say, and its arithmetic comes out."""
    path = reading["path"]
    assert (path is None) == (reading["value"] is None)
    if path is None:
        return
    assert (path["as_read"], path["at_chart"]) == (reading["value"], reading["at_chart"])
    if reading["expected"] is not None:
        assert path["expected"] == reading["expected"]
        assert path["expected_by"]
    loads = path["meter_ohms"] is not None and path["source_ohms"] is not None
    factor = 1 + path["source_ohms"] / path["meter_ohms"] if loads else 1.0
    assert path["corrected"] == pytest.approx(factor * path["as_read"], rel=1e-6)
    shares = [line["share"] for line in path["budget"]]
    assert path["uncertainty"] == pytest.approx(math.hypot(*shares), rel=1e-6)
