"""Numbers as a technician says them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.model.frequency import parse_frequency
from diagnose.render import numbers


@pytest.mark.parametrize(
    ("probability", "said"),
    [
        (0.0, "0 of 100"),
        (0.004, "<1 of 100"),
        (0.0149, "1 of 100"),
        (0.854, "85 of 100"),
        (0.99, "99 of 100"),
        (0.9999, ">99 of 100"),
        (1.0, "100 of 100"),
        (math.nan, "not known"),
    ],
)
def test_a_belief_is_told_in_hundred_sets(probability: float, said: str) -> None:
    assert numbers.chance(probability) == said


@pytest.mark.parametrize(
    ("probability", "said"),
    [
        (0.8, "8 of 10"),
        (0.85, "85 of 100"),
        (0.003, "3 of 1000"),
        (0.0123, "12 of 1000"),
        (0.123, "12 of 100"),
        (0.999, "999 of 1000"),
        (1.0, "10 of 10"),
        (0.0, "0 of 10"),
    ],
)
def test_a_stated_frequency_takes_the_fewest_sets_that_show_it(probability: float, said: str) -> None:
    assert numbers.rate(probability) == said


@given(st.floats(min_value=1e-5, max_value=1 - 1e-5))
def test_a_stated_frequency_reads_back_to_two_figures(probability: float) -> None:
    assert parse_frequency(numbers.rate(probability)) == pytest.approx(probability, rel=0.06)


@given(st.floats(min_value=0, max_value=1), st.floats(min_value=0, max_value=1))
def test_a_greater_belief_never_reads_as_a_smaller_one(one: float, other: float) -> None:
    def order(probability: float) -> float:
        text = numbers.chance(probability).partition(" ")[0]
        return float(text.strip("<>")) + (-0.5 if "<" in text else 0.5 if ">" in text else 0)

    low, high = sorted((one, other))
    assert order(low) <= order(high)


@pytest.mark.parametrize(
    ("time", "said"),
    [
        (0.4, "under 1 min"),
        (1, "1 min"),
        (6.4, "6 min"),
        (19.6, "20 min"),
        (31.4, "30 min"),
        (117, "115 min"),
        (118, "2 h"),
        (200, "3.5 h"),
    ],
)
def test_minutes_are_rounded_the_more_the_more_they_are(time: float, said: str) -> None:
    assert numbers.minutes(time) == said


@pytest.mark.parametrize(
    ("number", "unit", "said"),
    [
        (585.04, "V", "585 V"),
        (1234.0, "V", "1230 V"),
        (0.0123456, "A", "0.0123 A"),
        (3.0, "mA", "3 mA"),
        (3.204, "percent", "3.2 %"),
        (-48.3, "V", "-48.3 V"),
        (0.0, "V", "0 V"),
        (9.9996, "", "10"),
        (math.inf, "V", "not known V"),
    ],
)
def test_a_value_has_three_figures_and_its_unit(number: float, unit: str, said: str) -> None:
    assert numbers.value(number, unit) == said


@given(st.floats(min_value=1e-6, max_value=1e9))
def test_three_figures_are_within_half_a_percent(number: float) -> None:
    assert float(numbers.digits(number)) == pytest.approx(number, rel=0.005)


def test_bits_for_and_against() -> None:
    """The sign is shown for evidence and left out for gains; what rounds to nothing has none."""
    assert [numbers.signed(x) for x in (3.16, -0.42, 0.01, -0.01)] == ["+3.2", "-0.4", "0.0", "0.0"]
    assert [numbers.bits(x) for x in (1.44, 0.04)] == ["1.4 bits", "under 0.1 bit"]


def test_counts_agree_in_number() -> None:
    assert [numbers.count(n, "entry", "entries") for n in (0, 1, 2)] == ["no entries", "1 entry", "2 entries"]


@pytest.mark.parametrize(
    ("value", "standard", "told"),
    [
        (87.04, 3.72, ("87.0", "3.7")),
        (0.9232, 0.138, ("0.92", "0.14")),
        (1234.0, 27.0, ("1234", "27")),
        (1234.0, 270.0, ("1230", "270")),
        (5.0, 0.0996, ("5.00", "0.10")),
        (150.0, 9.97, ("150", "10")),
        (0.0, 0.3, ("0.00", "0.30")),
        (12.345, 0.0, ("12.3", "0")),
        (math.nan, 1.0, ("not known", "1")),
    ],
)
def test_a_value_goes_to_the_place_of_its_uncertainty(
    value: float, standard: float, told: tuple[str, str]
) -> None:
    assert numbers.uncertain(value, standard) == told


@given(st.floats(-1e6, 1e6, allow_nan=False), st.floats(1e-6, 1e6, allow_nan=False, exclude_min=True))
def test_rounding_to_the_uncertainty_moves_a_value_by_less_than_a_tenth_of_it(
    value: float, standard: float
) -> None:
    said, spread = numbers.uncertain(value, standard)
    assert abs(float(said) - value) <= 0.0501 * standard
    assert float(spread) == pytest.approx(standard, rel=0.051)
    assert len(spread.replace(".", "").strip("0")) <= 2


@given(st.lists(st.floats(0.0, 100.0), max_size=8))
def test_the_origins_named_make_up_most_of_the_variance(parts: list[float]) -> None:
    """And one fewer would not."""
    given_ = sorted(((f"{n}", part) for n, part in enumerate(parts)), key=lambda item: -item[1])
    named = numbers.most_of(given_)
    assert named == given_[: len(named)]
    whole = sum(part * part for part in parts)
    kept = [part * part for _, part in named]
    assert sum(kept) >= 0.9499 * whole
    assert not named or sum(kept[:-1]) <= 0.9501 * whole
