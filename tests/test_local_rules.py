"""What a result says of the shop folder's hand in it: rules of its own, amended ones, and what it took out."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.diagnosis import diagnose
from diagnose.files.read_book import load_book
from diagnose.model.assembly import assemble
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Book
from diagnose.render.first import View
from diagnose.render.record import record
from diagnose.render.screen import report
from diagnose.render.words import words_of
from tests.rig_truth import FILES
from tests.small_book import rig_text, write_book

BARE = rig_text("bare", {"hv": "kind: feed, title: supply"}, {"hv.voltage": "600 V"})
SHOP = {
    "feed.yaml": "kind: feed\namend: {rules: {f1: {chance: 7 of 10}}}\nwithdraw: {rules: [f3], checks: [read]}\n",
    "work.yaml": "kind: work\nwithdraw: {rules: [w6]}\n",
    "small.yaml": "rig: small\nchart: [{quantity: final.output, value: 30 W, band: 80m}]\n",
}


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """The small book with a rig that has a supply only, and a shop that changes both kinds of stage."""
    rules = write_book(tmp_path / "rules", {**FILES, "bare.yaml": BARE})
    shop = tmp_path / "shop"
    shop.mkdir()
    for name, text in SHOP.items():
        (shop / name).write_text(text, encoding="utf-8")
    found, problems = load_book(rules, shop)
    assert found is not None, "\n".join(map(str, problems))
    return found


@pytest.mark.parametrize(
    ("rig", "withdrawn"),
    [("small", ["feed/f3", "feed/checks/read", "work/w6"]), ("bare", ["feed/f3", "feed/checks/read"])],
)
def test_withdrawals_are_told_apart_and_only_of_kinds_that_the_rig_has(
    book: Book, rig: str, withdrawn: list[str]
) -> None:
    """`local_rules` holds ids of rules and nothing else; what another rig would miss is no matter here."""
    assembly = assemble(book, book.rigs[rig])
    found = diagnose(assembly, Case("c", rig, observations=(Observation("hv.voltage", "low"),)))
    made = record(found)
    assert list(found.local_rules) == made["local_rules"] == ["feed/f1"]
    assert list(found.withdrawn_rules) == made["withdrawn_rules"] == withdrawn
    text = report(found, View(words_of(assembly)), 80).text()
    section = text.partition("Local rules that took part")[2]
    assert "  - feed/f1" in section
    assert all(f"  - {id}" in section.partition("Withdrawn by the shop folder")[2] for id in withdrawn)
    assert ("work/w6" in text) is ("work/w6" in withdrawn)
