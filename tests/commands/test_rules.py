"""`diagnose rules` and `diagnose rigs`: what the book says, on the screen and as JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.commands.bench import SHOP
from tests.commands.conftest import Call


def test_kinds_and_rigs_are_listed_with_the_local_ones(call: Call) -> None:
    assert "signal lantern" in call("rules", "list").out
    out = call("rigs", "list").out
    assert "Marker lantern (local)" in out
    assert max(len(line) for line in out.splitlines()) <= 80


def test_a_kind_lists_its_entries(call: Call) -> None:
    out = call("rules", "list", "lantern").out
    assert "low-volts-dim" in out
    assert "voltage low gives dim yes, 9 of 10" in out
    assert "lamp: blackened or shorted at its socket" in out


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("lantern", "A lamp on a cell, for tests."),
        ("lantern/black-glass-dims", "Because: Metal on the glass swallows the light."),
        ("lantern.lamp", "Remedy: Fit a new lamp. 3 min, cures it in 98 of 100."),
        ("lantern.lamp.shorted", "shorted at its socket  lamp.shorted"),
        ("lantern.voltage", "What does the cell read with the lamp on?"),
        ("lantern.hot_cell", "Stop order: Take the lamp off the cell"),
        ("lantern.read_cell", "Clip the voltmeter on the cell"),
    ],
)
def test_any_entry_can_be_shown_in_full(call: Call, name: str, said: str) -> None:
    ran = call("rules", "show", name)
    assert ran.status == 0
    assert said.replace("  ", " ") in " ".join(ran.out.split())


def test_an_entry_says_where_it_is_written(call: Call) -> None:
    lines = (SHOP / "stages/lantern.yaml").read_text(encoding="utf-8").splitlines()
    number = 1 + lines.index("  low-volts-dim:")
    assert f"lantern.yaml:{number}:3" in "".join(call("rules", "show", "lantern/low-volts-dim").out.split())


def test_a_misspelt_name_gets_the_nearest(call: Call) -> None:
    assert "did you mean `lantern/low-volts-dim`" in call("rules", "show", "lantern/low-volt-dims").err
    assert "did you mean `lantern`" in call("rules", "list", "lantren").err
    assert "did you mean `marker`" in call("rigs", "show", "markre").err


def test_a_rig_shows_its_stages_and_chart(call: Call) -> None:
    out = call("rigs", "show", "marker").out
    assert "light.voltage" in out
    assert "1.5 V" in out
    made = json.loads(call("rigs", "show", "marker", "--format", "json").out)
    assert made["chart"][0]["value"] == 1.5
    assert made["chart"][0]["unit"] == "V"


def test_lists_come_as_json_too(call: Call) -> None:
    kinds = json.loads(call("rules", "list", "lantern", "--format", "json").out)
    assert {rule["id"] for rule in kinds[0]["rules"]} >= {"lantern/low-volts-dim", "lantern/short-heats-cell"}
    assert "marker" in {rig["rig"] for rig in json.loads(call("rigs", "list", "--format", "json").out)}


def test_the_check_reads_afresh_and_tells_counts_and_budgets(call: Call) -> None:
    """The small rig is far healthier than any budget, so the checker must say so."""
    ran = call("rules", "check")
    assert ran.status == 1
    assert "faults are expected in marker" in ran.out
    assert "kinds of stage" in ran.out
    assert "out of range" in " ".join(ran.out.split())
    made = json.loads(call("rules", "check", "--format", "json").out)
    line = next(line for line in made["budgets"] if line["rig"] == "marker")
    assert line["kept"] is False
    # priors 2 of 100 + 1 of 100 + 1 of 1000 + 2 of 1000 for the unnamed part
    assert line["faults"] == pytest.approx(0.02 + 0.01 + 0.001 + 0.002)


def test_the_check_of_unusable_rules_still_lists_all_problems(call: Call, tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("kind: lantern\n  title: x\n", encoding="utf-8")
    (tmp_path / "b.yaml").write_text("nothing: here\n", encoding="utf-8")
    ran = call("rules", "check", "--shop", tmp_path)
    assert ran.status == 1
    assert "a.yaml:" in ran.out
    assert "b.yaml:" in ran.out
    assert "The book holds" not in ran.out
