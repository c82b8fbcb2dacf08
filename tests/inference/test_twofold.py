"""Digits lost and kept where differences are taken, against exact fractions."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest

from diagnose.inference.arithmetic import TWOFOLD
from diagnose.inference.elimination import run_backward, run_forward
from diagnose.inference.planning import plan_contraction


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
        if truth < 0:
            signs, truth = -signs, -truth
        for shift in (None, rng.uniform(1.0, 2.0, 3).tolist()):
            run = run_forward(plan, [one, two, signs], TWOFOLD, shift)
            assert math.exp(run.log_sum[0]) == pytest.approx(float(truth), rel=1e-12)
            by_signs = run_backward(run)[2]
            assert by_signs is not None
            terms = [sum(exact(one[0, i, j]) * exact(two[0, j]) for j in range(4)) for i in range(3)]
            np.testing.assert_allclose(by_signs[0] / by_signs[0, 0], [float(t / terms[0]) for t in terms])


def test_what_cancels_to_the_last_place_is_nothing() -> None:
    """Equal terms of opposite sign leave zero, not a rest of rounding that looks like a small chance."""
    rng = np.random.default_rng(6)
    one = rng.uniform(0.5, 1.0, (1, 2, 5))
    one[0, 1] = one[0, 0, ::-1]
    two = np.ones((1, 5)) / 3.0
    plan = plan_contraction([(0, 1), (1,), (0,)], [2, 5])
    run = run_forward(plan, [one, two, np.array([[1.0, -1.0]])], TWOFOLD)
    assert np.isneginf(run.log_sum[0])
