"""The network that is solved: nodes with scales and leaks, and the arrows between them.

Parts are nodes like indications: their modes lie on one side (the severe mode wins), their own
draw is the prior, and an arrow from another part is a part ruining it. Only parts carry blame.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from diagnose.inference.scale import Array, Scale


@dataclass(frozen=True, eq=False)
class Node:
    """One node. `leak`: shape (S,), the distribution of its own draw, entry 0 = draws nothing.

    For a part the leak is its prior. `is_part` nodes are asked for presence and blame.
    """

    scale: Scale
    leak: Array
    is_part: bool = False

    def __post_init__(self) -> None:
        _check_distribution(self.leak, (self.scale.size,))

    @cached_property
    def can_draw(self) -> int:
        """The states its own draw can be, as bits; bit 0 for no draw."""
        return _bits_of(self.leak.tolist())


@dataclass(frozen=True, eq=False)
class Arrow:
    """An arrow. `draws`: shape (S_parent, S_child), row = distribution of the draw on the child.

    Row 0 (the parent is good) must draw nothing unless the arrow is a need (`carries_blame` false).
    """

    parent: int
    child: int
    draws: Array
    carries_blame: bool = True

    def __post_init__(self) -> None:
        _check_distribution(self.draws, self.draws.shape)
        if self.carries_blame and self.draws[0, 0] != 1.0:
            raise ValueError("a good parent pushes nothing")

    @cached_property
    def can_draw(self) -> tuple[int, ...]:
        """For each state of the parent the states it can draw, as bits; bit 0 for no draw."""
        return tuple(_bits_of(row) for row in self.draws.tolist())

    @cached_property
    def draws_any(self) -> bool:
        """Whether some state of the parent draws something."""
        return bool((self.draws[:, 0] < 1.0).any())

    def between(self, parent: int, child: int) -> Arrow:
        """The same arrow between other nodes; what was found out about its draws is kept."""
        made = object.__new__(Arrow)  # its draws were looked over
        known = made.__dict__
        known["parent"], known["child"] = parent, child
        known["draws"], known["carries_blame"] = self.draws, self.carries_blame
        known["can_draw"], known["draws_any"] = self.can_draw, self.draws_any
        return made


@dataclass(frozen=True, eq=False)
class Network:
    """Nodes, parents before children, and the arrows into each (`into[child]`, in any order)."""

    nodes: tuple[Node, ...]
    into: tuple[tuple[Arrow, ...], ...]

    def __post_init__(self) -> None:
        if len(self.nodes) != len(self.into):
            raise ValueError("one tuple of arrows per node")
        for child in range(len(self.nodes)):
            self._look_over(child)

    def _look_over(self, child: int) -> None:
        arrows = self.into[child]
        if len({arrow.parent for arrow in arrows}) < len(arrows):
            raise ValueError("one arrow per pair of nodes")
        for arrow in arrows:
            if arrow.child != child or not 0 <= arrow.parent < child:
                raise ValueError("parents come before children")
            shape = (self.nodes[arrow.parent].scale.size, self.nodes[child].scale.size)
            if arrow.draws.shape != shape:
                raise ValueError(f"draws of shape {arrow.draws.shape}, expected {shape}")

    def with_leaks(self, leaks: Mapping[int, Array]) -> Network:
        """The same network with other own draws; only these are looked over again."""
        nodes = list(self.nodes)
        for node, leak in leaks.items():
            nodes[node] = Node(nodes[node].scale, leak, nodes[node].is_part)
        return _looked_over(tuple(nodes), self.into)

    def with_more(self, nodes: Sequence[Node], into: Sequence[tuple[Arrow, ...]]) -> Network:
        """The same network with nodes after its own; only these are looked over."""
        grown = _looked_over((*self.nodes, *nodes), (*self.into, *into))
        for child in range(len(self.nodes), len(grown.nodes)):
            grown._look_over(child)
        return grown


def _looked_over(nodes: tuple[Node, ...], into: tuple[tuple[Arrow, ...], ...]) -> Network:
    """A network whose arrows were looked over before."""
    made = object.__new__(Network)
    object.__setattr__(made, "nodes", nodes)
    object.__setattr__(made, "into", into)
    return made


@dataclass(frozen=True, eq=False)
class Evidence:
    """What was observed: a likelihood of each state, shape (S,) or (B, S) for B variants at once.

    `abnormal` names the nodes whose observation counts as a sign of a fault.
    """

    likelihood: Mapping[int, Array]
    abnormal: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        for node, values in self.likelihood.items():
            usable = np.all(np.isfinite(values)) and np.all(values >= 0) and np.all(values.any(-1))
            if not usable:
                raise ValueError(f"no usable likelihood for node {node}")


def _check_distribution(values: Array, shape: tuple[int, ...]) -> None:
    if values.shape != shape:
        raise ValueError(f"shape {values.shape}, expected {shape}")
    rows = values.tolist() if values.ndim == 2 else [values.tolist()]
    for row in rows:
        # written so that a number that is none (NaN) does not pass
        if not (min(row) >= 0 and abs(sum(row) - 1.0) <= 1e-9):
            raise ValueError("chances must lie in 0..1 and add up to one")


def _bits_of(chances: list[float]) -> int:
    bits = 0
    for state, chance in enumerate(chances):
        if chance > 0:
            bits |= 1 << state
    return bits
