"""How many digits are left where the evidence is improbable, and that the program knows it.

The hardest case for tables that take differences: many causes, each of which can produce each of many
signs, and all signs seen. The truth is a sum over all sets of causes, all terms positive.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest

from diagnose.inference.layout import lay_out
from diagnose.inference.network import Arrow, Network, Node
from diagnose.inference.scale import GOOD, OVER, Array, Scale
from diagnose.inference.solve import STRICT, log_evidence, solve
from tests.inference.agreement import how_many, silent

YES_NO = Scale((GOOD, OVER), (0, 1))


@dataclass(frozen=True, eq=False)
class Crossed:
    """Every cause pushes every sign: chances of shape (causes, signs)."""

    prior: Array
    leak: Array
    chance: Array

    def network(self) -> Network:
        """Causes first, then signs."""
        causes = [Node(YES_NO, np.array([1 - p, p]), True) for p in self.prior]
        signs = [Node(YES_NO, np.array([1 - p, p])) for p in self.leak]
        into: list[tuple[Arrow, ...]] = [()] * len(causes)
        for sign, column in enumerate(self.chance.T):
            child = len(causes) + sign
            into.append(tuple(Arrow(i, child, np.array([[1, 0], [1 - c, c]])) for i, c in enumerate(column)))
        return Network((*causes, *signs), tuple(into))

    def truth(self) -> tuple[float, Array, Array]:
        """P(all signs seen); presence and blame of each cause. Sums over all 2^n sets of causes."""
        count = len(self.prior)
        present = ((np.arange(2**count)[:, np.newaxis] >> np.arange(count)) & 1).astype(float)
        weight = np.where(present == 1, self.prior, 1 - self.prior).prod(1)
        nothing = np.log1p(-self.leak) + present @ np.log1p(-self.chance)  # log of the chance of no draw
        mass = weight * (-np.expm1(nothing)).prod(1)
        total = mass.sum()
        blame = np.zeros(count)
        for cause in range(count):
            others = nothing - present[:, [cause]] * np.log1p(-self.chance[cause])
            hushed = ((1 - self.chance[cause]) * -np.expm1(others)).prod(1)  # drew nothing anywhere
            blame[cause] = 1 - (mass * (1 - present[:, cause])).sum() / total
            blame[cause] -= (weight * present[:, cause] * hushed).sum() / total
        return float(total), (mass[:, np.newaxis] * present).sum(0) / total, blame


def _crossed(seed: int, causes: int, signs: int, leak: float, prior: float) -> Crossed:
    rng = np.random.default_rng(seed)
    return Crossed(
        prior * rng.uniform(0.5, 2.0, causes),
        leak * rng.uniform(0.5, 2.0, signs),
        rng.uniform(0.05, 0.9, (causes, signs)),
    )


@pytest.mark.parametrize("accuracy", [STRICT, 1e-6])
@pytest.mark.parametrize(
    ("causes", "signs", "leak", "prior"),
    [
        (8, 6, 1e-3, 1e-2),
        (12, 8, 1e-4, 1e-3),
        (14, 10, 1e-4, 1e-3),
        (13, 12, 1e-4, 1e-6),
        (11, 11, 1e-3, 1e-5),
    ],
)
def test_many_causes_of_many_signs(
    causes: int, signs: int, leak: float, prior: float, accuracy: float
) -> None:
    """Evidence, presence and blame are right to the accuracy asked for, and the error stated is no less."""
    for seed in range(how_many(3)):
        crossed = _crossed(seed, causes, signs, leak, prior)
        observed = range(causes, causes + signs)
        structure = lay_out(crossed.network(), {n: [1] for n in observed}, frozenset(observed))
        seen = {n: np.array([0.0, 1.0]) for n in observed}
        found = solve(structure, seen, accuracy=accuracy)
        total, presence, blame = crossed.truth()
        error = abs(math.expm1(found.log_evidence[0] - math.log(total)))
        for cause in range(causes):
            error = max(error, abs(found.presence[cause][0, 1] - presence[cause]))
            error = max(error, abs(found.blame[cause][0, 1] - blame[cause]))
        slack = 1e-11  # 1 - p of leaks and priors of 1e-6
        assert error <= accuracy + slack
        assert error <= found.error + slack
        assert found.error <= max(accuracy, slack)
        assert log_evidence(structure, seen, accuracy=accuracy)[0] == pytest.approx(
            math.log(total), abs=accuracy + slack
        )


@pytest.mark.parametrize("factor", [1e-100, 1e-3, 1e3, 1e100])
def test_the_scale_of_a_likelihood_hides_nothing(factor: float) -> None:
    """Improbable evidence is found improbable whatever factor its likelihoods carry."""
    crossed = _crossed(1, 12, 11, 1e-4, 1e-5)
    observed = range(12, 23)
    structure = lay_out(crossed.network(), {n: [1] for n in observed}, frozenset(observed))
    found = solve(structure, {n: np.array([0.0, factor]) for n in observed})
    total, presence, _ = crossed.truth()
    assert found.log_evidence[0] - 11 * math.log(factor) == pytest.approx(math.log(total), abs=1e-9)
    for cause in range(12):
        assert found.presence[cause][0, 1] == pytest.approx(presence[cause], abs=1e-10)


def test_impossible_and_nearly_impossible_are_told_apart() -> None:
    """All signs seen, all causes held silent: only the leaks are left, 1e-40 in all; without them nothing."""
    for leak, possible in ((1e-4, True), (0.0, False)):
        crossed = _crossed(2, 8, 10, leak, 1e-2)
        observed = range(8, 18)
        structure = lay_out(crossed.network(), {n: [1] for n in observed}, frozenset(observed))
        seen = {n: np.array([0.0, 1.0]) for n in observed}
        log = float(log_evidence(structure, seen, silent(range(8)))[0])
        if not possible:
            assert log == -math.inf
            assert all(np.isnan(v).all() for v in solve(structure, seen, silent(range(8))).presence.values())
            continue
        # silent: each cause absent, or present without a draw
        quiet = np.log(1 - crossed.prior + crossed.prior * (1 - crossed.chance).prod(1)).sum()
        assert log == pytest.approx(np.log(crossed.leak).sum() + quiet, abs=1e-9)


def test_variants_are_as_sure_as_they_weigh() -> None:
    """Beside a probable variant an improbable one is right to the same absolute error."""
    crossed = _crossed(3, 12, 9, 1e-4, 1e-4)
    observed = range(12, 21)
    structure = lay_out(crossed.network(), {n: [0, 1] for n in observed}, frozenset(observed))
    seen = {n: np.array([[1.0, 0.0], [0.0, 1.0]]) for n in observed}
    found = solve(structure, seen, accuracy=1e-9)
    total, _, _ = crossed.truth()
    assert np.exp(found.log_evidence[1]) == pytest.approx(total, abs=1e-9)


def _three_readings(unlikely: float) -> tuple[Network, dict[int, Array]]:
    """Two causes, each with a sign of its own that is certain and absent, and a sign of both: (unlikely, 1, 0.7)."""
    scale = Scale((GOOD, OVER, OVER), (0, 1, 2))
    causes = [Node(YES_NO, np.array([0.9, 0.1]), True) for _ in range(2)]
    signs = [Node(YES_NO, np.array([1.0, 0.0])) for _ in range(2)]
    both = tuple(Arrow(c, 4, np.array([[1.0, 0.0, 0.0], [0.25, 0.35, 0.4]])) for c in range(2))
    into = ((), (), *((Arrow(c, 2 + c, np.eye(2)),) for c in range(2)), both)
    network = Network((*causes, *signs, Node(scale, np.array([1.0, 0.0, 0.0]))), into)
    absent = np.array([1.0, 0.0])
    return network, {2: absent, 3: absent, 4: np.array([unlikely, 1.0, 0.7])}


@pytest.mark.parametrize("unlikely", [1e-3, 1e-12, 1e-15, 1e-18])
def test_a_small_likelihood_beside_a_large_one_is_not_lost(unlikely: float) -> None:
    """Both causes are excluded, so that the sign is of none, however improbable it is that it was read so."""
    network, seen = _three_readings(unlikely)
    support = {node: np.flatnonzero(values).tolist() for node, values in seen.items()}
    structure = lay_out(network, support, frozenset({4}), asked=[4])
    found = solve(structure, seen)
    assert found.log_evidence[0] == pytest.approx(math.log(0.81 * unlikely), abs=1e-11)
    assert found.states[4][0] == pytest.approx([1.0, 0.0, 0.0], abs=1e-11)
    assert found.presence[0][0, 1] == pytest.approx(0.0, abs=1e-11)
