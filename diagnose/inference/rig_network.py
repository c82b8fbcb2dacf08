"""A rig's own network as arrays: nodes by id, priors by history, observations as likelihoods."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache, partial, reduce

import numpy as np

from diagnose.inference.network import Arrow, Network, Node
from diagnose.inference.scale import DOWN, GOOD, OVER, UP, Array, Scale
from diagnose.model.assembly import Assembly, PlacedIndication, PlacedPart
from diagnose.model.knowledge import Indication
from diagnose.model.lives import Life
from diagnose.model.priors import part_prior
from diagnose.model.result import Finding

_SIDES = {"": GOOD, "down": DOWN, "up": UP, "over": OVER}


@dataclass(frozen=True, eq=False)
class Skeleton:
    """What does not depend on the case: the network with the priors of an unknown history; `index` by id.

    An indication with needs has one state more than it declares: the last, "cannot be judged". With work done
    (see `unrolled`) `index` gives what there is now, `copies` the nodes of indications before it, by name and
    number of the copy. `lives` and `life_of`: of each part worked on what may have become of it, and the node of that.
    """

    assembly: Assembly
    names: tuple[str, ...]
    index: Mapping[str, int]
    network: Network
    copies: Mapping[tuple[str, int], int] = field(default_factory=dict)
    lives: Mapping[str, tuple[Life, ...]] = field(default_factory=dict)
    life_of: Mapping[str, int] = field(default_factory=dict)

    @cached_property
    def copy_of(self) -> Mapping[int, int]:
        """The number of the copy that a node is, of those before the one that there is now."""
        return {node: copy for (_, copy), node in self.copies.items()}

    def at(self, name: str, copy: int) -> int:
        """The node of a copy of an indication; of one past those before, that of now."""
        return self.copies.get((name, copy), self.index[name])

    def prior_now(self, network: Network, part: str) -> Array:
        """Chance of each state of a part before anything was observed, work done to it counted, shape (S,)."""
        node = network.nodes[self.index[part]]
        if part not in self.lives:
            return node.leak
        chances = network.nodes[self.life_of[part]].leak
        found = np.zeros(node.scale.size)
        for life, chance in zip(self.lives[part], chances.tolist(), strict=False):
            found[life[-1]] += chance
        found[0] += 1.0 - found.sum()  # lives that are not reckoned with
        return found


@lru_cache(maxsize=64)
def skeleton(assembly: Assembly) -> Skeleton:
    """The case-independent network of a rig. Cached by the assembly's identity."""
    names = assembly.order
    index = {name: i for i, name in enumerate(names)}
    nodes: list[Node] = []
    for name in names:
        if name in assembly.parts:
            placed = assembly.parts[name]
            nodes.append(Node(_part_scale(placed), np.array(part_prior(placed, {})), is_part=True))
        else:
            scale = _indication_scale(assembly.indications[name])
            nodes.append(Node(scale, _leak(assembly.indications[name], scale.size)))
    into = _arrows(assembly, index, [node.scale for node in nodes])
    return Skeleton(assembly, names, index, Network(tuple(nodes), into))


def network_for(bones: Skeleton, facts: Mapping[str, object]) -> Network:
    """The network with the priors that follow from the history; kept, for many sets have like histories."""
    known = tuple((name, _frozen(facts[name])) for name in sorted(facts))
    if all(isinstance(value, (str, int, float, tuple)) for _, value in known):
        return _kept_network(bones, known)
    return _network(bones, facts)


def _frozen(value: object) -> object:
    return tuple(sorted(map(str, value))) if isinstance(value, (list, tuple, set, frozenset)) else value


@lru_cache(maxsize=128)
def _kept_network(bones: Skeleton, known: tuple[tuple[str, object], ...]) -> Network:
    return _network(bones, dict(known))


def _network(bones: Skeleton, facts: Mapping[str, object]) -> Network:
    leaks = {
        bones.index[name]: np.array(part_prior(placed, facts))
        for name, placed in bones.assembly.parts.items()
    }
    return bones.network.with_leaks(leaks)


def finding_likelihood(bones: Skeleton, finding: Finding) -> Array:
    """Likelihood over the node's states, "cannot be judged" included.

    A sign that cannot show itself is not seen: "no" is what a person answers then. Any other answer,
    and any measured value, proves that it could be judged.
    """
    placed = bones.assembly.indications[finding.name]
    values = list(finding.likelihood)
    if placed.needs:
        is_sign = placed.indication.sort == "symptom"
        values.append(values[0] if is_sign else 0.0)
    return np.array(values)


def inspected_likelihood(bones: Skeleton, part: str, found: str) -> tuple[int, Array]:
    """The node of a part that was examined, and the likelihood of its states: exactly what was found.

    Of a part that was worked on it is said how it was found, before all work.
    """
    placed = bones.assembly.parts[part]
    state = ["good", *(mode.id for mode in placed.part.modes)].index(found)
    if part in bones.lives:
        return bones.life_of[part], np.array([float(life[0] == state) for life in bones.lives[part]])
    return bones.index[part], np.eye(1 + len(placed.part.modes))[state]


