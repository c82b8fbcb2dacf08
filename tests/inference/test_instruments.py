"""Readings that hang on shared instruments: the dials of the program are held against brute force and a library.

Two formulations that share no code with the program, nor with each other, say what a reading means: a factor
over its quantity and its instruments, and a dial that all of these push (see `metered`).
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from diagnose.inference import answer as answering
from diagnose.inference.answer import answer
from diagnose.inference.layout import Impossible
from diagnose.inference.question import Question
from diagnose.inference.solve import Solution, solve
from diagnose.inference.trust import with_dials as placed
from tests import oracle, reference_library
from tests.inference.agreement import assert_log_near, assert_near, how_many, log_of
from tests.inference.metered import (
    Case,
    Metered,
    factored,
    metered_case,
    question,
    readings,
    with_dials,
)
from tests.oracle import PlainEvidence
from tests.strategies import Seeded, Size, support

SMALL = {
    "everything": Metered(),
    "one meter": Metered(instruments=(1, 1), reads=(2, 4), size=Size(parts=(1, 2), indications=(2, 3))),
    "corrected by another": Metered(instruments=(2, 2), reads=(1, 2), both=9, corrects=7),
    "the same read twice": Metered(
        instruments=(2, 3), reads=(1, 1), size=Size(parts=(1, 2), indications=(1, 1))
    ),
    "meters that are parts of the set": Metered(pushed=10, tells=8),
    "cannot be judged": Metered(size=Size(parts=(1, 2), indications=(2, 3), needs=9)),
    "hard": Metered(soft=0),
}
LARGE = {
    "one to six readings": Metered(Size(parts=(5, 12), indications=(4, 8)), (1, 3), (1, 6)),
    "ruined": Metered(Size(parts=(6, 12), indications=(3, 5), damages=7), (2, 3), (1, 4), pushed=9),
}
LARGEST = 4e6  # cells of one table from which the library takes gigabytes


def _solved(asked: Question) -> Solution | None:
    """Posteriors of all nodes; None where the evidence is impossible."""
    try:
        structure = asked.structure(range(len(asked.network.nodes)))
    except Impossible:
        return None
    found = solve(structure, asked.likelihood)
    return None if np.isneginf(found.log_evidence[0]) else found


def _case(metered: Metered, seed: int) -> tuple[Case, Question]:
    case = metered_case(Seeded(seed), metered)
    return case, placed(question(case), readings(case))


@pytest.mark.parametrize("kind", SMALL)
def test_brute_force_in_fractions(kind: str) -> None:
    """Evidence, presence and states are those of the factors; blame is that of the dials, and states as well."""
    compared = 0
    for seed in range(how_many(50)):
        case, asked = _case(SMALL[kind], 70_000 + seed)
        assert len(asked.dials) == len(case.readings)
        truth = oracle.solve(case.network, factored(case))
        dials = oracle.solve(*with_dials(case))
        found = _solved(asked)
        if truth is None or dials is None:
            assert (truth, dials, found) == (None, None, None), seed
            continue
        compared += 1
        assert truth.evidence == dials.evidence
        assert truth.states == dials.states[: len(truth.states)]
        assert found is not None, seed
        assert_log_near(float(found.log_evidence[0]), log_of(truth.evidence))
        assert len(found.states) == len(dials.states)
        assert_near(found.states, dials.states, f"seed {seed}: states of")
        assert_near(found.presence, dials.states, f"seed {seed}: presence of")
        assert_near(found.blame, dials.blame, f"seed {seed}: blame of")
    assert compared > 0


@pytest.mark.parametrize("kind", LARGE)
def test_a_general_purpose_library(kind: str) -> None:
    """The same on networks too large for brute force, with up to three instruments of six readings each.

    The dials make most of them too large for the library too; its factors do not.
    """
    compared, with_blame, most = 0, 0, 0
    for seed in range(how_many(25)):
        case, asked = _case(LARGE[kind], 80_000 + seed)
        found = _solved(asked)
        if found is None:
            continue
        truth = reference_library.solve(case.network, factored(case))
        compared += 1
        most = max(most, len(case.readings))
        assert_log_near(float(found.log_evidence[0]), truth.log_evidence)
        own = {node: values for node, values in found.states.items() if node < len(truth.states)}
        assert_near(own, truth.states, f"seed {seed}: states of")
        try:
            dials = reference_library.solve(*with_dials(case), LARGEST)
        except reference_library.TooLarge:
            continue
        with_blame += 1
        assert_near(found.states, dials.states, f"seed {seed}: states of")
        assert_near(found.blame, dials.blame, f"seed {seed}: blame of")
    assert compared > with_blame > 0
    assert most >= 8


@pytest.mark.parametrize("kind", ["everything", "one meter", "the same read twice"])
def test_what_the_rest_says_of_a_reading(kind: str) -> None:
    """The prediction of a dial is its posterior by brute force with that reading left out."""
    compared = 0
    for seed in range(how_many(25)):
        case, asked = _case(SMALL[kind], 90_000 + seed)
        plain, evidence = with_dials(case)
        nodes = sorted(asked.dials)
        opened = {node: range(asked.network.nodes[node].scale.size) for node in nodes}
        try:
            structure = asked.structure(nodes, marks=False, opened=opened)
        except Impossible:
            continue
        found = solve(structure, asked.likelihood)
        if np.isneginf(found.log_evidence[0]):
            continue
        for node in nodes:
            kept = {n: row for n, row in evidence.likelihood.items() if n != node}
            truth = oracle.solve(plain, PlainEvidence(kept, evidence.signs - {node}))
            assert truth is not None
            compared += 1
            assert_near({node: found.predicted[node]}, truth.states, f"seed {seed}: what is predicted of")
    assert compared > 0


@pytest.mark.parametrize("kind", ["hard", "the same read twice"])
def test_readings_that_exclude_each_other_are_doubted_one_by_one(kind: str) -> None:
    """Where no meter can have made them, each is right 98 of 100 times; what a meter explains is no contradiction."""
    doubted = explained = 0
    for seed in range(how_many(120)):
        case, asked = _case(SMALL[kind], 100_000 + seed)
        plain, evidence = with_dials(case)
        truth = oracle.solve(plain, evidence)
        found = answer(asked)
        assert found.contradiction == (truth is None), seed
        if truth is None:
            doubted += 1
            truth = oracle.solve(plain, _doubted(evidence, frozenset(asked.assumed)))
            assert truth is not None
        else:
            explained += _with_all_true(case) is None
        assert_near(found.solution.presence, truth.states, f"seed {seed}: presence of")
        assert_near(found.solution.blame, truth.blame, f"seed {seed}: blame of")
    assert doubted > 0
    assert explained > 0


def _doubted(evidence: PlainEvidence, assumed: frozenset[int]) -> PlainEvidence:
    """Every observation right 98 of 100 times; that a correcting meter was not dead is no observation."""
    soft = {}
    for node, row in evidence.likelihood.items():
        right = Fraction(98, 100)
        soft[node] = row if node in assumed else tuple(right * v / max(row) + (1 - right) for v in row)
    return PlainEvidence(soft, evidence.signs)


def _with_all_true(case: Case) -> oracle.Answer | None:
    true = (Fraction(1), *(Fraction(0),) * 3)
    evidence = factored(case)
    sure = {**evidence.likelihood, **dict.fromkeys(case.instruments, true)}
    return oracle.solve(case.network, PlainEvidence(sure, evidence.signs, evidence.joint))


@pytest.mark.parametrize("kind", SMALL)
def test_trusting_is_what_all_true_instruments_say(kind: str) -> None:
    """With no instrument in doubt the oracle is told that each is true; with all in doubt nothing changes."""
    compared = 0
    for seed in range(how_many(30)):
        case, asked = _case(SMALL[kind], 160_000 + seed)
        all_in_doubt = _solved(asked.trusting(case.instruments))
        whole = _solved(asked)
        assert (all_in_doubt is None) == (whole is None)
        if whole is not None and all_in_doubt is not None:
            assert all_in_doubt.log_evidence[0] == pytest.approx(whole.log_evidence[0], abs=1e-9)
        plain, evidence = with_dials(case)
        true = dict.fromkeys(case.instruments, (Fraction(1), *(Fraction(0),) * 3))
        truth = oracle.solve(plain, PlainEvidence({**evidence.likelihood, **true}, evidence.signs))
        found = _solved(asked.trusting(()))
        assert (found is None) == (truth is None), seed
        if found is None or truth is None:
            continue
        compared += 1
        assert_near(found.presence, truth.states, f"seed {seed}: presence of")
        assert_near(found.blame, truth.blame, f"seed {seed}: blame of")
    assert compared > 0


def test_what_was_changed_is_not_undone_by_trusting() -> None:
    """Of a question whose evidence was made another one, what it was made of says nothing any more."""
    _, asked = _case(SMALL["everything"], 160_000)
    assert asked.read is not None
    for changed in (
        asked.hardened(),
        asked.doubted(),
        asked.certain_only(),
        asked.without(asked.observations[0]),
    ):
        assert changed.trusting(()) is changed


def test_contradictions_that_are_too_wide_to_doubt_have_an_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    """One of the signs is left out, or in the end all: some posterior, finite, and never called exact."""
    monkeypatch.setattr(answering, "too_wide", lambda question, budget: True)
    doubted = 0
    for seed in range(how_many(60)):
        case, asked = _case(SMALL["hard"], 100_000 + seed)
        if oracle.solve(*with_dials(case)) is not None:
            continue
        doubted += 1
        found = answer(asked)
        assert found.contradiction
        assert not found.exact
        assert np.isfinite(found.solution.log_evidence[0])
        assert all(np.isfinite(values).all() for values in found.solution.blame.values())
    assert doubted > 0


def test_the_two_references_agree_with_each_other_on_factors() -> None:
    """Brute force and the library read a factor over several nodes alike."""
    compared = 0
    for seed in range(how_many(20)):
        case, _ = _case(SMALL["everything"], 110_000 + seed)
        exact = oracle.solve(case.network, factored(case))
        if exact is None:
            continue
        compared += 1
        library = reference_library.solve(case.network, factored(case))
        assert_log_near(library.log_evidence, log_of(exact.evidence))
        for node, states in enumerate(exact.states):
            assert library.states[node] == pytest.approx([float(v) for v in states])
    assert compared > 0


def test_a_layout_of_the_dials_does_not_change_what_was_observed_elsewhere() -> None:
    """Observations of other nodes stay as they were, and only dials and instruments are added."""
    for seed in range(how_many(20)):
        case, asked = _case(SMALL["everything"], 120_000 + seed)
        plain = question(case)
        read = {reading.node for reading in case.readings}
        assert not read & set(asked.likelihood)
        assert set(asked.dials.values()) == read
        assert all(asked.observed(node) for node in read)
        assert set(asked.observations) == set(plain.likelihood) | set(asked.dials)
        own = {node: values for node, values in asked.likelihood.items() if node in plain.likelihood}
        assert support(own) == support(plain.likelihood)
