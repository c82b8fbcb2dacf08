"""What readings make together: quantities that follow from others, pairs, drift logs; each thing counts once."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.diagnosis import diagnose
from diagnose.evidence.collect import Findings, collect
from diagnose.evidence.pairs import pair_likelihood
from diagnose.model.assembly import Assembly, assemble
from diagnose.model.case import Case, Drift, Observation, Work
from diagnose.model.knowledge import Indication, State
from diagnose.model.measuring import DriftLog, Limit, OfPair, Reference
from diagnose.model.result import Finding
from diagnose.uncertain import measured
from tests.evidence.workbook import assembled, case_of, figure, kind, quantity, rig_of
from tests.small_book import rule

FINAL = kind(
    "final",
    f"""\
figures:
  crest: {figure("V", "reads_within: 4 %, read_with: meter")}
  drop: {figure("V", "reads_within: 3 %, read_with: other")}
quantities:
  volts: {quantity("V", "reads_within: 3 %, follows_mains: 1")}
  current: {quantity("mA", "reads_within: 2 %")}
  input: {quantity("W", "follows_mains: 1")}
  power: {quantity("W", "follows_mains: 2")}
  idle: {quantity("mA", "reads_within: 2 %")}
  grid: {quantity("mA", "reads_within: 5 %, read_with: meter")}
  warm_up: {{title: warm-up drift, ask: what, unit: Hz, grading: excess, limit: 500 Hz}}
  step: {{title: largest step, ask: what, unit: kHz, grading: excess, limit: 200 Hz}}
symptoms:
  creeps:
    title: the current creeps up
    ask: does it
    of_pair: {{quantity: idle, pair: cold_warm, by: 10 %, rose: yes}}
patterns:
  mended:
    title: what the work did
    ask: what
    states: {{rose: it rose, fell: it fell}}
    of_pair: {{quantity: idle, pair: before_after, by: 10 %, rose: rose, fell: fell}}
derived:
  put_in: {{title: input, unit: W, formula: volts * current, from: {{volts: volts, current: current}}, gives: input,
           source: common practice}}
  output: {{title: output, unit: W, formula: crest^2 / (8 * ohms), gives: power, source: common practice,
           from: {{crest: crest, ohms: {{amount: 50 ohm}}}}}}
  guess: {{title: output by a rule of thumb, unit: W, formula: share * volts * current, gives: power,
          from: {{volts: volts, current: current, share: {{amount: 0.7, within: 20 %}}}}, source: from memory}}
  by_drop: {{title: grid current by its drop, unit: mA, formula: drop / ohms, gives: grid, source: common practice,
            from: {{drop: drop, ohms: {{amount: 10 kohm}}}}}}
