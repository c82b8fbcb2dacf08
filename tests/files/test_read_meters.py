"""Ways of describing a meter."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.files.faults import Faults
from diagnose.files.read_meters import read_meter, read_meters
from diagnose.files.yaml_parse import parse
from diagnose.model.measuring import Instrument, Meter
from diagnose.problems import Place
from tests.files.small import said

INSTRUMENTS = {
    "voltmeter": Instrument("voltmeter", "a voltmeter", reads=("V",)),
    "bridge": Instrument("bridge", "a bridge"),
}


def meter(text: str, id: str = "mine") -> Meter:
    """The meter in a text, which must be without problems."""
    faults = Faults()
    document, problems = parse(f"{id}: {text}", "m.yaml")
    assert document is not None
    read = read_meter(id, document.root.entries[id], INSTRUMENTS, faults)
    assert said((*problems, *faults.all())) == []
    return read


WAYS = {
    "ohms per volt as a number": ("ohms_per_volt: 20000", {"ohms_per_volt": 20000.0}),
    "ohms per volt with a prefix": ("ohms_per_volt: 20 kohm", {"ohms_per_volt": 20000.0}),
    "ohms per volt in full": ("ohms_per_volt: 20 kohm/V", {"ohms_per_volt": 20000.0}),
    "ohms per volt in words": ("ohms_per_volt: 1000 ohms per volt", {"ohms_per_volt": 1000.0}),
    "input resistance": ("input_resistance: 11 megs", {"input_resistance": 11e6}),
    "impedance of a wattmeter": ("unit: W, impedance: 75 ohms", {"impedance": 75.0}),
    "ranges of which one has a unit": ("ranges: [2.5, 10, 500 V]", {"ranges": (2.5, 10.0, 500.0), "unit": "V"}),
    "one range": ("ranges: 150 V", {"ranges": (150.0,), "unit": "V"}),
    "ranges of a known unit": ("unit: mA, ranges: [100, 10, 1 A]", {"ranges": (10.0, 100.0, 1000.0), "unit": "mA"}),
    "accuracy of a needle": ("accuracy: {of_full_scale: 3 %}", {"of_full_scale": 0.03}),
    "accuracy of digits": (
        "accuracy: {of_reading: 0.5 %, digits: 2}, resolution: 100 mV",
        {"of_reading": 0.005, "digits": 2.0, "resolution": 0.1},
    ),
}  # fmt: skip


@pytest.mark.parametrize(("text", "expected"), WAYS.values(), ids=WAYS.keys())
def test_ways_of_describing_a_meter(text: str, expected: dict[str, Any]) -> None:
    """Numbers as the trade writes them; full scales in the order of size, in the unit of the scale."""
    read = meter(f"{{instrument: voltmeter, {text}}}")
    for name, value in expected.items():
        assert getattr(read, name) == (value if isinstance(value, str) else pytest.approx(value))


def test_what_is_not_said_of_a_meter() -> None:
    """The title comes from the id, the instrument from an id that is one, the unit from what it is taken for."""
    assert meter("{}", "voltmeter") == Meter(
        "voltmeter", "voltmeter", "voltmeter", "V", place=Place("m.yaml", 1, 1)
    )
    plain = meter("{instrument: bridge}", "old_bridge")
    assert (plain.title, plain.unit, plain.ranges) == ("old bridge", "", ())
    assert (plain.input_resistance, plain.ohms_per_volt, plain.resolution) == (0, 0, 0)
    assert meter("{instrument: bridge, ohms_per_volt: 1000}").unit == "V"


def test_no_meters() -> None:
    """No section, no meters."""
    assert read_meters(None, INSTRUMENTS, Faults()) == {}


SCALARS = st.one_of(
    st.text("0123456789.,-+ kMVmAohmper%/'eE", max_size=12), st.integers(), st.floats(), st.booleans()
)


@given(st.dictionaries(
    st.sampled_from(["title", "instrument", "unit", "ranges", "ohms_per_volt", "input_resistance", "accuracy",
                     "resolution", "of_reading", "digits"]),
    st.one_of(SCALARS, st.lists(SCALARS, max_size=4), st.dictionaries(st.sampled_from(
        ["of_full_scale", "of_reading", "digits"]), SCALARS)),
    max_size=6,
))  # fmt: skip
def test_whatever_stands_there_is_a_meter_or_a_problem(entries: dict[str, Any]) -> None:
    """Nothing raises, and what comes out is above or at zero."""
    document, _ = parse(json.dumps({"mine": entries}), "m.yaml")
    if document is None:
        return
    faults = Faults()
    read = read_meter("mine", document.root.entries["mine"], INSTRUMENTS, faults)
    numbers = (*read.ranges, read.ohms_per_volt, read.input_resistance, read.of_full_scale, read.of_reading)
    assert all(number >= 0 for number in numbers)
    assert all(problem.place.line for problem in faults.found)
