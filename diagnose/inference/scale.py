"""The states of a node and how pushes on it combine (noisy-MAX per direction).

A state lies on one of three sides: DOWN, UP or OVER; state 0 is the good one. Each present cause
draws one state, or nothing. Draws combine by an associative, commutative, idempotent join: on each
side the highest rank wins, and anything OVER masks DOWN and UP. A node pushed both down and up ends in
the good, the down or the up state by its split.

To tell *blame* from *presence*, a draw may be **marked**: it belongs to the lineage of one cause
under question. Joining keeps track of whether a marked draw is still visible in the winning state.
See docs/reasoning.md, "Presence is not blame".

Literature: F. J. Diez and M. J. Druzdzel, "Canonical probabilistic models for knowledge
engineering" (2006), section 4 (noisy MAX); D. Heckerman and J. S. Breese, "Causal independence for
probability assessment and inference using Bayesian networks" (1996).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

GOOD, DOWN, UP, OVER = 0, 1, 2, 3

Array = NDArray[np.float64]

# What has accumulated: rank and mark per side. Rank 0: nothing drawn on that side.
_Level = tuple[int, bool]
_Gathered = tuple[_Level, _Level, _Level]
Drawn = tuple[int, bool]  # a state and whether the draw is marked

_NOTHING: _Gathered = ((0, False), (0, False), (0, False))


@dataclass(frozen=True)
class Scale:
    """The states of a node: side and rank (from 1, mild to severe) of each; state 0 has side GOOD.

    `split` gives the chances of good, down and up when pushed both ways. `mute` names states that are
    no sign of a fault though they lie on a side ("cannot be judged"): marks do not pass through.
    """

    sides: tuple[int, ...]
    ranks: tuple[int, ...]
    split: tuple[float, float, float] = (0.5, 0.25, 0.25)
    mute: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        if not self.sides or self.sides[0] != GOOD or GOOD in self.sides[1:]:
            raise ValueError("state 0, and only state 0, is the good one")
        if len(self.sides) != len(self.ranks):
            raise ValueError("every state needs a side and a rank")
        places = list(zip(self.sides[1:], self.ranks[1:], strict=True))
        if len(set(places)) < len(places) or any(rank < 1 for _, rank in places):
            raise ValueError("ranks count from 1 and differ on each side")
        if abs(sum(self.split) - 1.0) > 1e-12 or min(self.split) < 0:
            raise ValueError("the split must be three chances that add up to one")

    @property
    def size(self) -> int:
        """Number of states."""
        return len(self.sides)

    def draw(self, gathered: _Gathered, drawn: Drawn) -> _Gathered:
        """What has gathered after one more draw."""
        state, marked = drawn
        if state == 0:
            return gathered
        side, rank = self.sides[state], self.ranks[state]
        if side == OVER:
            return ((0, False), (0, False), _strongest(gathered[2], (rank, marked)))
        if gathered[2][0]:
            return gathered
        down, up, over = gathered
        if side == DOWN:
            return (_strongest(down, (rank, marked)), up, over)
        return (down, _strongest(up, (rank, marked)), over)

    def ends(self, gathered: _Gathered) -> tuple[tuple[int, bool, float], ...]:
        """Where a node with these draws ends: (state, marked, chance)."""
        down, up, over = gathered
        if over[0]:
            return ((self._state(OVER, over[0]), over[1], 1.0),)
        if down[0] and up[0]:
            ends = (
                (0, False, self.split[0]),
                (self._state(DOWN, down[0]), down[1], self.split[1]),
                (self._state(UP, up[0]), up[1], self.split[2]),
            )
            return tuple(end for end in ends if end[2] > 0)
        if down[0]:
            return ((self._state(DOWN, down[0]), down[1], 1.0),)
        if up[0]:
            return ((self._state(UP, up[0]), up[1], 1.0),)
        return ((0, False, 1.0),)

    def _state(self, side: int, rank: int) -> int:
        for state, place in enumerate(zip(self.sides, self.ranks, strict=True)):
            if place == (side, rank):
                return state
        raise AssertionError("no state of that side and rank")


def _strongest(one: _Level, other: _Level) -> _Level:
    if one[0] != other[0]:
        return one if one[0] > other[0] else other
    return (one[0], one[1] or other[1])


@dataclass(frozen=True, eq=False)
class Gathering:
    """The accumulation of draws on one node, restricted to what can happen and can matter.

    `draws` are the possible draws, first the empty one. `join[d]` is a 0/1 matrix (before, after) of
    shape (K, K) for draw d; a draw that makes the observation impossible has an empty row.
    `ends` has shape (K, X): chance of ending in `outcomes[x]`. The accumulation starts at index 0.
    """

    draws: tuple[Drawn, ...]
    join: Array
    ends: Array
    outcomes: tuple[Drawn, ...]
    place: dict[Drawn, int]

    @property
    def size(self) -> int:
        """Number K of accumulated values."""
        return int(self.ends.shape[0])


@lru_cache(maxsize=4096)
def gathering(
    scale: Scale,
    draws: tuple[Drawn, ...],
    allowed: frozenset[Drawn] | None,
) -> Gathering | None:
    """The accumulation for a set of possible draws; `allowed` limits the outcomes that matter.

    Returns None when no allowed outcome can be reached.
    """
    everything: tuple[Drawn, ...] = ((0, False), *[d for d in draws if d[0] != 0])
    reached: dict[_Gathered, None] = {_NOTHING: None}
    frontier = [_NOTHING]
    while frontier:
        gathered = frontier.pop()
        for drawn in everything:
            after = scale.draw(gathered, drawn)
            if after not in reached:
                reached[after] = None
                frontier.append(after)

    def matters(end: tuple[int, bool, float]) -> bool:
        return allowed is None or (end[0], end[1]) in allowed

    useful = {g for g in reached if any(matters(end) for end in scale.ends(g))}
    # a value that cannot count by itself still matters as a step towards one that does
    grown = True
    while grown:
        grown = False
        for gathered in reached:
            if gathered not in useful and any(
                scale.draw(gathered, drawn) in useful for drawn in everything
            ):
                useful.add(gathered)
                grown = True
    if _NOTHING not in useful:
        return None
    kept = [_NOTHING, *sorted(g for g in useful if g != _NOTHING)]
    index = {gathered: i for i, gathered in enumerate(kept)}
    join = np.zeros((len(everything), len(kept), len(kept)))
    for d, drawn in enumerate(everything):
        for gathered in kept:
            after = scale.draw(gathered, drawn)
            if after in index:
                join[d, index[gathered], index[after]] = 1.0
    outcomes = sorted(
        {(end[0], end[1]) for g in kept for end in scale.ends(g) if matters(end)}
    )
    place = {outcome: x for x, outcome in enumerate(outcomes)}
    ends = np.zeros((len(kept), len(outcomes)))
    for gathered in kept:
        for state, marked, chance in scale.ends(gathered):
            if (state, marked) in place:
                ends[index[gathered], place[state, marked]] += chance
    join.setflags(write=False)
    ends.setflags(write=False)
    return Gathering(everything, join, ends, tuple(outcomes), place)