drift_log: {{gives: {{warm_up: warm_up, jump_size: step}}}}
""",
    "  a: " + rule("tube weak", "current low", "8 of 10", "weak alone") + "\n"
    "  b: " + rule("current low", "input low", "9 of 10", "less current") + "\n"
    "  c: " + rule("current low", "power low", "9 of 10", "less of it all") + "\n"
    "  d: " + rule("tube weak", "creeps yes", "5 of 10", "grid emission") + "\n"
    "  e: " + rule("tube weak", "warm_up high", "5 of 10", "heat") + "\n"
    "  f: " + rule("tube weak", "grid low", "5 of 10", "no drive") + "\n",
)
CHART = """\
{quantity: final.volts, value: 600 V}
{quantity: final.current, value: 145 mA}
{quantity: final.input, value: 87 W}
{quantity: final.power, value: 60 W}
{quantity: final.idle, value: 50 mA}
{quantity: final.grid, value: 3 mA}
"""
STAGES = "final: {kind: final, title: final}\n"
MORE = "multiplication: {80m: 1, 40m: 2, 20m: 4, 10m: 8}"


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    folder: Path = tmp_path_factory.mktemp("book")
    return assembled(folder, {"final.yaml": FINAL, "rig.yaml": rig_of(STAGES, CHART, MORE)})


def one(name: str, value: float, **more: object) -> Observation:
    return Observation(f"final.{name}", value=value, **more)  # type: ignore[arg-type]


def finding(found: Findings, name: str) -> Finding:
    (last,) = [f for f in found.all if f.name == f"final.{name}" and f.observation.made_by]
    return last


def without_derived(assembly: Assembly) -> Assembly:
    """The same rig by a book that works nothing out."""
    final = replace(assembly.book.kinds["final"], derived={})
    book = replace(assembly.book, kinds={**assembly.book.kinds, "final": final})
    return assemble(book, assembly.rig)


def test_a_quantity_that_was_not_read_follows_from_what_was(assembly: Assembly) -> None:
    """Crest on the dummy load, 155 V peak to peak on 50 ohm, is a reading of 60 W of output."""
    found = finding(collect(assembly, case_of(one("crest", 155.0))), "power")
    assert found.counted
    assert found.state == "normal"
    assert found.observation.value == pytest.approx(155.0**2 / 400)
    assert found.observation.within == pytest.approx(0.08)
    assert found.observation.made_of == ("final.crest",)
    assert found.notes[0].startswith("worked out: (155 V)^2 / (8 x 50 ohm) = 60.06")
    assert found.read_with == (("meter.shows", 2.0),)


def test_it_is_judged_at_the_mains_of_the_chart(assembly: Assembly) -> None:
    """170.5 V at 128.7 V of line is the 155 V of 117 V: the output follows the square."""
    found = finding(collect(assembly, case_of(one("crest", 170.5), mains=128.7)), "power")
    assert found.observation.value == pytest.approx(170.5**2 / 400)
    assert found.at_chart == pytest.approx(155.0**2 / 400)
    assert found.state == "normal"


@pytest.mark.parametrize("current", [110.0, 145.0, 128.0])
def test_what_follows_from_counted_readings_changes_nothing(assembly: Assembly, current: float) -> None:
    """Law: input and output worked out of volts and current that count are shown, and are no witnesses."""
    case = case_of(one("volts", 600.0), one("current", current))
    known = diagnose(assembly, case, advice=False)
    plain = diagnose(without_derived(assembly), case, advice=False)
    assert [(p.id, p.probability, p.blame) for p in known.parts] == [
        (p.id, p.probability, p.blame) for p in plain.parts
    ]
    assert known.log10_evidence == plain.log10_evidence
    for name in ("input", "power"):
        made = next(f for f in known.findings if f.name == f"final.{name}")
        assert not made.counted
        assert "rests on" in made.notes[-1]


def test_a_quantity_that_was_read_is_not_made(assembly: Assembly) -> None:
    """A wattmeter's reading, or an answer in words, stands; one of another band does not stand in the way."""
    crest = one("crest", 155.0, band="80m")
    for said in (one("power", 40.0), one("power", 40.0, band="80m"), Observation("final.power", "low")):
        found = collect(assembly, case_of(crest, said))
        assert [f.observation for f in found.all if f.name == "final.power"] == [said]
    other = collect(assembly, case_of(crest, one("power", 40.0, band="40m")))
    assert finding(other, "power").observation.band == "80m"


def test_a_second_way_with_another_instrument_is_a_second_witness(assembly: Assembly) -> None:
    """The panel shows 2 mA of grid current; 30 V across 10 kohm are 3 mA: the panel is the one that is wrong."""
    panel, drop = one("grid", 2.0), one("drop", 30.0)
    found = collect(assembly, case_of(panel, drop))
    assert [f.state for f in found.witnesses["final.grid"]] == ["low", "normal"]
    assert [dict(f.read_with) for f in found.witnesses["final.grid"]] == [
        {"meter.shows": 1.0},
        {"other.shows": 1.0},
    ]
    alone, both = (diagnose(assembly, case_of(*said), advice=False) for said in ((panel,), (panel, drop)))
    blame = [{p.id: p.blame for p in said.parts} for said in (alone, both)]
    assert blame[1]["meter.movement"] > 1.5 * blame[0]["meter.movement"]
    assert blame[1]["final.tube"] < 0.1 * blame[0]["final.tube"]


