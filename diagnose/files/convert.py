"""Frozen values as plain JSON data, and back with every shape checked.

A dataclass becomes a list of its fields in order, which is short and fast. The converters are
built once per type from the annotations, so a new field needs no line here; data of the wrong shape
raises ShapeError, never builds a wrong value.
"""

from __future__ import annotations

import dataclasses
import sys
import types
import typing
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any, Union

from diagnose.files.frozen import Frozen


class ShapeError(ValueError):
    """Data that is not what the type asks for."""


def to_plain(value: Any) -> Any:
    """Lists, dictionaries and scalars for a value made of dataclasses, tuples and mappings."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return [to_plain(getattr(value, field.name)) for field in dataclasses.fields(value)]
    if isinstance(value, Mapping):
        return {key: to_plain(entry) for key, entry in value.items()}
    if isinstance(value, (tuple, list)):
        return [to_plain(entry) for entry in value]
    return value


def outline(kind: Any) -> str:
    """The fields of a dataclass and of all it holds: when it changes, old data no longer fits."""
    lines: dict[str, None] = {}
    waiting = [kind]
    while waiting:
        current = waiting.pop()
        waiting.extend(typing.get_args(current))
        if dataclasses.is_dataclass(current) and isinstance(current, type):
            hints = typing.get_type_hints(current)
            line = f"{current.__name__}: " + ", ".join(f"{name} {hint}" for name, hint in hints.items())
            if line not in lines:
                lines[line] = None
                waiting.extend(hints.values())
    return "\n".join(lines)


def from_plain(kind: Any, data: Any) -> Any:
    """The value of type `kind` for plain data; raises ShapeError."""
    return _converter(kind)(data)


Converter = Callable[[Any], Any]


@lru_cache(maxsize=256)
def _converter(kind: Any) -> Converter:
    """The function that turns plain data into one type."""
    accepted = _accepted(kind)
    if accepted is not None:
        return _scalar(kind, accepted)
    if dataclasses.is_dataclass(kind) and isinstance(kind, type):
        return _dataclass(kind)
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin is tuple:
        if len(arguments) == 2 and arguments[1] is Ellipsis:
            return _sequence(arguments[0])
        return _fixed(arguments)
    if origin is not None and isinstance(origin, type) and issubclass(origin, Mapping):
        return _mapping(arguments[1])
    if origin in (Union, types.UnionType):
        return _union(arguments)
    if kind is object:
        return _anything
    raise TypeError(f"no plain form is known for {kind}")


# The types that plain data may have where a scalar is asked for; a whole number is a float too.
_SCALARS: Mapping[Any, frozenset[type]] = {
    str: frozenset({str}),
    bool: frozenset({bool}),
    int: frozenset({int}),
    float: frozenset({float, int}),
    type(None): frozenset({type(None)}),
}


def _accepted(kind: Any) -> frozenset[type] | None:
    """The types of plain data for a scalar, or for a scalar that may be None; else None."""
    if typing.get_origin(kind) in (Union, types.UnionType):
        sets = [_SCALARS.get(option) for option in typing.get_args(kind)]
        return None if None in sets else frozenset().union(*(s for s in sets if s is not None))
    return _SCALARS.get(kind)


def _scalar(kind: Any, accepted: frozenset[type]) -> Converter:
    def convert(data: Any) -> Any:
        if type(data) not in accepted:
            raise ShapeError(f"{kind} expected")
        return data

    return convert


def _anything(data: Any) -> Any:
    """Plain data of any shape, lists as tuples."""
    if isinstance(data, list):
        return tuple(_anything(entry) for entry in data)
    if isinstance(data, dict):
        return Frozen({key: _anything(entry) for key, entry in data.items()})
    return data


def _sequence(kind: Any) -> Converter:
    each, accepted = _converter(kind), _accepted(kind)

    def convert(data: Any) -> Any:
        if type(data) is not list:
            raise ShapeError("list expected")
        if accepted is None:
            return tuple([each(entry) for entry in data])
        if not accepted.issuperset(map(type, data)):
            raise ShapeError(f"list of {kind} expected")
        return tuple(data)

    return convert


def _fixed(kinds: tuple[Any, ...]) -> Converter:
    converters = tuple(_converter(kind) for kind in kinds)

    def convert(data: Any) -> Any:
        if type(data) is not list or len(data) != len(converters):
            raise ShapeError(f"list of {len(converters)} expected")
        return tuple([each(entry) for each, entry in zip(converters, data, strict=True)])

    return convert


def _mapping(kind: Any) -> Converter:
    each, accepted = _converter(kind), _accepted(kind)

    def convert(data: Any) -> Any:
        if type(data) is not dict:
            raise ShapeError("mapping expected")
        if accepted is None:
            return Frozen({key: each(entry) for key, entry in data.items()})
        if not accepted.issuperset(map(type, data.values())):
            raise ShapeError(f"mapping to {kind} expected")
        return Frozen(data)

    return convert


def _union(kinds: tuple[Any, ...]) -> Converter:
    some = [_converter(kind) for kind in kinds if kind is not type(None)]
    optional = type(None) in kinds

    def convert(data: Any) -> Any:
        if data is None and optional:
            return None
        for each in some[:-1]:
            try:
                return each(data)
            except ShapeError:
                continue
        return some[-1](data)

    return convert


def _within(kind: type, hint: Any) -> bool:
    """Whether a type is built from a dataclass that is being converted: a value that holds its like."""
    return hint is kind or any(_within(kind, part) for part in typing.get_args(hint))


def _later(kind: Any) -> Converter:
    """The converter of a type that is looked up when data comes: its own is not made yet."""

    def convert(data: Any) -> Any:
        return _converter(kind)(data)

    return convert


def _dataclass(kind: type) -> Converter:
    """A converter written out for one dataclass and compiled, as the dataclass decorator does it.

    A loop over the fields takes three times as long, and a book has twenty thousand values. The
    instance gets its dictionary in one go, past the frozen __setattr__.
    """
    hints = typing.get_type_hints(kind, vars(sys.modules[kind.__module__]))
    names = [field.name for field in dataclasses.fields(kind)]
    accepted = {name: _accepted(hints[name]) for name in names}
    known: dict[str, Any] = {
        "kind": kind,
        "new": object.__new__,
        "give": object.__setattr__,
        "ShapeError": ShapeError,
        **{f"allow_{name}": allowed for name, allowed in accepted.items()},
    }
    entries = []
    for name in names:
        if accepted[name] is not None:
            entries.append(f"{name!r}: {name}_")
            continue
        known[f"make_{name}"] = _later(hints[name]) if _within(kind, hints[name]) else _converter(hints[name])
        made = f"make_{name}({name}_)"
        if typing.get_origin(hints[name]) is tuple and hints[name].__args__[-1] is Ellipsis:
            made = f"() if {name}_ == [] else {made}"
        entries.append(f"{name!r}: {made}")
    scalars = [name for name in names if accepted[name] is not None]
    wrong = " or ".join(["False", *(f"type({name}_) not in allow_{name}" for name in scalars)])
    lines = [
        "def convert(data):",
        f"    if type(data) is not list or len(data) != {len(names)}:",
        f"        raise ShapeError('{kind.__name__}: a list of {len(names)} expected')",
        f"    {', '.join(f'{name}_' for name in names)}, = data",
        f"    if {wrong}:",
        f"        raise ShapeError('{kind.__name__}: a scalar of another type expected')",
        "    value = new(kind)",
        f"    give(value, '__dict__', {{{', '.join(entries)}}})",
        "    return value",
    ]
    exec(compile("\n".join(lines), f"<converter of {kind.__name__}>", "exec"), known)
    convert: Converter = known["convert"]
    return convert
