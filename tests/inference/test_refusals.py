"""What the kernel refuses, and how it says so: bad numbers are never quietly put right."""

from __future__ import annotations

import math

import numpy as np
import pytest

from diagnose.inference.contraction import TooWide
from diagnose.inference.layout import Impossible, lay_out
from diagnose.inference.network import Arrow, Evidence, Network, Node
from diagnose.inference.scale import DOWN, GOOD, OVER, UP, Array, Scale
from diagnose.inference.solve import solve

YES_NO = Scale((GOOD, OVER), (0, 1))
LEVEL = Scale((GOOD, DOWN, UP), (0, 1, 1))
PUSH = np.array([[1.0, 0.0, 0.0], [0.2, 0.8, 0.0]])


def _pair() -> Network:
    """A part of one mode that pushes a level down 8 of 10."""
    nodes = (Node(YES_NO, np.array([0.9, 0.1]), True), Node(LEVEL, np.array([0.98, 0.02, 0.0])))
    return Network(nodes, ((), (Arrow(0, 1, PUSH),)))


@pytest.mark.parametrize(
    ("sides", "ranks", "split", "mute", "said"),
    [
        ((OVER, UP), (1, 1), (0.5, 0.25, 0.25), (), "state 0, and only state 0"),
        ((GOOD, UP, GOOD), (0, 1, 2), (0.5, 0.25, 0.25), (), "state 0, and only state 0"),
        ((GOOD, UP), (0,), (0.5, 0.25, 0.25), (), "every state needs a side and a rank"),
        ((GOOD, UP, UP), (0, 1, 1), (0.5, 0.25, 0.25), (), "ranks count from 1 and differ"),
        ((GOOD, UP), (0, 0), (0.5, 0.25, 0.25), (), "ranks count from 1 and differ"),
        ((GOOD, UP), (0, 1), (0.5, 0.25, 0.2), (), "three chances that add up to one"),
        ((GOOD, UP), (0, 1), (1.5, -0.25, -0.25), (), "three chances that add up to one"),
        ((GOOD, UP), (0, 1), (math.nan, 0.5, 0.5), (), "three chances that add up to one"),
        ((GOOD, UP), (0, 1), (0.5, 0.25, 0.25), (0,), "only a state other than the good one"),
        ((GOOD, UP), (0, 1), (0.5, 0.25, 0.25), (2,), "only a state other than the good one"),
    ],
)
def test_scales(
    sides: tuple[int, ...],
    ranks: tuple[int, ...],
    split: tuple[float, float, float],
    mute: tuple[int, ...],
    said: str,
) -> None:
    """States without sides, equal ranks, splits that do not add up, a good state that is mute."""
    with pytest.raises(ValueError, match=said):
        Scale(sides, ranks, split, frozenset(mute))


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ([0.9, 0.2], "add up to one"),
        ([1.1, -0.1], "add up to one"),
        ([math.nan, 0.1], "add up to one"),
        ([0.5, math.nan], "add up to one"),
        ([1.0], "shape"),
        ([0.5, 0.3, 0.2], "shape"),
    ],
)
def test_chances_of_a_node(values: list[float], said: str) -> None:
    """Chances that are none, or too many or too few of them."""
    with pytest.raises(ValueError, match=said):
        Node(YES_NO, np.array(values))


