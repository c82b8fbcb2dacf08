"""Contributions add up to the change of the log odds, whatever the order of entry."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import permutations

import pytest

from diagnose.diagnosis import diagnose
from diagnose.evidence.collect import collect
from diagnose.explanation.account import account
from diagnose.explanation.contributions import chance_before, contributions
from diagnose.files.find import rules_folder
from diagnose.files.read_book import load_book
from diagnose.files.read_case import assembly_of
from diagnose.inference.asking import ask
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from tests.rig_truth import FILES, truth
from tests.small_book import small_assembly

SEEN = (
    Observation("final.output", value=40.0),
    Observation("hv.voltage", "normal", told_by="owner"),
    Observation("final.hum", "yes"),
)


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    return small_assembly(tmp_path_factory.mktemp("book"), FILES)


def test_contributions_add_up_to_the_truth(assembly: Assembly) -> None:
    """Their sum with the residual is the oracle's change of log odds; the residual is small."""
    case = Case("t", "small", observations=SEEN)
    asked = ask(assembly, case, collect(assembly, case))
    exact = truth(asked)
    unasked = truth(replace(asked, likelihood={}, abnormal=frozenset(), dials={}))
    for part_id, placed in assembly.parts.items():
        part = asked.bones.index[part_id]
        for mode in range(1, 1 + len(placed.part.modes)):
            shares, residual = contributions(asked, part, mode)
            after = float(exact.states[part][mode])
            before = float(unasked.states[part][mode])  # with what other parts may do to it
            assert chance_before(asked, part, mode) == pytest.approx(before, abs=1e-12)
            wanted = math.log2(after / (1 - after)) - math.log2(before / (1 - before))
            assert sum(shares.values()) + residual == pytest.approx(wanted, abs=1e-9)
            assert abs(residual) < 0.02


def test_order_of_entry_changes_nothing(assembly: Assembly) -> None:
    """The same bits for each observation in every order."""
    tables = []
    for order in permutations(SEEN):
        case = Case("t", "small", observations=order)
        asked = ask(assembly, case, collect(assembly, case))
        shares, _ = contributions(asked, asked.bones.index["final.tube"], 1)
        tables.append({asked.bones.names[node]: bits for node, bits in shares.items()})
    for table in tables[1:]:
        assert table == pytest.approx(tables[0], abs=1e-9)


def test_a_sign_that_the_cause_produces_speaks_for_it(assembly: Assembly) -> None:
    """Hum speaks for the dry filter, a good supply against the weak rectifier."""
    case = Case("t", "small", observations=(SEEN[0], SEEN[1], SEEN[2]))
    diagnosis = diagnose(assembly, case)
    dry = account(assembly, case, diagnosis, "final.filter.dry")
    assert {row.name: row.bits > 0 for row in dry.evidence}["final.hum"]
    weak = account(assembly, case, diagnosis, "hv.rectifier.weak")
    assert {row.name: row.bits < 0 for row in weak.evidence}["hv.voltage"]
    assert [step.rule_id for step in dry.chain]
    assert weak.contrast


@pytest.mark.parametrize("mains", [117.0, 122.0])
def test_readings_corrected_by_a_meter_are_taken_apart_as_well(mains: float) -> None:
    """The meter on the line is no observation, and what is known of it still holds: bits add up to the odds."""
    book, _ = load_book(rules_folder())
    assert book is not None
    readings = (Observation("hv.voltage", value=500.0), Observation("final.plate_current", value=120.0))
    case = Case("c", "gannet_60", mains=mains, mode="cw", observations=readings)
    assembly = assembly_of(book, case.rig)
    asked = ask(assembly, case, collect(assembly, case))
    assert asked.assumed
    part = asked.bones.index["hv.rectifier_tube"]
    shares, residual = contributions(asked, part, 1)
    assert set(shares) == set(asked.observations)
    cause = next(c for c in diagnose(assembly, case, advice=False).causes if c.id == "hv.rectifier_tube.weak")
    odds = math.log2(cause.probability / (1 - cause.probability)) - math.log2(cause.prior / (1 - cause.prior))
    assert sum(shares.values()) + residual == pytest.approx(odds, abs=2e-3)  # the prior leaves damage out
    assert abs(residual) < 0.1
