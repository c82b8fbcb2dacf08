"""Documents against their JSON Schemas, with every fault at its key and in a plain sentence.

The schemas judge shapes: keys, types, counts, closed lists of words. What a word may refer to is
checked by the readers, because a schema could only answer with a regular expression.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from typing import Any

from diagnose.files.document import Node
from diagnose.files.faults import did_you_mean
from diagnose.files.find import schema_folder
from diagnose.problems import ERROR, Place, Problem

_TYPES: Mapping[str, str] = {
    "string": "a text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "array": "a list",
    "object": "a mapping",
    "null": "empty",
}


def validate(root: Node, sort: str) -> tuple[Problem, ...]:
    """The faults of a document's shape; `sort` names the schema: stage, bench, rig, case, ..."""
    found: dict[Problem, None] = {}
    for error in _validator(sort).iter_errors(root.plain()):
        for problem in _problems(error, root):
            found[problem] = None
    return tuple(found)


@lru_cache(maxsize=1)
def _schemas() -> Any:
    import jsonschema  # noqa: PLC0415 - takes longer to load than a compiled book

    return jsonschema


@lru_cache(maxsize=16)
def _validator(sort: str) -> Any:
    """The validator of one schema, built once."""
    path = schema_folder() / f"{sort}.schema.json"
    schema = json.loads(path.read_text(encoding="utf-8"))
    return _schemas().Draft202012Validator(_written_out(schema, schema.get("$defs", {})))


def _written_out(part: Any, shared: Mapping[str, Any]) -> Any:
    """A schema with its references written out: following them takes half of the time otherwise.

    Our schemas refer only to their own $defs, and never in a circle.
    """
    if isinstance(part, list):
        return [_written_out(below, shared) for below in part]
    if not isinstance(part, dict):
        return part
    own = {key: _written_out(below, shared) for key, below in part.items() if key not in ("$ref", "$defs")}
    target = part.get("$ref", "").removeprefix("#/$defs/")
    return {**_written_out(shared[target], shared), **own} if target else own


def _problems(error: Any, root: Node) -> Iterator[Problem]:
    node = _find(root, error.absolute_path)
    make = _SENTENCES.get(error.validator)
    if "propertyNames" in error.absolute_schema_path:
        yield _odd_id(error, node)
    elif make is None:
        yield Problem(node.place, ERROR, "shape", f"{_name(error)} is not as it should be")
    else:
        yield from make(error, node)


def _find(root: Node, path: Iterable[str | int]) -> Node:
    node = root
    for step in path:
        below = node.members[step] if isinstance(step, int) else node.get(step)
        if below is None:
            break
        node = below
    return node


def _name(error: Any) -> str:
    """What is being judged: the key as written, or the thing by its title."""
    for step in reversed(error.absolute_path):
        if isinstance(step, str):
            return f"`{step}`"
    return str(error.schema.get("title", "this file"))


def _title(error: Any) -> str:
    """What sort of thing the schema describes: `a quantity`."""
    return str(error.schema.get("title") or _name(error))


def _unknown_keys(error: Any, node: Node) -> Iterator[Problem]:
    properties = error.schema.get("properties", {})
    known = list(properties)
    spare = [key for key in known if key not in error.instance]
    meant = {word: name for name in spare for word in properties[name].get("also", ())}
    for key in error.instance:
        if key not in known:
            place = node.entries[key].key_place
            said = f"`{key}` is no key of {_title(error)}"
            hint = did_you_mean(meant.get(key, key), spare)
            if error.instance[key] is None and not hint.startswith("did"):
                hint = "put a text that holds a comma in quotes"
            yield Problem(place, ERROR, "unknown-key", said, hint)


def _missing_keys(error: Any, node: Node) -> Iterator[Problem]:
    for key in error.validator_value:
        if key not in error.instance:
            said = f"{_title(error)} wants `{key}`"
            what = error.schema.get("properties", {}).get(key, {}).get("description", "")
            hint = f"add `{key}:` ({_first_words(what)})" if what else f"add `{key}:`"
            yield Problem(_start(node), ERROR, "missing-key", f"{said}, which is not here", hint)


