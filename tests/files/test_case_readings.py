"""Readings as people have them: ranges, bands, cold and warm, before and after, sockets, meters."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import pytest

from diagnose.files.read_case import assembly_of, case_of
from diagnose.files.rig_names import names_on
from diagnose.files.yaml_parse import parse
from diagnose.model.assembly import at_bench
from diagnose.model.case import Case, Observation, Work
from diagnose.model.knowledge import Book
from diagnose.problems import Place
from tests.files.measured import book_in
from tests.files.small import said

HEAD = "case: c\nrig: finch\n"
METER = (
    "meters: {dvm: {instrument: voltmeter, unit: V, ranges: [20, 200, 1000 V], input_resistance: 10 Mohm}}\n"
)
WORKED = "work: [new capacitors, {did: new resistor, parts: [final.valve]}]\n"


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """The book with all that can be measured."""
    return book_in(tmp_path_factory.mktemp("readings"))


def read(text: str, book: Book) -> tuple[Case, list[str]]:
    """The case in a text behind the usual head, and what is said of it."""
    document, problems = parse(HEAD + text, "c.yaml")
    assert document is not None, problems
    case, found = case_of(document, book, problems)
    assert case is not None
    return case, said(found)


def good(text: str, book: Book) -> Case:
    """The same, without problems."""
    case, lines = read(text, book)
    assert lines == []
    return case


def told(observation: Observation) -> dict[str, Any]:
    """What an observation says beside its name, as written, and place."""
    quiet = {"name", "as_written", "place"}
    values = {f.name: getattr(observation, f.name) for f in fields(observation)}
    return {
        f.name: values[f.name]
        for f in fields(observation)
        if f.name not in quiet and values[f.name] != f.default
    }


WAYS: dict[str, tuple[str, str, list[dict[str, Any]]]] = {
    "a range": ("", "560 to 600 V", [{"value": 580, "low": 560, "high": 600}]),
    "between two values": ("", "between 560 and 600 V", [{"value": 580, "low": 560, "high": 600}]),
    "a range in two units": ("", "560 V to 0.6 kV", [{"value": 580, "low": 560, "high": 600}]),
    "a range with the first unit only": ("", "0.56 kV to 0.6", [{"value": 580, "low": 560, "high": 600}]),
    "a range without a unit": ("", "from 560 to 600", [{"value": 580, "low": 560, "high": 600}]),
    "a range that runs down": ("", "600 to 560 V", [{"value": 580, "low": 560, "high": 600}]),
    "a rough range": ("", "about 560 to 600 V", [{"value": 580, "low": 560, "high": 600}]),
    "a range of nothing": ("", "580 to 580 V", [{"value": 580}]),
    "a rough value": ("", "about 580 V", [{"value": 580, "within": 0.1}]),
    "a list": ("", "[580 V, {value: 570 V, mode: phone}, low]", [{"value": 580}, {"value": 570, "mode": "phone"}, {"state": "low"}]),
    "bands": ("", "{bands: {80m: 580 V, 40m: low}, mode: cw}", [{"value": 580, "band": "80m", "mode": "cw"}, {"state": "low", "band": "40m", "mode": "cw"}]),
    "cold and warm": ("", "{cold: 580 V, warm: 560 to 570 V}", [{"value": 580, "warmth": "cold"}, {"value": 565, "low": 560, "high": 570, "warmth": "warm"}]),
    "warm only": ("", "{warm: 560 V, minutes: 30}", [{"value": 560, "warmth": "warm", "minutes": 30}]),
    "minutes in hours": ("", "{value: 560 V, minutes: 1.5 h, warmth: warm}", [{"value": 560, "warmth": "warm", "minutes": 90}]),
    "before and after the last work": (WORKED, "{before: 480 V, after: 590 V}", [{"value": 480, "period": 1}, {"value": 590, "period": 2}]),
    "before and after the first work": (WORKED, "{before: 480 V, after: 590 V, work: 1}", [{"value": 480, "period": 0}, {"value": 590, "period": 1}]),
    "before only": (WORKED, "{before: 480 V}", [{"value": 480, "period": 1}]),
    "after so much work": (WORKED, "{value: 480 V, period: 0}", [{"value": 480, "period": 0}]),
    "with a meter of the case": (METER, "{value: 580 V, with: dvm, range: 1 kV}", [{"value": 580, "meter": "dvm", "range": 1000}]),
    "with a meter of the shop": ("", "{value: 580 V, with: vom, range: 1000 V}", [{"value": 580, "meter": "vom", "range": 1000}]),
    "with an instrument of the bench": ("", "{value: 580 V, with: voltmeter, range: 600 V}", [{"value": 580, "meter": "voltmeter", "range": 600}]),
    "with a meter of the rig": ("", "{value: 580 V, with: panel.plate_range}", [{"value": 580, "meter": "panel.plate_range"}]),
    "with a meter of another scale": ("", "{value: 580 V, with: counter, range: 1 kV}", [{"value": 580, "meter": "counter", "range": 1000}]),
    "on another line": ("", "{value: 580 V, mains: 105 V, mains_frequency: 50 Hz}", [{"value": 580, "mains": 105, "mains_frequency": 50}]),
    "while it showed": ("", "{value: 580 V, while_showing: no, told_by: owner, within: 2 %}", [{"value": 580, "while_showing": False, "told_by": "owner", "within": 0.02}]),
}  # fmt: skip


@pytest.mark.parametrize(("before", "written", "expected"), WAYS.values(), ids=WAYS.keys())
def test_ways_of_giving_a_reading(
    before: str, written: str, expected: list[dict[str, Any]], book: Book
) -> None:
    """Each gives the observations that a person means by it, in a mapping and in a list alike."""
    case = good(f"{before}readings: {{hv.voltage: {written}}}\n", book)
    assert [told(seen) for seen in case.observations] == [pytest.approx(one) for one in expected]
    assert {seen.name for seen in case.observations} == {"hv.voltage"}
    if not written.startswith("["):
        entry = f"value: {written}" if not written.startswith("{") else written.strip("{}")
        entry = written[1:-1] if written.startswith("{") else entry
        listed = good(f"{before}readings: [{{quantity: hv.voltage, {entry}}}]\n", book)
        assert [told(seen) for seen in listed.observations] == [told(seen) for seen in case.observations]


def test_each_value_of_an_entry_has_its_own_place(book: Book) -> None:
    """A band stands where it was written, so that a message about it points there."""
    case = good("readings:\n  hv.voltage:\n    bands:\n      80m: 580 V\n      40m: 590 V\n", book)
    assert [seen.place for seen in case.observations] == [Place("c.yaml", 6, 7), Place("c.yaml", 7, 7)]


def test_figures_are_read_like_quantities(book: Book) -> None:
    """A figure takes a value, never a state."""
    case = good("readings: {hv.envelope_max: {value: 10 to 12 V, with: bridge}, lv.envelope_min: 3}\n", book)
    assert [(seen.name, seen.value) for seen in case.observations] == [
        ("hv.envelope_max", 11), ("lv.envelope_min", 3),
    ]  # fmt: skip


def test_a_socket_in_one_go(book: Book) -> None:
    """Pins become readings of what they show, each with the circumstances of them all."""
    case = good(
        "sockets:\n  V1: {1: 590 V, 3: about 12 V, with: vom, mode: phone}\n  V2: {cap: 90 to 110 mA}\n", book
    )
    first, second, third = case.observations
    assert (first.name, told(first)) == ("hv.voltage", {"value": 590, "meter": "vom", "mode": "phone"})
    assert (second.name, told(second)) == (
        "hv.envelope_max", {"value": 12, "within": 0.1, "meter": "vom", "mode": "phone"},
    )  # fmt: skip
    assert (third.name, told(third)) == ("final.current", {"value": 100, "low": 90, "high": 110})
    assert [seen.place.column for seen in case.observations] == [8, 18, 8]


def test_what_belongs_to_the_whole_case(book: Book) -> None:
    """The line with its frequency, meters, work with its parts."""
    case = good("mains: 121 V\nmains_frequency: 50 Hz\n" + METER + WORKED, book)
    assert (case.mains, case.mains_frequency) == (121, 50)
    assert (case.meters["dvm"].ranges, case.meters["dvm"].instrument) == ((20, 200, 1000), "voltmeter")
    assert case.work == (
        Work("new capacitors", place=Place("c.yaml", 6, 8)),
        Work("new resistor", parts=("final.valve",), place=Place("c.yaml", 6, 24)),
    )


def test_a_meter_can_be_inspected_like_a_part_of_the_set(book: Book) -> None:
    """Meters stand on the bench as stages; their parts have names there."""
    text = (
        METER
        + "inspected: {dvm.battery: flat, voltmeter.battery: good}\nwork: [{did: x, parts: vom.battery}]\n"
    )
    case = good(text, book)
    assert case.inspected == {"dvm.battery": "flat", "voltmeter.battery": "good"}
    assert case.work[0].parts == ("vom.battery",)


def test_names_agree_with_the_assembly(book: Book) -> None:
    """What a case may name is what the network of the rig on the bench holds."""
    case = good(METER, book)
    assembly = assembly_of(book, "finch", tuple(case.meters.values()))
    meters = (*book.meters.values(), *case.meters.values())
    names = names_on(book, at_bench(book, book.rigs["finch"], meters))
    assert set(names.indications) == set(assembly.indications)
    assert set(names.modes) == set(assembly.parts)
    assert set(names.figures) == {"hv.envelope_max", "hv.envelope_min", "lv.envelope_max", "lv.envelope_min"}
    assert set(names.derived) == {"hv.modulation", "final.input", "final.peak"}


def slip(reading: str, *lines: str, kept: int = 0, before: str = "") -> tuple[str, str, tuple[str, ...], int]:
    """A reading of the voltage (line 5 on behind `before`) with what is said of it, and how many are kept."""
    return (before, reading, lines, kept)


SLIPS = {
    "another prefix in a range": slip(
        "560 to 5900 V",
        "c.yaml:3:24 error odd-magnitude: hv.voltage: 5900 V is not between 0 and 3000 V; it is left out",
    ),
    "a range of two kinds": slip(
        "560 V to 600 mA",
        "c.yaml:3:24 error unit: hv.voltage: `600 mA` is a current, but a voltage (V) is wanted | write it like `12.5 V`",
    ),
    "half a range": slip(
        "560 to V",
        "c.yaml:3:24 error unit: hv.voltage: `to V` is no unit that is known here",
    ),
    "value and bands": slip(
        "{value: 560 V, bands: {80m: 560 V}}",
        "c.yaml:3:12 error reading: hv.voltage: `value` and `bands` do not go together | write a list of readings",
    ),
    "nothing read": slip(
        "{mode: cw}",
        "c.yaml:3:12 error missing-key: a reading wants `value`, which is not here"
        " | add `value:` (A value with its unit, or a state)",
    ),
    "a band that the rig does not have": slip(
        "{bands: {80m: 560 V, 10m: 550 V}}",
        "c.yaml:3:45 error unknown-band: `10m` is no band of this rig | known here: 80m, 40m, 20m",
        kept=1,
    ),
    "band beside bands": slip(
        "{bands: {80m: 560 V}, band: 40m}",
        "c.yaml:3:46 error reading: `band` and `bands` do not go together | remove `band`",
        kept=1,
    ),
    "an odd value on one band": slip(
        "{bands: {80m: 560 V, 40m: 560 mA}}",
        "c.yaml:3:50 error unit: hv.voltage: `560 mA` is a current, but a voltage (V) is wanted | write it like `12.5 V`",
        kept=1,
    ),
    "before no work": slip(
        "{before: 480 V, after: 590 V}",
        "c.yaml:3:25 error no-work: nothing is entered under `work` that this was read before"
        " | enter what was done, or write `value`",
        kept=1,
    ),
    "around work that was not done": slip(
        "{before: 480 V, after: 590 V, work: 3}",
        "c.yaml:4:60 error no-work: there are 2 pieces of work in this case, and `3` is not among them"
        " | enter what was done under `work`",
        before=WORKED,
    ),
    "work without before and after": slip(
        "{value: 480 V, work: 1}",
        "c.yaml:4:39 error reading: `work` goes with `before` and `after` | say how many were done by `period:`",
        before=WORKED,
        kept=1,
    ),
    "a period in words": slip(
        "{value: 480 V, period: first}",
        "c.yaml:3:47 error type: `first` is no number of pieces of work",
        kept=1,
    ),
    "an instrument that is not there": slip(
        "{value: 480 V, with: vim}",
        "c.yaml:3:45 error unknown-instrument: `vim` is no instrument here | known here: vom, counter,"
        " voltmeter, bridge, panel.plate_range, panel.grid_range",
        kept=1,
    ),
    "a range that the meter does not have": slip(
        "{value: 480 V, with: vom, range: 100 V}",
        "c.yaml:3:57 error unknown-range: `100 V` is no range of vom | its ranges are 2.5, 10, 50, 250, 1000 V",
        kept=1,
    ),
    "a range of another kind": slip(
        "{value: 480 V, with: vom, range: 1 A}",
        "c.yaml:3:57 error unit: `1 A` is a current, but a voltage (V) is wanted | write it like `12.5 V`",
        kept=1,
    ),
    "a range below nought": slip(
        "{value: 480 V, range: -1 V}", "c.yaml:3:46 error range: `-1 V` should be more than 0", kept=1
    ),
    "minutes below nought": slip(
        "{value: 480 V, minutes: -5}", "c.yaml:3:48 error range: `-5` should be at least 0", kept=1
    ),
    "neither warm nor cold": slip(
        "{value: 480 V, warmth: hot}",
        "c.yaml:3:47 error unknown-warmth: `hot` is no warmth of a set | known here: cold, warm",
        kept=1,
    ),
    "neither yes nor no": slip(
        "{value: 480 V, while_showing: maybe}",
        "c.yaml:3:54 error unknown-answer: `maybe` is no answer | known here: yes, no",
        kept=1,
    ),
    "a line that cannot be": slip(
        "{value: 480 V, mains: 1.17 kV}",
        "c.yaml:3:46 error odd-magnitude: 1170 V is no mains for this rig, which is made for 117 V; it is left out",
        kept=1,
    ),
    "a line without frequency": slip(
        "{value: 480 V, mains_frequency: 0 Hz}", "c.yaml:3:56 error range: `0 Hz` should be more than 0", kept=1
    ),
}  # fmt: skip


@pytest.mark.parametrize(("before", "reading", "lines", "kept"), SLIPS.values(), ids=SLIPS.keys())
def test_a_slip_in_a_reading_costs_only_what_it_spoils(
    before: str, reading: str, lines: tuple[str, ...], kept: int, book: Book
) -> None:
    """Line, column, id, text, suggestion; and how many readings are left."""
    case, found = read(f"{before}readings: {{hv.voltage: {reading}}}\n", book)
    assert found == list(lines)
    assert len(case.observations) == kept


ELSEWHERE = {
    "a pin that the rig does not know": (
        "sockets: {V1: {2: 3 V}}\n",
        "c.yaml:3:16 error unknown-pin: `2` is no pin of V1 that the rig knows",
    ),
    "a socket that the rig does not have": (
        "sockets: {V9: {2: 3 V}}\n", "c.yaml:3:11 error unknown-socket: `V9` is no socket of the rig finch | known here: V1, V2",
    ),
    "a figure in words": (
        "readings: {hv.envelope_max: high}\n",
        "c.yaml:3:29 error unit: `high` is no value of hv.envelope_max | write it like `12.5 V`",
    ),
    "a figure that is worked out": (
        "readings: {final.input: 50 W}\n",
        "c.yaml:3:12 error worked-out: `final.input` is worked out from other readings | give hv.voltage, final.current",
    ),
    "a meter called like a stage": (
        "meters: {panel: {instrument: voltmeter}}\n",
        "c.yaml:3:10 error duplicate-id: `panel` is the name of a stage of this rig | give the meter another name",
    ),
    "a meter of no instrument": (
        "meters: {dvm: {unit: V}}\n",
        "c.yaml:3:10 error missing-key: the meter dvm wants `instrument`, which is not here"
        " | add `instrument:`, the bench's word for its sort",
    ),
    "a line of a thousand volts": (
        "mains: 1170\n",
        "c.yaml:3:8 error odd-magnitude: 1170 V is no mains for this rig, which is made for 117 V; it is left out",
    ),
    "work on a part that is not there": (
        "work: [{did: x, parts: [final.valv]}]\n",
        "c.yaml:3:25 error unknown-part: `final.valv` is no part of this rig | did you mean `final.valve`?",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("text", "line"), ELSEWHERE.values(), ids=ELSEWHERE.keys())
def test_a_slip_elsewhere_is_said_at_its_place(text: str, line: str, book: Book) -> None:
    """Line, column, id, text, suggestion."""
    assert read(text, book)[1] == [line]
