"""Shapes over the bands: their likelihoods held to numeric integration, and the laws they must keep."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad, simpson  # type: ignore[import-untyped]
from scipy.stats import multivariate_normal, norm  # type: ignore[import-untyped]

from diagnose.series.over_bands import EVEN, Readings, Shape, log_likelihoods, shape_likelihoods, where

SHAPES = {
    "all_bands": Shape("all", (0.05, 0.75)),
    "dead": Shape("all", (0.0, 0.05)),
    "falling": Shape("falling", (0.05, 0.75)),
    "one_band": Shape("one_band", (0.0, 0.75)),
    "above_one": Shape("above", (0.0, 0.75)),
}
MULTIPLICATION = [1.0, 2.0, 4.0, 6.0, 8.0]  # a set on five bands from an oscillator at 3.5 MHz

ratios_of_five = st.lists(st.floats(0.0, 1.6), min_size=5, max_size=5)
some_of_five = st.lists(st.none() | st.floats(0.0, 1.6), min_size=5, max_size=5)
uncertainties = st.lists(st.floats(0.01, 0.3), min_size=5, max_size=5)


def leader(ratios: Sequence[float | None], **how: Any) -> str:
    """The likeliest shape of readings good to five percent."""
    found = shape_likelihoods(ratios, [0.05] * len(ratios), SHAPES, spread=how.pop("spread", 0.1), **how)
    return max(found, key=lambda name: found[name])


@pytest.mark.parametrize(
    ("ratios", "shape"),
    [
        ([1.0, 1.05, 0.95, 1.0, 0.97], EVEN),
        ([0.5, 0.55, 0.45, 0.5, 0.52], "all_bands"),
        ([0.01, 0.0, 0.02, 0.0, 0.01], "dead"),
        ([1.0, 0.9, 0.75, 0.6, 0.45], "falling"),
        ([1.0, 1.0, 0.9, 0.7, 0.4], "falling"),
        ([1.0, 1.0, 0.4, 1.0, 1.0], "one_band"),
        ([0.3, 1.0, 1.0, 1.0, 1.0], "one_band"),
        ([1.0, 1.0, 0.4, 0.45, 0.4], "above_one"),
        ([1.0, 0.1, 0.1, 0.15, 0.1], "above_one"),
        ([1.0, None, 0.4, None, 0.4], "above_one"),
        ([None, 0.5, None, 0.5, 0.5], "all_bands"),
    ],
)
def test_shapes_are_told_as_a_technician_would(ratios: list[float | None], shape: str) -> None:
    """The drive table of a set on five bands, as written beside its chart."""
    assert leader(ratios) == shape


def test_low_on_the_highest_band_alone_may_be_either() -> None:
    """One band, or all above the last multiplier: the table cannot tell."""
    found = shape_likelihoods([1.0, 1.0, 1.0, 1.0, 0.4], [0.05] * 5, SHAPES, spread=0.1)
    assert 0.5 < found["above_one"] / found["one_band"] < 2.0
    assert found["all_bands"] < 1e-6


def test_shapes_upward_are_the_same_shapes() -> None:
    """A size above one: drive too high on all bands, or on one."""
    high = {"all_high": Shape("all", (1.25, 2.5)), "one_high": Shape("one_band", (1.25, 2.5)), **SHAPES}
    for ratios, name in (([1.5] * 5, "all_high"), ([1.0, 1.0, 1.7, 1.0, 1.0], "one_high")):
        found = shape_likelihoods(ratios, [0.05] * 5, high, spread=0.08)
        assert max(found, key=lambda shape: found[shape]) == name


def marginal(readings: Readings, beta: Sequence[float], size: tuple[float, float]) -> float:
    """The integral over size and common deviation by scipy's Simpson rule, band by band, from the definition."""
    common = np.linspace(-8.0 * readings.common, 8.0 * readings.common, 301)[:, None]
    sizes = np.linspace(*size, 801)[None, :]
    density = norm.pdf(common, 0.0, readings.common) * np.ones_like(sizes)
    for ratio, own, share in zip(readings.ratios, readings.uncertainties, beta, strict=True):
        mean = (1.0 - share) * (1.0 + common) + share * sizes
        density = density * norm.pdf(ratio, mean, math.hypot(own, readings.spread))
    over_common = simpson(density, x=common[:, 0], axis=0)
    return float(simpson(over_common, x=sizes[0])) / (size[1] - size[0])


