"""What a book says of measuring: values, figures, formulas, computations, instruments, sockets."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.files.compiled import load_compiled, open_book
from diagnose.model.knowledge import Book, Socket
from diagnose.model.measuring import (
    Astray,
    Computed,
    Derived,
    DriftLog,
    Figure,
    Limit,
    OfPair,
    OverBands,
    PartValue,
    Reference,
    Shape,
)
from diagnose.model.when import Test as Condition
from diagnose.problems import Place
from tests.files.measured import ALL, book_in
from tests.files.small import write


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """The book with all that can be said."""
    return book_in(tmp_path_factory.mktemp("measured"))


def at(file: str, line: int, column: int) -> Place:
    """A place in the rules folder."""
    return Place(f"rules/{file}", line, column)


def found(file: str, text: str, *, skip: str = "") -> Place:
    """The place of a text that stands once in a file, behind the first letters of it if so asked."""
    before, _, _ = ALL[file].partition(text)
    assert ALL[file].count(text) == 1, text
    assert text.startswith(skip)
    before += skip
    return at(file, before.count("\n") + 1, len(before) - before.rfind("\n"))


FEED, STAGE, RIG = "stages/feed.yaml", "stages/amplifier.yaml", "rigs/finch.yaml"


def test_values_of_parts(book: Book) -> None:
    """What a rig may state, with its unit, and how well it is known."""
    kind = book.kinds["feed"]
    assert list(kind.values) == ["dropper", "turns", "first_capacitor"]
    place = found(FEED, "dropper: {title")
    assert kind.values["dropper"] == PartValue("dropper", "dropping resistor", "kohm", 0.10, place)
    assert (kind.values["turns"].unit, kind.values["turns"].within) == ("", 0.0)


def test_a_rig_states_values_in_the_units_of_the_kind(book: Book) -> None:
    """Whatever the unit they are written in; how well they are known is the rig's word, if it has one."""
    stages = book.rigs["finch"].stages
    dropper = stages["hv"].values["dropper"]
    assert (dropper.amount, dropper.unit, dropper.within) == (25.0, "kohm", None)
    assert dropper.place == found(RIG, "25 K}")
    other = stages["lv"].values["dropper"]
    assert (other.amount, other.unit, other.within) == (pytest.approx(100.0), "kohm", 0.20)
    assert stages["lv"].values["turns"].amount == 3.0
    assert stages["final"].values == {}


def test_figures(book: Book) -> None:
    """What is read only to work out others."""
    figures = book.kinds["feed"].figures
    assert figures["envelope_max"] == Figure(
        id="envelope_max",
        title="top of the envelope",
        ask="How high is the top?",
        unit="V",
        reads_within=0.05,
        read_with=("voltmeter", "bridge"),
        condition="loaded",
        words=("crest",),
        place=found(FEED, "envelope_max:\n"),
    )
    assert figures["envelope_min"].reads_within == 0.03


def test_derived_figures(book: Book) -> None:
    """A formula with its inputs, what it is a reading of, and its limit."""
    assert book.kinds["feed"].derived["modulation"] == Derived(
        id="modulation",
        title="modulation",
        unit="percent",
        formula="(top - bottom) / (top + bottom)",
        inputs={
            "top": Reference(quantity="envelope_max", place=found(FEED, "top: envelope_max", skip="top: ")),
            "bottom": Reference(
                quantity="envelope_min", place=found(FEED, "bottom: envelope_min", skip="bottom: ")
            ),
        },
        when=(Condition("rectifier", ("tube",)),),
        gives="ripple",
        limit=Limit(
            most=Reference(amount=100.0, unit="%", place=found(FEED, "{amount: 100 %}")),
            says="it splatters",
            source="from memory",
            place=found(FEED, "limit: {most: {amount"),
        ),
        source="handbook",
        place=found(FEED, "modulation:\n"),
    )
    worked = book.kinds["amplifier"].derived
    assert worked["input"].inputs["volts"].quantity == "supply.voltage"
    assert worked["peak"].inputs["once"].quantity == "input"


def test_how_a_quantity_is_measured(book: Book) -> None:
    """Regulated until it drops out, with what it is read, across which resistance, what it may be at most."""
    voltage = book.kinds["feed"].indications["voltage"]
    assert (voltage.follows_mains, voltage.drops_out_below) == (0.5, 0.88)
    assert voltage.read_with == ("voltmeter",)
    source = voltage.source_resistance
    assert source is not None
    assert source.value == "dropper"
    assert source.other is not None
    assert (source.other.amount, source.other.unit) == (47.0, "kohm")
    assert voltage.limit is not None
    assert voltage.limit.most is not None
    assert (voltage.limit.most.tube, voltage.limit.most.which) == ("ratings.plate_voltage", 1)
    assert (voltage.limit.says, voltage.limit.least) == ("the tube arcs", None)
    ripple = book.kinds["feed"].indications["ripple"]
    assert ripple.limit is None
    assert [state.between for state in ripple.states] == [(0, 5), (5, 50)]


