"""The content of a file as plain data in which every value knows its file, line and column."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.files.scalars import Scalar
from diagnose.problems import Place

FOLDED = "|"
Step = str | int
Content = Scalar | tuple["Node", ...] | Mapping[str, "Node"]


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """One value of a file: a scalar, a tuple of nodes or a mapping of nodes, with its place."""

    value: Content
    place: Place
    key_place: Place
    written: str = ""  # a scalar as it stands in the file: the tube 6E5 is no number
    style: str = ""  # of a scalar: its quotes, or FOLDED over several lines

    @property
    def entries(self) -> Mapping[str, Node]:
        """The entries of a mapping; empty for anything else."""
        return self.value if isinstance(self.value, Mapping) else {}

    @property
    def members(self) -> tuple[Node, ...]:
        """The members of a list; empty for anything else."""
        return self.value if isinstance(self.value, tuple) else ()

    @property
    def is_scalar(self) -> bool:
        """Whether it is a single value that says something."""
        return not isinstance(self.value, (Mapping, tuple)) and self.value is not None

    def get(self, key: str) -> Node | None:
        """The entry of a mapping under `key`, if there is one."""
        return self.entries.get(key)

    def plain(self) -> Any:
        """The same as dict, list and scalars."""
        if isinstance(self.value, Mapping):
            return {key: node.plain() for key, node in self.value.items()}
        if isinstance(self.value, tuple):
            return [node.plain() for node in self.value]
        return self.value

    def walk(self) -> Iterator[Node]:
        """The node and all below it, in file order."""
        yield self
        for node in (*self.entries.values(), *self.members):
            yield from node.walk()


@dataclass(frozen=True)
class Document:
    """The content of one file."""

    file: str
    root: Node

    @property
    def data(self) -> Any:
        """The content as plain data."""
        return self.root.plain()

    def find(self, path: tuple[Step, ...]) -> Node | None:
        """The node at a path of keys and list positions."""
        node: Node | None = self.root
        for step in path:
            if node is None:
                return None
            if isinstance(step, int):
                node = node.members[step] if step < len(node.members) else None
            else:
                node = node.get(step)
        return node

    def place(self, path: tuple[Step, ...], *, key: bool = False) -> Place:
        """Where the value at `path` stands (or its key); for what is not there, its parent."""
        for length in range(len(path), -1, -1):
            node = self.find(path[:length])
            if node is not None:
                return node.key_place if key else node.place
        return Place(self.file)
