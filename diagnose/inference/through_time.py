"""The network of a set that was worked on, with no more of the past in it than the readings leave likely.

Which modes a part may have had before work, or may have taken from it, the readings of that time say by themselves:
the rig's network of one time, solved for it, with all instruments true. Where the whole is too wide, modes that are
left a small share there are ruled out; the sum of these shares estimates what is left out by that.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from diagnose.evidence.collect import Findings
from diagnose.inference.contraction import TooWide
from diagnose.inference.layout import Impossible, lay_out
from diagnose.inference.network import Network
from diagnose.inference.rig_network import Skeleton, finding_likelihood
from diagnose.inference.scale import Array
from diagnose.inference.solve import solve
from diagnose.inference.unrolled import Likely, unrolled
from diagnose.model.lives import harmed
from diagnose.model.periods import Periods
from diagnose.model.result import Finding

UNLIKELY = (1e-3, 1e-2, 3e-2)  # shares of the evidence of its time below which a mode may be ruled out
ENOUGH = 1e-3  # accuracy of these shares

Rows = tuple[tuple[int, tuple[float, ...]], ...]  # by node
Shares = Mapping[str, Mapping[int, Array]]  # part, period: of each state, shape (S,)


@dataclass(frozen=True, eq=False)
class Time:
    """A skeleton through time. `ruled_out`: likelihoods of lives by which those left aside are excluded."""

    bones: Skeleton
    ruled_out: Mapping[int, Array] = field(default_factory=dict)
    left_out: float = 0.0

    @property
    def whole(self) -> bool:
        """Whether all modes are reckoned with."""
        return not self.ruled_out


def through_time(
    bones: Skeleton, network: Network, findings: Findings, unlikely: Sequence[float] = ()
) -> Iterator[Time]:
    """The network of a case with work done; then, for each share, the same without those modes of the parts worked
    on that are left less than that share. Each is made when it is asked for.
    """
    yield Time(unrolled(bones, network, findings.periods, findings.earlier))
    if unlikely:
        shares = _by_period(bones, network, findings)
        for share in unlikely:
            yield _without_unlikely(bones, network, findings, shares, share)


def _without_unlikely(
    bones: Skeleton, network: Network, findings: Findings, shares: Shares, unlikely: float
) -> Time:
    modes, left_out = _likely(shares, unlikely)
    laid = unrolled(bones, network, findings.periods, findings.earlier, modes)
    ruled_out = {
        node: np.array([*(1.0 for _ in laid.lives[part]), 0.0]) for part, node in laid.life_of.items()
    }
    return Time(laid, ruled_out, left_out)


def _by_period(bones: Skeleton, network: Network, findings: Findings) -> Shares:
    """What the readings of a period alone leave of the modes of each part worked on, by the periods of its copies."""
    periods = findings.periods
    parts = [name for name in bones.assembly.parts if name in periods.touched or name in periods.before]
    times = {name: [periods.began(name, c) for c in range(1 + periods.last(name))] for name in parts}
    shares = {
        time: _shares(bones, network, findings, time) for time in {t for ts in times.values() for t in ts}
    }
    found: dict[str, dict[int, Array]] = {}
    for name in parts:
        node = bones.index[name]
        nothing_known = np.ones(network.nodes[node].scale.size)
        found[name] = {time: shares[time].get(node, nothing_known) for time in times[name]}
    return found


def _likely(shares: Shares, unlikely: float) -> tuple[Likely, float]:
    """By part and period the modes that are left likely, and the share of all others."""
    likely: dict[str, dict[int, frozenset[int]]] = {}
    left_out = 0.0
    for name, times in shares.items():
        likely[name] = {}
        for time, share in times.items():
            kept = frozenset(int(state) for state in np.flatnonzero(share >= unlikely))
            likely[name][time] = kept
            left_out += float(sum(share[state] for state in range(1, len(share)) if state not in kept))
    return likely, left_out


def _shares(bones: Skeleton, network: Network, findings: Findings, period: int) -> Mapping[int, Array]:
    """Posterior of each part worked on by the observations of one period alone; without those too wide to solve."""
    periods = findings.periods
    harm = bones.assembly.book.bench.advice["work_harms"]
    leaks = {}
    for name, works in periods.touched.items():
        if name in bones.assembly.parts and any(work < period for work in works):
            leak = network.nodes[bones.index[name]].leak
            worse = np.maximum(leak, harmed(leak.tolist(), harm))
            leaks[bones.index[name]] = np.array([1.0 - worse[1:].sum(), *worse[1:]])
    likelihood = {
        bones.index[name]: finding_likelihood(bones, finding)
        for name, finding in _of(findings, periods, period).items()
    }
    worked_on = (*periods.touched, *periods.before)
    parts = {bones.index[name] for name in worked_on if name in bones.assembly.parts}
    return _posterior(network, _row_by_node(leaks), _row_by_node(likelihood), tuple(sorted(parts)))


def _row_by_node(arrays: Mapping[int, Array]) -> Rows:
    return tuple((node, tuple(values.tolist())) for node, values in arrays.items())


@lru_cache(maxsize=32)  # what was read before work stays as it is
def _posterior(
    network: Network, leaks: Rows, likelihood: Rows, parts: tuple[int, ...]
) -> Mapping[int, Array]:
    """Posterior of these parts; empty where it is too wide to solve."""
    alone = network.with_leaks({node: np.array(row) for node, row in leaks})
    given = {node: np.array(row) for node, row in likelihood}
    support = {node: np.flatnonzero(values > 0).tolist() for node, values in given.items()}
    try:
        structure = lay_out(alone, support, frozenset(), parts, marks=False, read=parts)
        return {node: values[0] for node, values in solve(structure, given, accuracy=ENOUGH).presence.items()}
    except (TooWide, Impossible):
        return {}


def _of(findings: Findings, periods: Periods, period: int) -> Mapping[str, Finding]:
    """What counts of each indication in a period."""
    found = {
        name: counted[0]
        for (name, copy), counted in findings.earlier.items()
        if copy == periods.copy(name, period)
    }
    for name, finding in findings.counted.items():
        if periods.copy(name, period) == periods.last(name):
            found[name] = finding
    return found