def test_a_second_way_with_the_same_instrument_is_none(assembly: Assembly) -> None:
    """The meter that shows the grid current shows the drop as well: it would be wrong twice over."""
    said = (one("grid", 2.0), one("drop", 30.0, meter="meter"))
    found = collect(assembly, case_of(*said))
    assert [f.observation for f in found.all if f.name == "final.grid"] == [said[0]]


def test_of_two_ways_the_surer_one_is_taken(assembly: Assembly) -> None:
    """The crest gives the output to 8 %, the rule of thumb to 20 %."""
    found = collect(assembly, case_of(one("crest", 155.0), one("volts", 600.0), one("current", 145.0)))
    assert finding(found, "power").observation.made_of == ("final.crest",)


def test_a_reading_is_as_good_as_the_worst_of_what_it_was_made_of(assembly: Assembly) -> None:
    """What the owner remembers makes a figure that the owner remembers."""
    case = case_of(one("crest", 155.0, told_by="owner"))
    assert finding(collect(assembly, case), "power").observation.told_by == "owner"


def test_a_nought_keeps_its_uncertainty(assembly: Assembly) -> None:
    """No volts times some current is no input, and that is known as well as the volts are: exactly."""
    found = finding(collect(assembly, case_of(one("volts", 0.0), one("current", 145.0))), "input")
    assert found.observation.value == 0.0
    assert found.state == "absent"


def pair(assembly: Assembly, *observations: Observation, name: str = "creeps", **more: object) -> Finding:
    return finding(collect(assembly, case_of(*observations, **more)), name)


def test_cold_and_warm_make_a_sign(assembly: Assembly) -> None:
    """50 mA cold and 62 mA warm rose by more than a tenth; the warm one counts for the level, both for the sign."""
    cold, warm = one("idle", 50.0, warmth="cold"), one("idle", 62.0, warmth="warm")
    found = pair(assembly, cold, warm)
    assert (found.state, found.abnormal, found.counted) == ("yes", True, True)
    assert found.notes[0] == "worked out: 50 mA cold, 62 mA warm, +24.0 %"
    assert pair(assembly, warm, cold).likelihood == found.likelihood
    assert collect(assembly, case_of(cold, warm)).counted["final.idle"].observation == warm
    still = pair(assembly, cold, one("idle", 51.0, warmth="warm"))
    assert (still.state, still.likelihood[0]) == ("no", 1.0)


def test_a_fall_is_no_rise(assembly: Assembly) -> None:
    """Where the sign has no word for a fall, a fall is as good as no change."""
    found = pair(assembly, one("idle", 60.0, warmth="cold"), one("idle", 40.0, warmth="warm"))
    assert found.state == "no"
    assert found.likelihood[1] < 0.021  # a reading at this bench is right 98 times of 100


def test_without_a_pair_there_is_no_sign(assembly: Assembly) -> None:
    """One reading, or readings of different bands, compare with nothing."""
    cold = one("idle", 50.0, warmth="cold", band="80m")
    for other in (one("idle", 60.0, band="80m"), one("idle", 60.0, warmth="warm", band="40m")):
        assert "final.creeps" not in collect(assembly, case_of(cold, other)).counted


def test_a_pair_is_compared_at_one_line_voltage(assembly: Assembly) -> None:
    """What follows the mains is carried to the chart's before it is compared."""
    volts = OfPair("volts", "cold_warm", 0.1, rose="yes")
    final = assembly.book.kinds["final"]
    creeps = replace(final.indications["creeps"], of_pair=volts)
    kinds = {"final": replace(final, indications={**final.indications, "creeps": creeps})}
    other = assemble(replace(assembly.book, kinds={**assembly.book.kinds, **kinds}), assembly.rig)
    cold, warm = (
        one("volts", 500.0, warmth="cold", mains=97.5),
        one("volts", 600.0, warmth="warm", mains=117.0),
    )
    assert pair(other, cold, warm).state == "no"
    assert pair(other, replace(cold, mains=None), replace(warm, mains=None)).state == "yes"


