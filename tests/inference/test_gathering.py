"""What gathers on a node: the machine ends where all the draws taken together end."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import numpy as np
import pytest

from diagnose.inference.gathering import BY_CLASS, BY_SLOT, gathering
from diagnose.inference.scale import DOWN, GOOD, OVER, UP, Scale
from tests.oracle import PlainNode, combine
from tests.strategies import Seeded, plain_network

LEVEL = Scale((GOOD, OVER, DOWN, UP), (0, 1, 1, 1))


def _scales() -> list[tuple[Scale, PlainNode]]:
    found = {}
    for seed in range(60):
        for node in plain_network(Seeded(seed)).nodes:
            split = tuple(float(s) for s in node.split)
            assert len(split) == 3
            found[Scale(node.sides, node.ranks, split, frozenset(node.mute))] = node
    return list(found.items())


def _every_slot(size: int) -> tuple[int, ...]:
    return tuple(range(2 * size))


def test_marked_and_unmarked_draws_end_where_they_should() -> None:
    """Up to three draws in any order: states as combined at once, the mark where it is visible.

    In cumulative form what several draws do is the product of what each does.
    """
    checked = 0
    for scale, node in _scales():
        states = scale.size
        every = (1 << states) - 2
        machine = gathering(scale, every, every, _every_slot(states), BY_SLOT)
        assert machine is not None
        draws = [(s, m) for s in range(states) for m in (0, 1) if s or not m]
        for drawn in [*product(draws, repeat=2), *product(draws[1:5], repeat=3)]:
            value = np.ones(machine.size)
            for state, mark in drawn:
                value = value * machine.below[state, mark]
            found = np.zeros(2 * states)
            found[list(machine.slots)] = value @ machine.ends
            expected = np.zeros(2 * states)
            for state, share in combine(node, [state for state, _ in drawn]):
                lit = state != 0 and state not in node.mute and (state, 1) in drawn
                expected[state + states * lit] += float(share)
            np.testing.assert_allclose(found, expected, atol=1e-12)
            checked += 1
    assert checked > 5000


@pytest.mark.parametrize("observed", range(4))
def test_the_smallest_machine_for_an_observation(observed: int) -> None:
    """A level seen good: nothing, down, up, or both. Seen absent: nothing, or absent. And so on."""
    classes = tuple(0 if slot == observed else -1 for slot in range(8))
    machine = gathering(LEVEL, 0b1110, 0, classes, BY_CLASS)
    assert machine is not None
    assert machine.size == {0: 4, 1: 2, 2: 4, 3: 4}[observed]


def test_a_symptom_seen_good_needs_one_value() -> None:
    """Every draw on it is excluded, so nothing needs telling apart."""
    machine = gathering(Scale((GOOD, OVER), (0, 1)), 0b10, 0b10, (0, -1, -1, -1), BY_CLASS)
    assert machine is not None
    assert machine.size == 1
    assert not machine.below[1].any()


def test_ends_of_one_class_are_not_told_apart() -> None:
    """Where absent and low do the same below, the machine has good, bad, up and both."""
    apart = gathering(LEVEL, 0b1110, 0, (0, 1, 2, 3, -1, -1, -1, -1), BY_CLASS)
    merged = gathering(LEVEL, 0b1010, 0, (0, 1, -1, 2, -1, -1, -1, -1), BY_CLASS)
    alike = gathering(LEVEL, 0b1110, 0, (0, 1, 1, 1, -1, -1, -1, -1), BY_CLASS)
    assert apart is not None
    assert merged is not None
    assert alike is not None
    assert (apart.size, merged.size, alike.size) == (5, 3, 5)


def test_no_end_that_matters() -> None:
    """Only an over state observed that nothing can draw: impossible."""
    assert gathering(LEVEL, 0b1100, 0, (-1, 0, -1, -1, -1, -1, -1, -1), BY_CLASS) is None


def test_a_split_may_exclude_good() -> None:
    """Pushed both ways with no share for good, a level seen good excludes both pushes."""
    never = Scale((GOOD, DOWN, UP), (0, 1, 1), (0.0, 0.75, 0.25))
    machine = gathering(never, 0b110, 0, (0, -1, -1, -1, -1, -1), BY_CLASS)
    assert machine is not None
    assert machine.size == 1
    node = PlainNode(
        (GOOD, DOWN, UP), (0, 1, 1), (Fraction(0), Fraction(3, 4), Fraction(1, 4)), (), (), False
    )
    assert combine(node, [1, 2]) == ((1, Fraction(3, 4)), (2, Fraction(1, 4)))
