"""What a rules folder says, as values of the model, with the defaults of what it leaves out."""

from __future__ import annotations

import pickle
from pathlib import Path

import pytest

from diagnose.files.read_book import load_book
from diagnose.model.knowledge import (
    Book,
    ChartRow,
    Check,
    Fact,
    Hazard,
    Need,
    Port,
    PriorCase,
    Remedy,
    SetupState,
    Source,
    State,
    StopOrder,
    Tube,
)
from diagnose.model.measuring import Instrument
from diagnose.model.when import Test as Condition
from diagnose.problems import Place
from tests.files.small import FEED, FILES, RIG, STAGE, good_book, rules, said, swapped, write


@pytest.fixture
def book(tmp_path: Path) -> Book:
    """The small book."""
    return good_book(tmp_path)


def test_bench(book: Book) -> None:
    """Facts, set-ups, hazards, reports and budgets."""
    bench = book.bench
    assert bench.facts["years_stored"] == Fact(
        "years_stored",
        "years stored",
        "How many years?",
        "number",
        {},
        "year",
        place=Place("rules/bench.yaml", 2, 3),
    )
    assert bench.facts["worked_on_by"].values == {"nobody": "nobody", "owner": "owner"}
    assert bench.facts["work"].values == {"wiring": "wires moved", "tubes": "new"}
    assert bench.safety == {"bleeder_proven": "bleeder proven"}
    power = bench.setups["power"]
    assert (power.title, power.first, list(power.states)) == ("power", "off", ["off", "on"])
    assert power.states["off"] == SetupState("off", "off", 2, ("Pull the plug.",))
    assert power.states["on"].live
    assert bench.hazards == {"live": Hazard("live", "live", ("One hand.",), ("bleeder_proven",))}
    assert bench.instruments == {"meter": Instrument("meter", "a meter")}
    assert bench.reports == {"bench": 0.98, "owner": 0.80}
    assert bench.budgets["stored"].history == {"years_stored": 25, "damp": "no"}
    assert bench.budgets["stored"].faults == (0.1, 5)


def test_library(book: Book) -> None:
    """Sources, and tubes whose figures stay as written."""
    assert book.sources == {"handbook": Source("handbook", "a handbook", "chapter 3", "https://example.org")}
    assert book.tubes == {
        "6E5": Tube(
            "6E5",
            "triode",
            {"volts": "6.3 V", "amps": "0.3 A"},
            {"plate_voltage": "250 V"},
            {"audio": {"plate_voltage": "200 V"}},
            "handbook",
            "",
            Place("rules/tubes.yaml", 2, 3),
        )
    }


def test_a_level_is_graded_around_the_expected_value(book: Book) -> None:
    """Edges and spread come from the tolerance: 10 % gives 0.9, 1.1 and a deviation of 0.05."""
    voltage = book.kinds["feed"].indications["voltage"]
    assert voltage.states == (
        State("normal", around=(1.0, pytest.approx(0.05))),  # type: ignore[arg-type]
        State("absent", "over", "", 0.001, (0.0, 0.05)),
        State("low", "down", "", 0.004, (0.05, pytest.approx(0.9))),  # type: ignore[arg-type]
        State("high", "up", "", 0.003, (pytest.approx(1.1), 2.5)),  # type: ignore[arg-type]
    )
    assert (voltage.sort, voltage.unit, voltage.scale) == ("quantity", "V", "ratio")
    assert voltage.tolerance == pytest.approx(0.1)
    assert voltage.follows_mains == 1
    assert voltage.reads_within == pytest.approx(0.02)
    assert voltage.plausible == (0, 3000)
    assert voltage.condition == "loaded"
    assert voltage.words == ("B plus",)
    assert voltage.split == (0.5, 0.25, 0.25)
    assert voltage.place == Place("rules/stages/feed.yaml", 9, 3)


def test_an_excess_is_graded_on_its_own_scale(book: Book) -> None:
    """The limit is in the unit, its multiple too; what is not said has its default."""
    ripple = book.kinds["feed"].indications["ripple"]
    assert ripple.states == (
        State("normal", between=(0, 5)),
        State("high", "up", "", 0.005, (5, 50)),
    )
    assert (ripple.scale, ripple.follows_mains, ripple.reads_within) == ("absolute", 0, 0.03)


