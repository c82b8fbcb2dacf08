"""A simulated set as the person at the bench reads it: instruments that lie, slips, and what cannot be measured."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final
from zlib import crc32

import numpy as np

from diagnose.evidence.grade import good_limits, most_likely
from diagnose.evidence.read_with import instruments_of
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import State
from diagnose.model.measuring import DEAD, SHOWS, TRUE
from tests.closed_loop.world import World

WRONG: Final = 0.03  # of the answers name another state
CANNOT: Final = 0.10  # of what is asked cannot be measured


@dataclass(frozen=True, eq=False)
class Answering:
    """What a set answers. The same question in the same period always has the same answer, but for slips: these are
    of one look, and a second look (`take` 1) slips for itself.

    `assembly` is the rig by the book that the set is drawn from. Nothing hangs on the order of questions, so that
    every way of asking meets the same slips.
    """

    assembly: Assembly
    world: World
    seed: int
    wrong: float = WRONG
    cannot: float = CANNOT

    def answer(self, check: str, name: str, period: int, take: int = 0) -> Observation | None:
        """What is found of an indication by a check; None where it cannot be measured."""
        if self._draw(f"cannot {check} {name}") < self.cannot:
            return None
        shown = self.shown(name)
        if shown is None:
            return Observation(name)
        states = self.assembly.indications[name].indication.states
        again = f" {take}" if take else ""
        if len(states) > 1 and self._draw(f"wrong {name} {period}{again}") < self.wrong:
            others = [number for number in range(len(states)) if number != shown]
            shown = others[int(self._draw(f"other {name} {period}{again}") * len(others))]
        return Observation(name, states[shown].id)

    def shown(self, name: str) -> int | None:
        """The state that a careful person reads; None for a reading that there is nothing to take of.

        A sign that cannot show itself is not seen.
        """
        placed = self.assembly.indications[name]
        state = self.world.state(name)
        if state >= len(placed.indication.states):  # cannot be judged
            return 0 if placed.indication.sort == "symptom" else None
        return self._read(name, state) if placed.indication.unit else state

    def repaired(self, part: str) -> Answering:
        """The same set with one part put right."""
        return replace(self, world=self.world.repaired(part))

    def _read(self, name: str, state: int) -> int:
        """A quantity as its instruments show it."""
        indication = self.assembly.indications[name].indication
        case = Case("simulated", self.assembly.rig.id)
        used = instruments_of(self.assembly, case, Observation(name), indication.read_with, indication.unit)
        shows = [(each, SHOWS[self.world.state(each)]) for each in used]
        if all(word == TRUE for _, word in shows):
            return state
        dead = [each for each, word in shows if word == DEAD]
        value = self._value(name, indication.states[state])
        if dead:
            limits = good_limits(indication.states)
            upto = 1.0 if limits is None else limits[1]
            gain = self.assembly.indications[dead[0]].indication.astray[DEAD].gain
            return most_likely(indication.states, self._draw(f"nothing {name}") * gain * upto)
        for each, word in shows:
            if word != TRUE:
                err = self.assembly.indications[each].indication.astray[word]
                value *= err.gain
        return most_likely(indication.states, value)

    def _value(self, name: str, state: State) -> float:
        """A value of a state, on the scale of the states."""
        if state.around is not None:
            mean, deviation = state.around
            number = crc32(f"value {name}".encode())
            return float(np.random.default_rng([self.seed, number]).normal(mean, deviation))
        low, high = state.between or (0.0, 0.0)
        return low + self._draw(f"value {name}") * (high - low)

    def _draw(self, word: str) -> float:
        return float(np.random.default_rng([self.seed, crc32(word.encode())]).random())
