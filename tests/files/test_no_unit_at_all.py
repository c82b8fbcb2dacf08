"""An amount whose unit is none is told with its place, wherever a reference may stand."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.files.read_book import load_book
from diagnose.problems import errors
from tests.files.measured import ALL
from tests.files.small import swapped, write

PLACES = {
    "stages/feed.yaml": ("{amount: 100 mA}", "{amount: 8 of 3}"),
    "stages/amplifier.yaml": ("{amount: 30 W}", "{amount: 8 of 3}"),
    "tubes.yaml": ("plate_input: 25 W", "plate_input: 8 of 3"),
}


@pytest.mark.parametrize("file", PLACES)
def test_it_is_told(tmp_path: Path, file: str) -> None:
    old, new = PLACES[file]
    files = {**ALL, file: swapped(ALL[file], old, new)}
    book, problems = load_book(write(tmp_path / "rules", files))
    assert book is None
    assert errors(problems)
    assert all(problem.place.line for problem in errors(problems))
