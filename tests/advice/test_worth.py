"""Expected minutes and information gain against brute force over every order of remedies."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.advice.worth import Remedies, expected_minutes, gain_bits, minutes_saved

Row = list[Fraction]


def brute_minutes(minutes: Row, works: Row, search: Fraction, weights: Row) -> Fraction:
    """Least expected minutes over every order and every moment of turning to the search."""
    best = search
    for order in permutations(range(len(weights))):
        spent, not_yet = Fraction(0), Fraction(1)
        for index in order:
            spent += minutes[index] * not_yet
            not_yet -= weights[index] * works[index]
            best = min(best, spent + search * not_yet)
    return best


fractions = st.fractions(min_value=0, max_value=1, max_denominator=50)
counts = st.integers(min_value=1, max_value=4)


@st.composite
def troubles(draw: st.DrawFn) -> tuple[Row, Row, Fraction, list[Row]]:
    """Remedies and a joint table of up to four outcomes and four remedies."""
    remedies, outcomes = draw(counts), draw(counts)
    minutes = [Fraction(draw(st.integers(1, 90))) for _ in range(remedies)]
    works = [draw(fractions) for _ in range(remedies)]
    joint = [[draw(fractions) for _ in range(remedies)] for _ in range(outcomes)]
    total = sum(sum(row) for row in joint)
    if total == 0:
        joint[0][0] = total = Fraction(1)
    table = [[value / total for value in row] for row in joint]
    return minutes, works, Fraction(draw(st.integers(30, 400))), table


def as_remedies(minutes: Row, works: Row, search: Fraction) -> Remedies:
    return Remedies(np.array([float(m) for m in minutes]), np.array([float(w) for w in works]), float(search))


@given(troubles())
def test_minutes_saved_agree_with_every_order_tried(
    trouble: tuple[Row, Row, Fraction, list[Row]],
) -> None:
    """The order by cure per minute is the best of all orders, before and after each outcome."""
    minutes, works, search, joint = trouble
    before = [sum((row[i] for row in joint), Fraction(0)) for i in range(len(minutes))]
    expected = brute_minutes(minutes, works, search, before)
    remedies = as_remedies(minutes, works, search)
    weights = np.array([[float(w) for w in before]])
    assert expected_minutes(remedies, weights)[0] == pytest.approx(float(expected), rel=1e-9)
    later = Fraction(0)
    for row in joint:
        chance = sum(row, Fraction(0))
        if chance:
            later += chance * brute_minutes(minutes, works, search, [v / chance for v in row])
    table = np.array([[float(v) for v in row] for row in joint])
    saved = minutes_saved(remedies, table)
    assert saved == pytest.approx(float(expected - later), abs=1e-7)
    assert saved >= -1e-7  # looking never makes the best plan longer


@given(troubles())
def test_gain_is_the_mutual_information(trouble: tuple[Row, Row, Fraction, list[Row]]) -> None:
    """Gain is entropy of the needed remedy before, less what is left on average after."""

    def entropy(row: Row) -> float:
        total = sum(row, Fraction(0))
        return -sum(float(v / total) * math.log2(float(v / total)) for v in row if v > 0)

    joint = trouble[3]
    before = entropy([sum((row[i] for row in joint), Fraction(0)) for i in range(len(joint[0]))])
    after = sum(float(sum(row, Fraction(0))) * entropy(row) for row in joint if sum(row) > 0)
    table = np.array([[float(v) for v in row] for row in joint])
    assert gain_bits(table) == pytest.approx(before - after, abs=1e-9)


def test_nothing_blamed_saves_nothing() -> None:
    """A table without mass has no needed remedy and nothing to gain."""
    remedies = Remedies(np.array([10.0]), np.array([1.0]), 60.0)
    assert minutes_saved(remedies, np.zeros((2, 1))) == 0
    assert gain_bits(np.zeros((2, 1))) == 0


def test_a_check_that_tells_two_equal_suspects_apart_saves_half_a_wrong_remedy() -> None:
    """Two suspects of equal blame, 20 minutes each: half the time the wrong one would be tried first."""
    remedies = Remedies(np.array([20.0, 20.0]), np.array([1.0, 1.0]), 500.0)
    assert minutes_saved(remedies, np.array([[0.5, 0.0], [0.0, 0.5]])) == pytest.approx(10.0)
    assert gain_bits(np.array([[0.5, 0.0], [0.0, 0.5]])) == pytest.approx(1.0)
