"""Direct current and harmonics of pulses, against closed forms, another quadrature and published tables."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.circuits.class_c_pulse import component, ideal_efficiency, over_flow

# Half angle in degrees: share of the crest that is direct current, and that is fundamental, for straight tubes.
# A. I. Berg's coefficients as tabulated in handbooks of transmitters; three figures, from memory.
BERG = {
    30: (0.111, 0.215), 40: (0.147, 0.280), 50: (0.183, 0.339), 60: (0.218, 0.391), 70: (0.253, 0.436),
    80: (0.286, 0.472), 90: (0.319, 0.500), 100: (0.350, 0.520), 110: (0.379, 0.531), 120: (0.406, 0.536),
    180: (0.500, 0.500),
}  # fmt: skip
# The same for harmonics 2 and 3 of the best multiplier angles, 60 and 40 degrees (120/n); from memory.
BEST_MULTIPLIER = {(60, 2): 0.276, (40, 3): 0.185}

ANGLES = st.floats(0.05, math.pi)
POWERS = st.floats(1.0, 2.5)


@pytest.mark.parametrize("degrees", BERG)
def test_straight_tubes_agree_with_the_published_table(degrees: int) -> None:
    """Every tabulated coefficient, to one unit of its last figure."""
    direct, fundamental = BERG[degrees]
    half = math.radians(degrees)
    assert component(half, 0, power=1.0) == pytest.approx(direct, abs=0.001)
    assert component(half, 1, power=1.0) == pytest.approx(fundamental, abs=0.001)


@pytest.mark.parametrize(("degrees", "harmonic"), BEST_MULTIPLIER)
def test_harmonics_agree_with_the_published_table(degrees: int, harmonic: int) -> None:
    """Second and third harmonic where multipliers are run."""
    found = component(math.radians(degrees), harmonic, power=1.0)
    assert found == pytest.approx(BEST_MULTIPLIER[degrees, harmonic], abs=0.001)


@given(ANGLES)
def test_straight_tubes_agree_with_the_closed_forms(half: float) -> None:
    """The integrals of a cosine tip, which textbooks give in closed form (Everitt 1934)."""
    denominator = math.pi * (1.0 - math.cos(half))
    direct = (math.sin(half) - half * math.cos(half)) / denominator
    fundamental = (half - math.sin(half) * math.cos(half)) / denominator
    assert component(half, 0, power=1.0) == pytest.approx(direct, rel=1e-5, abs=1e-7)
    assert component(half, 1, power=1.0) == pytest.approx(fundamental, rel=1e-5, abs=1e-7)


@given(POWERS)
def test_half_a_cycle_agrees_with_the_beta_function(power: float) -> None:
    """At a quarter turn the integrals are those of powers of a cosine: sqrt(pi) G((n+1)/2) / (2 G(n/2+1))."""

    def whole(exponent: float) -> float:
        return math.sqrt(math.pi) * math.gamma((exponent + 1) / 2) / (2 * math.gamma(exponent / 2 + 1))

    assert component(math.pi / 2, 0, power) == pytest.approx(whole(power) / math.pi, rel=1e-7)
    assert component(math.pi / 2, 1, power) == pytest.approx(2 * whole(power + 1) / math.pi, rel=1e-7)


def test_three_halves_all_round_is_exact() -> None:
    """((1 + cos p)/2)**1.5 is cos(p/2)**3, whose mean is 4/(3 pi) and fundamental 8/(5 pi)."""
    assert component(math.pi, 0) == pytest.approx(4 / (3 * math.pi), rel=1e-9)
    assert component(math.pi, 1) == pytest.approx(8 / (5 * math.pi), rel=1e-9)


@given(ANGLES, POWERS, st.integers(0, 3))
def test_another_quadrature_gives_the_same(half: float, power: float, harmonic: int) -> None:
    """Ten thousand midpoints of the pulse as it is defined."""
    phase = half * (np.arange(10_000) + 0.5) / 10_000
    tip = np.maximum(np.cos(phase) - math.cos(half), 0.0) / (1.0 - math.cos(half))
    total = float(np.mean(tip**power * np.cos(harmonic * phase)))
    mean = total * half / math.pi * (1 if harmonic == 0 else 2)
    assert component(half, harmonic, power) == pytest.approx(mean, abs=2e-6)


@given(st.floats(0.05, 3.0), st.floats(0.02, 0.14))
def test_shorter_pulses_are_more_efficient(half: float, longer: float) -> None:
    """The most that an angle can give falls as the angle grows, from 1 towards a half and over."""
    assert ideal_efficiency(half) > ideal_efficiency(half + longer)
    assert 0.5 < ideal_efficiency(half) < 1.0


def test_class_b_gives_the_textbook_efficiency() -> None:
    """78.5 percent for half a cycle of a straight tube."""
    assert ideal_efficiency(math.pi / 2, power=1.0) == pytest.approx(math.pi / 4, rel=1e-5)


@given(ANGLES)
def test_nodes_take_the_mean_over_the_cycle(half: float) -> None:
    """The mean of one over the flow is the share of the cycle that it takes."""
    phase, weight = over_flow(half)
    assert float(weight.sum()) == pytest.approx(half / math.pi, rel=1e-9)
    assert 0.0 < float(phase.min()) < float(phase.max()) <= half


@pytest.mark.parametrize("half", [0.0, -0.1, 3.2])
def test_an_angle_that_cannot_be_is_refused(half: float) -> None:
    """Nothing, less, and more than half a turn."""
    with pytest.raises(ValueError, match="half the angle of flow"):
        component(half, 0)