def _wrong_type(error: Any, node: Node) -> Iterator[Problem]:
    wanted = error.validator_value
    types = [wanted] if isinstance(wanted, str) else list(wanted)
    name, title = _name(error), error.schema.get("title")
    expected = " or ".join(_TYPES[type] for type in types if type != "null")
    if title and len(types) > 1:
        expected = title
    elif title and error.absolute_path and isinstance(error.absolute_path[-1], int):
        name = title  # one of a list: the key is the list's
    if node.value is None:
        said = f"{name} is empty; it should be {expected}"
    else:
        said = f"{name} should be {expected}, not {_found(node)}"
    hint = ""
    if error.schema.get("examples"):
        hint = f"write it like `{error.schema['examples'][0]}`"
    elif "string" in types and isinstance(error.instance, (int, float, bool)):
        hint = f'put it in quotes: "{node.written}"'
    yield Problem(_start(node), ERROR, "type", said, hint)


def _found(node: Node) -> str:
    value = node.value
    if isinstance(value, Mapping):
        return "a mapping"
    if isinstance(value, tuple):
        return "a list"
    kind = "the text" if isinstance(value, str) else "the word" if value in (True, False) else "the number"
    return f"{kind} `{_short(node.written)}`"


def _odd_word(error: Any, node: Node) -> Iterator[Problem]:
    known = [word if isinstance(word, str) else None for word in error.validator_value]
    words = [word for word in known if word is not None]
    written = _short(node.written) if node.is_scalar else _found(node)
    said = (
        f"{_name(error)} cannot be `{written}`" if node.is_scalar else f"{_name(error)} cannot be {written}"
    )
    yield Problem(node.place, ERROR, "word", said, did_you_mean(node.written, words))


def _odd_id(error: Any, node: Node) -> Problem:
    """A key that is no id."""
    key = str(error.instance)
    there = node.get(key)
    place = there.key_place if there is not None else node.place
    said = f"`{_short(key)}` is no id"
    return Problem(place, ERROR, "id", said, "use lower case letters, digits and underscores")


def _odd_pattern(error: Any, node: Node) -> Iterator[Problem]:
    said = f"`{_short(str(error.instance))}` is no id"
    yield Problem(node.place, ERROR, "id", said, "use lower case letters, digits and underscores")


def _odd_count(error: Any, node: Node) -> Iterator[Problem]:
    wanted, count = error.validator_value, len(error.instance)
    few = error.validator.startswith("min")
    if not count:
        said = f"{_name(error)} is empty"
    elif few:
        said = f"{_name(error)} has {count} entries, fewer than {wanted}"
    else:
        said = f"{_name(error)} has {count} entries, more than {wanted}"
    yield Problem(_start(node), ERROR, "count", said)


def _odd_number(error: Any, node: Node) -> Iterator[Problem]:
    sides = {
        "minimum": "at least",
        "maximum": "at most",
        "exclusiveMinimum": "more than",
        "exclusiveMaximum": "less than",
    }
    said = f"{_name(error)} should be {sides[error.validator]} {error.validator_value}"
    yield Problem(node.place, ERROR, "range", f"{said}, not {error.instance}")


def _start(node: Node) -> Place:
    """Where a thing begins for its reader: at its key, or at the value where there is none."""
    return node.key_place


_SENTENCES: Mapping[str, Any] = {
    "additionalProperties": _unknown_keys,
    "required": _missing_keys,
    "type": _wrong_type,
    "enum": _odd_word,
    "pattern": _odd_pattern,
    "minItems": _odd_count,
    "maxItems": _odd_count,
    "minProperties": _odd_count,
    "maxProperties": _odd_count,
    "minLength": _odd_count,
    "minimum": _odd_number,
    "maximum": _odd_number,
    "exclusiveMinimum": _odd_number,
    "exclusiveMaximum": _odd_number,
}


def _first_words(text: str) -> str:
    return text.partition(". ")[0].rstrip(".:")


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= 40 else text[:37] + "..."
