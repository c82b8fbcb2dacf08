"""What a reading shows when its instruments are not true.

An instrument stands between a value and its reading: astray, it shows `gain` times what is there, give or
take its spread. The density of the reading x of a good value through a gain g is

    p(x | good, g) = (1 / g) * integral of N(x / g; v, s) p(v | good) dv,

taken over the reading, so that it can be compared with those of the states themselves. A dead instrument shows
next to nothing, whatever is there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from diagnose.evidence.grade import density, good_limits, most_likely, quantiles, report_likelihoods
from diagnose.model.assembly import Assembly
from diagnose.model.knowledge import State
from diagnose.model.measuring import DEAD, HIGH, LOW
from diagnose.model.result import Finding

_NEGLIGIBLE = 1e-9  # of the greatest likelihood: less is taken as excluded
_POINTS = 16  # values that stand for the spread of a state


@dataclass(frozen=True)
class Dial:
    """Likelihoods of what a dial can show, the greatest of all being 1.

    `states`: a true value of each state. `low`, `high`, `dead`: a good value that an instrument shows too low,
    too high, or not at all. `split`: how often a value off to one side, shown off to the other, comes out good,
    low and high. `instruments`: on the rig, with the power of their gain that the reading carries.
    """

    states: tuple[float, ...]
    low: float
    high: float
    dead: float
    split: tuple[float, float, float]
    instruments: tuple[tuple[str, float], ...]


def dial(assembly: Assembly, finding: Finding) -> Dial:
    """What the dial of a finding's reading can show; of several instruments the gains count alike."""
    low = [gain_of(assembly, name, power, LOW) for name, power in finding.read_with]
    high = [gain_of(assembly, name, power, HIGH) for name, power in finding.read_with]
    dead = [
        assembly.indications[name].indication.astray[DEAD].gain
        for name, power in finding.read_with
        if power > 0
    ]
    states = _true(finding)
    shown = [
        _mean([_shown(finding, gain, spread) for gain, spread in low]),
        _mean([_shown(finding, gain, spread) for gain, spread in high]),
        _nothing(finding, max(dead)) if dead else 0.0,
    ]
    if finding.through is not None:  # a pattern that readings make
        states, shown = list(finding.likelihood), list(finding.through)
    top = max(*states, *shown)
    kept = [value / top if value >= _NEGLIGIBLE * top else 0.0 for value in (*states, *shown)]
    kept = [value**finding.weight for value in kept]
    return Dial(
        states=tuple(kept[:-3]),
        low=kept[-3],
        high=kept[-2],
        dead=kept[-1],
        split=_split(finding.graded, _mean([g for g, _ in low]), _mean([g for g, _ in high])),
        instruments=finding.read_with,
    )


def gain_of(assembly: Assembly, name: str, power: float, shows: str) -> tuple[float, float]:
    """Gain and relative spread that an instrument has when the reading comes out `shows`.

    What is carried to the chart by a line voltage that was read too low comes out too high.
    """
    astray = assembly.indications[name].indication.astray
    err = astray[shows] if power > 0 else astray[HIGH if shows == LOW else LOW]
    return float(err.gain**power), abs(power) * err.spread


def _mean(values: Sequence[float]) -> float:
    return sum(values) / len(values) if values else 0.0


def _true(finding: Finding) -> list[float]:
    """Likelihood of each state with all instruments true, not scaled."""
    measured = finding.measured
    if measured is None:
        said = finding.states.index(finding.state)
        return list(report_likelihoods(len(finding.states), said, finding.right))
    values = [density(state, measured.value, measured.spread, measured.limit) for state in finding.graded]
    if max(values) < 1e-200:  # far off the chart: the nearest state
        return [measured.typical * value for value in finding.likelihood]
    return [finding.right * value + (1.0 - finding.right) * measured.typical for value in values]


def _shown(finding: Finding, gain: float, spread: float) -> float:
    """Likelihood of a good value through a gain."""
    good, measured = finding.graded[0], finding.measured
    if measured is None:
        told = _told(finding.graded, 0, gain)[finding.states.index(finding.state)]
        wrong = (1.0 - finding.right) / max(len(finding.states) - 1, 1)
        return finding.right * told + wrong * (1.0 - told)
    value = measured.value / gain
    own = (
        density(good, value, math.hypot(measured.spread / gain, spread * value), measured.limit / gain) / gain
    )
    return finding.right * own + (1.0 - finding.right) * measured.typical


def _nothing(finding: Finding, shown: float) -> float:
    """Likelihood of a reading through a dead instrument, that shows up to a share `shown` of a good value."""
    measured = finding.measured
    if measured is None:
        nothing = next((s.id for s in finding.graded if s.side == "over"), "")
        nothing = nothing or finding.graded[most_likely(finding.graded, 0.0)].id
        return finding.right if finding.state == nothing else 1.0 - finding.right
    limits = good_limits(finding.graded)
    upto = shown * (1.0 if limits is None else limits[1])
    own = density(State(DEAD, between=(0.0, upto)), abs(measured.value), measured.spread, measured.limit)
    return finding.right * own + (1.0 - finding.right) * measured.typical


def _split(graded: tuple[State, ...], low: float, high: float) -> tuple[float, float, float]:
    """Shares good, low and high of values off to one side that are shown off to the other."""
    found = [0.0, 0.0, 0.0]
    for side, gain in (("up", low), ("down", high)):
        for number, state in enumerate(graded):
            if state.side == side and gain > 0:
                for told, share in enumerate(_told(graded, number, gain)):
                    place = {"": 0, "down": 1, "over": 1, "up": 2}[graded[told].side]
                    found[place] += share
    total = sum(found)
    if total <= 0:
        return (0.5, 0.25, 0.25)
    return (found[0] / total, found[1] / total, found[2] / total)


@lru_cache(maxsize=2048)
def _told(graded: tuple[State, ...], of: int, gain: float) -> tuple[float, ...]:
    """As which states the values of one are told, through a gain: the share of each, shape (S,)."""
    shares = [0.0] * len(graded)
    for value in quantiles(graded[of], _POINTS):
        shares[most_likely(graded, value * gain)] += 1.0 / _POINTS
    return tuple(shares)
