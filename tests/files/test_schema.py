"""The published schemas: valid, explained, strict, and in step with the readers."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import jsonschema
import pytest

from diagnose.files import schema
from diagnose.files.document import Node
from diagnose.files.find import schema_folder
from diagnose.files.schema import validate
from diagnose.files.yaml_parse import parse
from diagnose.problems import Place, Problem
from tests.files.measured import METERS
from tests.files.small import BENCH, CASE, FEED, RIG, SOURCES, STAGE, TUBES, said

INPUTS = {
    "stage": (FEED, STAGE),
    "bench": (BENCH,),
    "sources": (SOURCES,),
    "tubes": (TUBES,),
    "rig": (RIG,),
    "case": (CASE,),
    "meters": (METERS,),
}
ALL = sorted(path.name.removesuffix(".schema.json") for path in schema_folder().glob("*.schema.json"))


def load(sort: str) -> Any:
    """One schema as data."""
    return json.loads((schema_folder() / f"{sort}.schema.json").read_text(encoding="utf-8"))


def parts(value: Any, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every mapping inside a schema, with its path."""
    if isinstance(value, dict):
        yield path, value
        for key, below in value.items():
            yield from parts(below, f"{path}/{key}")
    elif isinstance(value, list):
        for position, below in enumerate(value):
            yield from parts(below, f"{path}/{position}")


def root_of(text: str) -> Node:
    """The root of a good document."""
    found, problems = parse(text, "f.yaml")
    assert problems == ()
    assert found is not None
    return found.root


def test_there_is_a_schema_for_each_sort_of_file() -> None:
    """Seven inputs and the result."""
    assert sorted([*INPUTS, "result"]) == ALL


