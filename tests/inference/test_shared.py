"""Variants that share what none of them touches agree with brute force, each as if it had been solved alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from diagnose.inference import shared, solve
from diagnose.inference.layout import Impossible, Layout
from diagnose.inference.scale import Array
from diagnose.inference.shared import Shared
from tests import oracle, strategies
from tests.inference.agreement import NEAR, assert_log_near, how_many, log_of
from tests.oracle import PlainEvidence, PlainNetwork
from tests.strategies import Seeded, Size, picked, plain_evidence, plain_network

KINDS = {
    "everything": Size(parts=(2, 4), indications=(3, 5), observed=4),
    "chains": Size(parts=(1, 2), indications=(3, 5), parents=2, observed=3),
    "damage": Size(parts=(3, 4), indications=(2, 4), damages=8, inspected=3, observed=4),
    "needs": Size(parts=(1, 3), indications=(3, 5), needs=8, certain=4, observed=4),
}
Group = tuple[int, ...]


def _seen(evidence: PlainEvidence, network: PlainNetwork, states: dict[int, int]) -> PlainEvidence:
    """The evidence with some more nodes seen, each in a state."""
    more = {
        node: tuple(Fraction(s == state) for s in range(len(network.nodes[node].sides)))
        for node, state in states.items()
    }
    return replace(evidence, likelihood={**evidence.likelihood, **more})


def _variants(choose: Seeded, network: PlainNetwork, group: Group) -> list[dict[int, int]]:
    """Two states of each node that the group opens."""
    return [{n: choose.between(0, len(network.nodes[n].sides) - 1) for n in group} for _ in range(2)]


def _groups(choose: Seeded, free: Sequence[int]) -> list[Group]:
    """Nothing, each node alone, and some of them together."""
    some = tuple(node for node in free if choose.between(0, 1))
    return [(), *((node,) for node in free), some]


def _agree(kind: str, seed: int) -> int:
    """How many variants of a random question were compared with the truth."""
    choose = Seeded(seed)
    network = plain_network(choose, KINDS[kind])
    evidence = plain_evidence(choose, network, KINDS[kind])
    free = [n for n, node in enumerate(network.nodes) if not node.part and n not in evidence.likelihood]
    parts = [n for n, node in enumerate(network.nodes) if node.part]
    read = [part for part in parts if choose.between(0, 1)] or [picked(choose, parts)]
    given = strategies.likelihoods(evidence)
    support = {**strategies.support(given), **{n: range(len(network.nodes[n].sides)) for n in free}}
    try:
        layout = Layout(strategies.network(network), support, evidence.signs, (), read, read)
    except Impossible:
        return 0
    many = Shared(layout, given, free, float("inf"))
    compared = 0
    for group in _groups(choose, free):
        variants = _variants(choose, network, group)
        rows: dict[int, Array] = {
            n: np.array([np.eye(len(network.nodes[n].sides))[v[n]] for v in variants]) for n in group
        }
        structure = many.structure(group)
        assert structure is not None
        found = many.solve(structure, rows, 1e-11)
        for row, variant in enumerate(variants if group else variants[:1]):
            truth = oracle.solve(network, _seen(evidence, network, variant))
            if truth is None:
                assert np.isneginf(found.log_evidence[row])
                continue
            compared += 1
            assert_log_near(float(found.log_evidence[row]), log_of(truth.evidence))
            for part in found.presence:
                assert part in read
                np.testing.assert_allclose(
                    found.presence[part][row], [float(p) for p in truth.states[part]], rtol=0, atol=NEAR
                )
                np.testing.assert_allclose(
                    found.blame[part][row], [float(p) for p in truth.blame[part]], rtol=0, atol=NEAR
                )
            for part in set(read) - set(found.presence):  # nothing that was seen lies below it
                assert not any(truth.blame[part])
    return compared


@pytest.mark.parametrize("cheap", [0.0, 30.0, 3e4])
@pytest.mark.parametrize("kind", KINDS)
def test_each_variant_as_if_alone(kind: str, cheap: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """However much is summed out beforehand: nothing, some, or all that may be."""
    monkeypatch.setattr(shared, "CHEAP", cheap)
    assert sum(_agree(kind, 20_000 + seed) for seed in range(how_many(20))) > how_many(20)


def test_with_more_digits(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where plain numbers are not trusted, what is shared has as many digits as all else."""
    monkeypatch.setattr(solve, "_GROWTH", 1e30)  # looked at twice
    monkeypatch.setattr(solve, "_MARGIN", 1e30)  # and never good enough
    assert sum(_agree("everything", 30_000 + seed) for seed in range(how_many(8))) > how_many(8)


def test_too_wide_is_none() -> None:
    """For every budget below the cells of its largest product a variant has no structure, from there on it has one."""
    narrow = 0
    for seed in range(how_many(10)):
        choose = Seeded(40_000 + seed)
        network = plain_network(choose, KINDS["everything"])
        evidence = plain_evidence(choose, network, KINDS["everything"])
        given = strategies.likelihoods(evidence)
        parts = [n for n, node in enumerate(network.nodes) if node.part]
        try:
            layout = Layout(
                strategies.network(network), strategies.support(given), evidence.signs, (), parts, parts
            )
        except Impossible:
            continue
        whole = Shared(layout, given, (), float("inf")).structure(())
        assert whole is not None
        assert Shared(layout, given, (), whole.contraction.cells).structure(()) is not None
        if whole.contraction.work:
            narrow += 1
            assert Shared(layout, given, (), 0.0).structure(()) is None
    assert narrow > 0
