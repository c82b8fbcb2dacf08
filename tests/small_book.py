"""Small books for tests: stage texts in, an assembly out, over the built-in bench."""

from __future__ import annotations

import shutil
from collections.abc import Mapping
from pathlib import Path

from diagnose.files.read_book import load_book
from diagnose.model.assembly import Assembly, assemble
from diagnose.model.knowledge import Book

RULES = Path(__file__).parent.parent / "rules"


def write_book(folder: Path, files: Mapping[str, str]) -> Path:
    """A rules folder with the built-in bench, its meters and these files (name -> text)."""
    folder.mkdir(parents=True, exist_ok=True)
    shutil.copy(RULES / "bench.yaml", folder / "bench.yaml")
    shutil.copy(RULES / "stages" / "test_meter.yaml", folder / "test_meter.yaml")  # what its meters are
    (folder / "sources.yaml").write_text("sources: {}\n", encoding="utf-8")
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def read_small(folder: Path, files: Mapping[str, str]) -> Book:
    """The book in these files; AssertionError with the problems when they are faulty."""
    book, problems = load_book(write_book(folder, files), None)
    assert book is not None, "\n".join(str(problem) for problem in problems)
    return book


def small_assembly(folder: Path, files: Mapping[str, str]) -> Assembly:
    """The only rig of a small book, assembled."""
    book = read_small(folder, files)
    (rig,) = book.rigs.values()
    return assemble(book, rig)


def rig_text(id: str, stages: Mapping[str, str], chart: Mapping[str, str]) -> str:
    """A rig file: its stages in flow style by id, and what the chart says of each quantity."""
    lines = [f"rig: {id}", f"title: {id} set", "about: for tests", "bands: [80m]"]
    lines += ["mains: {voltage: 117 V, frequency: 60 Hz}", "stages:"]
    lines += [f"  {stage}: {{{text}}}" for stage, text in stages.items()]
    lines += ["chart:", *(f"  - {{quantity: {name}, value: {value}}}" for name, value in chart.items())]
    return "\n".join(lines) + "\n"


def cause(prior: str, minutes: int = 20) -> str:
    """A mode in flow style with a remedy, for stage texts."""
    return f"{{title: bad, prior: {prior}, remedy: {{do: replace it, minutes: {minutes}, works: 95 of 100}}}}"


def rule(source: str, target: str, chance: str, because: str) -> str:
    """A rule in flow style; `source` and `target` like `rectifier bad`."""
    from_name, from_state = source.split()
    to_name, to_state = target.split()
    return (
        f"{{from: {{{from_name}: {from_state}}}, to: {{{to_name}: {to_state}}}, "
        f"chance: {chance}, because: {because}, source: common practice}}"
    )
