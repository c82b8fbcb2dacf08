"""The program agrees with brute force in exact fractions on random small networks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings

from diagnose.inference.solve import log_evidence, solve
from tests import oracle
from tests.inference.agreement import (
    assert_log_near,
    assert_near,
    how_many,
    laid_out,
    log_of,
    silent,
    solved,
)
from tests.oracle import PlainEvidence, PlainNetwork
from tests.strategies import (
    Seeded,
    Size,
    cases,
    likelihoods,
    plain_evidence,
    plain_network,
)

KINDS = {
    "everything": Size(),
    "two-sided": Size(parts=(2, 5), indications=(1, 3), parents=4, observed=8),
    "chains": Size(parts=(1, 2), indications=(3, 5), parents=2, observed=4),
    "damage": Size(parts=(3, 5), indications=(1, 3), damages=8, inspected=3),
    "needs": Size(parts=(1, 3), indications=(2, 4), needs=8, certain=4),
    "soft": Size(observed=9, soft=9, inspected=3),
    "tiny": Size(tiny=True, observed=9, soft=1),
}


def _case(kind: str, seed: int) -> tuple[PlainNetwork, PlainEvidence, Seeded]:
    choose = Seeded(seed)
    size = KINDS[kind]
    network = plain_network(choose, size)
    return network, plain_evidence(choose, network, size), choose


@pytest.mark.parametrize("kind", KINDS)
def test_presence_blame_states_and_evidence(kind: str) -> None:
    """All results agree; the program finds exactly the impossible evidence impossible."""
    possible = 0
    for seed in range(how_many(250)):
        network, evidence, _ = _case(kind, seed)
        truth = oracle.solve(network, evidence)
        found = solved(network, evidence, range(len(network.nodes)) if seed % 2 else ())
        if truth is None:
            assert found is None, seed
            continue
        possible += 1
        assert found is not None, seed
        assert_log_near(float(found.log_evidence[0]), log_of(truth.evidence))
        assert_near(found.presence, truth.states, f"seed {seed}: presence of")
        assert_near(found.blame, truth.blame, f"seed {seed}: blame of")
        assert_near(found.states, truth.states, f"seed {seed}: states of")
        if seed % 2:
            assert len(found.states) == len(network.nodes)
    assert possible > 0


@pytest.mark.parametrize("kind", ["everything", "damage", "needs"])
def test_a_set_of_parts_held_silent(kind: str) -> None:
    """P(evidence and no part of the set takes part), and everything else given that."""
    compared = 0
    for seed in range(how_many(150)):
        network, evidence, choose = _case(kind, 10_000 + seed)
        parts = [number for number, node in enumerate(network.nodes) if node.part]
        held = frozenset(part for part in parts if choose.between(0, 1))
        truth = oracle.solve(network, evidence, held=held)
        found = solved(network, evidence, range(len(network.nodes)), held)
        if truth is None:
            assert found is None, seed
            continue
        compared += 1
        assert found is not None, seed
        assert_log_near(float(found.log_evidence[0]), log_of(truth.evidence))
        assert_near(found.presence, truth.states, f"seed {seed}: presence of")
        assert_near(found.blame, truth.blame, f"seed {seed}: blame of")
        assert_near(found.states, truth.states, f"seed {seed}: states of")
    assert compared > 0


def test_several_sets_at_once() -> None:
    """One batch with a set per row gives the probability of each."""
    for seed in range(how_many(60)):
        network, evidence, choose = _case("everything", 20_000 + seed)
        parts = [number for number, node in enumerate(network.nodes) if node.part]
        sets = [frozenset(p for p in parts if choose.between(0, 1)) for _ in range(3)]
        truth = oracle.solve(network, evidence, sets)
        if truth is None:
            continue
        structure = laid_out(network, evidence)
        held = {
            part: type(alone)(
                np.array([float(part not in chosen) for chosen in sets]),
                np.array([float(part in chosen) for chosen in sets]),
            )
            for part in parts
            for alone in silent([part]).values()
        }
        found = log_evidence(structure, likelihoods(evidence), held)
        for value, chosen in zip(found, sets, strict=True):
            if truth.silent[chosen]:
                assert_log_near(float(value), log_of(truth.silent[chosen]))
            else:
                assert np.isneginf(value)


@given(case=cases())
@settings(max_examples=how_many(150), deadline=None)
def test_networks_that_hypothesis_makes_small(case: tuple[PlainNetwork, PlainEvidence]) -> None:
    """As above; when it fails, the network is the smallest that does."""
    network, evidence = case
    truth = oracle.solve(network, evidence)
    found = solved(network, evidence)
    assert (truth is None) == (found is None)
    if truth is not None and found is not None:
        assert_log_near(float(found.log_evidence[0]), log_of(truth.evidence))
        assert_near(found.presence, truth.states, "presence of")
        assert_near(found.blame, truth.blame, "blame of")


def test_evidence_as_improbable_as_one_in_a_thousand_million_million() -> None:
    """Many abnormal observations out of tiny leaks: still nine digits of everything."""
    size = Size(
        parts=(3, 4), indications=(4, 5), parents=2, tiny=True, observed=10, soft=0, damages=1, needs=1
    )
    improbable = 0
    for seed in range(how_many(400)):
        choose = Seeded(30_000 + seed)
        network = plain_network(choose, size)
        evidence = plain_evidence(choose, network, size)
        if len(evidence.signs) < 3:
            continue
        truth = oracle.solve(network, evidence)
        if truth is None:
            continue
        improbable += truth.evidence < 1e-12
        found = solved(network, evidence)
        assert found is not None
        assert_log_near(float(found.log_evidence[0]), log_of(truth.evidence))
        for node, values in found.presence.items():
            expected = [float(v) for v in truth.states[node]]
            np.testing.assert_allclose(values[0], expected, rtol=1e-9, atol=1e-13)
        assert_near(found.blame, truth.blame, f"seed {seed}: blame of")
    assert improbable >= how_many(20)


def test_marks_off_leaves_presence_as_it_was() -> None:
    """Presence needs no marks; blame is then not offered."""
    for seed in range(how_many(100)):
        network, evidence, _ = _case("everything", 40_000 + seed)
        truth = oracle.solve(network, evidence)
        if truth is None:
            continue
        found = solve(laid_out(network, evidence, marks=False), likelihoods(evidence))
        assert_log_near(float(found.log_evidence[0]), log_of(truth.evidence))
        assert_near(found.presence, truth.states, f"seed {seed}: presence of")
        assert not found.blame
