"""The likelihood of each state given one measured value.

For a state whose values spread with density p(v | state), and a reading x with standard uncertainty s,

    lambda(state) = integral of N(x; v, s) p(v | state) dv.

A uniform density over [a, b] gives (Phi((x-a)/s) - Phi((x-b)/s)) / (b-a); a normal density with mean m
and deviation d gives N(x; m, sqrt(s^2 + d^2)). The share of a reading's uncertainty inside a band is not
a likelihood: it would favour wide bands. (Pearl, Probabilistic Reasoning in Intelligent Systems, 1988,
section 2.2.2, virtual evidence.)

A meter is within its stated limits of error, and anywhere in them alike: what it may be off, up to a limit e, is
uniform (JCGM 100:2008, 4.3.7) and not normal. N(x; v, s) is then averaged over x - e to x + e, so that a reading
that the meter may have made of a good value is no sign of a fault.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist
from typing import Final

from diagnose.model.knowledge import State

_STANDARD: Final = NormalDist()
_ROOT_3: Final = math.sqrt(3.0)
_FLAT: Final = 1e-3  # of the normal uncertainty: a smaller limit is as good as normal
NEGLIGIBLE = 1e-9  # of the largest likelihood: less is taken as excluded


def likelihoods(
    states: Sequence[State], value: float, uncertainty: float, limit: float = 0.0
) -> tuple[float, ...]:
    """Likelihood of each state, in their order, scaled to a maximum of 1.

    `value`, its standard `uncertainty` and the `limit` of error of the meter are on the scale of the states.

    A value beyond every state's spread (a reading off the chart) counts for the nearest state.
    """
    raw = [density(state, value, uncertainty, limit) for state in states]
    top = max(raw)
    if top < 1e-200:
        distances = [_distance(state, value) for state in states]
        nearest = min(distances)
        return tuple(1.0 if distance == nearest else 0.0 for distance in distances)
    scaled = [density / top for density in raw]
    return tuple(share if share >= NEGLIGIBLE else 0.0 for share in scaled)


def with_tolerance(states: Sequence[State], old: float, new: float) -> tuple[State, ...]:
    """The states of a ratio scale with the good band widened or narrowed from `old` to `new` (shares).

    Only the edges 1 - old and 1 + old and the good state's spread move.
    """
    if new == old or old <= 0:
        return tuple(states)
    moved = []
    for state in states:
        between, around = state.between, state.around
        if between is not None:
            low, high = (_moved(edge, old, new) for edge in between)
            between = (min(low, high), max(low, high))
        if around is not None:
            around = (around[0], around[1] * new / old)
        moved.append(State(state.id, state.side, state.title, state.leak, between=between, around=around))
    return tuple(moved)


def most_likely(states: Sequence[State], value: float) -> int:
    """The number of the state that a value, known exactly, speaks for most; of equals the first."""
    values = likelihoods(states, value, 0.0)
    return max(range(len(values)), key=values.__getitem__)


def quantiles(state: State, count: int) -> tuple[float, ...]:
    """So many values of equal weight that stand for the spread of a state; none where it has no spread."""
    shares = [(number + 0.5) / count for number in range(count)]
    if state.around is not None:
        mean, deviation = state.around
        return tuple(mean + deviation * _STANDARD.inv_cdf(share) for share in shares)
    if state.between is None:
        return ()
    low, high = state.between
    return tuple(low + share * (high - low) for share in shares)


def good_limits(states: Sequence[State]) -> tuple[float, float] | None:
    """The band of the good state on the scale of the states: two deviations, or its range."""
    good = states[0]
    if good.around is not None:
        mean, deviation = good.around
        return (mean - 2 * deviation, mean + 2 * deviation)
    return good.between


def report_likelihoods(count: int, said: int, right: float) -> tuple[float, ...]:
    """Likelihood of each of `count` states when state `said` was reported and reports are `right` so often.

    A wrong report is taken as equally likely to be any other state.
    """
    if count < 2:
        return (1.0,)
    other = (1.0 - right) / (count - 1)
    top = max(right, other)
    return tuple((right if state == said else other) / top for state in range(count))


def softened(values: Sequence[float], right: float) -> tuple[float, ...]:
    """A likelihood that holds only with the chance `right`; otherwise it says nothing."""
    return tuple(right * value + (1.0 - right) for value in values)


def _moved(edge: float, old: float, new: float) -> float:
    for sign in (-1.0, 1.0):
        if math.isclose(edge, 1.0 + sign * old, rel_tol=1e-9):
            return 1.0 + sign * new
    return edge


def density(state: State, value: float, uncertainty: float, limit: float = 0.0) -> float:
    """Density of reading `value`, per unit of the scale, where the true values spread as those of the state do.

    `uncertainty` is standard and normal; `limit` is how far the meter may be off beside that, uniformly.
    """
    if limit > _FLAT * uncertainty:
        return _within_limit(state, value, uncertainty, limit)
    uncertainty = math.hypot(uncertainty, limit / _ROOT_3)
    if state.around is not None:
        mean, deviation = state.around
        spread = math.hypot(deviation, uncertainty)
        if spread <= 0:
            return 0.0
        return math.exp(-0.5 * ((value - mean) / spread) ** 2) / (spread * math.sqrt(2 * math.pi))
    if state.between is None:
        return 0.0
    low, high = state.between
    if uncertainty <= 0:
        return 1.0 / (high - low) if low <= value <= high else 0.0
    return _normal_mass((value - high) / uncertainty, (value - low) / uncertainty) / (high - low)


def _within_limit(state: State, value: float, uncertainty: float, limit: float) -> float:
    """The density averaged over all that the meter may be off."""
    if state.around is not None:
        mean, deviation = state.around
        spread = math.hypot(deviation, uncertainty)
        off = value - mean
        if spread <= 0:
            return float(abs(off) <= limit) / (2.0 * limit)
        return _normal_mass((off - limit) / spread, (off + limit) / spread) / (2.0 * limit)
    if state.between is None:
        return 0.0
    low, high = state.between
    if value > 0.5 * (low + high):  # it is alike from both sides, and precise from below
        value = low + high - value
    corners = (value - low + limit, value - low - limit, value - high + limit, value - high - limit)
    one, two, three, four = (_ramp(corner, uncertainty) for corner in corners)
    return max((one - two) - (three - four), 0.0) / (2.0 * limit * (high - low))


def _ramp(value: float, spread: float) -> float:
    """Integral of the normal distribution function up to a value: s (z Phi(z) + phi(z)) with z = value / s."""
    if spread <= 0:
        return max(value, 0.0)
    z = value / spread
    mass = 0.5 * math.erfc(-z / math.sqrt(2.0))
    return spread * (z * mass + math.exp(-0.5 * z * z) / math.sqrt(2.0 * math.pi))


def _normal_mass(low: float, high: float) -> float:
    """Probability of a standard normal value between two bounds, precise in both tails."""
    if low > 0:
        low, high = -high, -low
    if high < 0:
        return 0.5 * (math.erfc(-high / math.sqrt(2)) - math.erfc(-low / math.sqrt(2)))
    return 0.5 * (math.erf(high / math.sqrt(2)) - math.erf(low / math.sqrt(2)))


def _distance(state: State, value: float) -> float:
    if state.around is not None:
        return abs(value - state.around[0])
    if state.between is None:
        return math.inf
    low, high = state.between
    return max(low - value, value - high, 0.0)