@pytest.mark.parametrize("ratios", [[1.0, 0.8, 0.6], [0.5, 0.6, 0.4], [1.1, 1.0, 0.3], [0.9, 0.4, 1.2]])
def test_the_closed_form_is_the_integral(ratios: list[float]) -> None:
    """Three bands, every shape, both unknowns integrated numerically over every place."""
    readings = Readings(ratios, [0.05, 0.08, 0.06], spread=0.1, common=0.12)
    found = log_likelihoods(readings, SHAPES)
    forms = {
        "all_bands": [[1, 1, 1]],
        "dead": [[1, 1, 1]],
        "falling": [[0, 0.5**bend, 1] for bend in (0.5, 1.0, 2.0)],
        "one_band": [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
        "above_one": [[0, 1, 1], [0, 0, 1]],
    }
    for name, betas in forms.items():
        expected = np.mean([marginal(readings, beta, SHAPES[name].size) for beta in betas])
        assert math.exp(found[name]) == pytest.approx(expected, rel=1e-4), name


@given(ratios_of_five, uncertainties, st.floats(0.0, 0.3))
def test_a_good_set_is_a_normal_distribution(ratios: list[float], own: list[float], common: float) -> None:
    """About one, with what all bands share off the diagonal; by scipy."""
    readings = Readings(ratios, own, spread=0.1, common=common)
    covariance = np.diag(np.array(own) ** 2 + 0.01) + common**2
    expected = multivariate_normal.logpdf(ratios, np.ones(5), covariance)
    assert log_likelihoods(readings, {})[EVEN] == pytest.approx(expected, rel=1e-9, abs=1e-9)


@settings(max_examples=20)
@given(some_of_five, st.floats(0.05, 0.2), st.integers(1, 4))
def test_densities_add_up_to_one(ratios: list[float | None], own: float, place: int) -> None:
    """Over all values that one more band may read, the density is that of the readings without it."""
    without = [ratio if index != place else None for index, ratio in enumerate(ratios)]
    for name, shape in SHAPES.items():
        before = log_likelihoods(Readings(without, [own] * 5, looked=0.0), {name: shape})[name]

        def density(value: float, name: str = name, shape: Shape = shape, before: float = before) -> float:
            filled = [value if index == place else ratio for index, ratio in enumerate(without)]
            found = log_likelihoods(Readings(filled, [own] * 5, looked=0.0), {name: shape})[name]
            return math.exp(found - before)

        if before > -600.0:
            total = quad(density, -2.0, 4.0, points=[0.0, 0.5, 1.0], epsrel=1e-6, limit=200)[0]
            assert total == pytest.approx(1.0, rel=1e-3)


@given(ratios_of_five, uncertainties, st.permutations(range(5)))
def test_the_order_of_bands_matters_only_where_it_must(
    ratios: list[float], own: list[float], order: list[int]
) -> None:
    """Even, all and one band know no order."""
    shapes = {name: SHAPES[name] for name in ("all_bands", "dead", "one_band")}
    here = log_likelihoods(Readings(ratios, own, common=0.1), shapes)
    mixed = Readings([ratios[place] for place in order], [own[place] for place in order], common=0.1)
    there = log_likelihoods(mixed, shapes)
    for name in here:
        assert here[name] == pytest.approx(there[name], rel=1e-9, abs=1e-8)


@given(st.lists(st.floats(0.2, 0.6), min_size=2, max_size=6), st.floats(0.01, 0.1))
def test_a_good_band_kills_all(low: list[float], own: float) -> None:
    """Bands that are low together speak for all of them, until one more reads as it should."""
    shapes = {
        "all_bands": SHAPES["all_bands"],
        "one_band": SHAPES["one_band"],
        "above_one": SHAPES["above_one"],
    }
    before = shape_likelihoods([None, *low], [own] * (len(low) + 1), shapes, spread=0.05)
    after = shape_likelihoods([1.0, *low], [own] * (len(low) + 1), shapes, spread=0.05)
    assert before["all_bands"] == 1.0
    assert after["all_bands"] < 0.05
    assert after["all_bands"] < after["above_one"]


@given(st.floats(0.1, 0.6), st.integers(0, 4))
def test_one_band_alone_says_nothing_between_one_and_all(ratio: float, place: int) -> None:
    """If it was read because the trouble shows there; and next to nothing if it may be any."""
    ratios: list[float | None] = [None] * 5
    ratios[place] = ratio
    shapes = {"all_bands": Shape("all", (0.05, 0.75)), "one_band": Shape("one_band", (0.05, 0.75))}
    sure = shape_likelihoods(ratios, [0.05] * 5, shapes, looked=1.0)
    assert sure["all_bands"] == pytest.approx(sure["one_band"])
    usual = shape_likelihoods(ratios, [0.05] * 5, shapes)
    assert 0.5 < usual["one_band"] / usual["all_bands"] <= 1.0


@given(st.integers(0, 4))
def test_a_good_reading_on_one_band_leaves_the_others_open(place: int) -> None:
    """It acquits the set of being low everywhere, not the other bands."""
    ratios: list[float | None] = [None] * 5
    ratios[place] = 1.0
    found = shape_likelihoods(ratios, [0.05] * 5, SHAPES)
    assert found["all_bands"] < 0.01
    assert found["one_band"] > 0.3


def test_no_reading_says_nothing() -> None:
    """All shapes are then alike."""
    found = shape_likelihoods([None] * 5, [0.05] * 5, SHAPES)
    assert set(found.values()) == {1.0}


@given(some_of_five, uncertainties, st.floats(0.0, 1.0))
def test_likelihoods_are_scaled_to_the_largest(
    ratios: list[float | None], own: list[float], looked: float
) -> None:
    """The largest is 1, none is below zero."""
    found = shape_likelihoods(ratios, own, SHAPES, spread=0.1, common=0.1, looked=looked)
    assert max(found.values()) == 1.0
    assert all(0.0 <= value <= 1.0 for value in found.values())


@given(ratios_of_five, uncertainties, st.floats(0.1, 10.0))
def test_the_scale_of_the_ratio_does_not_matter(ratios: list[float], own: list[float], times: float) -> None:
    """With all bands alike at a size that scales as well, the same ratios of likelihoods come out."""
    shapes = {"low": Shape("all", (0.1, 0.5)), "lower": Shape("all", (0.02, 0.1))}
    scaled = {
        name: Shape("all", (shape.size[0] * times, shape.size[1] * times)) for name, shape in shapes.items()
    }
    here = log_likelihoods(Readings(ratios, own, spread=0.1), shapes)
    there = log_likelihoods(
        Readings([ratio * times for ratio in ratios], [u * times for u in own], spread=0.1 * times), scaled
    )
    difference = here["low"] - here["lower"]
    assert there["low"] - there["lower"] == pytest.approx(difference, rel=1e-6, abs=1e-6)


def test_a_shape_above_begins_where_the_multiplication_rises() -> None:
    """Two bands on one multiplication mostly stand or fall together, but a range of the oscillator may begin there."""
    ratios = [1.0, 1.0, 0.4, 0.4]
    shape = {"above_one": SHAPES["above_one"]}
    on_a_rise = log_likelihoods(Readings(ratios, [0.05] * 4, multiplication=[1, 2, 4, 4]), shape)
    off_a_rise = log_likelihoods(Readings(ratios, [0.05] * 4, multiplication=[1, 1, 1, 4]), shape)
    unknown = log_likelihoods(Readings(ratios, [0.05] * 4), shape)
    flat = log_likelihoods(Readings(ratios, [0.05] * 4, multiplication=[2, 2, 2, 2]), shape)
    assert on_a_rise["above_one"] > unknown["above_one"] > off_a_rise["above_one"]
    assert flat == unknown


def test_where_the_band_is() -> None:
    """The place of one band, and the first of those above, with what the readings leave open."""
    one = where(Readings([1.0, 1.0, 0.4, 1.0, 1.0], [0.05] * 5), SHAPES["one_band"])
    assert one[2] > 0.999
    above = where(Readings([1.0, None, None, 0.4, 0.4], [0.05] * 5), SHAPES["above_one"])
    assert above[0] == 0.0
    assert above[1] == pytest.approx(above[2]) == pytest.approx(above[3]) == pytest.approx(1 / 3, abs=0.01)
    rising = where(
        Readings([1.0, None, None, 0.4, 0.4], [0.05] * 5, multiplication=[1, 1, 2, 2, 2]), SHAPES["above_one"]
    )
    assert rising[2] == pytest.approx(1.0 / 1.5, abs=0.01)  # four times as likely as each of its neighbours
    assert sum(above) == pytest.approx(1.0)
    with pytest.raises(ValueError, match="has no one place"):
        where(Readings([1.0] * 5, [0.05] * 5), SHAPES["falling"])


def test_made_up_faults_are_recovered() -> None:
    """Sizes, places and scatter drawn at random: the right shape leads in nine of ten tables."""
    rng = np.random.default_rng(7)
    right = dict.fromkeys([EVEN, *SHAPES], 0)
    for name in right:
        for _ in range(100):
            means = np.ones(5)
            size = rng.uniform(0.1, 0.5)
            if name == "all_bands":
                means[:] = size
            elif name == "dead":
                means[:] = 0.01
            elif name == "falling":
                means = 1.0 - (1.0 - size) * np.linspace(0.0, 1.0, 5)
            elif name == "one_band":
                means[rng.integers(0, 4)] = size
            elif name == "above_one":
                means[rng.integers(1, 4) :] = size
            right[name] += leader(list(means + rng.normal(0.0, 0.06, 5)), spread=0.04) == name
    assert min(right.values()) >= 80, right
    assert sum(right.values()) >= 540, right


@pytest.mark.parametrize(
    ("ratios", "own", "how", "reason"),
    [
        ([], [], {}, "do not go together"),
        ([1.0, 1.0], [0.1], {}, "do not go together"),
        ([1.0, 1.0], [0.1, 0.1], {"multiplication": [1.0]}, "do not go together"),
        ([math.nan, 1.0], [0.1, 0.1], {}, "the reading of band 1 is no number"),
        ([1.0, 1.0], [0.1, -0.1], {}, "the reading of band 2 is no number"),
        ([1.0, 1.0], [0.1, 0.0], {"spread": 0.0}, "without any uncertainty"),
        ([1.0, 1.0], [0.1, 0.1], {"spread": -0.1}, "not below zero"),
        ([1.0, 1.0], [0.1, 0.1], {"common": math.inf}, "not below zero"),
        ([1.0, 1.0], [0.1, 0.1], {"looked": 1.5}, "between 0 and 1"),
    ],
)
def test_what_is_no_table_is_refused(
    ratios: list[float], own: list[float], how: dict[str, Any], reason: str
) -> None:
    """With the band that is at fault."""
    with pytest.raises(ValueError, match=reason):
        shape_likelihoods(ratios, own, SHAPES, **how)


def test_a_shape_that_is_none_is_refused() -> None:
    """Of an unknown kind, without a range, or under the name of the good set."""
    with pytest.raises(ValueError, match="is no kind of shape"):
        Shape("wavy", (0.0, 1.0))
    with pytest.raises(ValueError, match="is a range"):
        Shape("all", (0.5, 0.5))
    with pytest.raises(ValueError, match="can be no shape"):
        shape_likelihoods([1.0], [0.1], {EVEN: SHAPES["dead"]})


def test_readings_beyond_all_reason_go_to_the_nearest() -> None:
    """A thousand times too much, a hundred deviations too little: still numbers, and a leader."""
    for ratios in ([1000.0] * 5, [-50.0] * 5, [1e6, 0.0, 1e6, 0.0, 1e6]):
        found = shape_likelihoods(ratios, [0.001] * 5, SHAPES, spread=0.001)
        assert max(found.values()) == 1.0
        assert not any(math.isnan(value) for value in found.values())