def test_arrows_and_networks() -> None:
    """A good parent that pushes, rows that do not add up, wrong shapes, wrong order, two arrows for one."""
    with pytest.raises(ValueError, match="a good parent pushes nothing"):
        Arrow(0, 1, np.array([[0.9, 0.1], [0.2, 0.8]]))
    with pytest.raises(ValueError, match="add up to one"):
        Arrow(0, 1, np.array([[1.0, 0.0], [0.2, 0.7]]))
    with pytest.raises(ValueError, match="add up to one"):
        Arrow(0, 1, np.array([[1.0, 0.0], [math.nan, 0.7]]))
    Arrow(0, 1, np.array([[0.0, 1.0], [1.0, 0.0]]), carries_blame=False)  # a need may
    part, level = _pair().nodes
    with pytest.raises(ValueError, match="one tuple of arrows per node"):
        Network((part, level), ((),))
    with pytest.raises(ValueError, match="one arrow per pair"):
        Network((part, level), ((), (Arrow(0, 1, PUSH), Arrow(0, 1, PUSH))))
    with pytest.raises(ValueError, match="parents come before children"):
        Network((level, part), ((Arrow(1, 0, PUSH),), ()))
    with pytest.raises(ValueError, match=r"draws of shape \(2, 3\), expected \(2, 2\)"):
        Network((part, part), ((), (Arrow(0, 1, PUSH),)))


@pytest.mark.parametrize("values", [[0.0, 0.0], [-0.1, 1.0], [math.nan, 1.0], [math.inf, 1.0]])
def test_evidence(values: list[float]) -> None:
    """A likelihood that leaves nothing, or is none."""
    with pytest.raises(ValueError, match="no usable likelihood for node 3"):
        Evidence({3: np.array(values)})


@pytest.mark.parametrize(
    ("likelihood", "said"),
    [
        ({}, "laid out as observed, but has no likelihood"),
        ({1: np.array([0.0, 1.0])}, "has shape"),
        ({1: np.ones((1, 1, 3))}, "has shape"),
        ({1: np.array([0.5, 1.0, 0.0])}, "on a state outside its support"),
        ({1: np.array([0.0, -1.0, 0.0])}, "negative or not a number"),
        ({1: np.array([0.0, math.nan, 0.0])}, "negative or not a number"),
        ({1: np.array([0.0, math.inf, 0.0])}, "negative or not a number"),
        ({1: np.array([0.0, 1.0, 0.0]), 0: np.ones(2)}, "does not observe"),
    ],
)
def test_likelihoods_that_do_not_fit_the_structure(likelihood: dict[int, Array], said: str) -> None:
    """They are named, not repaired."""
    structure = lay_out(_pair(), {1: [1]}, frozenset({1}))
    with pytest.raises(ValueError, match=said):
        solve(structure, likelihood)


def test_a_likelihood_may_be_missing_where_nothing_was_excluded() -> None:
    """A node laid out with all its states and given no likelihood says nothing."""
    structure = lay_out(_pair(), {1: [0, 1, 2]}, frozenset())
    found = solve(structure, {})
    assert found.log_evidence[0] == pytest.approx(0.0, abs=1e-12)
    np.testing.assert_allclose(found.presence[0][0], [0.9, 0.1])


def test_impossible_observations() -> None:
    """A state nothing can draw is refused with its node; what only numbers exclude has no posterior."""
    with pytest.raises(Impossible, match="node 1") as raised:
        lay_out(_pair(), {1: [2]}, frozenset({1}))
    assert raised.value.node == 1
    structure = lay_out(_pair(), {0: [0, 1], 1: [1]}, frozenset({1}))
    found = solve(structure, {0: np.array([0.0, 0.0]), 1: np.array([0.0, 1.0, 0.0])})
    assert found.log_evidence[0] == -math.inf
    assert np.isnan(found.presence[0]).all()
    assert np.isnan(found.blame[0]).all()


def test_too_wide() -> None:
    """Past the budget the layout says how large a table would be."""
    nodes = [Node(YES_NO, np.array([0.9, 0.1]), True) for _ in range(8)]
    nodes += [Node(LEVEL, np.array([0.96, 0.02, 0.02])) for _ in range(8)]
    into: list[tuple[Arrow, ...]] = [()] * 8
    for child in range(8, 16):
        into.append(tuple(Arrow(parent, child, PUSH) for parent in range(8)))
    network = Network(tuple(nodes), tuple(into))
    signs = frozenset(range(8, 16))
    with pytest.raises(TooWide, match="cells") as raised:
        lay_out(network, {n: [1, 2] for n in signs}, signs, budget=1000)
    assert raised.value.cells > 1000
