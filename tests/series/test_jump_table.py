"""The table of docs/drift.md is what the fit does."""

from __future__ import annotations

from tests.series.jump_table import PAGE, found_of_fifty, made_anew, seen_without


def test_the_page_shows_the_table_as_it_is() -> None:
    """Make it anew with `python -m tests.series.jump_table --write`."""
    page = PAGE.read_text(encoding="utf-8")
    assert page.count("<!-- table: jumps -->") == 1
    assert made_anew(page) == page


def test_the_sentence_below_the_table_holds() -> None:
    """A step of ten times the scatter is found in a log of 25 readings, nearly always, and none is made up."""
    assert found_of_fifty(5.0, 5.0) >= 45
    assert found_of_fifty(1.0, 8.0) >= 45
    assert seen_without(5.0, 5.0) <= 1
