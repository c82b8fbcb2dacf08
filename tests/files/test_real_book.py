"""The built-in rules and the cases that come with the program can be read, by either parser."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import yaml

from diagnose.files.compiled import load_compiled, open_book
from diagnose.files.find import rules_folder
from diagnose.files.read_book import load_book
from diagnose.files.read_case import read_case
from diagnose.files.yaml_parse import read_document
from diagnose.model.knowledge import Book

RULES = rules_folder()
CASES = RULES.parent / "cases"
YAML = sorted([*RULES.rglob("*.yaml"), *CASES.rglob("*.yaml")])


@pytest.fixture(scope="module")
def book() -> Book:
    """The built-in book, which must be without problems."""
    read, problems = load_book(RULES)
    assert "\n".join(map(str, problems)) == ""
    assert read is not None
    return read


def test_it_holds_stages_rigs_and_tubes(book: Book) -> None:
    """Every rig is made of kinds of stage that the book declares, and none is empty."""
    assert book.rigs
    for rig in book.rigs.values():
        assert rig.stages
        assert {stage.kind for stage in rig.stages.values()} <= set(book.kinds)
        assert rig.chart


def test_it_survives_being_compiled(book: Book, tmp_path: Path) -> None:
    """The compiled book is the same book."""
    again, _ = open_book(RULES, None, tmp_path)
    assert again == book
    (path,) = tmp_path.glob("book-*.json")
    kept = load_compiled(path, book.digest)
    assert kept is not None
    assert kept[0] == book


@pytest.mark.parametrize("path", sorted(CASES.rglob("*.yaml")), ids=lambda path: path.stem)
def test_each_case_reads_without_a_problem(path: Path, book: Book) -> None:
    """The cases in the repository are good ones."""
    case, problems = read_case(path, book)
    assert "\n".join(map(str, problems)) == ""
    assert case is not None


@pytest.mark.parametrize("path", YAML, ids=lambda path: path.stem)
def test_either_parser_reads_the_same(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the fast parser is missing, the slow one must do: it refuses a few more texts."""
    fast, _ = read_document(path)
    monkeypatch.delattr(yaml, "CLoader", raising=False)
    slow, problems = read_document(path)
    assert "\n".join(map(str, problems)) == ""
    assert fast is not None
    assert slow is not None
    assert slow.data == fast.data


@pytest.mark.parametrize("path", YAML, ids=lambda path: path.stem)
def test_files_are_plain_text(path: Path) -> None:
    """No tabs, and nothing that an editor of yesterday could not show."""
    text = path.read_text(encoding="utf-8")
    assert "\t" not in text
    assert re.findall(r"[^\x00-\x7f]", text) == []


@pytest.mark.parametrize(
    ("written", "value", "ends"),
    [
        ("1.5 to 1", 1.5, None),
        ("1.5:1", 1.5, None),
        ("2 to one", 2.0, None),
        ("1.5", 1.5, None),
        ("1.2 to 1.4", 1.3, (1.2, 1.4)),
    ],
)
def test_a_standing_wave_ratio_as_it_is_spoken(
    book: Book, tmp_path: Path, written: str, value: float, ends: tuple[float, float] | None
) -> None:
    """`1.5 to 1` is a ratio, and no needle that swings between 1 and 1.5."""
    path = tmp_path / "c.yaml"
    path.write_text(f"rig: gannet_60\nreadings:\n  load.match: {written}\n", encoding="utf-8")
    case, problems = read_case(path, book)
    assert case is not None
    assert not problems
    (seen,) = case.observations
    assert seen.value == pytest.approx(value)
    assert (seen.low, seen.high) == (ends or (None, None))
