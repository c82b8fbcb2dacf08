"""What a formula says, as a tree. Columns tell where a piece stands and do not count when trees are compared."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

CONSTANTS: Final = MappingProxyType({"pi": math.pi})


@dataclass(frozen=True, slots=True)
class Number:
    """A number as written."""

    value: float
    column: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class Constant:
    """A number with a name: one of CONSTANTS."""

    id: str
    column: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class Name:
    """A figure that is put in later."""

    id: str
    column: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class Negative:
    """The negative of something; the column is that of the minus sign."""

    of: Node
    column: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class Binary:
    """Two things and the sign between them (+ - * / ^); the column is that of the sign."""

    sign: str
    left: Node
    right: Node
    column: int = field(default=1, compare=False)


@dataclass(frozen=True, slots=True)
class Call:
    """A function of one argument, or `min` or `max` of two and more; the column is that of its name."""

    function: str
    arguments: tuple[Node, ...]
    column: int = field(default=1, compare=False)


Node = Number | Constant | Name | Negative | Binary | Call


def inside(node: Node) -> tuple[Node, ...]:
    """The parts of a node, from left to right."""
    if isinstance(node, Negative):
        return (node.of,)
    if isinstance(node, Binary):
        return (node.left, node.right)
    return node.arguments if isinstance(node, Call) else ()


def names(node: Node) -> Iterator[Name]:
    """Every name, from left to right, as often as it stands there."""
    if isinstance(node, Name):
        yield node
    for part in inside(node):
        yield from names(part)


def start(node: Node) -> int:
    """The column where a node begins."""
    return start(node.left) if isinstance(node, Binary) else node.column