def test_limits_in_another_unit_are_converted(tmp_path: Path) -> None:
    """A window given in millivolts for a quantity in volts."""
    text = swapped(
        FEED, "    unit: percent\n    condition: loaded\n    grading: excess\n    limit: 5 %\n", "    unit: V\n    grading: window\n    limits: [500 mV, 2]\n"
    )  # fmt: skip
    ripple = good_book(tmp_path, {"stages/feed.yaml": text}).kinds["feed"].indications["ripple"]
    assert [(state.id, state.between) for state in ripple.states] == [
        ("normal", (0.5, 2)),
        ("low", (0, 0.5)),
        ("high", (2, 6)),
    ]


def test_own_states_and_leaks_of_a_quantity(book: Book) -> None:
    """A masking state of its own is milder than absent; a stated leak comes before the grading's."""
    current = book.kinds["amplifier"].indications["current"]
    assert [(state.id, state.side, state.leak) for state in current.states] == [
        ("normal", "", 0),
        ("unsteady", "over", 0.002),
        ("absent", "over", 0.001),
        ("low", "down", 0.01),
        ("high", "up", 0.003),
    ]
    assert current.needs == (Need("supply.voltage", ("low", "normal", "high")),)


def test_a_further_degree_is_more_severe_than_those_of_the_grading(tmp_path: Path) -> None:
    """A state of its own on a side that the grading has comes after the grading's."""
    states = "    states: {unsteady: {side: over}, very_high: {side: up, between: [2, 5]}, high: {side: up, between: [1.2, 2]}}\n"
    text = swapped(STAGE, "    states:\n      unsteady: {side: over, leak: 2 of 1000}\n", states)
    current = good_book(tmp_path, {"stages/amplifier.yaml": text}).kinds["amplifier"].indications["current"]
    assert [state.id for state in current.states] == [
        "normal",
        "unsteady",
        "absent",
        "low",
        "high",
        "very_high",
    ]
    assert current.states[4].between == (1.2, 2)


def test_symptoms_and_patterns(book: Book) -> None:
    """A symptom is no or yes; a pattern is normal or one of its states, mild to severe."""
    flashes = book.kinds["feed"].indications["flashes"]
    assert flashes.states == (State("no"), State("yes", "up", leak=0.003))
    assert flashes.stop == "Remove power now."
    assert flashes.when == (Condition("rectifier", any_of=("tube",)),)
    drive = book.kinds["amplifier"].indications["drive_over_bands"]
    assert drive.states == (
        State("normal"),
        State("one_band", "over", "low on one band", 0.002),
        State("all_bands", "over", "low on all", 0.002),
    )


@pytest.mark.parametrize(
    ("leak", "expected"), [("3 of 1000", [0, 0.003, 0.003]), ("{all_bands: 1 of 1000}", [0, 0.002, 0.001])]
)
def test_leaks_of_a_pattern(leak: str, expected: list[float], tmp_path: Path) -> None:
    """One leak for every abnormal state, or one for each."""
    text = swapped(STAGE, "all_bands: low on all}\n", f"all_bands: low on all}}\n    leak: {leak}\n")
    drive = (
        good_book(tmp_path, {"stages/amplifier.yaml": text})
        .kinds["amplifier"]
        .indications["drive_over_bands"]
    )
    assert [state.leak for state in drive.states] == pytest.approx(expected)


def test_parts(book: Book) -> None:
    """Modes with their priors by history, and remedies of the part or of the mode."""
    tube = book.kinds["feed"].parts["rectifier_tube"]
    weak, dead = tube.modes
    assert tube.first_aid
    assert tube.remedy == Remedy("fit a good one", 5, 0.97, "one tube", ("voltage",))
    assert weak.prior == pytest.approx(0.05)
    assert weak.history == (
        PriorCase((Condition("years_stored", at_least=20),), 0.08),
        PriorCase((Condition("damp", any_of=("yes",)),), 0.06),
    )
    assert dead.endangers_spare == "the short kills the next one too"
    assert book.kinds["feed"].parts["capacitor"].remedy == Remedy("fit a new one", 25, 1.0)
    assert book.kinds["amplifier"].parts["valve"].modes[0].remedy == Remedy("fit a new one", 10, 1.0)
    assert not tube.unnamed


