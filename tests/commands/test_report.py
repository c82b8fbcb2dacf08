"""`diagnose report`: pages, JSON, and what becomes of files that cannot be used."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from tests.commands import bench
from tests.commands.bench import ROOT
from tests.commands.conftest import Call

SCHEMA = json.loads((ROOT / "rules/schemas/result.schema.json").read_text(encoding="utf-8"))


def test_a_dim_lamp_with_a_good_cell_convicts_the_lamp(call: Call, cases: Path) -> None:
    bench.write_cases(cases, {"dim.yaml": bench.DIM})
    ran = call("report", cases / "dim.yaml")
    assert ran.status == 0
    assert ran.err == ""
    assert "Fault indicated. The lamp (signal lantern; blackened)" in ran.out
    assert "lantern/black-glass-dims" in ran.out  # a local rule that took part


def test_a_pipe_gets_plain_lines_of_eighty(call: Call, cases: Path) -> None:
    bench.write_cases(cases, {"dim.yaml": bench.DIM})
    out = call("report", cases / "dim.yaml", "--workings").out
    assert "\x1b" not in out
    assert max(len(line) for line in out.splitlines()) <= 80
    assert all(line == line.rstrip() for line in out.splitlines())


def test_a_stop_order_is_the_first_thing_said_and_the_status(call: Call, cases: Path) -> None:
    bench.write_cases(cases, {"hot.yaml": bench.HOT})
    ran = call("report", cases / "hot.yaml")
    assert ran.status == 3
    assert ran.out.splitlines()[2].startswith("STOP     Remove power now.")
    assert "Take the lamp off the cell now" in ran.out


def test_several_cases_come_in_their_order_and_the_broken_one_is_named(call: Call, cases: Path) -> None:
    bench.write_cases(cases, {"a.yaml": bench.SAGGING, "b.yaml": bench.BROKEN, "c.yaml": bench.DIM})
    ran = call("report", cases / "c.yaml", cases / "b.yaml", cases / "a.yaml")
    assert ran.status == 1
    assert ran.out.index("dim\n") < ran.out.index("sagging\n")
    assert ran.err.startswith(f"{cases / 'b.yaml'}:")
    assert "error" in ran.err


def test_a_stop_order_wins_over_a_broken_file(call: Call, cases: Path) -> None:
    bench.write_cases(cases, {"b.yaml": bench.BROKEN, "hot.yaml": bench.HOT})
    assert call("report", cases / "b.yaml", cases / "hot.yaml").status == 3


def test_a_reading_that_cannot_be_used_costs_only_itself(call: Call, cases: Path) -> None:
    bench.write_cases(cases, {"m.yaml": bench.MISSPELT})
    ran = call("report", cases / "m.yaml")
    assert ran.status == 1
    assert "1 entry of the case could not be used; see Messages." in ran.out
    assert "did you mean `light.voltage`?" in " ".join(ran.out.split())
    assert "lamp is dim" in ran.out


@pytest.mark.parametrize("command", ["report", "batch", "explain"])
def test_a_reading_of_a_size_that_cannot_be_meant_is_one_that_could_not_be_used(
    call: Call, cases: Path, command: str
) -> None:
    """It is left out, so the status says so, and the question is whether another prefix was meant."""
    bench.write_cases(cases, {"kilo.yaml": bench.KILOVOLTS})
    ran = call(command, cases / "kilo.yaml")
    assert ran.status == 1
    said = " ".join((ran.out + ran.err).split())
    assert "error: light.voltage: 1480 V is far from 1.5 V in the chart; it is left out" in said
    assert "(was another prefix meant, 1.48 V?)" in said
    if command == "report":
        assert "1 entry of the case could not be used; see Messages." in ran.out


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("dmi.yaml", "error: there is no such file (did you mean `{folder}/dim.yaml`?)"),
        ("nothing/like_it", "error: there is no such file (look at the path)"),
        (".", "error: this is a folder, not a case file (for all cases in it: `diagnose batch {folder}`)"),
        ("stray.yaml", "narwhal"),
    ],
)
def test_what_is_no_case_is_said_plainly(call: Call, cases: Path, name: str, said: str) -> None:
    bench.write_cases(cases, {"dim.yaml": bench.DIM, "stray.yaml": bench.NO_RIG})
    ran = call("report", cases / name)
    assert (ran.status, ran.out) == (1, "")
    assert said.format(folder=cases) in ran.err
    assert "Traceback" not in ran.err


def test_one_case_in_json_is_an_object_that_keeps_to_the_schema(call: Call, cases: Path) -> None:
    bench.write_cases(cases, {"dim.yaml": bench.DIM})
    made = json.loads(call("report", cases / "dim.yaml", "--format", "json").out)
    assert [error.message for error in Draft202012Validator(SCHEMA).iter_errors(made)] == []
    assert made["case"] == "dim"
    assert made["causes"][0]["id"] == "light.lamp.blackened"
    assert made["causes"][0]["local"] is True


def test_several_cases_in_json_are_a_list_of_those_that_could_be_used(call: Call, cases: Path) -> None:
    bench.write_cases(cases, {"dim.yaml": bench.DIM, "b.yaml": bench.BROKEN})
    ran = call("report", cases / "b.yaml", cases / "dim.yaml", "--format", "json")
    assert ran.status == 1
    assert [made["case"] for made in json.loads(ran.out)] == ["dim"]


def test_json_and_screen_say_the_same(call: Call, cases: Path) -> None:
    bench.write_cases(cases, {"dim.yaml": bench.DIM})
    made = json.loads(call("report", cases / "dim.yaml", "--format", "json").out)
    blame = round(100 * made["causes"][0]["blame"])
    assert f"{blame} of 100  lamp, blackened" in call("report", cases / "dim.yaml").out


def test_top_limits_both_forms(call: Call, cases: Path) -> None:
    bench.write_cases(cases, {"dim.yaml": bench.DIM})
    made = json.loads(call("report", cases / "dim.yaml", "--format", "json", "--top", "1").out)
    assert len(made["causes"]) == 1
    text = call("report", cases / "dim.yaml", "--top", "1").out
    assert "cell, flat" not in text
