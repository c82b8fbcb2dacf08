"""The book as the checks see it: laid out over every rig, with what each rule does there."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from diagnose.model.assembly import UNNAMED, Assembly, Link, PlacedPart, assemble, at_bench
from diagnose.model.knowledge import Book, Indication, Mode, Part
from diagnose.problems import Problem


@dataclass(frozen=True)
class Laid:
    """One rig's network with its links sorted by where they start and end."""

    assembly: Assembly
    out_of: Mapping[tuple[str, str], tuple[Link, ...]]  # by (parent, state)
    into: Mapping[str, tuple[Link, ...]]

    def side(self, link: Link) -> str:
        """Side of the state that a link pushes to; "" for a part that it ruins."""
        if link.rule.damages:
            return ""
        placed = self.assembly.indications[link.child]
        return placed.indication.states[placed.indication.state_index(link.child_state)].side

    def from_state(self, name: str, state: str) -> tuple[Link, ...]:
        """The links that start at a part's mode or an indication's state."""
        return self.out_of.get((name, state), ())


@dataclass(frozen=True)
class Survey:
    """A book and its rigs. `laid` is by rig id."""

    book: Book
    laid: Mapping[str, Laid]

    @cached_property
    def causes(self) -> tuple[Appearance, ...]:
        """Every declared cause once, with each stage of each rig where it is found."""
        found: dict[tuple[str, str, str], list[tuple[Laid, PlacedPart]]] = {}
        declared: dict[tuple[str, str, str], tuple[Part, Mode]] = {}
        for laid in self.laid.values():
            for placed, mode in _named(laid.assembly):
                kind = laid.assembly.rig.stages[placed.stage].kind
                key = (kind, placed.part.id, mode.id)
                found.setdefault(key, []).append((laid, placed))
                declared[key] = (placed.part, mode)
        return tuple(Appearance(key[0], *declared[key], tuple(places)) for key, places in found.items())

    @cached_property
    def signs(self) -> tuple[Sign, ...]:
        """Every declared indication once, with its name on each stage of each rig where it is found."""
        found: dict[int, list[tuple[Laid, str]]] = {}
        for laid in self.laid.values():
            for name, placed in laid.assembly.indications.items():
                found.setdefault(id(placed.indication), []).append((laid, name))
        return tuple(
            Sign(indication, tuple(found.get(id(indication), ())))
            for kind in self.book.kinds.values()
            for indication in kind.indications.values()
        )


@dataclass(frozen=True)
class Appearance:
    """A cause of a kind of stage, and where on the rigs it is found."""

    kind: str
    part: Part
    mode: Mode
    places: tuple[tuple[Laid, PlacedPart], ...]

    @property
    def name(self) -> str:
        """The cause's name within its kind: `rectifier_tube.weak`."""
        return f"{self.part.id}.{self.mode.id}"


@dataclass(frozen=True)
class Sign:
    """An indication of a kind of stage, and its names on the rigs."""

    indication: Indication
    places: tuple[tuple[Laid, str], ...]


Check = Callable[[Survey], Iterable[Problem]]


def survey(book: Book) -> Survey:
    """The book laid out over all its rigs."""
    return Survey(
        book,
        {
            id: lay_out(assemble(book, at_bench(book, rig, book.meters.values())))
            for id, rig in book.rigs.items()
        },
    )


def lay_out(assembly: Assembly) -> Laid:
    """A rig's network with its links sorted, those of the unnamed parts left out."""
    out_of: dict[tuple[str, str], list[Link]] = {}
    into: dict[str, list[Link]] = {}
    for link in assembly.links:
        if link.rule.from_name == UNNAMED:
            continue
        out_of.setdefault((link.parent, link.parent_state), []).append(link)
        into.setdefault(link.child, []).append(link)
    return Laid(
        assembly,
        {key: tuple(links) for key, links in out_of.items()},
        {key: tuple(links) for key, links in into.items()},
    )


def _named(assembly: Assembly) -> Iterator[tuple[PlacedPart, Mode]]:
    for _, placed, mode in assembly.causes():
        if not placed.part.unnamed:
            yield placed, mode


def on_rigs(rigs: Iterable[str], every: int) -> str:
    """`on every rig` or `on the rigs a, b`."""
    names = list(dict.fromkeys(rigs))
    if len(names) == every:
        return "on every rig"
    if len(names) == 1:
        return f"on the rig {names[0]}"
    return f"on the rigs {', '.join(names)}"