def test_rules(book: Book) -> None:
    """Ids carry the kind; ends, chance, condition and reason are as written."""
    rule = book.kinds["feed"].rules["weak-sags"]
    assert rule.id == "feed/weak-sags"
    assert (rule.from_name, rule.from_state, rule.to_name, rule.to_state) == (
        "rectifier_tube",
        "weak",
        "voltage",
        "low",
    )
    assert rule.chance == pytest.approx(0.85)
    assert rule.when == (Condition("rectifier", any_of=("tube",)),)
    assert (rule.because, rule.source) == ("a tired cathode gives less current", "common practice")
    assert (rule.damages, rule.local) == (False, False)
    assert rule.place == Place("rules/stages/feed.yaml", 57, 3)
    ruin = book.kinds["feed"].rules["shorted-ruins-tube"]
    assert (ruin.damages, ruin.to_name, ruin.to_state) == (True, "rectifier_tube", "dead")
    assert book.kinds["feed"].rules["low-ripples"].chance == pytest.approx(0.2)
    assert book.kinds["amplifier"].rules["low-supply-draws-little"].from_name == "supply.voltage"


def test_conditions_of_every_form(tmp_path: Path) -> None:
    """A word, several, a range, and what it must not be."""
    history = "- {when: {years_stored: {at_least: 5, below: 20}, damp: {not: yes}, work: [wiring, tubes]}, prior: 0.1}"
    text = swapped(FEED, "- {when: {damp: yes}, prior: 6 of 100}", history)
    weak = good_book(tmp_path, {"stages/feed.yaml": text}).kinds["feed"].parts["rectifier_tube"].modes[0]
    assert weak.history[1].when == (
        Condition("years_stored", at_least=5, below=20),
        Condition("damp", none_of=("yes",)),
        Condition("work", any_of=("wiring", "tubes")),
    )


def test_checks_and_stop_orders(book: Book) -> None:
    """Checks with their set-up, and orders from observations and facts together."""
    assert book.kinds["feed"].checks["read_it"] == Check(
        "read_it", "read the voltage", ("voltage",), "Clip on, switch on, read.", "meter", 3, "400 V",
        {"power": "on"}, "live", place=Place("rules/stages/feed.yaml", 83, 3),
    )  # fmt: skip
    swap = book.kinds["feed"].checks["swap_tube"]
    assert (swap.swaps, swap.proves, swap.setup, swap.hazard) == ("rectifier_tube", "bleeder_proven", {}, "")
    assert book.kinds["feed"].stop_orders["flash-when-damp"] == StopOrder(
        "flash-when-damp",
        "Switch off and dry it first.",
        {"flashes": "yes"},
        (Condition("damp", any_of=("yes",)),),
        place=Place("rules/stages/feed.yaml", 102, 3),
    )


def test_kind(book: Book) -> None:
    """Features, ports and the unnamed fault."""
    feed, amplifier = book.kinds["feed"], book.kinds["amplifier"]
    assert feed.features == {"rectifier": ("tube", "silicon")}
    assert (feed.unnamed_prior, feed.unnamed_pushes, feed.unnamed_only) == (0.004, 0.3, ("voltage",))
    assert amplifier.unnamed_only == ()
    assert amplifier.ports["second"] == Port(
        "second", "another feed", ("voltage",), True, Place("rules/stages/amplifier.yaml", 6, 3)
    )
    assert feed.about == "What the rest hangs on."


def test_rig(book: Book) -> None:
    """Stages with the defaults of their features, chart in the quantities' own units."""
    rig = book.rigs["finch"]
    assert rig.features == {"modes": ("cw", "phone")}
    assert (rig.mains_voltage, rig.mains_frequency, rig.bands) == (117, 60, ("80m", "40m"))
    assert rig.stages["hv"].features == {"rectifier": "tube"}
    assert rig.stages["lv"].features == {"rectifier": "silicon"}
    assert rig.stages["hv"].tubes == ("6E5",)
    assert rig.stages["final"].fed_by == {"supply": "hv"}
    assert rig.chart == (
        ChartRow("hv.voltage", 600.0, "cw", "", place=Place("rules/rigs/finch.yaml", 12, 5)),
        ChartRow(
            "final.current",
            100.0,
            "phone",
            "40m",
            0.05,
            "dipped",
            place=Place("rules/rigs/finch.yaml", 13, 5),
        ),
    )
    assert rig.proof == ("hv.voltage", "final.current")
    assert not rig.local


