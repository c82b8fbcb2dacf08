"""A rig's network through time: before and after each piece of work.

A fault that was there all the time acts in the network of the rig as ever: the **standing** one. A fault that work
has cured, or has brought in, acts for a time only, and what it does is laid over that: each such time is a **layer**,
the same network once more, in which nothing acts but these faults. So whatever a cause draws it draws once, and the
draw lasts as long as the cause is there; what no work has changed is one node in all times. An indication that work
may have changed is seen in **copies**, each made of the standing one and of the layers of its time.

A part that was worked on has one node for its **life** (see `diagnose.model.lives`), which holds its state in each
time, beside the node of its state now.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import TypeVar

import numpy as np

from diagnose.inference.network import Arrow, Network, Node
from diagnose.inference.rig_network import Skeleton
from diagnose.inference.scale import GOOD, OVER, Array, Scale
from diagnose.model.lives import Life, lives, ruined, spell
from diagnose.model.periods import Periods

K = TypeVar("K")
V = TypeVar("V")

Layer = tuple[int, int]  # the first period in which its faults are there, and the first in which they are not
Likely = Mapping[str, Mapping[int, frozenset[int]]]  # part, period, modes
Draw = tuple[int, Arrow]  # from a parent: its node, and an arrow of these draws


def unrolled(
    bones: Skeleton,
    network: Network,
    periods: Periods,
    observed: Collection[tuple[str, int]],
    likely: Likely | None = None,
) -> Skeleton:
    """The skeleton of a case with work done. `network`: with the priors of the case, numbered as in `bones`.

    `observed`: the copies of indications before the one of now of which something was observed; of the copies
    before only these can be asked for. `likely`: of parts worked on, by period, the modes that are reckoned with;
    all others are one state more of the part's life, past those of `lives`, that has to be ruled out.
    """
    return _kept(_Asked(bones, network, periods, frozenset(observed), likely))


class _Asked:
    """What an unrolling is asked for; the same again where all of it is the same."""

    def __init__(
        self,
        bones: Skeleton,
        network: Network,
        periods: Periods,
        observed: frozenset[tuple[str, int]],
        likely: Likely | None,
    ) -> None:
        self.bones, self.network, self.periods = bones, network, periods
        self.observed, self.likely = observed, likely
        times = (
            periods.count,
            periods.first,
            _items(periods.touched),
            _items(periods.before),
            _items(periods.meant),
        )
        modes = None if likely is None else tuple((part, _items(modes)) for part, modes in likely.items())
        self._key = (bones, network, times, observed, modes)

    def __hash__(self) -> int:
        return hash(self._key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Asked) and self._key == other._key


def _items(of: Mapping[K, V]) -> tuple[tuple[K, V], ...]:
    return tuple(of.items())


@lru_cache(maxsize=16)
def _kept(asked: _Asked) -> Skeleton:
    return _Unrolling(asked.bones, asked.network, asked.periods, asked.likely).run(asked.observed)


def _arrow(draws: Array, carries_blame: bool) -> Arrow:
    """An arrow of these draws, between nodes that are still to be said."""
    return Arrow(0, 1, draws, carries_blame)


@dataclass
class _Laid:
    """The nodes laid out so far, each with the name of what it stands for."""

    nodes: list[Node] = field(default_factory=list)
    into: list[tuple[Arrow, ...]] = field(default_factory=list)
    names: list[str] = field(default_factory=list)

    def add(self, name: str, node: Node, draws: Sequence[Draw]) -> int:
        """A node after all others; returns its number."""
        number = len(self.nodes)
        self.nodes.append(node)
        self.into.append(tuple([arrow.between(parent, number) for parent, arrow in draws]))
        self.names.append(name)
        return number


class _Unrolling:
    """One unrolling.

    `acting`: the node of a part or indication in each layer where it can act. `place`: the node of each copy of an
    indication that is laid out. `lives`: of each part worked on, its lives as states of its node `life_of`.
    """

    def __init__(
        self, bones: Skeleton, network: Network, periods: Periods, likely: Likely | None = None
    ) -> None:
        self.likely = likely
        self.bones, self.network, self.periods = bones, network, periods
        self.standing: Layer = (periods.first, periods.count + 1)
        self.harm = bones.assembly.book.bench.advice["work_harms"]
        self.laid = _Laid()
        self.acting: dict[str, dict[Layer, int]] = {}
        self.place: dict[tuple[str, int], int] = {}
        self.now: dict[str, int] = {}
        self.lives: dict[str, tuple[Life, ...]] = {}
        self.life_of: dict[str, int] = {}
        self.judging: dict[str, set[int]] = {}

    def run(self, observed: Collection[tuple[str, int]]) -> Skeleton:
        copies: dict[str, set[int]] = {}
        for name, copy in observed:
            copies.setdefault(name, set()).add(copy)
        self._look_for_judges(copies)
        times = {self.periods.began(name, copy) for name, copy in observed} | {self.periods.count}
        for node, name in enumerate(self.bones.names):
            if self.network.nodes[node].is_part:
                self._part(node, name)
            else:
                wanted = {self.periods.last(name), *copies.get(name, ()), *self.judging.get(name, ())}
                self._indication(node, name, sorted(wanted), times)
        before = {key: node for key, node in self.place.items() if key[1] < self.periods.last(key[0])}
        network = Network(tuple(self.laid.nodes), tuple(self.laid.into))
        return Skeleton(
            self.bones.assembly, tuple(self.laid.names), self.now, network, before, self.lives, self.life_of
        )

    # parts

    def _part(self, node: int, name: str) -> None:
        if name not in self.periods.touched and name not in self.periods.before:
            arrows = [self._ruin(arrow) for arrow in self.network.into[node]]
            self.now[name] = self.laid.add(name, self.network.nodes[node], arrows)
            self.acting[name] = {self.standing: self.now[name]}
            return
        life = self._life(node, name)
        data, known = self.network.nodes[node], self.lives[name]
        nothing = np.eye(data.scale.size)[0]
        to_now = self._states(name, data.scale.size, [each[-1] for each in known])
        draws = [(life, _arrow(to_now, True))]
        self.now[name] = self.laid.add(name, Node(data.scale, nothing, is_part=True), draws)
        self.acting[name] = {
            layer: self._in_layer(name, layer)
            for layer in sorted({t for e in known for t in self._times(name, e)})
        }

    def _life(self, node: int, name: str) -> int:
        """The node of a part's life; other parts ruin it there."""
        data = self.network.nodes[node]
        prior = data.leak.tolist()
        for _ in range(self.periods.before.get(name, 0)):
            found = lives(prior, [self._cures(name, None)], self.harm)
            prior = [sum(c for life, c in found.items() if life[-1] == s) for s in range(len(prior))]
        works = [self._cures(name, work) for work in self.periods.touched.get(name, ())]
        own = lives(prior, works, self.harm)
        ruins = [self._ruined(name, arrow, works) for arrow in self.network.into[node]]
        every = dict.fromkeys([*own, *(life for _, rows, _ in ruins for row in rows for life in row)])
        known = sorted(every, key=lambda life: (sum(map(bool, life)), life))  # the good one first
        known = [life for life in known if self._reckoned_with(name, life)]
        self.lives[name] = tuple(known)
        place = {life: number for number, life in enumerate(known)}
        size = len(known) + (self.likely is not None)

        def row(chances: Mapping[Life, float]) -> Array:
            values = np.zeros(size)
            for life, chance in chances.items():
                values[place.get(life, -1)] += chance
            scaled: Array = values / values.sum()
            return scaled

        scale = Scale((GOOD, *(OVER,) * (size - 1)), tuple(range(size)))
        arrows = [
            (parent, _arrow(np.stack([row(each) for each in rows]), carries))
            for parent, rows, carries in ruins
        ]
        self.life_of[name] = self.laid.add(name, Node(scale, row(own)), arrows)
        return self.life_of[name]

    def _reckoned_with(self, name: str, life: Life) -> bool:
        if self.likely is None:
            return True
        modes = self.likely[name]
        return all(
            not state or state in modes[self.periods.began(name, copy)] for copy, state in enumerate(life)
        )

    def _states(self, name: str, size: int, states: Sequence[int]) -> Array:
        """Rows for the lives of a part, each with the state that it draws; those left aside draw nothing."""
        rows: Array = np.eye(size)[[*states, *(0,) * (self.likely is not None)]]
        return rows

    def _cures(self, name: str, work: int | None) -> list[float]:
        """How often a piece of work cures each state; of the good one nothing is said.

        Where it is said which cause it was the remedy of, only modes that have the same remedy are cured.
        """
        placed = self.bones.assembly.parts[name]
        meant = self.periods.meant.get((name, -1 if work is None else work), ())
        done = {
            remedy.do
            for mode in placed.part.modes
            if placed.cause_id(mode) in meant and (remedy := placed.remedy(mode)) is not None
        }
        remedies = [placed.remedy(mode) for mode in placed.part.modes]
        return [0.0, *(r.works if r is not None and (not done or r.do in done) else 0.0 for r in remedies)]

    def _ruined(
        self, name: str, arrow: Arrow, works: Sequence[Sequence[float]]
    ) -> tuple[int, list[Mapping[Life, float]], bool]:
        """The lives that another part draws on this one, for each of its own states or lives."""
        above = self.bones.names[arrow.parent]
        rows: list[Mapping[Life, float]] = []
        for theirs in self.lives.get(above, [(state,) for state in range(len(arrow.draws))]):
            copies = range(1 + len(works))
            states = [self._state(above, theirs, self.periods.began(name, copy)) for copy in copies]
            rows.append(ruined([arrow.draws[state].tolist() for state in states], works))
        if self.likely is not None and above in self.lives:
            rows.append(ruined([arrow.draws[0].tolist()] * (1 + len(works)), works))
        return self.life_of.get(above, self.now.get(above, -1)), rows, arrow.carries_blame

    def _state(self, name: str, life: Life, period: int) -> int:
        """The state of a part in a period."""
        return life[self.periods.copy(name, period)] if name in self.lives else life[0]

    def _ruin(self, arrow: Arrow) -> Draw:
        """What ruins a part that was not worked on: the first fault that another part had."""
        above = self.bones.names[arrow.parent]
        if above not in self.lives:
            return self.now[above], arrow
        first = [next(filter(None, life), 0) for life in self.lives[above]]
        rows = self._states(above, len(arrow.draws), first) @ arrow.draws
        return self.life_of[above], _arrow(rows, arrow.carries_blame)

    def _times(self, name: str, life: Life) -> dict[Layer, int]:
        """The layers in which a part of this life acts, each with its state there."""
        found = {}
        for copy, state in enumerate(life):
            if state:
                first, last = spell(life, copy)
                ends = self.periods.began(name, last + 1) if last + 1 < len(life) else self.periods.count + 1
                found[self.periods.began(name, first), ends] = state
        return found

    def _in_layer(self, name: str, layer: Layer) -> int:
        """What a part is in a layer. Where it is so now, the blame for what it does there is its own."""
        data = self.network.nodes[self.bones.index[name]]
        states = [self._times(name, life).get(layer, 0) for life in self.lives[name]]
        nothing = np.eye(data.scale.size)[0]
        if layer[1] <= self.periods.count:
            rows = self._states(name, data.scale.size, states)
            return self.laid.add(name, Node(data.scale, nothing), [(self.life_of[name], _arrow(rows, True))])
        closed = [not state and bool(life[-1]) for state, life in zip(states, self.lives[name], strict=True)]
        if not any(closed):
            return self.now[name]
        size = data.scale.size + 1
        scale = Scale((*data.scale.sides, OVER), (*data.scale.ranks, size), mute=frozenset({size - 1}))
        own = np.eye(size - 1, size)
        shut = self._states(name, size, [size - 1 if each else 0 for each in closed])
        draws = [(self.now[name], _arrow(own, True)), (self.life_of[name], _arrow(shut, False))]
        return self.laid.add(name, Node(scale, np.eye(size)[0]), draws)

    # indications

    def _indication(self, node: int, name: str, copies: Sequence[int], times: Collection[int]) -> None:
        """An indication in every layer in which something acts on it, and its copies."""
        data = self.network.nodes[node]
        late = self._judged_late(node, name)
        acting: dict[Layer, int] = {}
        nothing = np.eye(data.scale.size)[0]
        for layer in self._layers(node):
            if layer != self.standing and not any(layer[0] <= time < layer[1] for time in times):
                continue
            draws = []
            for arrow in self.network.into[node]:
                above = self.bones.names[arrow.parent]
                pushing = arrow
                if arrow.parent in late:
                    pushing = _arrow(_pushes(arrow.draws, data.scale), arrow.carries_blame)
                draws += self._draws(above, pushing, layer)
            own = data if layer == self.standing else Node(data.scale, nothing)
            acting[layer] = self.laid.add(name, own, draws)
        self.acting[name] = acting
        if name not in self.periods.touched:
            self.now[name] = acting[self.standing]
            return
        same = _arrow(np.eye(data.scale.size), True)
        needs = [
            (self.bones.names[arrow.parent], _arrow(_needs(arrow.draws, data.scale), False))
            for arrow in self.network.into[node]
            if arrow.parent in late
        ]
        for copy in copies:
            time = self.periods.began(name, copy)
            draws = [(n, same) for layer, n in acting.items() if layer[0] <= time < layer[1]]
            draws += [(self._at(above, time), arrow) for above, arrow in needs]
            self.place[name, copy] = self.laid.add(name, Node(data.scale, nothing), draws)
        self.now[name] = self.place[name, self.periods.last(name)]

    def _layers(self, node: int) -> list[Layer]:
        """The standing network, and the layers in which a parent acts."""
        found = {self.standing}
        for arrow in self.network.into[node]:
            found.update(self.acting[self.bones.names[arrow.parent]])
        return sorted(found, key=lambda layer: (layer != self.standing, layer))

    def _draws(self, above: str, arrow: Arrow, layer: Layer) -> list[Draw]:
        """What a parent draws in a layer: in the standing one as ever, in the others by what acts there."""
        node = self.acting[above].get(layer)
        if node is None or not arrow.draws_any:
            return []
        rows = arrow.draws
        if layer != self.standing and rows[0, 0] < 1.0:
            rows = rows.copy()
            rows[0] = np.eye(rows.shape[1])[0]
        missing = self.laid.nodes[node].scale.size - len(rows)  # a part that does not act in this layer now
        if missing:
            rows = np.vstack([rows, np.tile(np.eye(rows.shape[1])[0], (missing, 1))])
        if rows is not arrow.draws:
            arrow = _arrow(rows, arrow.carries_blame)
        return [(node, arrow)] if arrow.draws_any else []

    def _judged_late(self, node: int, name: str) -> frozenset[int]:
        """Needed indications that must be bad for this one to be judged: that shows only in their copies."""
        if name not in self.periods.touched or not self.network.nodes[node].scale.mute:
            return frozenset()
        (mute,) = self.network.nodes[node].scale.mute
        return frozenset(
            arrow.parent
            for arrow in self.network.into[node]
            if arrow.draws[0, mute] > 0 and self.bones.names[arrow.parent] in self.periods.touched
        )

    def _look_for_judges(self, observed: Mapping[str, set[int]]) -> None:
        """The copies of needed indications by which others are judged late."""
        for node, name in reversed(list(enumerate(self.bones.names))):
            wanted = {self.periods.last(name), *observed.get(name, ()), *self.judging.get(name, ())}
            for parent in self._judged_late(node, name):
                above = self.bones.names[parent]
                times = (self.periods.began(name, copy) for copy in wanted)
                self.judging.setdefault(above, set()).update(self.periods.copy(above, t) for t in times)

    def _at(self, name: str, period: int) -> int:
        """The node of an indication in a period."""
        return self.place.get((name, self.periods.copy(name, period)), self.now[name])


def _pushes(draws: Array, scale: Scale) -> Array:
    """The rows that push; those by which the child cannot be judged draw nothing."""
    (mute,) = scale.mute
    return np.where(draws[:, [mute]] > 0, np.eye(scale.size)[0], draws)


def _needs(draws: Array, scale: Scale) -> Array:
    """The rows by which the child cannot be judged; the others draw nothing."""
    (mute,) = scale.mute
    return np.where(draws[:, [mute]] > 0, draws, np.eye(scale.size)[0])
