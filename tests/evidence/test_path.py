"""From the dial to the scale: the meter's load and accuracy, the mains, and what they add to the uncertainty."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path as File

import numpy as np
import pytest
import uncertainties  # type: ignore[import-untyped]
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.evidence import mains
from diagnose.evidence.expected import Expectation
from diagnose.evidence.grade import density, likelihoods
from diagnose.evidence.meters import inaccuracy, loading, range_in_use, resistance
from diagnose.evidence.path import path_of
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import State
from diagnose.model.measuring import Meter
from diagnose.model.result import Path
from tests.small_book import cause, rule, small_assembly

KIND = f"""\
kind: stage
title: a stage
about: for tests
unnamed: {{prior: 0, pushes: 0}}
quantities:
  volts: {{title: volts, ask: what, unit: V, grading: level, tolerance: 10 %, follows_mains: 1, reads_within: 3 %}}
  steady: {{title: steady volts, ask: what, unit: V, grading: level, tolerance: 10 %}}
  power: {{title: output, ask: what, unit: W, grading: level, tolerance: 10 %}}
parts:
  tube: {{title: tube, modes: {{weak: {cause("0.05")}}}}}
rules:
  a: {rule("tube weak", "volts low", "8 of 10", "one")}
  b: {rule("tube weak", "steady low", "8 of 10", "two")}
  c: {rule("tube weak", "power low", "8 of 10", "three")}
checks: {{}}
"""

RIG = """\
rig: small
title: small set
about: for tests
mains: {voltage: 117 V, frequency: 60 Hz}
bands: [80m]
stages:
  stage: {kind: stage, title: stage}
chart:
  - {quantity: stage.volts, value: 300 V}
  - {quantity: stage.steady, value: 300 V}
