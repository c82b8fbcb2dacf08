"""What the tests of keeping share: the small book, and where a case is to be."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.files.read_book import load_book
from diagnose.model.knowledge import Book
from tests.files import small


@pytest.fixture(scope="session")
def rules(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small rules folder."""
    return small.rules(tmp_path_factory.mktemp("keep"))


@pytest.fixture(scope="session")
def book(rules: Path) -> Book:
    """The small book."""
    read, _ = load_book(rules)
    assert read is not None
    return read


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a case is to be."""
    return tmp_path / "set.yaml"
