"""Digits lost and kept where differences are taken, against exact fractions."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest

from diagnose.inference.contraction import plan_contraction
from diagnose.inference.elimination import PLAIN, TWOFOLD, error_bound, run_forward


def exact(value: float) -> Fraction:
    """A double as the fraction it is."""
    return Fraction(float(value))


def test_twofold_tables_keep_twice_the_digits() -> None:
    """A sum that cancels to a few units in the last place of a double is right to twelve digits."""
    rng = np.random.default_rng(5)
    for _ in range(50):
        one = rng.uniform(0.5, 1.0, (1, 3, 4))
        two = rng.uniform(0.5, 1.0, (1, 4))
        signs = np.array([[1.0, -1.0, 1.0]])
        # the last row is set so that the whole nearly vanishes
        partial = float(signs[0, :2] @ (one[0, :2] @ two[0]))
        one[0, 2] *= -partial / float(one[0, 2] @ two[0])
        plan = plan_contraction([(0, 1), (1,), (0,)], [3, 4])
        truth = sum(
            exact(signs[0, i]) * exact(one[0, i, j]) * exact(two[0, j]) for i in range(3) for j in range(4)
        )
        run = run_forward(plan, [one, two, signs], TWOFOLD)
        (scalar,) = plan.scalars
        scale = math.prod(float(by.item()) for by in run.scales if by is not None)
        found = float(TWOFOLD.plain(run.tables[scalar]).item()) * scale
        assert found == pytest.approx(float(truth), rel=1e-12)


def test_the_error_bound_holds_and_is_not_idle() -> None:
    """What plain tables lose by differences stays below the bound, which is within a millionfold of it."""
    rng = np.random.default_rng(7)
    close = 0
    for _ in range(200):
        weights = rng.uniform(0.1, 1.0, (1, 6))
        tiny = 10.0 ** rng.uniform(-9, -2)
        links = 1.0 - tiny * rng.uniform(0.1, 1.0, (1, 6, 2))
        links[..., 1] = 1.0
        difference = np.array([[-1.0, 1.0]])
        plan = plan_contraction([(0,), (0, 1), (1,)], [6, 2])
        run = run_forward(plan, [weights, links, difference], PLAIN)
        truth = sum(exact(weights[0, i]) * (exact(links[0, i, 1]) - exact(links[0, i, 0])) for i in range(6))
        lost = abs(math.exp(run.log_sum[0]) / float(truth) - 1.0)
        bound = float(error_bound(run)[0])
        assert lost <= bound + 1e-15
        close += bound < 1e6 * max(lost, 1e-16)
    assert close > 100
