"""What a question to a network comes to: its parts, what gathers on which node, and in which order it is summed.

Data only, made by `layout`, filled with numbers by `filling`, and read by `reading`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.inference.contraction import Contraction
from diagnose.inference.gathering import Gathering
from diagnose.inference.network import Network
from diagnose.inference.scale import Array


@dataclass(frozen=True, eq=False)
class Gatherer:
    """A node on which draws gather, K values of them, before it ends in one of C classes.

    All in cumulative form (see `gathering`). `start`: (1, K), its own draw and the parents left with one
    class. `absorbed`: rows of the absorbed parts in `Structure.parts`; `moved`: (P, S or 2 S, K), what each
    draws by state (and mark, where the node tells marks apart). `links`: (C_parent, K) for each open
    parent. `row`: its own row in `parts`, if it is one. `tables`: first and last of its tables. With one
    open parent or none there is one table, over the parent's and its own classes; with more, one over
    what has gathered, one for each link, and one to its own classes, unless it has but one class.
    """

    node: int
    row: int | None
    observed: bool
    tells_marks: bool
    gathered: Gathering
    start: Array
    absorbed: tuple[int, ...]
    moved: Array
    links: tuple[Array, ...]
    lineage: Lineage | None
    tables: tuple[int, int]


@dataclass(frozen=True, eq=False)
class Lineage:
    """How a part that others can ruin passes on its own marks: label to class, each (L, C).

    `good`: it is good. `free`: it is bad and may take part. `silent`: it is bad and must not.
    """

    good: Array
    free: Array
    silent: Array


@dataclass(frozen=True, eq=False)
class Root:
    """An open part that nothing ruins: its row in `parts`, its table, and the class of each slot.

    `to_class`: (2 S, C), the slots state by state, unmarked and marked; no class where impossible.
    """

    row: int
    table: int
    to_class: Array


@dataclass(frozen=True, eq=False)
class Structure:
    """The layout of one question.

    `nodes`: what was not pruned; `parts`: the parts among it; `prior`: (N, S), their own draws, zero
    where they cannot be. `outside`: the states of each observed node that the layout has excluded.
    """

    network: Network
    nodes: tuple[int, ...]
    asked: frozenset[int]
    followed: frozenset[int] | None  # parts whose blame can be read; None: all
    read: frozenset[int] | None  # parts whose posterior can be read at all; None: all
    outside: Mapping[int, tuple[int, ...]]
    parts: tuple[int, ...]
    prior: Array
    roots: tuple[Root, ...]
    gatherers: tuple[Gatherer, ...]
    tables: int  # how many the roots and gatherers have; the contraction may have further inputs
    contraction: Contraction

    @property
    def observed(self) -> frozenset[int]:
        """The nodes with evidence."""
        return frozenset(self.outside)