def test_before_and_after_the_work(assembly: Assembly) -> None:
    """The last reading before the last work and the last one after it; older ones are history."""
    work = (Work("new tube"), Work("new resistor"))
    oldest, before, after = one("idle", 20.0, period=0), one("idle", 50.0, period=1), one("idle", 62.0)
    found = pair(assembly, oldest, before, after, name="mended", work=work)
    assert found.state == "rose"
    assert "50 mA before, 62 mA after" in found.notes[0]
    fell = pair(assembly, before, one("idle", 40.0), name="mended", work=work)
    assert fell.state == "fell"
    assert pair(assembly, before, one("idle", 51.0), name="mended", work=work).state == "normal"
    assert "final.mended" not in collect(assembly, case_of(after, work=work)).counted


def test_a_pair_that_the_work_has_overtaken_is_not_counted(assembly: Assembly) -> None:
    """Before and after the first of two pieces of work, and nothing read since."""
    work = (Work("new tube"), Work("new resistor"))
    found = pair(assembly, one("idle", 50.0, period=0), one("idle", 62.0, period=1), name="mended", work=work)
    assert found.state == "rose"
    assert not found.counted


def test_a_pair_takes_the_place_of_an_answer(assembly: Assembly) -> None:
    """What was read is believed before what was said, and the person is told so."""
    readings = one("idle", 50.0, warmth="cold"), one("idle", 62.0, warmth="warm")
    found = collect(assembly, case_of(Observation("final.creeps", "no", mode="cw"), *readings))
    assert found.counted["final.creeps"].state == "yes"
    assert found.counted["final.creeps"].notes[0].endswith("; answered too")
    assert sum(f.counted for f in found.all if f.name == "final.creeps") == 1


def test_the_likelihood_of_a_pair_is_the_integral_over_true_ratios(assembly: Assembly) -> None:
    """Against a sum over ten thousand true ratios: good ones normal about 1, others even beyond the threshold."""
    placed = assembly.indications["final.mended"].indication
    assert placed.of_pair is not None
    for ratio, spread in ((1.08, 0.03), (1.3, 0.05), (0.92, 0.02), (1.0, 0.01), (0.6, 0.1)):
        found = pair_likelihood(placed, placed.of_pair, measured(ratio, spread, "x"))
        true = np.linspace(0.0, 2.5, 250_001)
        step = true[1] - true[0]
        seen = np.exp(-0.5 * ((ratio - true) / spread) ** 2) / (spread * math.sqrt(2 * math.pi))
        good = np.exp(-0.5 * ((true - 1.0) / 0.05) ** 2) / (0.05 * math.sqrt(2 * math.pi))
        rose, fell = np.where(true > 1.1, 1 / 1.4, 0.0), np.where(true < 0.9, 1 / 0.9, 0.0)
        expected = [float(np.sum(seen * state) * step) for state in (good, rose, fell)]
        assert found == pytest.approx(expected, rel=1e-3, abs=1e-6)


@given(st.floats(0.01, 50.0), st.floats(0.0, 0.5))
def test_a_pair_always_leaves_some_state_possible(ratio: float, spread: float) -> None:
    """However far the ratio, some state explains it."""
    sign = Indication("x", "pattern", "x", "", (State("normal"), State("up", "over"), State("down", "over")))
    for given_pair in (OfPair("q", "cold_warm", 0.1, "up", "down"), OfPair("q", "cold_warm", 0.1, "up")):
        found = pair_likelihood(sign, given_pair, measured(ratio, spread * ratio, "x"))
        assert max(found) > 0.0
        assert all(math.isfinite(value) and value >= 0.0 for value in found)


def warming(at_output: bool = False, factor: float = 1.0, **more: object) -> Drift:
    """A log of 90 minutes: 800 Hz of warm-up with 20 minutes, readings to 1 Hz."""
    minutes = np.arange(0.0, 91.0, 3.0)
    hertz = 3_500_000.0 + 800.0 * (1.0 - np.exp(-minutes / 20.0))
    values = tuple(float(round(factor * f)) for f in hertz)
    return Drift("final", tuple(60.0 * minutes), values, at_output=at_output, **more)  # type: ignore[arg-type]


