"""The JSON of a case against its published schema."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from diagnose.model.result import Advice, Conflict, Diagnosis
from diagnose.render.json_text import as_line, as_text, number
from diagnose.render.record import account_record, record
from tests.render import values

SCHEMA = json.loads(
    (Path(__file__).parents[2] / "rules" / "schemas" / "result.schema.json").read_text(encoding="utf-8")
)
VALIDATOR = Draft202012Validator(SCHEMA)

CASES = {
    "faulty": values.FAULTY,
    "stopped": values.STOPPED,
    "without advice": replace(values.FAULTY, advice=None),
    "remedy first": replace(
        values.FAULTY, advice=Advice(remedy=values.POT_WORN, remedy_reason="sure enough")
    ),
    "measured": values.MEASURED,
    "no bound": replace(values.MEASURED, left_out=math.inf),
    "bounds": replace(values.FAULTY, exact=False, intervals=((values.POT_WORN.id, 0.4, 0.6),)),
    "nothing finite": replace(values.FAULTY, conflict=Conflict(math.nan), log10_evidence=-math.inf),
}


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("name", CASES)
def test_records_keep_to_the_published_schema(name: str) -> None:
    made = json.loads(as_line(record(CASES[name])))
    assert [error.message for error in VALIDATOR.iter_errors(made)] == []


@pytest.mark.parametrize(
    ("path", "wrong"),
    [
        (("verdict",), "perhaps"),
        (("causes", 0, "blame"), 1.2),
        (("schema",), 2),
        (("messages", 0, "level"), "bad"),
        (("readings", 0, "likelihood", "low"), "high"),
        (("readings", 5, "limits"), [1.0]),
        (("readings", 5, "read_with", 0, "power"), "all"),
        (("readings", 5, "path", "as_read"), None),
        (("readings", 5, "path", "budget", 0, "share"), "3 %"),
        (("derived", 0, "inputs"), "hv.voltage"),
        (("flags", 0, "side"), "above"),
        (("flags", 0, "chance"), 1.5),
        (("left_out",), -1.0),
    ],
)
def test_the_schema_refuses_what_is_wrong(path: tuple[str | int, ...], wrong: object) -> None:
    """A schema that lets everything pass would prove nothing."""
    made: Any = record(values.MEASURED)
    holder: Any = made
    for step in path[:-1]:
        holder = holder[step]
    holder[path[-1]] = wrong
    assert not VALIDATOR.is_valid(made)


@pytest.mark.parametrize("field", SCHEMA["required"])
def test_no_required_field_may_be_missing(field: str) -> None:
    made = record(values.FAULTY)
    del made[field]
    assert not VALIDATOR.is_valid(made)


def test_the_fields_say_what_the_diagnosis_says() -> None:
    made = record(values.FAULTY)
    assert (made["case"], made["rig"], made["verdict"]) == ("weak_on_forty", "gannet_60", "fault indicated")
    assert [c["id"] for c in made["causes"]] == [c.id for c in values.FAULTY.causes]
    assert made["readings"][0]["likelihood"] == {"absent": 0.0, "low": 0.021, "normal": 1.0, "high": 0.0004}
    assert made["readings"][1]["value"] is None
    assert made["readings"][4]["counted"] is False
    assert made["next"][0]["separates"] == ["driver.drive_control", "driver.tube"]
    assert made["next"][0]["outcomes"][0]["states"] == {"driver.pot_jumps": "yes"}
    assert made["withheld"][0]["because"] == "not yet proven on this bench: bleeder"
    assert made["unexplained"] == {"probability": 0.031, "stages": {"driver": 0.029}}
    assert made["messages"][0]["where"] == "cases/weak_on_forty.yaml:14:3"
    assert record(values.STOPPED)["stop_orders"][0]["because"] == ["voltage stays after switch-off: yes"]


def test_causes_are_in_order_of_blame() -> None:
    blames = [cause["blame"] for cause in record(values.FAULTY)["causes"]]
    assert blames == sorted(blames, reverse=True)


def test_top_cuts_ranked_lists_and_nothing_else() -> None:
    made = record(values.FAULTY, top=1)
    assert [len(made[name]) for name in ("causes", "next", "explanations")] == [1, 1, 1]
    assert len(made["readings"]) == len(values.FINDINGS)


def test_a_number_that_is_none_becomes_null() -> None:
    assert [number(x) for x in (math.nan, math.inf, None, 0.1 + 0.2)] == [None, None, None, 0.3]


@pytest.mark.parametrize("diagnosis", CASES.values(), ids=list(CASES))
def test_a_line_is_one_line_of_plain_characters(diagnosis: Diagnosis) -> None:
    odd = replace(diagnosis, rig_title="x", case=replace(diagnosis.case, id="a\nb\u2028\N{OHM SIGN}"))
    line = as_line(record(odd))
    assert line.isascii()
    assert "\n" not in line
    assert json.loads(line)["case"] == odd.case.id
    assert json.loads(as_text(record(odd))) == json.loads(line)


def test_an_account_keeps_its_numbers_and_places() -> None:
    made = account_record(values.FAULTY, values.ACCOUNT)
    total = sum(line["bits"] for line in made["evidence"]) + made["residual_bits"]
    assert total == pytest.approx(4.07)
    assert made["chain"][0]["where"] == "rules/stages/driver.yaml:210:3"
    assert made["cause"]["id"] == values.POT_WORN.id


PUBLISHED = {
    "schema", "case", "file", "rig", "verdict", "verdict_text", "exact", "stop_orders", "readings", "causes",
    "also_due", "explanations", "advised", "remedy", "first_aid", "minutes_expected", "next", "withheld",
    "unexplained", "conflict", "log10_evidence", "intervals", "local_rules", "withdrawn_rules", "messages",
}  # fmt: skip
OF_A_READING = {
    "quantity", "title", "value", "unit", "as_written", "at_chart", "expected", "state", "abnormal", "likelihood",
    "counted", "notes",
}  # fmt: skip


def test_what_was_published_in_the_first_version_is_there() -> None:
    """Fields are added and never taken away or given another meaning."""
    made = record(values.MEASURED)
    assert set(made) >= PUBLISHED
    assert all(set(reading) >= OF_A_READING for reading in made["readings"])
    loaded = made["readings"][5]
    assert (loaded["value"], loaded["at_chart"], loaded["expected"]) == (200.0, 270.0, 240.0)
    assert loaded["notes"][1] == "read at 130 V of mains: 270 V at the chart's 117 V"


def test_a_reading_tells_its_path_from_the_dial() -> None:
    """Every step in the unit of the quantity, shares as numbers; null for what was not measured or is not there."""
    made = record(values.MEASURED)["readings"]
    path = made[5]["path"]
    assert (
        path["as_read"] * (path["source_ohms"] + path["meter_ohms"]) / path["meter_ohms"] == path["corrected"]
    )
    assert path["corrected"] * (path["chart_mains"] / path["mains"]) ** path[
        "follows_mains"
    ] == pytest.approx(path["at_chart"])
    assert (path["expected"], path["expected_on_chart_meter"], path["expected_by"]) == (
        240.0,
        210.0,
        "the chart",
    )
    assert path["budget"][1] == {"from": "accuracy of the old test set", "share": 0.04}
    assert path["uncertainty"] == pytest.approx(math.hypot(0.01, 0.04, 0.03), abs=1e-4)
    assert made[5]["limits"] == [220.0, 260.0]
    assert made[5]["read_with"] == [
        {"instrument": "old_set.shows", "power": 1.0}, {"instrument": "line_meter.shows", "power": -1.0}
    ]  # fmt: skip
    assert made[1]["path"] is None
    assert made[1]["limits"] is None


def test_derived_figures_and_flags_say_what_the_diagnosis_says() -> None:
    made = record(values.MEASURED)
    assert [figure["figure"] for figure in made["derived"]] == [
        "final.plate_input", "hv.regulation", "final.efficiency"
    ]  # fmt: skip
    put_in, _, none = made["derived"]
    assert (put_in["value"], put_in["uncertainty"], put_in["gives"]) == (87.04, 3.72, "final.input_power")
    assert put_in["arithmetic"] == "595 V x (160 mA - 14 mA) = 87.04 W"
    assert (none["value"], none["uncertainty"]) == (None, None)
    assert [(flag["name"], flag["side"], flag["beyond"]) for flag in made["flags"]] == [
        ("mains", "least", False), ("final.plate_dissipation", "most", True)
    ]  # fmt: skip


def test_what_was_left_out_is_a_bound_or_not_known() -> None:
    assert record(values.MEASURED)["left_out"] == 3e-8
    assert record(values.FAULTY)["left_out"] == 0.0
    assert record(replace(values.FAULTY, left_out=math.inf))["left_out"] is None
