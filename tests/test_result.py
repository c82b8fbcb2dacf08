"""What a result carries so that it can be used by itself: the file of its case, and names as the rig has them."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.diagnosis import diagnose
from diagnose.files.read_case import read_case
from diagnose.model.assembly import Assembly, assemble
from diagnose.model.case import Case
from diagnose.model.knowledge import Book
from diagnose.render.record import record
from tests.rig_truth import FILES, WORK
from tests.small_book import read_small, rig_text

READ_AGAIN = (
    "tube: {title: tube, remedy: {do: fit one, minutes: 5, read_again: [feed.voltage, output, key]}, modes:"
)
STAGES = {
    "hv": "kind: feed, title: supply",
    "final": "kind: work, title: final, fed_by: {feed: hv}",
    "spare": "kind: work, title: second final",
}


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """The small book, its second stage there twice, once with nothing that feeds it."""
    work = WORK.replace("tube: {title: tube, modes:", READ_AGAIN)
    work = work.replace("title: supply, gives: [voltage]}", "title: supply, gives: [voltage], optional: yes}")
    work = work.replace(
        "symptoms:\n", "symptoms:\n  key: {title: key, ask: is it, when: {keyed: yes}}\n"
    ).replace("ports:", "features: {keyed: [no, yes]}\nports:")
    work = work.replace(", remedy: {do: replace it, minutes: 8, works: 95 of 100}", "")
    return read_small(
        tmp_path,
        {**FILES, "work.yaml": work, "small.yaml": rig_text("small", STAGES, {"hv.voltage": "600 V"})},
    )


@pytest.fixture
def assembly(book: Book) -> Assembly:
    """Its rig."""
    return assemble(book, book.rigs["small"])


@pytest.mark.parametrize(
    ("stage", "names"), [("final", ["hv.voltage", "final.output"]), ("spare", ["spare.output"])]
)
def test_what_to_read_again_is_named_as_a_case_names_it(
    assembly: Assembly, stage: str, names: list[str]
) -> None:
    """Ids on the rig; what nothing feeds or this stage does not have is left out."""
    made = record(diagnose(assembly, Case("c", "small")))
    cause = next(cause for cause in made["causes"] if cause["part"] == f"{stage}.tube")
    assert cause["remedy"]["read_again"] == names


def test_a_record_names_the_file_of_its_case(book: Book, assembly: Assembly, tmp_path: Path) -> None:
    """The path as it was given, which may differ from the name of the case; nothing for a case of no file."""
    path = tmp_path / "thursday.yaml"
    path.write_text("case: first\nrig: small\n", encoding="utf-8")
    case, problems = read_case(path, book)
    assert case is not None, problems
    made = record(diagnose(assembly, case))
    assert (made["case"], made["file"]) == ("first", str(path))
    assert record(diagnose(assembly, Case("c", "small")))["file"] == ""
