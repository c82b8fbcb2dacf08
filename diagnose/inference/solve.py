"""The answers: evidence and posteriors, with as many digits as they need.

One forward run and one backward run give everything; presence and silence of every part come from the
same backward run, and a part's blame is the difference of the two.

The tables are in cumulative form and take differences, so a run can lose digits, the more the less probable
the evidence. Where it is improbable a second run, in which every operation rounds differently, shows how many
digits of all results the two agree on (after J. Vignes, "A stochastic arithmetic for reliable scientific
computation", Math. Comput. Simul. 35 (1993)); where these are too few, both are repeated in TWOFOLD numbers.
Of several variants the most probable counts; what is found of a less probable one is as sure as it weighs.

What no arithmetic here restores: a chance p enters as 1 - p, so one of 1e-7 keeps nine digits.

Twofold numbers are ten times slower. Where much is to be worked out plain numbers have to do: `Solution.error` says
what they leave, and evidence of which they leave nothing is called impossible.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Protocol

import numpy as np

from diagnose.inference.arithmetic import PLAIN, TWOFOLD, Arithmetic
from diagnose.inference.elimination import run_backward, run_forward
from diagnose.inference.filling import Blameless, Given, Table, checked, fill, weigh
from diagnose.inference.reading import Reader, Solution
from diagnose.inference.scale import Array
from diagnose.inference.structure import Structure

__all__ = ["STRICT", "Blameless", "Solution", "log_evidence", "solve"]

STRICT = 1e-11  # error that nobody will notice
_UNIT = 2.0**-53  # relative error of one rounded operation
_GROWTH = 1e4  # times which such errors grow, at the worst, before they meet improbable evidence
_MARGIN = 100.0  # the error is taken to be so many times what two runs differ by
_LOST = 1e-3  # two plain runs that differ by more do not tell how much was lost
_MOST_TWOFOLD = 1e7  # work of all variants up to which twofold numbers are used
_TOO_FAR = 0.01  # plain runs that differ by more say nothing
_FINEST = 1e-14  # results are plain numbers in the end
_GAINED = 2.0**-50  # TWOFOLD numbers lose as many digits, but begin with so many more
# A variant less probable than the likeliest by this much (natural logarithm) cannot be told from an impossible one.
_ROUNDING: dict[Arithmetic[Any], float] = {PLAIN: 30.0, TWOFOLD: 60.0}


class Known(Protocol):
    """Tables that are known beforehand, as inputs of a contraction behind those of a structure.

    `scale`: natural logarithm of what was divided out of the likelihoods in them.
    """

    @property
    def scale(self) -> float: ...

    def tables(self, arithmetic: Arithmetic[Any], again: bool) -> tuple[Sequence[Table], float]:
        """The tables, each with a batch axis of 1, and the logarithm (natural) of what they were divided by since.

        `again`: with every operation rounded differently.
        """
        ...


def log_evidence(
    structure: Structure,
    likelihood: Mapping[int, Array],
    held: Mapping[int, Blameless] | None = None,
    accuracy: float = STRICT,
) -> Array:
    """Natural logarithm of the probability of the evidence, shape (B,)."""
    given = checked(structure, likelihood, held or {})
    values: Array = given.scale + _sure(structure, given, accuracy, forward_only=True).log_evidence
    return values


def solve(
    structure: Structure,
    likelihood: Mapping[int, Array],
    held: Mapping[int, Blameless] | None = None,
    accuracy: float = STRICT,
    known: Known | None = None,
) -> Solution:
    """Posteriors of all parts and of the asked nodes. Likelihoods of shape (S,) or (B, S).

    `accuracy`: the error that rounding may leave (see `Solution.error`) before twofold numbers are used.
    `known`: tables that belong to the structure's contraction, but not to its nodes.
    """
    given = checked(structure, likelihood, held or {})
    solution = _sure(structure, given, accuracy, forward_only=False, known=known)
    scale = given.scale + (known.scale if known is not None else 0.0)
    return replace(solution, log_evidence=solution.log_evidence + scale)


def _sure(
    structure: Structure, given: Given, accuracy: float, forward_only: bool, known: Known | None = None
) -> Solution:
    """The solution, looked at twice where it may not be accurate, and in twofold numbers where it is not."""

    def run(arithmetic: Arithmetic[Any], again: bool = False) -> Solution:
        return _run(structure, given, arithmetic, forward_only, again, known)

    plain = run(PLAIN)
    if plain.log_evidence.max() > np.log(_GROWTH * _UNIT / accuracy):
        return replace(plain, error=accuracy)
    again = run(PLAIN, again=True)
    apart = _apart(plain, again)
    if _MARGIN * apart <= accuracy:
        return replace(plain, error=max(_MARGIN * apart, _FINEST))
    if structure.contraction.work * given.variants > _MOST_TWOFOLD:
        return _impossible(plain) if apart > _TOO_FAR else replace(plain, error=min(1.0, _MARGIN * apart))
    twofold = run(TWOFOLD)
    error = _MARGIN * _GAINED * apart
    if apart > _LOST:
        apart = _apart(twofold, run(TWOFOLD, again=True))
        if apart > _LOST:  # nothing is left that could be told from impossible
            return _impossible(twofold)
        error = _MARGIN * apart
    return replace(twofold, error=max(error, _FINEST))


def _run(
    structure: Structure,
    given: Given,
    arithmetic: Arithmetic[Any],
    forward_only: bool,
    again: bool,
    known: Known | None,
) -> Solution:
    """One solution, its error not looked at; `again` with every operation rounded differently."""
    weights = weigh(structure, given)
    tables, filled = fill(structure, given.values, weights, exact=arithmetic is TWOFOLD)
    log_known = 0.0
    if known is not None:
        others, log_known = known.tables(arithmetic, again)
        tables += others
    run = run_forward(structure.contraction, tables, arithmetic, shifts(len(tables)) if again else None)
    log_sum = np.array(np.broadcast_to(run.log_sum + log_known, (given.variants,)))
    top = np.where(np.isnan(log_sum), -np.inf, log_sum).max()
    log_sum[~(log_sum > top - _ROUNDING[arithmetic])] = -np.inf
    if forward_only:
        return Solution(log_sum, {}, {}, {}, {}, 0.0)
    return Reader(structure, given, weights, filled, run_backward(run)).solution(log_sum)


def shifts(count: int) -> list[float]:
    """A factor for each of so many tables, with which every operation rounds differently."""
    factors: list[float] = np.random.default_rng(count).uniform(1.0, 2.0, count).tolist()
    return factors


def _apart(one: Solution, other: Solution) -> float:
    """How far two solutions are apart at the worst, each variant weighed by its share of the evidence.

    One, which is all, where either found nothing possible.
    """
    first, second = one.log_evidence, other.log_evidence
    top = first.max()
    if np.isneginf(top) or np.isneginf(second.max()):
        return 1.0
    share = np.exp(first - top)
    apart = np.abs(np.exp(second - top) - share)
    for mine, theirs in (
        (one.presence, other.presence),
        (one.blame, other.blame),
        (one.states, other.states),
        (one.predicted, other.predicted),
    ):
        for node, values in mine.items():
            # an impossible variant has no posterior (NaN) to differ in
            apart = np.fmax(apart, share * np.abs(values - theirs[node]).max(1))
    return min(1.0, float(apart.max()))


def _impossible(solution: Solution) -> Solution:
    """The same with every variant impossible."""

    def none(found: Mapping[int, Array]) -> dict[int, Array]:
        return {node: np.full_like(values, np.nan) for node, values in found.items()}

    return Solution(
        np.full_like(solution.log_evidence, -np.inf),
        none(solution.presence),
        none(solution.blame),
        none(solution.states),
        none(solution.predicted),
        error=0.0,
    )
