"""Small books for tests of figures: a kind of stage in a few lines, a rig of it, a bench with a meter that can lie."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from diagnose.files.read_book import load_book
from diagnose.model.assembly import Assembly, assemble, at_bench
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Book
from tests.files import small
from tests.small_book import cause, rule

BENCH = small.swapped(
    small.BENCH,
    "instruments:\n  meter: {title: a meter}\n",
    """\
instruments:
  meter: {title: a meter, kind: meter}
  other: {title: another meter, kind: meter}
  line: {title: meter on the line}
""",
)
BENCH += """\
advice:
  search_minutes: 180
  retest_minutes: 5
  work_harms: 1 of 100
  remedy_worth: 55 of 100
  fault_indicated: 50 of 100
  also_due: 8 of 100
  mains_caution: 8 of 100
"""

METER = f"""\
kind: meter
title: a meter
about: what readings are taken with
unnamed: {{prior: 0, pushes: 0}}
parts:
  movement: {{title: movement, modes: {{tired: {cause("0.02")}, hot: {cause("0.01")}, open: {cause("0.01")}}}}}
instruments:
  shows: {{title: what the meter shows}}
rules:
  a: {rule("movement tired", "shows low", "9 of 10", "one")}
  b: {rule("movement hot", "shows high", "9 of 10", "two")}
  c: {rule("movement open", "shows dead", "9 of 10", "three")}
checks: {{}}
"""


def kind(id: str, sections: str, rules: str = "", ports: str = "") -> str:
    """A stage file with one part that lowers whatever `rules` say."""
    return f"""\
kind: {id}
title: {id}
about: for tests
{ports}
unnamed: {{prior: 0, pushes: 0}}
{sections}
parts:
  tube: {{title: tube, modes: {{weak: {cause("0.05")}}}}}
rules:
{rules or "  {}"}
checks: {{}}
"""


def quantity(unit: str, more: str = "") -> str:
    """A quantity in flow style, graded against what a good set shows, 10 % either way."""
    extra = f", {more}" if more else ""
    return (
        f"{{title: what is read in {unit}, ask: what, unit: {unit}, grading: level, tolerance: 10 %{extra}}}"
    )


def figure(unit: str, more: str = "") -> str:
    """A figure in flow style."""
    extra = f", {more}" if more else ""
    return (
        f"{{title: a figure in {unit or 'plain numbers'}, ask: what, unit: {unit or 'dimensionless'}{extra}}}"
    )


def book_of(folder: Path, files: Mapping[str, str]) -> Book:
    """The book in these files beside the bench and its meter; AssertionError with the problems of a faulty one."""
    given = {
        "bench.yaml": BENCH,
        "sources.yaml": small.SOURCES,
        "tubes.yaml": small.TUBES,
        "meter.yaml": METER,
        **files,
    }
    book, problems = load_book(small.write(folder, given))
    assert book is not None, "\n".join(small.said(problems))
    return book


def rig_of(stages: str, chart: str = "", more: str = "") -> str:
    """A rig file; stages and chart rows in flow style, one in each line."""
    rows = "".join(f"  - {line}\n" for line in chart.splitlines())
    return (
        "rig: small\ntitle: small set\nabout: for tests\nfeatures: {modes: [cw, phone]}\n"
        "mains: {voltage: 117 V, frequency: 60 Hz}\nbands: [80m, 40m, 20m, 10m]\n"
        f"{more}\nstages:\n"
        + "".join(f"  {line}\n" for line in stages.splitlines())
        + (f"chart:\n{rows}" if rows else "chart: []\n")
    )


def assembled(folder: Path, files: Mapping[str, str]) -> Assembly:
    """The only rig of such a book on the bench."""
    book = book_of(folder, files)
    return assemble(book, at_bench(book, book.rigs["small"]))


def case_of(*observations: Observation, **more: object) -> Case:
    """A case of the rig."""
    return Case("t", "small", observations=observations, **more)  # type: ignore[arg-type]
