"""Slips in instruments and meters, and in what a rig says of its parts and sockets."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.files.measured import problems_of
from tests.files.small import Fault

RIG, BENCH, METERS = "rigs/finch.yaml", "bench.yaml", "meters.yaml"

FAULTS = {
    "kind of an instrument": Fault(
        BENCH, "kind: gauge", "kind: guage",
        (
            "bench.yaml:6:11 error unknown-kind: `guage` is no kind of stage | did you mean `gauge`?",
        ),
    ),
    "feature of an instrument": Fault(
        BENCH, "features: {sort: digits}", "features: {sort: digit}",
        (
            "bench.yaml:7:22 error unknown-value: `digit` is no value of the feature sort | did you mean"
            " `digits`?",
        ),
    ),
    "feature of no kind": Fault(
        BENCH, "    kind: gauge\n", "",
        (
            "bench.yaml:6:5 error missing-key: features are those of a kind of stage, and this instrument"
            " names none | add `kind:`",
        ),
    ),
    "unit of an instrument": Fault(
        BENCH, "reads: [V, mA]", "reads: [V, mAA]",
        (
            "bench.yaml:8:16 error unit: `mAA` is no unit that is known here | write a unit like V, mA or"
            " percent",
        ),
    ),
    "mains read with nothing": Fault(
        BENCH, "mains_meter: voltmeter", "mains_meter: voltmetr",
        (
            "bench.yaml:11:14 error unknown-instrument: `voltmetr` is no instrument of the bench | did you"
            " mean `voltmeter`?",
        ),
    ),
    "meter with both resistances": Fault(
        BENCH, "input_resistance: 10 Mohm", "input_resistance: 10 Mohm, ohms_per_volt: 1000",
        (
            "bench.yaml:9:53 error meter: the meter voltmeter has both `ohms_per_volt` and"
            " `input_resistance` | remove one of them",
        ),
    ),
    "voltmeter with an impedance": Fault(
        BENCH, "input_resistance: 10 Mohm", "impedance: 50 ohm",
        (
            "bench.yaml:9:53 error meter: the meter voltmeter has an `impedance`, and no scale of power | `impedance` is"
            " the line that a wattmeter is marked for; ohms between leads are `input_resistance`",
        ),
    ),
    "meter of an impossible resistance": Fault(
        BENCH, "input_resistance: 10 Mohm", "input_resistance: 10 MV",
        (
            "bench.yaml:9:71 error unit: `10 MV` is a voltage, but a resistance (ohm) is wanted | write it"
            " like `12.5 ohm`",
        ),
    ),
    "meter that loads less than nothing": Fault(
        BENCH, "input_resistance: 10 Mohm", "ohms_per_volt: -5 kohm",
        (
            "bench.yaml:9:68 error range: `-5 kohm` should be more than 0",
        ),
    ),
    "meter that counts digits of no size": Fault(
        BENCH, "{of_reading: 1 %}", "{of_reading: 1 %, digits: 2}",
        (
            "bench.yaml:9:5 error missing-key: the meter voltmeter counts digits, and does not say how"
            " large one is | add `resolution:`, the smallest step that it shows",
        ),
    ),
    "accuracy as a word": Fault(
        BENCH, "accuracy: {of_reading: 1 %}", "accuracy: 1 %",
        (
            "bench.yaml:9:80 error type: `accuracy` should be a mapping, not the text `1 %` | write it like"
            " `{of_full_scale: 3 %}`",
        ),
    ),
    "accuracy that is none": Fault(
        BENCH, "{of_reading: 1 %}", "{of_reading: 110 %}",
        (
            "bench.yaml:9:103 error share: `110 %` is no share between 0 and 100 % | write it like `10 %`",
        ),
    ),
    "value that the kind does not know": Fault(
        RIG, "values: {dropper: 25 K}", "values: {droper: 25 K}",
        (
            "rigs/finch.yaml:8:64 error unknown-value: `droper` is no value that the kind feed declares |"
            " did you mean `dropper`?",
        ),
    ),
    "value of another dimension": Fault(
        RIG, "values: {dropper: 25 K}", "values: {dropper: 25 W}",
        (
            "rigs/finch.yaml:8:73 error unit: `25 W` is a power, but a resistance (kohm) is wanted | write"
            " it like `12.5 kohm`",
        ),
    ),
    "value without an amount": Fault(
        RIG, "{amount: 0.1 Mohm, within: 20 %}", "{within: 20 %}",
        (
            "rigs/finch.yaml:13:14 error missing-key: a value of a part wants `amount`, which is not here |"
            " add `amount:` (The value)",
        ),
    ),
    "meter of the chart": Fault(
        RIG, "meter: probe}", "meter: prob}",
        (
            "rigs/finch.yaml:17:59 error unknown-meter: `prob` is no chart meter of this rig | did you mean"
            " `probe`?",
        ),
    ),
    "meter of all the chart": Fault(
        RIG, "chart_meter: old_set", "chart_meter: oldset",
        (
            "rigs/finch.yaml:23:14 error unknown-meter: `oldset` is no chart meter of this rig | did you"
            " mean `old_set`?",
        ),
    ),
    "meter of no instrument": Fault(
        RIG, "{instrument: voltmeter, input", "{instrument: volts, input",
        (
            "rigs/finch.yaml:22:23 error unknown-instrument: `volts` is no instrument of the bench | known"
            " here: voltmeter, bridge",
        ),
    ),
    "meter that says no instrument": Fault(
        RIG, "{instrument: voltmeter, input", "{input",
        (
            "rigs/finch.yaml:22:3 error missing-key: the meter probe wants `instrument`, which is not here"
            " | add `instrument:`, the bench's word for its sort",
        ),
    ),
    "reading of nothing": Fault(
        RIG, "{final.current: panel.plate_range,", "{final.curent: panel.plate_range,",
        (
            "rigs/finch.yaml:24:13 error unknown-quantity: `final.curent` is no quantity or figure of this"
            " rig | did you mean `final.current`?",
        ),
    ),
    "reading with nothing": Fault(
        RIG, "{final.current: panel.plate_range,", "{final.current: panel.plate,",
        (
            "rigs/finch.yaml:24:28 error unknown-instrument: `panel.plate` is no instrument of the bench"
            " and no meter of this rig | did you mean `panel.plate_range`?",
        ),
    ),
    "band of no rig": Fault(
        RIG, "multiplication: {80m: 1,", "multiplication: {160m: 1,",
        (
            "rigs/finch.yaml:25:18 error unknown-band: `160m` is no band of this rig | known here: 80m,"
            " 40m, 20m",
        ),
    ),
    "multiplication by nothing": Fault(
        RIG, "multiplication: {80m: 1,", "multiplication: {80m: 0,",
        (
            "rigs/finch.yaml:25:23 error range: `80m` should be more than 0, not 0",
        ),
    ),
    "stage of a socket": Fault(
        RIG, "V1: {stage: hv,", "V1: {stage: hvv,",
        (
            "rigs/finch.yaml:27:15 error unknown-stage: `hvv` is no stage of this rig | did you mean `hv`?",
        ),
    ),
    "tube of a socket": Fault(
        RIG, "tube: 6E5, pins", "tube: 6E6, pins",
        (
            "rigs/finch.yaml:27:25 error unknown-tube: `6E6` is no tube type that the book knows | known"
            " here: 6E5",
        ),
    ),
    "tube of another stage": Fault(
        RIG, "V1: {stage: hv, tube", "V1: {stage: lv, tube",
        (
            "rigs/finch.yaml:27:25 error unknown-tube: the stage lv has no tube `6E5`",
        ),
    ),
    "pin of nothing": Fault(
        RIG, "3: hv.envelope_max}", "3: hv.envelope}",
        (
            "rigs/finch.yaml:27:55 error unknown-quantity: `hv.envelope` is no quantity or figure of this"
            " rig | did you mean `hv.envelope_min`?",
        ),
    ),
    "pin of a symptom": Fault(
        RIG, "3: hv.envelope_max}", "3: hv.flashes}",
        (
            "rigs/finch.yaml:27:55 error unknown-quantity: `hv.flashes` is no quantity or figure of this"
            " rig | did you mean `hv.voltage`?",
        ),
    ),
    "meter of the shop called like a stage": Fault(
        METERS, "  vom:\n", "  panel:\n",
        (
            "meters.yaml:2:3 error duplicate-id: `panel` is the name of a stage of a rig | give the meter"
            " another name",
        ),
    ),
    "meter of the shop without instrument": Fault(
        METERS, "{instrument: bridge, unit", "{unit",
        (
            "meters.yaml:9:3 error missing-key: the meter counter wants `instrument`, which is not here |"
            " add `instrument:`, the bench's word for its sort",
        ),
    ),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS.keys())
def test_a_slip_in_a_meter_or_socket_is_said_at_its_place(fault: Fault, tmp_path: Path) -> None:
    """Line, column, id, text and suggestion; nothing else is said."""
    assert problems_of(fault, tmp_path) == fault.said
