"""The cases that the benchmark and the tests of whole rigs draw are what they are asked to be."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from diagnose.evidence.collect import collect
from diagnose.files.find import rules_folder
from diagnose.files.read_book import load_book
from diagnose.files.read_case import read_case
from diagnose.model.assembly import Assembly, assemble
from diagnose.model.knowledge import Book
from tests.sampled_cases import CERTAIN, DOUBTED, Wanted, sampled_case, write_case


@pytest.fixture(scope="module")
def book() -> Book:
    """The built-in book."""
    found, problems = load_book(rules_folder())
    assert found is not None, "\n".join(map(str, problems))
    return found


@pytest.fixture(scope="module")
def assembly(book: Book) -> Assembly:
    """The first of its rigs."""
    return assemble(book, next(iter(book.rigs.values())))


def test_the_words_are_reports_of_the_bench(book: Book) -> None:
    """Who is certain is always right, who is doubted is not: otherwise nothing soft would be measured."""
    assert book.bench.reports[CERTAIN] == 1.0
    assert book.bench.reports[DOUBTED] < 1.0


@pytest.mark.parametrize("soft", [0, 3, 8])
def test_a_doubted_reading_leaves_every_state_possible(assembly: Assembly, soft: int) -> None:
    """As many readings as asked for are soft once they are evidence; the others say one thing."""
    case = sampled_case(assembly, 1, Wanted(8, 2, soft))
    assert sum(observation.told_by == DOUBTED for observation in case.observations) == soft
    counted = collect(assembly, case).counted.values()
    expected = {CERTAIN, DOUBTED} if 0 < soft < 8 else {DOUBTED if soft else CERTAIN}
    assert {finding.observation.told_by for finding in counted} == expected
    for finding in counted:
        doubted = finding.observation.told_by == DOUBTED
        assert np.count_nonzero(finding.likelihood) == (len(finding.states) if doubted else 1), finding.name


def test_a_written_case_is_read_as_it_was_drawn(assembly: Assembly, book: Book, tmp_path: Path) -> None:
    """States and who told them come back from the file, and the history too."""
    drawn = sampled_case(assembly, 4, Wanted(10, 2, 4))
    read, problems = read_case(write_case(drawn, tmp_path), book)
    assert read is not None, problems
    assert problems == ()
    assert read.history == drawn.history
    assert [(o.name, o.state, o.told_by) for o in read.observations] == [
        (o.name, o.state, o.told_by) for o in drawn.observations
    ]
    assert sum(o.told_by == DOUBTED for o in read.observations) == 4
