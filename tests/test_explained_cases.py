"""The demo cases explained, but the longest: its leading cause and one that is not, as text and as data, and the sums come out."""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path

import pytest

from diagnose.diagnosis import diagnose
from diagnose.explanation.account import Account, account
from diagnose.files.read_book import load_book
from diagnose.files.read_case import assembly_of, read_case
from diagnose.model.knowledge import Book
from diagnose.render.account import explained
from diagnose.render.json_text import as_text
from diagnose.render.record import account_record
from diagnose.render.words import words_of

ROOT = Path(__file__).parent.parent
# Tables of many readings on few instruments: the same sums, which take a minute and more for each cause.
LONG = {
    "gannet_good_on_127_volts",
    "gannet_good_on_cw",
    "gannet_long_shelf_bring_up",
    "petrel_good_on_cw",
    "petrel_second_hand_bring_up",
    "skua_full_proof",
}
CASES = sorted(path for path in (ROOT / "cases").glob("*.yaml") if path.stem not in LONG)
OTHER = 3  # places below the leading cause


@cache
def built_in() -> Book:
    book, problems = load_book(ROOT / "rules")
    assert book is not None, "\n".join(map(str, problems))
    return book


def log_odds(chance: float) -> float:
    return math.log2(chance / (1.0 - chance))


def adds_up(found: Account) -> None:
    """What the observations add, and what is left over, leads from the prior to what is believed."""
    change = log_odds(found.cause.probability) - log_odds(found.prior)
    assert sum(row.bits for row in found.evidence) + found.residual == pytest.approx(change, abs=0.01)
    assert abs(found.residual) < 1.0


def test_every_rig_is_among_them() -> None:
    rigs = {
        next(line for line in path.read_text(encoding="utf-8").splitlines() if line.startswith("rig:"))
        for path in CASES
    }
    assert rigs == {f"rig: {rig}" for rig in built_in().rigs}


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_a_demo_case_is_explained(path: Path) -> None:
    case, problems = read_case(path, built_in())
    assert case is not None
    assert problems == ()
    assembly = assembly_of(built_in(), case.rig)
    diagnosis = diagnose(assembly, case, advice=False, details=False)
    for named in (None, diagnosis.causes[OTHER].id):
        found = account(assembly, case, diagnosis, named)
        assert found.cause.id == (named or diagnosis.causes[0].id)
        adds_up(found)
        text = explained(diagnosis, found, words_of(assembly), 80).text()
        assert found.cause.title in " ".join(text.split())
        assert all(len(line) <= 80 for line in text.splitlines())
        told = json.loads(as_text(account_record(diagnosis, found)))
        assert told["cause"]["id"] == found.cause.id
        assert len(told["evidence"]) == len(found.evidence)
