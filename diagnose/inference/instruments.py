"""Dials between quantities and what was read of them: each a node that its instruments push too.

The dial of a reading shows the state of its quantity, unless an instrument that reads low or high shifts a good
value, or one that is dead shows nothing. So one instrument that is astray is one cause with many signs, solved
with all others.

Where so many readings hang on few instruments that the network becomes too wide, the instruments that the
readings themselves prove to be true are taken as such: `bounds` says what is left out by that.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np

from diagnose.evidence.collect import Findings
from diagnose.evidence.dial import Dial, dial
from diagnose.inference.network import Arrow, Network, Node
from diagnose.inference.rig_network import Skeleton
from diagnose.inference.scale import DOWN, OVER, UP, Array, Scale
from diagnose.model.assembly import Assembly
from diagnose.model.measuring import SHOWS
from diagnose.model.result import Finding

_TRUE, _LOW, _HIGH, _DEAD = range(len(SHOWS))


@dataclass(frozen=True, eq=False)
class Reading:
    """One counted reading: the node of its quantity, its dial, and the nodes of its instruments with powers."""

    finding: Finding
    node: int
    dial: Dial
    instruments: tuple[tuple[int, float], ...]
    stands: bool = True  # nothing was read of it since


@dataclass(frozen=True, eq=False)
class Readings:
    """All counted readings of a case that depend on instruments."""

    readings: tuple[Reading, ...]

    @cached_property
    def used(self) -> Mapping[int, int]:
        """How many readings hang on each instrument."""
        count: dict[int, int] = {}
        for reading in self.readings:
            for node, _ in reading.instruments:
                count[node] = count.get(node, 0) + 1
        return count

    def alive(self) -> dict[int, Array]:
        """Likelihood of the instruments by which readings were only corrected: one that is dead showed nothing
        to correct by.
        """
        correcting = {node for r in self.readings for node, power in r.instruments if power < 0}
        return {node: np.where(np.arange(len(SHOWS)) == _DEAD, 0.0, 1.0) for node in correcting}

    def placed(self, network: Network, trusted: Collection[int] = ()) -> Placed:
        """The network with the dials of all readings that depend on an instrument not `trusted`.

        Those trusted are true: what says otherwise of them is overruled. Several readings of one quantity are
        each evidence of their own, so that each can be doubted.
        """
        assumed = self.alive()
        assumed |= {node: np.eye(len(SHOWS))[_TRUE] for node in self.used if node in trusted}
        nodes: list[Node] = []
        into: list[tuple[Arrow, ...]] = []
        likelihood: dict[int, Array] = {}
        of: dict[int, int] = {}
        abnormal: set[int] = set()
        for reading in self.readings:
            doubtful = [(node, power) for node, power in reading.instruments if node not in trusted]
            scale = network.nodes[reading.node].scale
            number, own = reading.node, _over_states(reading, scale)
            if doubtful or number in likelihood:
                number = len(network.nodes) + len(nodes)
                shown = _dial_scale(scale, reading.dial)
                nodes.append(Node(shown, np.eye(shown.size)[0]))
                into.append(
                    (
                        Arrow(reading.node, number, np.eye(scale.size, shown.size)),
                        *(Arrow(node, number, _pushes(scale, power)) for node, power in doubtful),
                    )
                )
                own = np.append(own, [reading.dial.low, reading.dial.high, reading.dial.dead])
                of[number] = reading.node
            likelihood[number] = own
            if reading.finding.abnormal and reading.stands:
                abnormal.add(number)
        return Placed(network.with_more(nodes, into), likelihood, assumed, of, frozenset(abnormal))

    def bounds(
        self, network: Network, suspects: Sequence[int]
    ) -> tuple[list[tuple[int, ...]], dict[int, Array]]:
        """Rows of likelihoods on the quantities and instruments themselves, and what the suspects show in each.

        The first row: every instrument is true. Each other row has at least the likelihood of the evidence in
        any world in which the suspects show what it says, whatever the other instruments do.
        """
        alive = self.alive()
        worlds = [
            world
            for world in product(range(len(SHOWS)), repeat=len(suspects))
            if any(world)
            and not any(node in alive and s == _DEAD for node, s in zip(suspects, world, strict=True))
            and all(self._possible(network, reading, suspects, world) for reading in self.readings)
        ]
        count = 1 + len(worlds)
        rows: dict[int, Array] = {}
        for node in self.used:
            rows[node] = np.ones((count, len(SHOWS)))
            rows[node][0] = np.eye(len(SHOWS))[_TRUE]
            if node in suspects:
                place = suspects.index(node)
                rows[node][1:] = np.eye(len(SHOWS))[[world[place] for world in worlds]]
            elif node in alive:
                rows[node][1:] = alive[node]
        for reading in self.readings:
            scale = network.nodes[reading.node].scale
            values = np.empty((count, scale.size))
            values[0] = _over_states(reading, scale)
            for number, world in enumerate(worlds, start=1):
                values[number] = _at_most(reading, scale, _known(reading, suspects, world))
            have = rows.get(reading.node)
            rows[reading.node] = values if have is None else have * values
        return [(_TRUE,) * len(suspects), *worlds], rows

    def _possible(
        self, network: Network, reading: Reading, suspects: Sequence[int], world: Sequence[int]
    ) -> bool:
        scale = network.nodes[reading.node].scale
        return bool(_at_most(reading, scale, _known(reading, suspects, world)).any())


@dataclass(frozen=True, eq=False)
class Placed:
    """A network with dials: `likelihood` by node, `of`: the quantity of each dial, and the signs of a fault.

    `assumed`: likelihoods of instruments, that are no observations of their own.
    """

    network: Network
    likelihood: Mapping[int, Array]
    assumed: Mapping[int, Array]
    of: Mapping[int, int]
    abnormal: frozenset[int]


def readings_of(assembly: Assembly, bones: Skeleton, findings: Findings) -> Readings:
    """The counted readings of a case that depend on an instrument of the rig or the bench."""
    periods = findings.periods
    said = [(name, periods.last(name), found) for name, found in findings.witnesses.items()]
    said += [(name, copy, found) for (name, copy), found in findings.earlier.items()]
    found = []
    for name, copy, counted in said:
        if not any(finding.read_with for finding in counted):
            continue
        for finding in counted:
            period = periods.period(finding.observation.period)
            instruments = tuple(
                (bones.at(each, periods.copy(each, period)), power) for each, power in finding.read_with
            )
            stands = findings.latest(name, copy) and findings.stands(finding)
            found.append(Reading(finding, bones.at(name, copy), dial(assembly, finding), instruments, stands))
    return Readings(tuple(found))


def _known(reading: Reading, suspects: Sequence[int], world: Sequence[int]) -> dict[int, int]:
    """What the suspected ones among the instruments of a reading show."""
    return {node: world[suspects.index(node)] for node, _ in reading.instruments if node in suspects}


def _dial_scale(scale: Scale, dial: Dial) -> Scale:
    """The states of the quantity, and milder ones beside them: good but shown low, high, or not at all."""
    ranks = [2 * rank for rank in scale.ranks]
    masking = max(
        (r for r, side, s in _ranked(scale, ranks) if side == OVER and s not in scale.mute), default=0
    )
    return Scale((*scale.sides, DOWN, UP, OVER), (*ranks, 1, 1, masking + 1), dial.split, scale.mute)


def _ranked(scale: Scale, ranks: Sequence[int]) -> list[tuple[int, int, int]]:
    return [(rank, side, state) for state, (rank, side) in enumerate(zip(ranks, scale.sides, strict=True))]


def _pushes(scale: Scale, power: float) -> Array:
    """What an instrument draws on a dial by what it shows, shape (4, S + 3).

    A figure that is only corrected by an instrument (power below 0) is not there at all if that one is dead.
    """
    low, high, dead = range(scale.size, scale.size + 3)
    draws = np.zeros((len(SHOWS), scale.size + 3))
    draws[_TRUE, 0] = 1.0
    draws[_LOW, low if power > 0 else high] = 1.0
    draws[_HIGH, high if power > 0 else low] = 1.0
    draws[_DEAD, dead if power > 0 else 0] = 1.0
    return draws


def _over_states(reading: Reading, scale: Scale) -> Array:
    """Likelihood of the quantity's states as its dial shows them; what could not be judged was not read."""
    values = np.zeros(scale.size)
    values[: len(reading.dial.states)] = reading.dial.states
    return values


