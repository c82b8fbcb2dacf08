"""Random instruments on random networks, and what was read with them: as plain data and as the program takes it.

An instrument is a node like any other, with the states true, low, high and dead. What a reading says is written
out here twice, from the meaning alone: as a factor over the quantity and its instruments (`witness`), and as a
node of its own, the dial, that all of them push (`with_dials`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import product
from typing import cast

from diagnose.evidence.dial import Dial
from diagnose.inference.instruments import Reading, Readings
from diagnose.inference.network import Network
from diagnose.inference.question import Question
from diagnose.inference.rig_network import Skeleton
from diagnose.model.assembly import Assembly
from diagnose.model.case import Observation
from diagnose.model.result import Finding
from tests.oracle import (
    DOWN,
    GOOD,
    OVER,
    UP,
    PlainArrow,
    PlainEvidence,
    PlainNetwork,
    PlainNode,
    PlainWitness,
    Row,
    worlds,
)
from tests.strategies import (
    Chooser,
    Size,
    happens,
    likelihoods,
    network,
    picked,
    plain_evidence,
    plain_network,
    row_of,
)

TRUE, LOW, HIGH, DEAD = range(4)
SHOWN = range(4)
EVEN = (Fraction(1, 2), Fraction(1, 4), Fraction(1, 4))
NOTHING = Fraction(0)
NO_BONES = Skeleton(cast(Assembly, None), (), {}, cast(Network, None))  # a plain network has no rig


@dataclass(frozen=True)
class PlainReading:
    """A reading of `node`: likelihoods of what the dial may show, and its instruments with their powers.

    `states`: a true value of each state that can be read; `low`, `high`, `dead`: a good value shown too low, too
    high, or not at all. An instrument of a power below 0 only corrects: what reads low then comes out high.
    """

    node: int
    instruments: tuple[tuple[int, Fraction], ...]
    states: Row
    low: Fraction
    high: Fraction
    dead: Fraction
    split: Row
    abnormal: bool


@dataclass(frozen=True)
class Case:
    """A network, what was observed of its nodes themselves, and what was read with instruments."""

    network: PlainNetwork
    evidence: PlainEvidence
    instruments: tuple[int, ...]
    readings: tuple[PlainReading, ...]


@dataclass(frozen=True)
class Metered:
    """How many instruments, what is read with them, and how rarely they are astray.

    `rare`: powers of ten of the chance of one state, from and to. In tenths: `pushed` of the instruments have
    parents, `tells` a symptom of their own, `both` of the readings depend on a second instrument, `corrects`:
    of those the second only corrects, `soft` readings leave several states possible.
    """

    size: Size = field(default_factory=lambda: Size(parts=(1, 3), indications=(1, 3), parents=2))
    instruments: tuple[int, int] = (1, 2)
    reads: tuple[int, int] = (1, 2)
    rare: tuple[int, int] = (1, 2)
    pushed: int = 4
    tells: int = 3
    both: int = 3
    corrects: int = 5
    soft: int = 6


def metered_case(choose: Chooser, metered: Metered) -> Case:
    """A random network with instruments, and what was read with them."""
    base = plain_network(choose, metered.size)
    seen = plain_evidence(choose, base, metered.size)
    nodes, arrows = list(base.nodes), list(base.arrows)
    likelihood, signs = dict(seen.likelihood), set(seen.signs)
    instruments = []
    for _ in range(choose.between(*metered.instruments)):
        number = len(nodes)
        instruments.append(number)
        arrows += _pushes(choose, base, number, metered)
        nodes.append(_instrument(choose, metered))
        if happens(choose, metered.tells):
            told = choose.between(0, 1)
            arrows.append(PlainArrow(number, number + 1, _symptom_rows(choose), True))
            nodes.append(
                PlainNode((GOOD, OVER), (0, 1), EVEN, (), (Fraction(19, 20), Fraction(1, 20)), False)
            )
            likelihood[number + 1] = (Fraction(1 - told), Fraction(told))
            signs |= {number + 1} if told else set()
    readable = [number for number, node in enumerate(base.nodes) if not node.part]
    readings = []
    for instrument in instruments:
        for _ in range(choose.between(*metered.reads)):
            node = picked(choose, readable)
            used = _used(choose, instrument, instruments, metered)
            readings.append(_reading(choose, node, used, base.nodes[node], metered))
            likelihood.pop(node, None)
            signs.discard(node)
    plain = PlainNetwork(tuple(nodes), tuple(arrows))
    return Case(plain, PlainEvidence(likelihood, frozenset(signs)), tuple(instruments), tuple(readings))


def _instrument(choose: Chooser, metered: Metered) -> PlainNode:
    leak = [Fraction(choose.between(0, 9), 10 ** (1 + choose.between(*metered.rare))) for _ in range(3)]
    return PlainNode((GOOD, DOWN, UP, OVER), (0, 1, 1, 1), EVEN, (), (1 - sum(leak, NOTHING), *leak), False)


def _pushes(choose: Chooser, base: PlainNetwork, child: int, metered: Metered) -> list[PlainArrow]:
    """Arrows into an instrument: parts of the meter, or what else may ruin it."""
    if not happens(choose, metered.pushed):
        return []
    parents = {choose.between(0, len(base.nodes) - 1) for _ in range(choose.between(1, 2))}
    return [
        PlainArrow(
            parent,
            child,
            tuple(
                row_of(choose, (LOW, HIGH, DEAD) if state else (), 4, 1)
                for state in range(len(base.nodes[parent].sides))
            ),
            True,
        )
        for parent in sorted(parents)
    ]


def _symptom_rows(choose: Chooser) -> tuple[Row, ...]:
    return tuple(row_of(choose, (1,) if shown else (), 2, 1) for shown in SHOWN)


def _used(
    choose: Chooser, instrument: int, all_: Sequence[int], metered: Metered
) -> tuple[tuple[int, Fraction], ...]:
    one = (instrument, picked(choose, (Fraction(1), Fraction(1), Fraction(2))))
    others = [other for other in all_ if other != instrument]
    if not others or not happens(choose, metered.both):
        return (one,)
    power = Fraction(-1) if happens(choose, metered.corrects) else Fraction(1)
    return (one, (picked(choose, others), power))


def _reading(
    choose: Chooser, node: int, used: tuple[tuple[int, Fraction], ...], data: PlainNode, metered: Metered
) -> PlainReading:
    count = len(data.sides) - len(data.mute)
    values = [NOTHING] * (count + 3)
    if happens(choose, metered.soft):
        values = [Fraction(choose.between(0, 10), 10) for _ in values]
    for shown in range(count, count + 3):
        if not happens(choose, 3):
            values[shown] = Fraction(choose.between(0, 10), 10)
    found = choose.between(0, count - 1)
    values[found] = Fraction(1)
    split = picked(
        choose, (EVEN, (Fraction(0), Fraction(1, 3), Fraction(2, 3)), (Fraction(1), NOTHING, NOTHING))
    )
    *states, low, high, dead = values
    return PlainReading(node, used, tuple(states), low, high, dead, split, found > 0)


def witness(case: Case, reading: PlainReading) -> PlainWitness:
    """The reading as a factor over its quantity and its instruments."""
    data = case.network.nodes[reading.node]
    used = tuple(node for node, _ in reading.instruments)
    rows = {}
    for shown in product(SHOWN, repeat=len(used)):
        pairs = [(s, power) for s, (_, power) in zip(shown, reading.instruments, strict=True)]
        rows[shown] = tuple(_read(reading, data, state, pairs) for state in range(len(data.sides)))
    return PlainWitness(reading.node, used, rows)


def _read(
    reading: PlainReading, data: PlainNode, state: int, pairs: Sequence[tuple[int, Fraction]]
) -> Fraction:
    """Likelihood of the reading where the quantity is in this state and each instrument shows what it says."""
    if (DEAD, True) in [(shown, power < 0) for shown, power in pairs]:
        return NOTHING  # there was something to correct by
    if state in data.mute:
        return NOTHING  # what cannot be judged is not read
    if any(shown == DEAD for shown, _ in pairs):
        return reading.dead
    own = reading.states[state]
    if data.sides[state] == OVER:
        return own
    lowered = any((shown, power < 0) in ((LOW, False), (HIGH, True)) for shown, power in pairs)
    raised = any((shown, power < 0) in ((HIGH, False), (LOW, True)) for shown, power in pairs)
    below = own if data.sides[state] == DOWN else reading.low if lowered else None
    above = own if data.sides[state] == UP else reading.high if raised else None
    if below is not None and above is not None:
        normal, down, up = reading.split
        return normal * reading.states[0] + down * below + up * above
    return next((value for value in (below, above) if value is not None), reading.states[0])


def factored(case: Case) -> PlainEvidence:
    """All evidence, with what was read as factors; no blame can be told from it."""
    joint = tuple(witness(case, reading) for reading in case.readings)
    return PlainEvidence(case.evidence.likelihood, case.evidence.signs, joint)


def with_dials(case: Case) -> tuple[PlainNetwork, PlainEvidence]:
    """The network with a dial for each reading after its own nodes, and the evidence on these."""
    nodes, arrows = list(case.network.nodes), list(case.network.arrows)
    likelihood, signs = dict(case.evidence.likelihood), set(case.evidence.signs)
    for reading in case.readings:
        number, data = len(nodes), case.network.nodes[reading.node]
        size = len(data.sides)
        low, high, dead = range(size, size + 3)
        rows = tuple(tuple(Fraction(s == t) for t in range(size + 3)) for s in range(size))
        arrows.append(PlainArrow(reading.node, number, rows, True))
        for instrument, power in reading.instruments:
            drawn = (0, low, high, dead) if power > 0 else (0, high, low, 0)
            rows = tuple(tuple(Fraction(t == d) for t in range(size + 3)) for d in drawn)
            arrows.append(PlainArrow(instrument, number, rows, True))
            if power < 0:
                likelihood[instrument] = (Fraction(1), Fraction(1), Fraction(1), NOTHING)
        # what a meter does to a good value is milder than any fault, but one that is dead shows none of them
        masks = max((r for r, s in zip(data.ranks, data.sides, strict=True) if s == OVER), default=0)
        over = [2 * masks - 1] if data.mute else [2 * masks + 1]
        ranks = (*(2 * rank for rank in data.ranks), 1, 1, *over)
        leak = tuple(Fraction(s == 0) for s in range(size + 3))
        nodes.append(PlainNode((*data.sides, DOWN, UP, OVER), ranks, reading.split, data.mute, leak, False))
        mute = (NOTHING,) * len(data.mute)
        likelihood[number] = (*reading.states, *mute, reading.low, reading.high, reading.dead)
        signs |= {number} if reading.abnormal else set()
    return PlainNetwork(tuple(nodes), tuple(arrows)), PlainEvidence(likelihood, frozenset(signs))


def question(case: Case) -> Question:
    """The question without what was read with instruments."""
    return Question(NO_BONES, network(case.network), likelihoods(case.evidence), case.evidence.signs)


def readings(case: Case) -> Readings:
    """What was read with instruments, as the program takes it."""
    return Readings(tuple(_taken(reading) for reading in case.readings))


def _taken(reading: PlainReading) -> Reading:
    instruments = tuple((node, float(power)) for node, power in reading.instruments)
    states = tuple(float(value) for value in reading.states)
    normal, down, up = (float(share) for share in reading.split)
    named = tuple((str(node), power) for node, power in instruments)
    shown = Dial(
        states, float(reading.low), float(reading.high), float(reading.dead), (normal, down, up), named
    )
    finding = Finding(
        Observation(str(reading.node)), str(reading.node), "", (), states, "", reading.abnormal, True
    )
    return Reading(finding, reading.node, shown, instruments)


def astray(case: Case) -> dict[int, Fraction]:
    """Share of the evidence in which each instrument is astray, by brute force."""
    total = NOTHING
    found = dict.fromkeys(case.instruments, NOTHING)
    for (states, _), weight in worlds(case.network, factored(case)):
        total += weight
        for node in case.instruments:
            found[node] += weight * (states[node] != TRUE)
    return {node: weight / total for node, weight in found.items()} if total else {}
