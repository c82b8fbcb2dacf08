"""A complete set on the bench: every draw of the network made once and kept, whatever is repaired later.

Forward sampling of the network that `diagnose.inference` solves: each node joins its own draw and one draw for each
arrow into it by noisy-MAX per direction (see `diagnose/inference/scale.py`). A draw is a number from 0 to 1, looked
up in the distribution that the state of the parent gives: as long as a part stays as it is, so does all that it
pushes, and what does not hang on a part that was put right stays as it was. The parts are not drawn: those named
are bad, all others good, and none ruins another.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from diagnose.inference.network import Network
from diagnose.inference.rig_network import Skeleton
from diagnose.inference.scale import DOWN, OVER, UP, Scale


@dataclass(frozen=True, eq=False)
class Draws:
    """The draws of one set: for each node its own, then that of its split, then one for each arrow into it."""

    by_node: tuple[tuple[float, ...], ...]

    @classmethod
    def made(cls, network: Network, rng: np.random.Generator) -> Draws:
        """Fresh draws."""
        counts = [2 + len(arrows) for arrows in network.into]
        drawn = rng.random(sum(counts)).tolist()
        ends = np.cumsum(counts).tolist()
        return cls(tuple(tuple(drawn[end - count : end]) for count, end in zip(counts, ends, strict=True)))


@dataclass(frozen=True, eq=False)
class World:
    """One set: the network it is drawn from, its draws, and the state of each part that is bad."""

    bones: Skeleton
    draws: Draws
    bad: Mapping[str, int]

    @cached_property
    def states(self) -> tuple[int, ...]:
        """The state of every node."""
        network, index = self.bones.network, self.bones.index
        forced = {index[part]: state for part, state in self.bad.items()}
        found: list[int] = []
        for node, (own, split, *others) in enumerate(self.draws.by_node):
            here = network.nodes[node]
            if here.is_part:
                found.append(forced.get(node, 0))
                continue
            drawn = [_looked_up(here.leak.tolist(), own)]
            for arrow, draw in zip(network.into[node], others, strict=True):
                row = arrow.draws[found[arrow.parent]]
                if row[0] < 1.0:
                    drawn.append(_looked_up(row.tolist(), draw))
            found.append(joined(here.scale, drawn, split))
        return tuple(found)

    def state(self, name: str) -> int:
        """The state of a part or indication of the rig."""
        return self.states[self.bones.index[name]]

    def repaired(self, part: str) -> World:
        """The set with one part good, and all that did not hang on it as it was."""
        return World(self.bones, self.draws, {p: state for p, state in self.bad.items() if p != part})


def joined(scale: Scale, drawn: Sequence[int], split: float) -> int:
    """Noisy-MAX per direction of some draws; `split`, from 0 to 1, settles what is pushed both ways."""
    worst = dict.fromkeys((DOWN, UP, OVER), 0)
    for state in drawn:
        side = scale.sides[state]
        if state and scale.ranks[state] > scale.ranks[worst[side]]:
            worst[side] = state
    if worst[OVER]:
        return worst[OVER]
    if worst[DOWN] and worst[UP]:
        return (0, worst[DOWN], worst[UP])[_looked_up(scale.split, split)]
    return worst[DOWN] or worst[UP]


def _looked_up(chances: Sequence[float], draw: float) -> int:
    """The outcome that a draw from 0 to 1 stands for, where each has its chance."""
    for outcome, chance in enumerate(chances):
        draw -= chance
        if draw < 0:
            return outcome
    return max(outcome for outcome, chance in enumerate(chances) if chance > 0)
