"""Running the program on plain networks, and comparing what it says with the truth."""

from __future__ import annotations

import math
import os
from collections.abc import Collection, Mapping, Sequence

import numpy as np

from diagnose.inference.layout import Impossible, lay_out
from diagnose.inference.scale import Array
from diagnose.inference.solve import Blameless, Solution, solve
from diagnose.inference.structure import Structure
from tests import strategies
from tests.oracle import PlainEvidence, PlainNetwork

NEAR = 1e-9


def how_many(usual: int) -> int:
    """Number of random networks of a test.

    The environment variable DIAGNOSE_TEST_NETWORKS multiplies it: 10 for a thorough run of some
    minutes, 0.1 for a quick look.
    """
    return max(1, round(usual * float(os.environ.get("DIAGNOSE_TEST_NETWORKS", "1"))))


def laid_out(
    plain: PlainNetwork,
    evidence: PlainEvidence,
    asked: Collection[int] = (),
    marks: bool = True,
) -> Structure:
    """The program's layout of a plain question."""
    support = strategies.support(strategies.likelihoods(evidence))
    return lay_out(strategies.network(plain), support, evidence.signs, asked, marks=marks)


def solved(
    plain: PlainNetwork,
    evidence: PlainEvidence,
    asked: Collection[int] = (),
    held: Collection[int] = (),
) -> Solution | None:
    """The program's solution; None where it finds the evidence impossible."""
    try:
        structure = laid_out(plain, evidence, asked)
    except Impossible:
        return None
    solution = solve(structure, strategies.likelihoods(evidence), silent(held))
    return None if np.isneginf(solution.log_evidence[0]) else solution


def silent(parts: Collection[int]) -> dict[int, Blameless]:
    """These parts held blameless."""
    return {part: Blameless(np.zeros(1), np.ones(1)) for part in parts}


def assert_near(found: Mapping[int, Array], truth: Sequence[Sequence[object]], what: str) -> None:
    """Posteriors of one variant agree with rows of fractions or floats, node by node."""
    for node, values in found.items():
        expected = [float(value) for value in truth[node]]  # type: ignore[arg-type]
        np.testing.assert_allclose(values[0], expected, rtol=0, atol=NEAR, err_msg=f"{what} {node}")


def assert_log_near(found: float, truth: float) -> None:
    """Two natural logarithms of probabilities agree to NEAR relative error of the probability."""
    assert abs(math.expm1(found - truth)) < NEAR, (found, truth)


def log_of(fraction: object) -> float:
    """Natural logarithm of a fraction, also where it is too small for a float."""
    numerator, denominator = fraction.numerator, fraction.denominator  # type: ignore[attr-defined]
    return math.log(numerator) - math.log(denominator)
