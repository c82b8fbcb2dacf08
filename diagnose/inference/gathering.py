"""What has gathered on a node after some of its draws: a small machine, made as small as it can be.

Draws combine by an associative, commutative, idempotent join, so they can be taken one after another.
To tell *blame* from *presence*, a draw may be **marked**: it belongs to the lineage of a cause under
question. Joining keeps track of whether a marked draw is still visible in the state that wins. Of two
equal draws, one marked, the marked one counts; so on each side the pairs (rank, marked) are a chain, and
what gathers there is the highest of it. See docs/reasoning.md, "Presence is not blame".

Not all that can gather needs telling apart. Two values are one if they end alike and stay alike under
every further draw (the classes of E. F. Moore, 1956, by refinement of a first partition); a value from
which no end that matters can be reached is left out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from diagnose.inference.scale import DOWN, OVER, UP, Array, Scale

_End = tuple[tuple[int, float], ...]  # (slot or label, chance)


BY_CLASS, BY_STATE, BY_SLOT = 0, 1, 2  # how far ends are told apart within a class


@dataclass(frozen=True, eq=False)
class Gathering:
    """The machine: K values; it starts with value 0.

    The values are ordered by what they contain: u <= v where drawing u's draws again leaves v as it is.
    `below`: shape (S, 2, K), whether a draw of state s, unmarked or marked, is contained in each value: the
    cumulative form of the draw, in which independent draws multiply. State 0, no draw, is in all.
    `plain_below`: shape (S, 1, K), the unmarked ones alone. `ends`: shape (K, L), from the cumulative form
    to the chance that the node ends with a label; differences are taken here, so it has negative entries.
    Of each label `slots` has a slot (state + S where marked), `states` the state, shape (L,); `to_class`,
    shape (L, C), puts the labels into their classes.
    """

    below: Array
    plain_below: Array
    ends: Array
    slots: tuple[int, ...]
    states: NDArray[np.intp]
    to_class: Array

    @property
    def size(self) -> int:
        """Number K of values."""
        return int(self.ends.shape[0])


@lru_cache(maxsize=4096)
def gathering(scale: Scale, plain: int, marked: int, classes: tuple[int, ...], tell: int) -> Gathering | None:
    """The machine for a set of draws; None when no end that matters can be reached.

    `plain` and `marked` have bit s set where state s can be drawn unmarked or marked. `classes` has
    the class of each slot a node may end in, counting from 0; -1 where such an end does not matter. Ends
    of one class need not be told apart, or only by state (BY_STATE) or by slot (BY_SLOT).
    """
    states = scale.size
    label_of, slots = _labels(classes, states, tell)
    draws, after, ends = _combinations(scale, plain, marked)
    labelled = [_labelled(end, label_of) for end in ends]
    value, first = _classes(labelled, after)
    if not first or value[0] < 0:
        return None
    size = len(first)
    onward = [[value[a] for a in after[member]] for member in first]
    contained = _contained(onward, size)
    below = np.ones((states, 2, size))
    for draw, slot in enumerate(draws):
        lane, state = divmod(slot, states)
        alone = onward[0][draw]
        below[state, lane] = contained[alone] if alone >= 0 else 0.0
    if not marked:
        below[:, 1] = below[:, 0]
    for state in scale.mute:
        below[state, 1] = below[state, 0]
    chances = np.zeros((size, len(slots)))
    for number, member in enumerate(first):
        for label, chance in labelled[member]:
            chances[number, label] = chance
    chances = np.rint(np.linalg.inv(contained)) @ chances
    to_class = np.zeros((len(slots), max(classes) + 1))
    for label, slot in enumerate(slots):
        to_class[label, classes[slot]] = 1.0
    of_label = np.array([slot % states for slot in slots], dtype=np.intp)
    plain_below = np.ascontiguousarray(below[:, :1])
    for values in (below, plain_below, chances, of_label, to_class):
        values.setflags(write=False)
    return Gathering(below, plain_below, chances, tuple(slots), of_label, to_class)


def _contained(onward: Sequence[Sequence[int]], size: int) -> Array:
    """Whether value u is contained in value v, shape (K, K): u's draws leave v as it is.

    Its inverse (Moebius) takes the cumulative form back to chances; both have whole entries.
    """
    words: dict[int, tuple[int, ...]] = {0: ()}
    waiting = [0]
    for value in waiting:  # grows while it is walked
        for draw, following in enumerate(onward[value]):
            if following >= 0 and following not in words:
                words[following] = (*words[value], draw)
                waiting.append(following)
    contained = np.zeros((size, size))
    for value in range(size):
        for other in range(size):
            reached = other
            for draw in words[value]:
                reached = onward[reached][draw] if reached >= 0 else reached
            contained[value, other] = float(reached == other)
    return contained


def _labels(classes: tuple[int, ...], states: int, tell: int) -> tuple[list[int], list[int]]:
    """The label of every slot (-1: does not matter), and a slot of every label."""
    known: dict[tuple[int, int], int] = {}
    slots: list[int] = []
    label_of = [-1] * len(classes)
    for slot, number in enumerate(classes):
        if number >= 0:
            apart = 0 if tell == BY_CLASS else slot % states if tell == BY_STATE else slot
            label_of[slot] = known.setdefault((number, apart), len(slots))
            if label_of[slot] == len(slots):
                slots.append(slot)
    return label_of, slots


def _combinations(scale: Scale, plain: int, marked: int) -> tuple[list[int], list[list[int]], list[_End]]:
    """Every value before merging: the slots that can be drawn, value after each, and ends by slot.

    A value is a pair of levels, down and up, or one over level.
    """
    states = scale.size
    chain: dict[int, list[int]] = {DOWN: [], UP: [], OVER: []}
    order = sorted(
        (scale.ranks[state], lane, state)
        for lane, mask in enumerate((plain, marked))
        for state in range(1, states)
        if mask >> state & 1
    )
    for _, lane, state in order:
        chain[scale.sides[state]].append(state + lane * states)
    down, up, over = chain[DOWN], chain[UP], chain[OVER]
    width = len(up) + 1
    masked = (len(down) + 1) * width  # the first over value
    into_over = [masked + o for o in range(len(over))]
    after: list[list[int]] = []
    ends: list[_End] = []
    for i in range(len(down) + 1):
        for j in range(width):
            after.append(
                [max(i, d) * width + j for d in range(1, len(down) + 1)]
                + [i * width + max(j, u) for u in range(1, width)]
                + into_over
            )
            ends.append(_end(scale.split, down[i - 1] if i else 0, up[j - 1] if j else 0))
    for o, slot in enumerate(over):
        after.append([masked + o] * (len(down) + len(up)) + [max(masked + o, x) for x in into_over])
        ends.append(((slot, 1.0),))
    return down + up + over, after, ends


def _end(split: tuple[float, float, float], down: int, up: int) -> _End:
    if down and up:
        return tuple((s, c) for s, c in zip((0, down, up), split, strict=True) if c > 0)
    return ((down or up, 1.0),)


def _labelled(end: _End, labels: Sequence[int]) -> _End:
    if len(end) == 1:
        label = labels[end[0][0]]
        return ((label, 1.0),) if label >= 0 else ()
    chances: dict[int, float] = {}
    for slot, chance in end:
        label = labels[slot]
        if label >= 0:
            chances[label] = chances.get(label, 0.0) + chance
    return tuple(sorted(chances.items()))


def _classes(ends: Sequence[_End], after: Sequence[Sequence[int]]) -> tuple[list[int], list[int]]:
    """Value of every combination (-1: leads to no end that matters), and a member of each value."""
    known: dict[object, int] = {}
    value = [known.setdefault(end, len(known)) for end in ends]
    count = len(known)
    while True:
        known = {}
        value = [
            known.setdefault((value[c], *[value[a] for a in after[c]]), len(known)) for c in range(len(ends))
        ]
        if len(known) == count:
            break
        count = len(known)
    first: dict[int, int] = {}
    for combination, v in enumerate(value):
        first.setdefault(v, combination)
    for v, combination in first.items():
        if not ends[combination] and all(value[a] == v for a in after[combination]):
            del first[v]
            break
    place = {v: position for position, v in enumerate(first)}
    return [place.get(v, -1) for v in value], list(first.values())
