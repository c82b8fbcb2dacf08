"""Facts written in a test or a data file, read through the door of a case file and diagnosed."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from diagnose.diagnosis import diagnose
from diagnose.files.find import rules_folder
from diagnose.files.read_book import load_book
from diagnose.files.read_case import case_of
from diagnose.files.yaml_parse import parse, read_document
from diagnose.model.assembly import Assembly, assemble
from diagnose.model.case import Case
from diagnose.model.knowledge import Book
from diagnose.model.result import Diagnosis, Finding

HERE = Path(__file__).parent
RIGS = ("gannet_60", "kestrel_30", "petrel_90", "skua_150")

Facts = Mapping[str, Any]


@lru_cache(maxsize=1)
def book() -> Book:
    """The built-in book, which must be without errors."""
    read, problems = load_book(rules_folder())
    assert read is not None, "\n".join(map(str, problems))
    return read


def data(file: str) -> dict[str, Any]:
    """A data file of this folder as plain data."""
    document, problems = read_document(HERE / file)
    assert document is not None, "\n".join(map(str, problems))
    assert not problems
    plain: dict[str, Any] = document.data
    return plain


def together(*facts: Facts) -> dict[str, Any]:
    """Several sets of facts as one."""
    joined: dict[str, Any] = {}
    for some in facts:
        for key, value in some.items():
            joined[key] = {**joined.get(key, {}), **value} if isinstance(value, Mapping) else value
    return joined


class Bench:
    """One rig of the book, or a small variation of it, and what the program says of cases of it.

    `vary` maps a stage to the features and feeds that differ.
    """

    def __init__(self, rig: str, vary: Facts | None = None) -> None:
        self.rig = rig
        self.book = book()
        if vary:
            self.book = _varied(self.book, rig, vary)
        self.assembly: Assembly = assemble(self.book, self.book.rigs[rig])

    def case(self, facts: Facts) -> Case:
        """The case that a file with these facts gives; every fact must be usable."""
        document, problems = parse(json.dumps({"case": "outside", "rig": self.rig, **facts}), "case.yaml")
        assert document is not None, "\n".join(map(str, problems))
        case, problems = case_of(document, self.book)
        assert case is not None
        assert not problems, "\n".join(map(str, problems))
        return case

    def diagnose(self, facts: Facts, *, advice: bool = False) -> Diagnosis:
        """What the program says of these facts."""
        found = diagnose(self.assembly, self.case(facts), advice=advice, details=False)
        assert found.exact
        return found


@lru_cache(maxsize=8)
def bench(rig: str) -> Bench:
    """The bench with a rig of the book as it is."""
    return Bench(rig)


def blame(found: Diagnosis, *parts: str) -> float:
    """The blame of some parts together; KeyError for a part that the rig does not have."""
    by_part = {part.id: part.blame for part in found.parts}
    return sum(by_part[part] for part in parts)


def place(found: Diagnosis, part: str) -> int:
    """The place of a part by blame, counted from 1."""
    return [ranked.id for ranked in found.parts].index(part) + 1


def leaders(found: Diagnosis, many: int) -> list[str]:
    """The first parts by blame."""
    return [part.id for part in found.parts[:many]]


def finding(found: Diagnosis, name: str) -> Finding:
    """What was made of the observation of that name."""
    (only,) = (one for one in found.findings if one.name == name)
    return only


def indications(rig: str, *ends: str) -> Iterator[str]:
    """The indications of a rig whose name without the stage is one of these."""
    for name in bench(rig).assembly.indications:
        if name.partition(".")[2] in ends:
            yield name


def _varied(whole: Book, rig: str, vary: Facts) -> Book:
    stages = dict(whole.rigs[rig].stages)
    for name, changes in vary.items():
        stages[name] = replace(
            stages[name],
            features={**stages[name].features, **changes.get("features", {})},
            fed_by={**stages[name].fed_by, **changes.get("fed_by", {})},
        )
    return replace(whole, rigs={**whole.rigs, rig: replace(whole.rigs[rig], stages=stages)})