def test_expected_values_from_parts(book: Book) -> None:
    """One computation or a list, with where each argument comes from."""
    (ripple,) = book.kinds["feed"].indications["ripple"].computed
    assert (ripple.method, ripple.result) == ("ripple", "ripple_percent")
    assert ripple.when == (Condition("filter", ("capacitor_input", "choke_input")),)
    assert ripple.inputs["circuit"].feature == "circuit"
    assert ripple.inputs["mains_frequency"].rig == "mains_frequency"
    assert ripple.inputs["capacitance"].value == "first_capacitor"
    first, second = book.kinds["amplifier"].indications["current"].computed
    assert isinstance(first, Computed)
    assert first.when == (Condition("tube", ("beam",)),)
    assert second.inputs["voltage"].expected
    ohms = second.inputs["bleeder_ohms"]
    assert (ohms.tube, ohms.which, ohms.within) == ("heater.ohms", -1, 0.20)


def test_what_several_readings_say(book: Book) -> None:
    """Over the bands, as a pair, in a drift log."""
    kind = book.kinds["amplifier"]
    assert kind.indications["drive_over_bands"].over_bands == OverBands(
        "current", {"one_band": Shape("one_band", (0, 0.85)), "all_bands": Shape("all", (0.3, 0.9))}, 0.04
    )
    assert kind.indications["creeps"].of_pair == OfPair("current", "cold_warm", 0.10, rose="yes")
    assert kind.drift_log == DriftLog({"warm_up": "drift", "per_volt": "line_drift"}, multiplied=False)
    assert book.kinds["feed"].drift_log is None


def test_meters_of_a_stage(book: Book) -> None:
    """An indication of what a meter does to what is read with it; nothing of it comes by itself."""
    plate = book.kinds["panel"].indications["plate_range"]
    assert (plate.sort, plate.title, plate.ask, plate.words) == (
        "instrument", "plate current range", "", ("plate meter",),
    )  # fmt: skip
    assert [(s.id, s.side, s.leak) for s in plate.states] == [
        ("true", "", 0), ("low", "down", 0.002), ("high", "up", 0), ("dead", "over", 0),
    ]  # fmt: skip
    assert plate.astray == {"low": Astray(0.7, 0.08), "high": Astray(1.3, 0.12), "dead": Astray(0.05)}
    usual = book.kinds["gauge"].indications["shown"].astray
    assert usual == {"low": Astray(0.8, 0.10), "high": Astray(1.25, 0.12), "dead": Astray(0.05)}
    (rule,) = book.kinds["panel"].rules.values()
    assert (rule.to_name, rule.to_state) == ("plate_range", "high")


def test_instruments_of_the_bench(book: Book) -> None:
    """A sort of instrument may name the kind of stage that makes it lie, and the usual meter."""
    voltmeter, bridge = book.bench.instruments["voltmeter"], book.bench.instruments["bridge"]
    assert (voltmeter.title, voltmeter.kind, voltmeter.features) == (
        "a voltmeter",
        "gauge",
        {"sort": "digits"},
    )
    assert voltmeter.reads == ("V", "mA")
    assert voltmeter.meter is not None
    assert (voltmeter.meter.title, voltmeter.meter.instrument) == ("a voltmeter", "voltmeter")
    assert voltmeter.meter.ranges == (10, 50, 250, 1000)
    assert (bridge.kind, bridge.reads, bridge.meter) == ("", (), None)
    assert book.bench.mains_meter == "voltmeter"


def test_what_a_rig_says_of_measuring(book: Book) -> None:
    """Meters of its chart, instruments by quantity, multiplication, sockets."""
    rig = book.rigs["finch"]
    assert (rig.chart_meters["old_set"].ohms_per_volt, rig.chart_meters["old_set"].unit) == (1000, "V")
    assert (rig.chart_meters["probe"].input_resistance, rig.chart_meters["probe"].unit) == (20e6, "kV")
    assert rig.chart_meter == "old_set"
    assert [row.meter for row in rig.chart] == ["probe", "", ""]
    assert rig.read_with == {
        "final.current": ("panel.plate_range",),
        "hv.envelope_max": ("bridge", "voltmeter"),
    }
    assert rig.multiplication == {"80m": 1, "40m": 2}
    assert rig.sockets["V1"] == Socket(
        "V1", "hv", "6E5", {"1": "hv.voltage", "3": "hv.envelope_max"}, found(RIG, "V1: {stage")
    )
    assert rig.sockets["V2"].pins == {"cap": "final.current"}


def test_it_survives_being_compiled(book: Book, tmp_path: Path) -> None:
    """References inside references, conditions, meters: all come back as they were."""
    folder = write(tmp_path / "rules", ALL)
    read, _ = open_book(folder, None, tmp_path / "cache")
    (path,) = (tmp_path / "cache").glob("book-*.json")
    assert read is not None
    kept = load_compiled(path, read.digest)
    assert kept is not None
    assert kept[0] == read == book
