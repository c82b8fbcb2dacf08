"""Supplies held against a circuit simulator and against makers' sheets; the simulator is not needed for it."""

from __future__ import annotations

import os
import stat
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from diagnose.circuits.rectifier import CIRCUITS, RECTIFIERS
from diagnose.circuits.supply import RECTIFIED_SUPPLY
from diagnose.circuits.supply_parts import CAPACITOR_INPUT, CHOKE_INPUT
from tests.circuits.supplies.kept import NETLISTS, RUNS, makers, netlist_file, simulated, supplies
from tests.circuits.supplies.make import simulate
from tests.circuits.supplies.netlist import netlist_of
from tests.circuits.supplies.pairs import COMPARED, RIPPLE, all_by_formula, all_makers, of_maker, of_supply
from tests.circuits.supplies.table import TABLES, deviations
from tests.circuits.tables import root_mean_square

# What every supply keeps to, as a share of the simulator's figure: the largest found is under a half of it.
BOUND = {"voltage": 0.01, "voltage_unloaded": 0.01, "ripple": 0.02, "peak_current": 0.03}
# The same of the root mean square over all of them.
SPREAD = {"voltage": 0.001, "voltage_unloaded": 0.002, "ripple": 0.005, "peak_current": 0.01}

POINTS = [(tube, point) for tube, sheet in makers().items() for point in sheet["points"]]


@pytest.mark.parametrize("name", supplies())
def test_a_supply_agrees_with_the_simulator(name: str) -> None:
    """Volts within 1 percent loaded and with the bleeder only, ripple within 2, peak current within 3."""
    off = {pair.result: pair.deviation for pair in of_supply(name)}
    assert off.keys() == BOUND.keys()
    for result, deviation in off.items():
        assert abs(deviation) < BOUND[result], result


def test_all_supplies_together() -> None:
    """The root mean square of the deviations: a tenth of a percent for the volts under load."""
    for result, *_ in COMPARED:
        assert root_mean_square(deviations(result)) < SPREAD[result], result


def test_what_the_method_states_of_itself_is_not_too_little() -> None:
    """The uncertainty that it states covers the largest deviation twice over."""
    for result, *_ in COMPARED:
        assert 2.0 * max(map(abs, deviations(result))) < RECTIFIED_SUPPLY.results[result].within, result


def test_the_ripple_formula_is_as_good_as_it_states() -> None:
    """Over the simulated supplies; the one below the critical inductance is not among them."""
    off = [pair.deviation for pair in all_by_formula()]
    assert len(off) == len(supplies()) - 1
    assert root_mean_square(off) <= RIPPLE.results["ripple"].within < 2.0 * root_mean_square(off)
    assert max(map(abs, off)) < 0.9


def test_the_supplies_cover_what_the_method_takes() -> None:
    """Every circuit and every rectifier, both filters with both frequencies, each with and without a section."""
    given = [supply["given"] for supply in supplies().values()]
    assert len(given) >= 14
    assert {one["circuit"] for one in given} == set(CIRCUITS)
    assert {one["rectifier"] for one in given} == set(RECTIFIERS)
    both = {(one["filter"], one["mains_frequency"]) for one in given}
    assert both == {(first, mains) for first in (CAPACITOR_INPUT, CHOKE_INPUT) for mains in (50, 60)}
    sections = {(one["filter"], "section_capacitance" in one) for one in given}
    assert sections == {
        (first, further) for first in (CAPACITOR_INPUT, CHOKE_INPUT) for further in (True, False)
    }
    named = {name for one in given for name in one}
    assert named == set(RECTIFIED_SUPPLY.arguments)


def test_nothing_is_kept_of_a_supply_that_is_not_there() -> None:
    """Parts, results and netlists are of the same supplies, and each was run loaded and with its bleeder only."""
    assert simulated().keys() == supplies().keys()
    assert all(found.keys() == RUNS.keys() for found in simulated().values())
    files = {netlist_file(name, run) for name in supplies() for run in RUNS}
    assert files == set(NETLISTS.iterdir())


@pytest.mark.parametrize("run", RUNS)
@pytest.mark.parametrize("name", supplies())
def test_the_netlists_are_those_of_the_parts(name: str, run: str) -> None:
    """Make them anew with `python -m tests.circuits.supplies.make` where the parts have changed."""
    assert netlist_file(name, run).read_text(encoding="utf-8") == netlist_of(
        name, supplies()[name], RUNS[run]
    )


@pytest.mark.parametrize(
    ("printed", "fault"),
    [
        ("RESULT before 300.02\nRESULT dc 300\nRESULT ripple 1.5\nRESULT peak 0.4\n", ""),
        ("RESULT before 301\nRESULT dc 300\nRESULT ripple 1.5\nRESULT peak 0.4\n", "has not settled"),
        ("RESULT before 300\nRESULT dc 300\ndoAnalyses: time step too small\n", "time step too small"),
    ],
)
def test_only_what_has_settled_is_kept(
    printed: str, fault: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A run that failed, or that was too short to come to rest, is no result."""
    command = tmp_path / "ngspice"
    command.write_text(f"#!/bin/sh\ncat <<'END'\n{printed}END\n", encoding="utf-8")
    command.chmod(command.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
    if fault:
        with pytest.raises(ValueError, match=fault):
            simulate(tmp_path / "a.cir")
    else:
        assert simulate(tmp_path / "a.cir") == {"dc": 300.0, "ripple": 1.5, "peak": 0.4}


@pytest.mark.parametrize(("tube", "point"), POINTS)
def test_a_supply_agrees_with_the_sheet_of_its_rectifier(tube: str, point: Mapping[str, Any]) -> None:
    """The direct volts that makers published for their rectifiers, within 5 percent; the sheets are from memory."""
    assert abs(of_maker(tube, point).deviation) < 0.05


def test_the_sheets_together() -> None:
    """Root mean square under 2.5 percent, which is within what the method states of its volts."""
    off = [pair.deviation for _, pair in all_makers()]
    assert root_mean_square(off) < 0.025 < RECTIFIED_SUPPLY.results["voltage"].within


def test_the_page_shows_what_is_computed_now() -> None:
    """Make it anew with `python -m tests.circuits.supplies.table --write`."""
    page = TABLES.page.read_text(encoding="utf-8")
    assert page.count("<!-- table: ") == len(TABLES.makers)
    assert TABLES.made_anew(page) == page
