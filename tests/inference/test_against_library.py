"""The program agrees with a general-purpose Bayesian-network library on networks of up to 15 parts."""

from __future__ import annotations

import pytest

from tests import reference_library
from tests.inference.agreement import assert_log_near, assert_near, how_many, solved
from tests.oracle import solve
from tests.strategies import Seeded, Size, plain_evidence, plain_network

KINDS = {
    "everything": Size(parts=(6, 15), indications=(4, 10)),
    "deep": Size(parts=(5, 10), indications=(8, 12), parents=2, observed=4),
    "broad": Size(parts=(8, 15), indications=(4, 8), unnamed=9, observed=8),
    "ruined": Size(parts=(10, 15), indications=(3, 6), damages=7, inspected=2),
    "improbable": Size(parts=(6, 15), indications=(6, 10), tiny=True, observed=9, soft=1),
}


@pytest.mark.parametrize("kind", KINDS)
def test_presence_blame_states_and_evidence(kind: str) -> None:
    """All posteriors agree, on networks too large for brute force."""
    compared, largest = 0, 0
    for seed in range(how_many(90)):
        choose = Seeded(50_000 + seed)
        network = plain_network(choose, KINDS[kind])
        evidence = plain_evidence(choose, network, KINDS[kind])
        found = solved(network, evidence, range(len(network.nodes)) if seed % 2 else ())
        if found is None or not evidence.likelihood:
            continue
        truth = reference_library.solve(network, evidence)
        compared += 1
        largest = max(largest, sum(node.part for node in network.nodes))
        assert_log_near(float(found.log_evidence[0]), truth.log_evidence)
        assert_near(found.presence, truth.states, f"seed {seed}: presence of")
        assert_near(found.blame, truth.blame, f"seed {seed}: blame of")
        assert_near(found.states, truth.states, f"seed {seed}: states of")
    assert compared > 0
    assert largest >= 10


def test_the_two_references_agree_with_each_other() -> None:
    """Brute force forwards and the library's lineage backwards are the same truth."""
    for seed in range(how_many(60)):
        choose = Seeded(60_000 + seed)
        network = plain_network(choose)
        evidence = plain_evidence(choose, network)
        exact = solve(network, evidence)
        if exact is None:
            continue
        library = reference_library.solve(network, evidence)
        for node in range(len(network.nodes)):
            assert library.states[node] == pytest.approx([float(v) for v in exact.states[node]])
            assert library.blame[node] == pytest.approx([float(v) for v in exact.blame[node]])