def test_a_drift_log_gives_readings_at_the_oscillator(assembly: Assembly) -> None:
    """800 Hz of warm-up are more than the 500 Hz that are fine; no step is seen."""
    found = collect(assembly, case_of(drift=(warming(file="drift.csv"),)))
    warm_up = finding(found, "warm_up")
    assert (warm_up.state, warm_up.counted) == ("high", True)
    assert warm_up.observation.value == pytest.approx(800.0, rel=0.03)
    assert warm_up.notes[0] == "fitted to 31 readings of drift.csv over 90 minutes"
    step = finding(found, "step")
    assert step.state == "normal"
    assert step.observation.value is not None
    assert step.observation.value < 0.02  # in kilohertz, the unit of the quantity


def test_a_log_taken_at_the_output_is_divided_by_the_multiplication(assembly: Assembly) -> None:
    """On 20 m the output moves four times as far: 3200 Hz there are 800 Hz at the oscillator."""
    at_output = warming(at_output=True, factor=4.0, band="20m")
    found = finding(collect(assembly, case_of(drift=(at_output,))), "warm_up")
    assert found.observation.value == pytest.approx(800.0, rel=0.03)
    figures = {f.id: f.value for f in diagnose(assembly, case_of(drift=(at_output,)), advice=False).derived}
    assert figures["final.drift_log.warm_up"] == pytest.approx(800.0, rel=0.03)
    assert figures["final.drift_log.warm_up.output"] == pytest.approx(3200.0, rel=0.03)


def test_without_the_multiplication_a_log_of_the_output_is_only_kept(assembly: Assembly) -> None:
    """No band, no factor: nothing is claimed, and the person reads why."""
    case = case_of(drift=(warming(at_output=True),))
    assert "final.warm_up" not in collect(assembly, case).counted
    (figure_,) = diagnose(assembly, case, advice=False).derived
    assert figure_.value is None
    assert "multiplication" in figure_.notes[0]
    final = assembly.book.kinds["final"]
    same = replace(final, drift_log=DriftLog({"warm_up": "warm_up"}, multiplied=False))
    straight = assemble(replace(assembly.book, kinds={**assembly.book.kinds, "final": same}), assembly.rig)
    assert "final.warm_up" in collect(straight, case).counted


def test_a_log_too_short_to_fit_says_why(assembly: Assembly) -> None:
    """Three readings are no log."""
    short = Drift("final", (0.0, 60.0, 120.0), (3.5e6, 3.5e6 + 10, 3.5e6 + 20))
    (figure_,) = diagnose(assembly, case_of(drift=(short,)), advice=False).derived
    assert "too few" in figure_.notes[0]


def test_a_drift_that_the_person_read_himself_stands(assembly: Assembly) -> None:
    """His own reading is not overruled by the log."""
    case = case_of(one("warm_up", 300.0), drift=(warming(),))
    found = collect(assembly, case)
    assert found.counted["final.warm_up"].observation.value == 300.0
    assert len([f for f in found.all if f.name == "final.warm_up"]) == 1


def test_the_limit_of_a_quantity_holds_for_what_was_made(assembly: Assembly) -> None:
    """The drift of the log is beyond 500 Hz: a flag with the chance by the fit."""
    final = assembly.book.kinds["final"]
    rated = replace(final.indications["warm_up"], limit=Limit(most=Reference(amount=0.5, unit="kHz")))
    kinds = {"final": replace(final, indications={**final.indications, "warm_up": rated})}
    other = assemble(replace(assembly.book, kinds={**assembly.book.kinds, **kinds}), assembly.rig)
    (flag,) = diagnose(other, case_of(drift=(warming(),)), advice=False).flags
    assert (flag.name, flag.limit) == ("final.warm_up", 500.0)
    assert flag.chance > 0.99


def test_an_empty_case_makes_nothing(assembly: Assembly) -> None:
    """Nothing read, nothing made."""
    assert collect(assembly, Case("t", "small")).all == ()