"""

# Readings of a meter across the lower of two resistors: supply volts, R1, R2, meter ohms, reading shown.
# Electronic Instrumentation (a textbook), examples 4.11 and 4.12, pp. 87-88, read in a public transcription;
# Lessons in Electric Circuits, vol. I, section on voltmeter impact.
DIVIDERS = [
    (100.0, 10e3, 10e3, 1_000 * 50, 45.45),
    (100.0, 10e3, 10e3, 20_000 * 50, 49.75),
    (30.0, 25e3, 5e3, 1_000 * 10, 3.53),
    (30.0, 25e3, 5e3, 20_000 * 10, 4.9),
    (24.0, 250e6, 250e6, 10e6, 0.8889),
]

OLD = Meter("old", "old voltmeter", "voltmeter", "V", (10.0, 50.0, 250.0, 500.0), ohms_per_volt=1000.0)
GOOD = Meter("good", "good voltmeter", "voltmeter", "V", input_resistance=10e6, of_reading=0.01)


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    folder: File = tmp_path_factory.mktemp("book")
    return small_assembly(folder, {"stage.yaml": KIND, "small.yaml": RIG})


def path(
    assembly: Assembly,
    observation: Observation,
    *meters: Meter,
    line: float | None = None,
    source: tuple[float, float] | None = None,
    expected: Expectation | None = None,
) -> Path:
    case = Case("t", "small", mains=line, meters={meter.id: meter for meter in meters})
    return path_of(assembly, case, assembly.indications[observation.name], observation, expected, source)


@pytest.mark.parametrize(("supply", "upper", "lower", "meter_ohms", "shown"), DIVIDERS)
def test_published_divider_readings(
    supply: float, upper: float, lower: float, meter_ohms: float, shown: float
) -> None:
    """A divider is a source of its open voltage behind both resistors in parallel (Thevenin)."""
    source = upper * lower / (upper + lower)
    assert supply * lower / (upper + lower) * loading(source, meter_ohms) == pytest.approx(shown, rel=1.5e-3)


def test_the_ohms_of_a_moving_coil_meter_go_with_its_range() -> None:
    """1000 ohms per volt on the 50 V range are 50 kohm (Electronic Instrumentation, example 4.11)."""
    assert resistance(OLD, 50.0) == 50e3
    assert resistance(GOOD, 50.0) == 10e6
    assert math.isinf(resistance(Meter("m", "m", "voltmeter", "V"), 50.0))


def test_the_load_of_the_meter_is_taken_off(assembly: Assembly) -> None:
    """45.45 V on 50 V at 1000 ohms per volt behind 5 kohm is 50 V (the same example)."""
    reading = Observation("stage.steady", value=45.4545, meter="old", range=50.0)
    found = path(assembly, reading, OLD, source=(5e3, 0.1))
    assert found.corrected == pytest.approx(50.0, rel=1e-4)
    assert dict(found.budget)["load of the meter"] == pytest.approx(0.0909 * 0.1, rel=1e-2)


def test_a_wattmeter_that_is_marked_for_another_line(assembly: Assembly) -> None:
    """It reads the volts: 50 V are marked 33.3 W on 75 ohm, and are 50 W in the 50 ohm they stand across."""
    marked = Meter("marked", "wattmeter of a 75 ohm line", "wattmeter", "W", (100.0,), impedance=75.0)
    reading = Observation("stage.power", value=50.0**2 / 75.0, meter="marked")
    found = path(assembly, reading, marked, source=(50.0, 0.04))
    assert found.corrected == pytest.approx(50.0**2 / 50.0)
    assert (found.marked_ohms, found.source_ohms) == (75.0, 50.0)
    assert dict(found.budget)["load of the meter"] == pytest.approx(0.04 / 3)
    assert path(assembly, reading, marked, source=(75.0, 0.04)).corrected == reading.value
    assert path(assembly, reading, marked).corrected == reading.value


def test_a_chart_made_with_a_loading_meter_is_corrected_too(assembly: Assembly) -> None:
    """Read with the same meter as the chart was, a good set reads what the chart says."""
    behind = (200e3, 0.2)
    shown = 300.0 * loading(behind[0], resistance(OLD, 250.0))  # 167 V: read on that range
    chart = Expectation(shown, meter=OLD)
    same = path(
        assembly, Observation("stage.steady", value=shown, meter="old"), OLD, source=behind, expected=chart
    )
    assert same.expected is not None
    assert same.at_chart == pytest.approx(same.expected)
    better = path(
        assembly,
        Observation("stage.steady", value=300.0 * loading(behind[0], 10e6), meter="good"),
        GOOD,
        source=behind,
        expected=chart,
    )
    assert better.expected == pytest.approx(300.0, rel=1e-9)
    assert better.at_chart == pytest.approx(300.0, rel=1e-9)


@given(
    source=st.floats(0, 1e6),
    meter=st.floats(1e4, 1e8),
    volts=st.floats(0.1, 3000),
)
def test_a_meter_never_shows_more_than_is_there(source: float, meter: float, volts: float) -> None:
    assert 0 < volts * loading(source, meter) <= volts
    assert loading(source, meter) <= loading(source, 2 * meter)


def test_the_bottom_of_a_range_is_uncertain(assembly: Assembly) -> None:
    """3 % of full scale (common practice for a good moving-coil meter) is 30 % of a tenth of it."""
    coarse = replace(OLD, of_full_scale=0.03)
    assert inaccuracy(coarse, 50.0, 500.0) == pytest.approx(15.0 / math.sqrt(3))
    top = path(assembly, Observation("stage.steady", value=480.0, meter="old", range=500.0), coarse)
    bottom = path(assembly, Observation("stage.steady", value=25.0, meter="old", range=500.0), coarse)
    assert bottom.spread > 10 * top.spread
    assert bottom.spread == pytest.approx(15.0 / math.sqrt(3) / 25.0, rel=0.01)


def test_the_smallest_range_that_holds_the_reading_is_taken_as_used() -> None:
    assert [range_in_use(OLD, value, None) for value in (3.0, 10.0, 11.0, 400.0, 700.0)] == [
        10,
        10,
        50,
        500,
        500,
    ]
    assert range_in_use(OLD, 3.0, 250.0) == 250.0


def test_uncertainties_combine_as_the_general_purpose_package_says(assembly: Assembly) -> None:
    """Reading, meter, load and mains together, against the package `uncertainties`."""
    meter = replace(OLD, of_full_scale=0.02, of_reading=0.01, digits=1, resolution=0.5)
    reading = Observation("stage.volts", value=318.0, meter="old", range=500.0)
    found = path(assembly, reading, meter, line=126.0, source=(20e3, 0.15))
    read = uncertainties.ufloat(318.0, 318.0 * 0.01)
    scale = uncertainties.ufloat(1.0, inaccuracy(meter, 318.0, 500.0) / 318.0)
    shown = loading(20e3, 500e3)
    load = uncertainties.ufloat(1.0, (1 - shown) * 0.15)
    line = uncertainties.ufloat(126.0 / 117.0, 126.0 / 117.0 * 0.01)
    rule_of_thumb = uncertainties.ufloat(1.0, 0.2 * (126.0 / 117.0 - 1.0))
    together = read * scale * load / shown / line * rule_of_thumb
    assert found.at_chart == pytest.approx(together.nominal_value, rel=1e-12)
    assert found.spread * found.at_chart == pytest.approx(together.std_dev, rel=1e-6)


def test_a_reading_given_as_a_range_is_uniform_in_it(assembly: Assembly) -> None:
    """Half the width over the root of three (JCGM 100:2008, 4.3.7)."""
    found = path(assembly, Observation("stage.steady", value=70.0, low=60.0, high=80.0))
    assert found.spread == pytest.approx(10.0 / math.sqrt(3) / 70.0)


def test_volts_are_carried_to_the_mains_of_the_chart(assembly: Assembly) -> None:
    """612 V at 124.5 V of mains are 575 V at 117 V: a plain supply follows in proportion (common practice)."""
    found = path(assembly, Observation("stage.volts", value=612.0), line=124.5)
    assert found.at_chart == pytest.approx(575.1, abs=0.1)
    still = path(assembly, Observation("stage.steady", value=612.0), line=124.5)
    assert still.at_chart == 612.0


def test_a_regulated_quantity_holds_until_it_drops_out() -> None:
    assert mains.factor(130.0, 117.0, 0.0, 0.88) == 1.0
    assert mains.factor(105.0, 117.0, 0.0, 0.88) == 1.0
    assert mains.factor(58.5, 117.0, 0.0, 0.88) == pytest.approx(0.5 / 0.88)
    just_above, just_below = (mains.factor(117.0 * x, 117.0, 0.2, 0.88) for x in (0.8801, 0.8799))
    assert just_above == pytest.approx(just_below, rel=1e-3)


@given(line=st.floats(20, 140), power=st.floats(0, 3))
def test_a_correction_undoes_itself_and_widens_with_the_distance(line: float, power: float) -> None:
    there = mains.factor(line, 117.0, power)
    assert there * mains.factor(117.0, line, power) == pytest.approx(1.0)
    assert mains.widening(117.0, 117.0, power) == 0.0
    further = 117.0 + 1.5 * (line - 117.0)
    if further > 0:
        assert mains.widening(further, 117.0, power) >= mains.widening(line, 117.0, power)


def test_bring_up_far_below_the_chart_says_little() -> None:
    """At 40 V of mains on a variable transformer hardly anything can be judged to better than a quarter."""
    assert mains.widening(40.0, 117.0, 1.0) > 0.3
    assert mains.widening(112.0, 117.0, 1.0) < 0.01


def test_what_the_meter_may_be_off_is_carried_to_the_chart_too(assembly: Assembly) -> None:
    """3 % of 500 V are 15 V; behind 20 kohm with 500 kohm across it, and at 126 V for 117 V of mains."""
    coarse = replace(OLD, of_full_scale=0.03)
    reading = Observation("stage.volts", value=300.0, meter="old", range=500.0)
    found = path(assembly, reading, coarse, line=126.0, source=(20e3, 0.0))
    assert found.limit == pytest.approx(15.0 / (500 / 520) / (126 / 117))
    assert path(assembly, Observation("stage.volts", value=300.0)).limit == 0.0


@pytest.mark.parametrize("shown", [0.0, 0.2, 4.0, 9.0, 14.0])
def test_no_reading_within_the_limits_of_its_meter_is_a_fault(assembly: Assembly, shown: float) -> None:
    """6 V on a range of 300 V to 3 %: the needle may stand anywhere from nothing to 15 V."""
    states = assembly.indications["stage.volts"].indication.states
    found = likelihoods(states, shown / 6.0, 0.01, 9.0 / 6.0)
    assert found[0] == pytest.approx(1.0, abs=1e-3)


@settings(max_examples=max(1, settings().max_examples // 4))
@given(value=st.floats(-1, 5), spread=st.floats(0.01, 1), limit=st.floats(0.02, 3))
def test_a_uniform_error_averages_the_density(value: float, spread: float, limit: float) -> None:
    """The density of a reading is the mean of those of all that the meter may have made it of (quadrature)."""
    nodes, weights = np.polynomial.legendre.leggauss(8)
    edges = np.linspace(-limit, limit, 401)
    half = 0.5 * (edges[1] - edges[0])
    places = (edges[:-1, np.newaxis] + half * (1.0 + nodes)).ravel()
    shares = np.tile(weights, len(edges) - 1) * half / (2.0 * limit)
    for state in (State("a", between=(0.05, 0.9)), State("b", around=(1.0, 0.05))):
        mean = float(shares @ [density(state, value + off, spread) for off in places.tolist()])
        assert density(state, value, spread, limit) == pytest.approx(mean, rel=1e-4, abs=1e-12)


def test_without_any_other_uncertainty_the_limits_are_sharp() -> None:
    """A value between two limits read by a meter that is off by up to a limit, and by nothing else."""
    state = State("a", between=(1.0, 3.0))
    assert density(state, 2.0, 0.0, 0.5) == pytest.approx(0.5)
    assert density(state, 1.0, 0.0, 0.5) == pytest.approx(0.25)
    assert density(state, 0.4, 0.0, 0.5) == 0.0
    assert density(State("b", around=(1.0, 0.0)), 1.2, 0.0, 0.5) == pytest.approx(1.0)