def _at_most(reading: Reading, scale: Scale, known: Mapping[int, int]) -> Array:
    """At least the likelihood of each state, whatever the instruments do of which nothing is known."""
    worst = np.zeros(scale.size)
    choices = [[known[node]] if node in known else range(len(SHOWS)) for node, _ in reading.instruments]
    for shown in product(*choices):
        np.maximum(worst, _shown_by(reading, scale, shown), out=worst)
    return worst


def _shown_by(reading: Reading, scale: Scale, shown: Sequence[int]) -> Array:
    """Likelihood of each state of the quantity with every instrument known, shape (S,)."""
    draws = [
        int(_pushes(scale, power)[s].argmax())
        for (_, power), s in zip(reading.instruments, shown, strict=True)
    ]
    low, high, dead = range(scale.size, scale.size + 3)
    own = _over_states(reading, scale)
    if dead in draws:
        values = np.full(scale.size, reading.dial.dead)
        values[list(scale.mute)] = 0.0
        return values
    normal, down, up = reading.dial.split
    for state, side in enumerate(scale.sides):
        if side == OVER:
            continue
        lowered = own[state] if side == DOWN else reading.dial.low
        raised = own[state] if side == UP else reading.dial.high
        is_down, is_up = side == DOWN or low in draws, side == UP or high in draws
        if is_down and is_up:
            own[state] = normal * reading.dial.states[0] + down * lowered + up * raised
        elif is_down or is_up:
            own[state] = lowered if is_down else raised
    return own
