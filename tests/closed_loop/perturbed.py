"""A book that is not quite ours: the log-odds of every frequency and leak shifted at random.

A loop whose sets are drawn from the book itself would only confirm that the book agrees with itself. The shift of
a frequency belongs to its rule, so that all stages it is laid over share it, and follows from the seed and the
name of the rule alone: neither the rig nor the order of rules matters.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from typing import Final
from zlib import crc32

import numpy as np

from diagnose.model.assembly import Assembly, Link, PlacedIndication

DEVIATION: Final = 1.0  # standard deviation of a shift, in log-odds
_MOST: Final = 1.0 - 1e-9  # of the frequencies that exclude each other, taken together


def perturbed(assembly: Assembly, seed: int, deviation: float = DEVIATION) -> Assembly:
    """The same rig by a book with other frequencies and leaks. What is never or always so stays as it is."""
    links = [
        replace(link, chance=shifted(link.chance, shift(seed, name_of(link), deviation)))
        for link in assembly.links
    ]
    indications = {
        name: _with_leaks(assembly, placed, seed, deviation) for name, placed in assembly.indications.items()
    }
    return replace(assembly, links=tuple(_room(links)), indications=indications)


def shift(seed: int, name: str, deviation: float = DEVIATION) -> float:
    """The shift of one frequency: normal with mean 0, the same for the same seed and name."""
    return float(deviation * np.random.default_rng([seed, crc32(name.encode())]).standard_normal())


def shifted(chance: float, by: float) -> float:
    """A chance with its log-odds moved; 0 and 1 stay."""
    if not 0.0 < chance < 1.0:
        return chance
    return 1.0 / (1.0 + math.exp(-(math.log(chance / (1.0 - chance)) + by)))


def name_of(link: Link) -> str:
    """What a frequency is known by: its rule and both ends, for the rules of unnamed parts share an id."""
    rule = link.rule
    return f"{rule.id}:{rule.from_name}={rule.from_state}>{rule.to_name}={rule.to_state}"


def groups(links: tuple[Link, ...]) -> Mapping[tuple[str, ...], list[int]]:
    """Places of the links that exclude each other: one parent in one state, acting on one child by one port."""
    found: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for place, link in enumerate(links):
        found[link.parent, link.parent_state, link.child, link.rule.from_name].append(place)
    return found


def _room(links: list[Link]) -> list[Link]:
    """Frequencies that exclude each other and would pass certainty together keep their shares of it."""
    result = list(links)
    for places in groups(tuple(links)).values():
        total = sum(links[place].chance for place in places)
        if total > 1.0:
            for place in places:
                result[place] = replace(links[place], chance=links[place].chance * _MOST / total)
    return result


def _with_leaks(
    assembly: Assembly, placed: PlacedIndication, seed: int, deviation: float
) -> PlacedIndication:
    kind = assembly.rig.stages[placed.stage].kind
    states = [
        replace(s, leak=shifted(s.leak, shift(seed, f"leak {kind}.{placed.indication.id}={s.id}", deviation)))
        if s.side
        else s
        for s in placed.indication.states
    ]
    total = sum(state.leak for state in states if state.side)
    if total > _MOST:
        states = [replace(s, leak=s.leak * _MOST / total) if s.side else s for s in states]
    return replace(placed, indication=replace(placed.indication, states=tuple(states)))
