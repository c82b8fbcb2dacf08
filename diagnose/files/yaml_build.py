"""Nodes built from the parser's events, without recursion.

Depth, size, aliases and tags are judged before anything grows: a hostile file gets one message and no traceback.
Aliases are allowed, and count as if they were written out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

import yaml

from diagnose.files.document import FOLDED, Content, Node
from diagnose.files.limits import MAX_DEPTH, MAX_NODES, MAX_SCALAR
from diagnose.files.scalars import plain_scalar
from diagnose.problems import ERROR, Place, Problem


@dataclass
class RefusedError(Exception):
    """Reading stops here; the problem says why."""

    problem: Problem


@dataclass
class _Open:
    """A list or mapping whose end has not been read yet."""

    place: Place
    key_place: Place
    anchor: str | None
    entries: dict[str, Node] | None  # of a mapping
    members: list[Node]  # of a list
    key: tuple[str, Place] | None = None  # read, and waiting for its value
    size: int = 1  # values in it, written out
    depth: int = 1  # lists and mappings one inside the other, itself included


@dataclass(frozen=True)
class _Anchored:
    """A value that aliases may repeat, with what it costs each time."""

    node: Node
    size: int
    depth: int


@dataclass
class Builder:
    """Builds the nodes of one text; `problems` are those that it was read in spite of."""

    file: str
    problems: list[Problem] = field(default_factory=list)
    nodes: int = 0
    documents: int = 0
    stack: list[_Open] = field(default_factory=list)
    anchors: dict[str, _Anchored] = field(default_factory=dict)

    def build(self, text: str) -> Node:
        """The node of the one document in a text. RefusedError, or an error of yaml, where it cannot be read."""
        root: Node | None = None
        for event in _events(text):
            done = self._take(event)
            if done is None:
                continue
            if self.stack:
                _put(self.stack[-1], done)
            else:
                root = done.node
        if root is None or root.value is None:
            raise RefusedError(Problem(Place(self.file), ERROR, "empty", "the file is empty"))
        return root

    def _take(self, event: Any) -> _Anchored | None:
        """Take one event in; a value that is complete comes out."""
        kind = type(event)
        if kind is yaml.ScalarEvent:
            return self._scalar(event)
        if kind is yaml.MappingStartEvent or kind is yaml.SequenceStartEvent:
            self._open(event, mapping=kind is yaml.MappingStartEvent)
        elif kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
            return self._close()
        elif kind is yaml.AliasEvent:
            return self._alias(event)
        elif kind is yaml.DocumentStartEvent:
            self.documents += 1
            if self.documents > 1:
                said = "a second document starts here"
                hint = "one file holds one document: remove the line ---"
                raise self._refusal(event, "several-documents", said, hint)
        return None

    def _place(self, event: Any) -> Place:
        mark = event.start_mark
        return Place(self.file, mark.line + 1, mark.column + 1)

    def _refusal(self, event: Any, id: str, text: str, hint: str = "") -> RefusedError:
        return RefusedError(Problem(self._place(event), ERROR, id, text, hint))

    def _count(self, event: Any, size: int = 1) -> None:
        """Refuse tags and too many values before anything is kept."""
        if getattr(event, "tag", None) is not None:
            said = f"the tag {_short(event.tag)} is not used in these files"
            raise self._refusal(event, "tag", said, "remove it")
        self.nodes += size
        if self.nodes > MAX_NODES:
            said = f"more than {MAX_NODES} values in one file, repeated ones included"
            raise self._refusal(event, "too-large", said)

    def _awaits_key(self) -> bool:
        return bool(self.stack) and self.stack[-1].entries is not None and not self.stack[-1].key

    def _scalar(self, event: Any) -> _Anchored | None:
        """The node of a scalar; None when it was the key of a mapping."""
        self._count(event)
        place = self._place(event)
        text: str = event.value
        if len(text) > MAX_SCALAR:
            said = f"a single value of more than {MAX_SCALAR} characters"
            raise self._refusal(event, "too-large", said)
        if self._awaits_key():
            self._key(text, place)
            return None
        value = plain_scalar(text) if event.implicit[0] else text
        style = FOLDED if event.end_mark.line != event.start_mark.line else event.style or ""
        node = Node(value, place, self._key_place(place), text, style)
        return self._keep(event.anchor, _Anchored(node, 1, 0))

    def _key(self, text: str, place: Place) -> None:
        top = self.stack[-1]
        top.key = (text, place)
        first = top.entries.get(text) if top.entries is not None else None
        if first is not None:
            line = first.key_place.line
            said = f"the key {_short(text)} stands here twice (first on line {line})"
            hint = "rename or remove one of them"
            self.problems.append(Problem(place, ERROR, "duplicate-key", said, hint))

    def _key_place(self, place: Place) -> Place:
        key = self.stack[-1].key if self.stack else None
        return key[1] if key else place

    def _open(self, event: Any, *, mapping: bool) -> None:
        self._count(event)
        place = self._place(event)
        if self._awaits_key():
            raise self._refusal(event, "odd-key", "a list or mapping cannot be a key")
        self._check_depth(event, 1)
        content: dict[str, Node] | None = {} if mapping else None
        self.stack.append(_Open(place, self._key_place(place), event.anchor, content, []))

    def _close(self) -> _Anchored:
        done = self.stack.pop()
        content: Content = tuple(done.members) if done.entries is None else done.entries
        node = Node(content, done.place, done.key_place)
        return self._keep(done.anchor, _Anchored(node, done.size, done.depth))

    def _keep(self, anchor: str | None, value: _Anchored) -> _Anchored:
        if anchor is not None:
            self.anchors[anchor] = value
        return value

    def _alias(self, event: Any) -> _Anchored:
        """What an alias repeats; the places inside stay those of the anchor."""
        known = self.anchors.get(event.anchor)
        if known is None or self._awaits_key():
            said = f"nothing complete stands before this under the name &{_short(event.anchor)}"
            raise self._refusal(event, "alias", said, "write it out")
        self._count(event, known.size)
        self._check_depth(event, known.depth)
        node = replace(known.node, key_place=self._key_place(self._place(event)))
        return replace(known, node=node)

    def _check_depth(self, event: Any, more: int) -> None:
        if len(self.stack) + more > MAX_DEPTH:
            raise self._refusal(event, "too-deep", f"nested more than {MAX_DEPTH} deep")


def _put(top: _Open, done: _Anchored) -> None:
    """Put a complete value where it belongs."""
    top.size += done.size
    top.depth = max(top.depth, done.depth + 1)
    if top.entries is None:
        top.members.append(done.node)
    elif top.key is not None:
        top.entries.setdefault(top.key[0], done.node)
        top.key = None


def _events(text: str) -> Iterator[Any]:
    """The parser's events."""
    loader = _loader(text)
    try:
        while loader.check_event():
            yield loader.get_event()
    finally:
        loader.dispose()


def _loader(text: str) -> Any:
    """The C parser where the library has it (ten times faster), else the one in Python."""
    return getattr(yaml, "CLoader", yaml.Loader)(text)


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."
