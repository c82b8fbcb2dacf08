"""What can happen and what can matter: slots from the parts down, classes from the leaves up.

A **slot** is a state a node can end in, unmarked or marked (see `gathering`), numbered state + S
where marked. Slots that do the same to everything below are merged into one **class**, and values of
what gathers on a node that lead to the same classes are merged too.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from functools import cache
from typing import NamedTuple

import numpy as np

from diagnose.inference.gathering import BY_CLASS, BY_SLOT, BY_STATE, Gathering, gathering
from diagnose.inference.network import Arrow, Network
from diagnose.inference.scale import Array


class Impossible(Exception):
    """The observation of `node` cannot occur under the network."""

    def __init__(self, node: int) -> None:
        super().__init__(f"node {node}")
        self.node = node


def ancestors(network: Network, nodes: Collection[int]) -> tuple[int, ...]:
    """These nodes and all that lies above them, in order."""
    seen = set(nodes)
    waiting = list(seen)
    while waiting:
        for arrow in network.into[waiting.pop()]:
            if arrow.parent not in seen:
                seen.add(arrow.parent)
                waiting.append(arrow.parent)
    return tuple(sorted(seen))


@cache
def states_in(bits: int) -> tuple[int, ...]:
    """The numbers of the bits set."""
    return tuple(state for state in range(bits.bit_length()) if bits >> state & 1)


class Slots:
    """Which states each node can end in and draw, unmarked and marked, as bits.

    Marks are followed only where a sign of a fault lies downstream (`matters`). `plain` and `marked` are
    the slots below counts with; `ends` those that draws can lead to: a part has, beside them, a marked
    slot of its own for each of its modes, if it is among those `followed` (None: all are). `drawn`: what can be drawn on a node on which draws gather.
    """

    def __init__(
        self,
        network: Network,
        relevant: Sequence[int],
        support: Mapping[int, Collection[int]],
        signs: frozenset[int],
        followed: frozenset[int] | None,
    ) -> None:
        self.matters = _leads_to_sign(network, relevant, signs)
        self.plain: dict[int, int] = {}
        self.marked: dict[int, int] = {}
        self.drawn: dict[int, tuple[int, int]] = {}
        self.ends: dict[int, tuple[int, int]] = {}
        for node in relevant:
            data = network.nodes[node]
            plain, marked = data.can_draw, 0
            if network.into[node] or not data.is_part:
                plain, marked = self._drawn(network.into[node], plain, data.scale.mute)
                self.drawn[node] = (plain, marked)
                plain |= 1  # draws may fail, or cancel
            if node in support:
                possible = sum(1 << state for state in frozenset(support[node]))
                plain &= possible
                marked &= possible
            if node in signs:  # showing a mark, it would convict the cause under question
                marked = 0
            self.ends[node] = (plain, marked)
            if data.is_part and (followed is None or node in followed):
                marked |= plain & ~1
            self.plain[node], self.marked[node] = plain, marked
            if not plain | marked:
                raise Impossible(node)

    def _drawn(self, arrows: Sequence[Arrow], own: int, mute: frozenset[int]) -> tuple[int, int]:
        plain, marked = own, 0
        muted = sum(1 << state for state in mute)
        for arrow in arrows:
            can_draw = arrow.can_draw
            for state in states_in(self.plain[arrow.parent]):
                plain |= can_draw[state]
            carries = arrow.carries_blame and arrow.child in self.matters
            for state in states_in(self.marked[arrow.parent]):
                if carries:
                    marked |= can_draw[state] & ~muted
                    plain |= can_draw[state] & muted
                else:
                    plain |= can_draw[state]
        return plain & ~1, marked & ~1


def _leads_to_sign(network: Network, relevant: Sequence[int], signs: frozenset[int]) -> frozenset[int]:
    """Nodes on which a push can take part in a sign of a fault, the signs included."""
    found = set(signs)
    for node in reversed(relevant):
        if node in found:
            found.update(arrow.parent for arrow in network.into[node] if arrow.carries_blame)
    return frozenset(found)


class Entry(NamedTuple):
    """Where in the moves of a child those of one parent lie: see `at`."""

    raw: bytes
    start: int
    lanes: int
    lane: int  # 1 where the child tells this parent's marks, otherwise 0

    def at(self, slot: int, states: int) -> int:
        """The number of the move that a slot of the parent makes."""
        if slot < states:
            return self.start + slot * self.lanes
        return self.start + (slot - states) * self.lanes + self.lane


class Classes:
    """Which slots of a node do the same to everything below, and what gathers on it.

    `of[node]`: class of each slot, -1 where impossible; `members[node]`: a slot of each class.
    `moves[node]`: shape (n, K), what the slots of all its parents draw on it, in cumulative form, one
    parent after another (`entries[node]`). A part that nothing ruins and that has one child is left unmerged.
    """

    def __init__(
        self,
        network: Network,
        relevant: Sequence[int],
        slots: Slots,
        observed: Collection[int],
        asked: frozenset[int],
    ) -> None:
        self.of: dict[int, list[int]] = {}
        self.members: dict[int, list[int]] = {}
        self.gathered: dict[int, Gathering] = {}
        self.moves: dict[int, Array] = {}
        self.entries: dict[int, list[Entry]] = {}
        self.below: dict[int, list[tuple[Entry, int]]] = {node: [] for node in relevant}
        for node in reversed(relevant):
            if node in slots.drawn:
                self._merge(node, slots, network.nodes[node].scale.size)
                tell = BY_STATE if node in observed or node in asked else BY_CLASS
                self._gather(network, node, slots, tell)
            elif len(self.below[node]) != 1:
                self._merge(node, slots, network.nodes[node].scale.size)

    def _merge(self, node: int, slots: Slots, states: int) -> None:
        below = self.below[node]
        found: dict[bytes, int] = {}
        members: list[int] = []
        classes = [-1] * (2 * states)
        possible = [*states_in(slots.plain[node] | slots.marked[node] << states)]
        for slot in possible:
            effect = b""
            for entry, width in below:
                at = entry.at(slot, states) * width
                effect += entry.raw[at : at + width]
            number = found.setdefault(effect, len(members))
            if number == len(members):
                members.append(slot)
            classes[slot] = number
        self.of[node] = classes
        self.members[node] = members

    def _gather(self, network: Network, node: int, slots: Slots, tell: int) -> None:
        data = network.nodes[node]
        states = data.scale.size
        plain, marked = slots.drawn[node]
        ends = slots.ends[node][0] | slots.ends[node][1] << states
        classes = tuple([c if ends >> slot & 1 else -1 for slot, c in enumerate(self.of[node])])
        result = gathering(data.scale, plain, marked, classes, BY_SLOT if data.is_part else tell)
        if result is None:
            raise Impossible(node)
        self.gathered[node] = result
        self.entries[node] = []
        arrows = network.into[node]
        if not arrows:
            return
        rows = arrows[0].draws
        if len(arrows) > 1:
            rows = np.concatenate([arrow.draws for arrow in arrows])
        tells = node in slots.matters
        by_draw = result.below if tells else result.plain_below
        size = result.size
        # summed state by state, so that what cannot be told apart is equal to the last place
        moves = (rows[:, :, np.newaxis] * by_draw.reshape(states, -1)).sum(1).reshape(-1, size)
        raw = moves.tobytes()
        lanes = 2 if tells else 1
        start = 0
        for arrow in arrows:
            entry = Entry(raw, start, lanes, 1 if tells and arrow.carries_blame else 0)
            start += arrow.draws.shape[0] * lanes
            self.entries[node].append(entry)
            self.below[arrow.parent].append((entry, size * moves.itemsize))
        self.moves[node] = moves
