"""Frequencies: one way of writing chances."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.model.frequency import FrequencyError, parse_frequency


@pytest.mark.parametrize(
    ("written", "probability"),
    [
        ("8 of 10", 0.8),
        ("8.5 of 10", 0.85),
        ("3 of 1000", 0.003),
        ("  3   of  1000 ", 0.003),
        ("0 of 10", 0.0),
        ("10 of 10", 1.0),
        ("0.25", 0.25),
        (".5", 0.5),
        ("1e-3", 0.001),
        (0.3, 0.3),
        (1, 1.0),
    ],
)
def test_written_forms(written: str | float, probability: float) -> None:
    """Counts of sets and decimals."""
    assert parse_frequency(written) == pytest.approx(probability, rel=1e-15)


@pytest.mark.parametrize(
    ("written", "sentence"),
    [
        (
            "often",
            "`often` is no frequency: write `8 of 10`, `3 of 1000` or a decimal from 0 to 1",
        ),
        ("80 %", "`80 %` is no frequency: write `8 of 10`, `3 of 1000` or a decimal from 0 to 1"),
        (
            "11 of 10",
            "`11 of 10` is not between none and all of them: "
            "write `8 of 10`, `3 of 1000` or a decimal from 0 to 1",
        ),
        ("3 of 0", "`3 of 0` counts no sets at all"),
        (
            1.2,
            "`1.2` is not between none and all of them: "
            "write `8 of 10`, `3 of 1000` or a decimal from 0 to 1",
        ),
        (-0.1, None),
        (float("nan"), None),
        (True, None),
        ("", None),
        ("8 of ten", None),
        ("9" * 400 + " of 10", None),
    ],
)
def test_what_is_no_frequency(written: str | float, sentence: str | None) -> None:
    """Words, percentages and impossible counts are refused."""
    with pytest.raises(FrequencyError) as caught:
        parse_frequency(written)
    if sentence is not None:
        assert str(caught.value) == sentence


@given(st.text(max_size=60))
def test_any_text_gives_a_probability_or_an_error(text: str) -> None:
    """Nothing else comes out."""
    outcome = _outcome(text)
    assert 0.0 <= outcome <= 1.0 if isinstance(outcome, float) else outcome


def _outcome(text: str) -> float | str:
    """The probability, or what is said instead."""
    try:
        return parse_frequency(text)
    except FrequencyError as error:
        return str(error)


@given(st.integers(0, 100), st.sampled_from([10, 100, 1000, 10_000]))
def test_a_count_of_sets_is_its_share(count: int, sets: int) -> None:
    """So many of so many, and the decimal of the same."""
    seen = min(count, sets)
    assert parse_frequency(f"{seen} of {sets}") == parse_frequency(repr(seen / sets)) == seen / sets
