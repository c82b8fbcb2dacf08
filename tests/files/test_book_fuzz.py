"""Whatever is changed in a rules folder, a shop or a case: problems come out, never an exception."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.files.document import Document
from diagnose.files.gather import RuleFile
from diagnose.files.read_book import read_files
from diagnose.files.read_case import case_of
from diagnose.files.yaml_parse import parse
from diagnose.model.assembly import assemble
from diagnose.model.knowledge import Book
from tests.files.small import CASE, FILES

SHOP = """\
kind: feed
rules:
  ours: {from: {capacitor: shorted}, to: {ripple: high}, chance: 1 of 10, because: ours, source: from memory}
amend: {rules: {weak-sags: {chance: 5 of 10}}, parts: {capacitor: {modes: {shorted: {prior: 2 of 100}}}}}
withdraw: {rules: [low-ripples]}
"""

JUNK = st.sampled_from(
    [
        *(None, 5, -1, 1e308, 10**299, True, "", "x", "yes", "10 of 3", "5 %", "12 V", ".nan"),
        *("voltage", "supply.voltage", "a.b.c", [], {}, [None], [[1]], {"x": None}, {"x": {"y": [1]}}),
        *(["a", "b"], "low", "rectifier_tube", "normal"),
    ]
)


def data_of(text: str) -> Any:
    """The plain data of a good document."""
    found, _ = parse(text, "f.yaml")
    assert found is not None
    return found.data


GOOD = {name: data_of(text) for name, text in FILES.items()}
GOOD["rigs/finch.yaml"]["stages"]["hv"]["tubes"] = ["6E5"]  # as plain data it would be a number
GOOD["shop.yaml"] = data_of(SHOP)
GOOD["case.yaml"] = data_of(CASE)


def _paths(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Where something can be changed."""
    below = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [p for step, inner in below for p in [(*path, step), *_paths(inner, (*path, step))]]


def spoil(data: Any, draw: st.DrawFn) -> None:
    """One change: another value, a key gone, a key renamed, something more in a list."""
    paths = _paths(data)
    if not paths:
        return
    *way, last = draw(st.sampled_from(paths))
    for step in way:
        data = data[step]
    change = draw(st.sampled_from(["value", "value", "gone", "name"]))
    if change == "value":
        data[last] = copy.deepcopy(draw(JUNK))
    elif change == "gone":
        del data[last]
    elif isinstance(data, dict):
        name = draw(
            st.sampled_from(["title", "voltage", "x", "when", "modes", "kind", f"{last}s", "voltage.x", ""])
        )
        data[name] = data.pop(last)
    else:
        data.insert(0, copy.deepcopy(draw(JUNK)))


@st.composite
def spoilt(draw: st.DrawFn) -> dict[str, Any]:
    """All files with one to four changes."""
    files = copy.deepcopy(GOOD)
    for _ in range(draw(st.integers(1, 4))):
        spoil(files[draw(st.sampled_from(sorted(files)))], draw)
    return files


def _read(files: dict[str, Any]) -> tuple[Book | None, tuple[object, ...]]:
    """JSON is YAML too."""
    gathered = tuple(
        RuleFile(f"{'shop' if name == 'shop.yaml' else 'rules'}/{name}", Path(name), json.dumps(data).encode(), name == "shop.yaml")
        for name, data in files.items()
        if name != "case.yaml"
    )  # fmt: skip
    return read_files(gathered, Path("rules"), Path("shop"))


UNSPOILT, _ = _read(GOOD)


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(spoilt())
def test_a_spoilt_book_gives_problems_or_a_book_that_holds_together(files: dict[str, Any]) -> None:
    """Without a book there is an error; a book that comes out can be laid out over its rigs."""
    book, problems = _read(files)
    if book is None:
        assert problems
    else:
        for rig in book.rigs.values():
            assemble(book, rig)


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(spoilt())
def test_a_spoilt_case_gives_problems_or_a_case(files: dict[str, Any]) -> None:
    """A case comes out, or a problem says why not; every observation is one of its rig."""
    assert UNSPOILT is not None
    found, problems = parse(json.dumps(files["case.yaml"]), "c.yaml")
    assert isinstance(found, Document) or problems
    if found is None:
        return
    case, said = case_of(found, UNSPOILT)
    if case is None:
        assert said
        return
    known = assemble(UNSPOILT, UNSPOILT.rigs[case.rig]).indications
    for seen in case.observations:
        states = {state.id for state in known[seen.name].indication.states}
        assert seen.state in {"", *states}