def _part_scale(placed: PlacedPart) -> Scale:
    count = len(placed.part.modes)
    return Scale((GOOD, *(OVER,) * count), (0, *range(1, count + 1)))


def ranks_of(indication: Indication) -> tuple[int, ...]:
    """Rank of each state on its side, in the order declared: from mild to severe."""
    seen: dict[str, int] = {}
    ranks = []
    for state in indication.states:
        if state.side:
            seen[state.side] = seen.get(state.side, 0) + 1
        ranks.append(seen.get(state.side, 0))
    return tuple(ranks)


def _indication_scale(placed: PlacedIndication) -> Scale:
    indication = placed.indication
    sides = [_SIDES[state.side] for state in indication.states]
    ranks = list(ranks_of(indication))
    mute: frozenset[int] = frozenset()
    if placed.needs:
        mute = frozenset({len(sides)})
        sides.append(OVER)
        ranks.append(1 + max((r for r, s in zip(ranks, sides, strict=False) if s == OVER), default=0))
    return Scale(tuple(sides), tuple(ranks), indication.split, mute)


def _leak(placed: PlacedIndication, size: int) -> Array:
    values = np.zeros(size)
    for i, state in enumerate(placed.indication.states):
        values[i] = state.leak if state.side else 0.0
    values[0] = 1.0 - values[1:].sum()
    return values


def _states(assembly: Assembly, name: str) -> list[str]:
    if name in assembly.parts:
        return ["good", *(mode.id for mode in assembly.parts[name].part.modes)]
    return [state.id for state in assembly.indications[name].indication.states]


def _joined(scale: Scale, one: Array, other: Array) -> Array:
    """Distribution of two independent draws joined, row by row.

    Draws to opposite sides cannot be told as one; the likelier of the two then stands for both.
    """
    result = np.zeros_like(one)
    for first in range(scale.size):
        for second in range(scale.size):
            both = one[:, first] * other[:, second]
            if first == 0 or second == 0:
                result[:, first or second] += both
                continue
            mine = (scale.sides[first] == OVER, scale.ranks[first])
            theirs = (scale.sides[second] == OVER, scale.ranks[second])
            if scale.sides[first] == scale.sides[second] or mine[0] or theirs[0]:
                result[:, first if mine >= theirs else second] += both
            else:
                stronger = one[:, first] >= other[:, second]
                result[:, first] += np.where(stronger, both, 0.0)
                result[:, second] += np.where(stronger, 0.0, both)
    return result


def _arrows(
    assembly: Assembly, index: Mapping[str, int], scales: Sequence[Scale]
) -> tuple[tuple[Arrow, ...], ...]:
    states = {name: _states(assembly, name) for name in index}
    scale_of = dict(zip(index, scales, strict=True))
    rows = _pushes(assembly, states, scale_of)
    pushing = frozenset(rows)
    for name, placed in assembly.indications.items():
        for target, met in placed.needs:
            size = (scale_of[target].size, scale_of[name].size)
            if (target, name) not in rows:
                rows[target, name] = np.zeros(size)
                rows[target, name][:, 0] = 1.0
            values = rows[target, name]
            # a state past the declared ones is the needed one's own "cannot be judged"
            unmet = [s for s in range(size[0]) if s >= len(states[target]) or states[target][s] not in met]
            values[unmet] = 0.0
            values[unmet, -1] = 1.0
    into: list[list[Arrow]] = [[] for _ in index]
    for (parent, child), values in sorted(rows.items(), key=lambda item: index[item[0][0]]):
        values.setflags(write=False)
        pushes = (parent, child) in pushing
        into[index[child]].append(Arrow(index[parent], index[child], values, carries_blame=pushes))
    return tuple(tuple(arrows) for arrows in into)


def _pushes(
    assembly: Assembly, states: Mapping[str, Sequence[str]], scale_of: Mapping[str, Scale]
) -> dict[tuple[str, str], Array]:
    """Distribution of the draw on the child by state of the parent, for each pair with a rule.

    A parent may act on a child through two ports at once; each is a draw of its own.
    """
    routes: dict[tuple[str, str], dict[str, Array]] = {}
    for link in assembly.links:
        by_port = routes.setdefault((link.parent, link.child), {})
        if link.rule.from_name not in by_port:
            size = (scale_of[link.parent].size, scale_of[link.child].size)
            by_port[link.rule.from_name] = np.zeros(size)
        row = states[link.parent].index(link.parent_state)
        by_port[link.rule.from_name][row, states[link.child].index(link.child_state)] += link.chance
    rows: dict[tuple[str, str], Array] = {}
    for pair, by_port in routes.items():
        for values in by_port.values():
            values[:, 0] = 1.0 - values[:, 1:].sum(1)
        rows[pair] = reduce(partial(_joined, scale_of[pair[1]]), by_port.values())
    return rows
