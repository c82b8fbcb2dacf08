"""A small case and what is in its file, for the tests of keeping."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from diagnose.files.read_case import read_case
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Book

ROOT = Path(__file__).parents[2]
HAND = "# with a remark\nrig: finch\nabout: 'weak'\nreadings: {hv.voltage: 580 V}\n"
VOLTS = Observation("hv.voltage", value=580.0, as_written="580 V")
RIPPLE = Observation("hv.ripple", value=3.0, as_written="3 %")
WEAK = Case("set", "finch", "weak", observations=(VOLTS,))
MORE = replace(WEAK, observations=(VOLTS, RIPPLE))


def in_file(path: Path, book: Book) -> Case:
    """The case in a file, which must be without problems."""
    case, problems = read_case(path, book)
    assert problems == (), path.read_text(encoding="utf-8")
    assert case is not None
    return case


def names(case: Case) -> list[str]:
    """What was observed, in order."""
    return [observation.name for observation in case.observations]


def left_in(path: Path) -> set[str]:
    """What lies in the folder of a case beside it."""
    return {entry.name for entry in path.parent.iterdir()} - {path.name}