@pytest.mark.parametrize("sort", ALL)
def test_each_is_a_valid_schema_of_the_stated_draft(sort: str) -> None:
    """JSON Schema 2020-12, by its own schema."""
    assert load(sort)["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    jsonschema.Draft202012Validator.check_schema(load(sort))


@pytest.mark.parametrize("sort", sorted(INPUTS))
def test_editors_can_explain_every_property(sort: str) -> None:
    """Each property says what it is, itself or through what it refers to."""
    whole = load(sort)
    silent = [
        f"{path}/{name}"
        for path, part in parts(whole)
        if isinstance(part.get("properties"), dict) and not path.endswith("/properties")
        for name, what in part["properties"].items()
        if not (_resolved(what, whole).get("description") or _resolved(what, whole).get("title"))
    ]
    assert silent == []


def _resolved(part: dict[str, Any], whole: dict[str, Any]) -> dict[str, Any]:
    """A part with what it refers to."""
    target = part.get("$ref", "")
    return {**whole.get("$defs", {}).get(target.rpartition("/")[2], {}), **part}


@pytest.mark.parametrize("sort", sorted(INPUTS))
def test_no_input_takes_unknown_keys(sort: str) -> None:
    """Wherever properties are listed, there are no others."""
    loose = [
        path
        for path, part in parts(load(sort))
        if isinstance(part.get("properties"), dict)
        and not path.endswith("/properties")
        and part.get("additionalProperties") is not False
    ]
    assert loose == []


@pytest.mark.parametrize("sort", ALL)
def test_no_shape_is_a_choice_of_shapes(sort: str) -> None:
    """Alternatives answer a slip with noise; code says it better."""
    if sort in INPUTS:
        used = {key for _, part in parts(load(sort)) for key in part}
        assert used.isdisjoint({"oneOf", "anyOf", "allOf", "not_", "if", "patternProperties"})


@pytest.mark.parametrize("sort", sorted(INPUTS))
def test_good_documents_pass(sort: str) -> None:
    """The small files of these tests fit their schemas."""
    for text in INPUTS[sort]:
        assert validate(root_of(text), sort) == ()


def test_every_rule_of_a_schema_has_a_sentence_of_ours() -> None:
    """No word of the schemas in use would fall through to the general sentence."""
    judging = {
        key
        for sort in INPUTS
        for path, part in parts(load(sort))
        if not path.endswith("/properties")
        for key in part
        if not path.endswith("/$defs")
    }
    known = set(schema._SENTENCES) | {"$schema", "$id", "$defs", "$ref", "title", "description", "examples"}
    known |= {"properties", "items", "propertyNames", "also"}  # `also` judges nothing: other words for a key
    assert judging - known == set()


SLIPS = [
    ("sources", "sources: {a: {title: 5}}", ["f.yaml:1:15 error type: `title` should be a text, not the number `5`" ' | put it in quotes: "5"']),
    ("sources", "sources: {a: [x]}", ["f.yaml:1:11 error type: `a` should be a mapping, not a list"]),
    ("sources", "sources: {a: {titel: x}}", [
        "f.yaml:1:11 error missing-key: a source wants `title`, which is not here | add `title:` (The publication)",
        "f.yaml:1:15 error unknown-key: `titel` is no key of a source | did you mean `title`?",
    ]),
    ("sources", "sources: {a: {title: x, colour: red, size: 5}}", [
        "f.yaml:1:25 error unknown-key: `colour` is no key of a source | known here: section, url",
        "f.yaml:1:38 error unknown-key: `size` is no key of a source | known here: section, url",
    ]),
    ("sources", "sources: {A b: {title: x}}", ["f.yaml:1:11 error id: `A b` is no id | use lower case letters, digits and underscores"]),
    ("case", "rig: finch\nintermittent: true\nsafety: {a: b}", ["f.yaml:3:1 error type: `safety` should be a word or a list of words, not a mapping"]),
    ("case", "rig: finch\nreadings: {a.b: {value: [1]}}", ["f.yaml:2:18 error type: `value` should be a text or a number, not a list"]),
    ("case", "rig: finch\nreadings: 12", ["f.yaml:2:1 error type: `readings` should be a mapping from names to readings, or a list of readings, not the number `12`" " | write it like `{hv.voltage: 585 V}`"]),
    ("case", "rig: finch\nreadings: [12]", ["f.yaml:2:12 error type: a reading should be a mapping, not the number `12`" " | write it like `{quantity: hv.voltage, value: 585 V}`"]),
    ("case", "rig: finch\nreadings: {a.b: [[12]]}", ["f.yaml:2:18 error type: `a.b` should be a reading, not a list" " | write it like `585 V`"]),
    ("case", "rig: finch\nsymptoms: {a.b: 12}", ["f.yaml:2:12 error type: `a.b` should be a symptom's answer, not the number `12`" " | write it like `yes`"]),
    ("rig", "rig: a\nchart: [{quantity: b.c}]", ["f.yaml:2:9 error missing-key: a row of the chart wants `value`, which is not here | add `value:` (What a good set shows)"]),
    ("bench", "budgets: {a: {title: a, history: {}, faults: [1]}}", ["f.yaml:1:38 error count: `faults` has 1 entries, fewer than 2"]),
    ("bench", "budgets: {a: {title: a, history: {}, faults: [-1, 2]}}", ["f.yaml:1:47 error range: `faults` should be at least 0, not -1"]),
    ("bench", "gradings: {a: {scale: log, states: {b: {}}}}", ["f.yaml:1:23 error word: `scale` cannot be `log` | known here: ratio, absolute"]),
    ("stage", "kind: x\nparts: {a: {title: t, modes: {b: {title: c, prior: [1]}}}}", ["f.yaml:2:45 error type: `prior` should be a frequency, not a list | write it like `8 of 10`"]),
]  # fmt: skip


@pytest.mark.parametrize("sort", sorted(INPUTS))
def test_a_title_says_what_shape_is_wanted(sort: str) -> None:
    """A value of several types is called by its title, so that cannot be the key that holds it."""
    for path, part in parts(load(sort)):
        if isinstance(part.get("type"), list) and "title" in part:
            assert part["title"] != path.rpartition("/")[2], path


@pytest.mark.parametrize(("sort", "text", "expected"), SLIPS)
def test_a_slip_of_shape_is_said_at_its_key(sort: str, text: str, expected: list[str]) -> None:
    """Place, id, text and suggestion."""
    assert said(sorted(validate(root_of(text), sort), key=lambda problem: problem.place)) == expected


def test_an_unforeseen_rule_of_a_schema_is_said_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """A schema with a word that has no sentence still gives a problem with its place."""
    odd = jsonschema.Draft202012Validator({"properties": {"a": {"const": 1}}})
    monkeypatch.setattr(schema, "_validator", lambda sort: odd)
    problem = Problem(Place("f.yaml", 1, 5), "error", "shape", "`a` is not as it should be")
    assert validate(root_of("{a:  2}"), "any")[0].id == "shape"
    assert validate(root_of("a : 2"), "any") == (problem,)