def test_the_book_can_go_to_another_process(book: Book) -> None:
    """Nothing in it is tied to this one."""
    assert pickle.loads(pickle.dumps(book)) == book


def test_files_may_lie_flat_and_sources_in_several_files(tmp_path: Path) -> None:
    """A file is known by what it says, not by where it lies."""
    flat = {name.rpartition("/")[2]: text for name, text in FILES.items()}
    flat["sources_more.yaml"] = "sources: {leaflet: {title: a leaflet}}\n"
    book, problems = load_book(write(tmp_path / "rules", flat))
    assert problems == ()
    assert book is not None
    assert list(book.sources) == ["handbook", "leaflet"]
    assert list(book.rigs) == ["finch"]


def test_a_source_in_two_files_is_a_problem(tmp_path: Path) -> None:
    """Merging never overwrites."""
    _, problems = load_book(rules(tmp_path, {"sources_more.yaml": "sources:\n  handbook: {title: other}\n"}))
    assert said(problems) == [
        "rules/sources_more.yaml:2:3 error duplicate-id: `handbook` is there already (rules/sources.yaml:2:3)"
        " | give it another id"
    ]


def test_a_kind_in_two_files_is_a_problem(tmp_path: Path) -> None:
    """Built-in files do not lie over each other."""
    _, problems = load_book(rules(tmp_path, {"stages/feed2.yaml": FEED}))
    assert said(problems) == [
        "rules/stages/feed2.yaml:1:7 error duplicate-id: the stage `feed` is declared already"
        " (rules/stages/feed.yaml) | give it another id"
    ]


def test_a_broken_file_does_not_make_the_others_look_broken(tmp_path: Path) -> None:
    """What only follows from the missing file is not said."""
    _, problems = load_book(
        rules(tmp_path, {"stages/feed.yaml": FEED + "\n  - [", "tubes.yaml": "tubes: !x {}"})
    )
    assert [(p.place.file, p.id) for p in problems] == [
        ("rules/stages/feed.yaml", "yaml"),
        ("rules/tubes.yaml", "tag"),
    ]


def test_faults_of_all_files_come_together_in_file_order(tmp_path: Path) -> None:
    """One run finds them all."""
    changed = {
        "stages/feed.yaml": FEED.replace("8.5 of 10", "often").replace("{flashes: yes}", "{flashes: maybe}"),
        "rigs/finch.yaml": RIG.replace("0.6 kV", "600 mA"),
    }
    _, problems = load_book(rules(tmp_path, changed))
    assert [(p.place.file, p.place.line, p.id) for p in problems] == [
        ("rules/rigs/finch.yaml", 12, "unit"),
        ("rules/stages/feed.yaml", 60, "frequency"),
        ("rules/stages/feed.yaml", 103, "unknown-state"),
    ]


def test_folders_without_rules(tmp_path: Path) -> None:
    """An empty folder and a missing one give a problem, no book."""
    for folder in (tmp_path, tmp_path / "gone"):
        book, problems = load_book(folder)
        assert book is None
        assert said(problems) == [f"{folder} error no-rules: there are no rule files in this folder"]


def test_other_endings_are_named(tmp_path: Path) -> None:
    """A file ending in .yml is not read, and that is said."""
    book, problems = load_book(rules(tmp_path, {"more.yml": "sources: {}\n"}))
    assert book is not None
    assert said(problems) == ["rules/more.yml warning suffix: this file is not read | name it .yaml"]


def test_no_bench(tmp_path: Path) -> None:
    """Without facts and gradings there is nothing to read rules with."""
    book, problems = load_book(write(tmp_path / "rules", {"sources.yaml": "sources: {}\n"}))
    assert book is None
    assert [problem.id for problem in problems] == ["no-bench"]
