"""Figures worked out from readings: the arithmetic, the condition they hold under, and their uncertainty."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import uncertainties
from hypothesis import given
from hypothesis import strategies as st

from diagnose.evidence.derived import WorkedOut, Workings
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation, Work
from diagnose.model.measuring import Meter
from tests.evidence.workbook import assembled, case_of, figure, kind, quantity, rig_of

FINAL = kind(
    "final",
    f"""\
features: {{modulated: [plate, none]}}
values:
  point: {{title: resistance at the test point, unit: kohm, within: 10 %}}
figures:
  current: {figure("mA", "reads_within: 2 %, read_with: meter")}
  trough: {figure("V", "reads_within: 4 %")}
  crest: {figure("V", "reads_within: 4 %")}
quantities:
  volts: {quantity("V", "reads_within: 3 %, follows_mains: 1, read_with: meter")}
  screen: {quantity("mA", "follows_mains: 1")}
  fed: {quantity("V", "source_resistance: {value: point}, reads_within: 2 %")}
  power: {quantity("W", "follows_mains: 2")}
derived:
  input:
    title: DC input
    unit: W
    formula: volts * (current - screen)
    from: {{volts: volts, current: current, screen: {{quantity: screen, expected: yes}}}}
    source: common practice
  output: {{title: output, unit: W, formula: crest^2 / (8 * ohms), from: {{crest: crest, ohms: {{amount: 50 ohm}}}},
           gives: power, source: common practice}}
  efficiency: {{title: efficiency, unit: percent, formula: out / put_in, from: {{out: power, put_in: input}},
               source: common practice}}
  depth: {{title: modulation, unit: percent, formula: (crest - trough) / (crest + trough),
          from: {{crest: crest, trough: trough}}, when: {{modulated: plate}}, source: common practice}}
  rise: {{title: rise over what a good set shows, unit: percent, formula: read / good - 1,
         from: {{read: screen, good: {{quantity: screen, expected: yes}}}}, source: common practice}}
  root: {{title: a root, unit: V, formula: sqrt(crest^2 - trough^2), from: {{crest: crest, trough: trough}},
         source: common practice}}
  heat: {{title: heat in the resistor, unit: W, formula: volts^2 / ohms,
         from: {{volts: fed, ohms: {{value: point, or: {{amount: 1 kohm}}}}}}, source: common practice}}
""",
)
CHART = """\
{quantity: final.volts, value: 600 V}
{quantity: final.screen, value: 10 mA, tolerance: 20 %}
{quantity: final.fed, value: 100 V}
"""
STAGES = "final: {kind: final, title: final, values: {point: 5 kohm}}\n"
METER = Meter(
    "vom", "old meter", "meter", "V", (10.0, 50.0, 250.0, 1000.0), ohms_per_volt=1000.0, of_reading=0.03
)


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    return assembled(
        tmp_path_factory.mktemp("book"), {"final.yaml": FINAL, "rig.yaml": rig_of(STAGES, CHART)}
    )


def worked(assembly: Assembly, case: Case, name: str) -> list[WorkedOut]:
    return [found for found in Workings(assembly, case).results if found.figure.id == f"final.{name}"]


def only(assembly: Assembly, case: Case, name: str) -> WorkedOut:
    (found,) = worked(assembly, case, name)
    return found


def volts(value: float, **more: object) -> Observation:
    return Observation("final.volts", value=value, **more)  # type: ignore[arg-type]


def current(value: float, **more: object) -> Observation:
    return Observation("final.current", value=value, **more)  # type: ignore[arg-type]


def test_the_arithmetic_is_shown_with_its_figures(assembly: Assembly) -> None:
    """Plate input is volts times plate current, the screen's share, as a good set draws it, taken off."""
    found = only(assembly, case_of(volts(612.0), current(145.0)), "input").figure
    assert found.value == pytest.approx(612.0 * 0.135)
    assert found.shown == "612 V x (145 mA - 10 mA) = 82.62 W"
    assert found.inputs == ("final.volts", "final.current")
    assert found.unit == "W"


def test_uncertainty_is_carried_as_the_package_does(assembly: Assembly) -> None:
    """Independent readings: GUM 5.1.2 by the package `uncertainties`; good sets differ by half the tolerance."""
    ufloat = uncertainties.ufloat
    expected = ufloat(612, 0.03 * 612) * (ufloat(145, 0.02 * 145) - ufloat(10, 1.0)) / 1000
    found = only(assembly, case_of(volts(612.0), current(145.0)), "input").figure
    assert found.standard == pytest.approx(expected.s, rel=1e-9)
    assert math.hypot(*(part for _, part in found.budget)) == pytest.approx(expected.s, rel=1e-9)
    assert [part for _, part in found.budget] == sorted((part for _, part in found.budget), reverse=True)


def test_one_reading_used_twice_is_one_reading(assembly: Assembly) -> None:
    """(crest - trough) / (crest + trough): both stand there twice, and the package knows it too."""
    crest, trough = uncertainties.ufloat(100, 4.0), uncertainties.ufloat(60, 2.4)
    expected = 100 * (crest - trough) / (crest + trough)
    case = case_of(Observation("final.crest", value=100.0), Observation("final.trough", value=60.0))
    found = only(assembly, case, "depth").figure
    assert found.value == pytest.approx(expected.n)
    assert found.standard == pytest.approx(expected.s, rel=1e-9)


def test_the_scale_error_of_one_meter_cancels_in_a_ratio(assembly: Assembly) -> None:
    """Crest and trough with one meter of 3 % of the reading: only reading it twice is left (GUM 5.2.2)."""
    both = [
        Observation("final.crest", value=90.0, meter="vom"),
        Observation("final.trough", value=30.0, meter="vom"),
    ]
    one = only(assembly, case_of(*both, meters={"vom": METER}), "depth").figure
    own = uncertainties.ufloat(90, 0.9), uncertainties.ufloat(30, 0.3)  # 1 % at best
    expected = 100 * (own[0] - own[1]) / (own[0] + own[1])
    assert one.standard == pytest.approx(expected.s, rel=1e-9)
    other = Meter("two", "other meter", "meter", "V", (1000.0,), ohms_per_volt=1000.0, of_reading=0.03)
    apart = case_of(
        both[0], Observation("final.trough", value=30.0, meter="two"), meters={"vom": METER, "two": other}
    )
    assert only(assembly, apart, "depth").figure.standard > 1.5 * one.standard


def test_the_load_of_the_meter_is_taken_off_and_the_mains_are_not(assembly: Assembly) -> None:
    """45.45 V on the 50 V range of a 1000 ohm/V meter across 5 kohm are 50 V: Electronic Instrumentation,
    example 4.11, case 1, p. 87 (two resistors of 10 kohm); today's volts make today's heat, whatever the line.
    """
    reading = Observation("final.fed", value=45.4545454545, meter="vom", range=50.0)
    found = only(assembly, case_of(reading, meters={"vom": METER}, mains=128.0), "heat").figure
    assert found.value == pytest.approx(50.0**2 / 5000.0)
    plain = only(assembly, case_of(volts(660.0), current(145.0), mains=128.7), "input").figure
    assert plain.shown.startswith("660 V")


def test_what_a_good_set_shows_is_carried_to_the_mains_of_today(assembly: Assembly) -> None:
    """The screen's expected 10 mA at 117 V are 11 mA at 128.7 V, and known a little less well."""
    found = only(assembly, case_of(volts(660.0), current(145.0), mains=128.7), "input").figure
    assert "145 mA - 11 mA" in found.shown
    own = only(assembly, case_of(volts(660.0, mains=128.7), current(145.0, mains=128.7)), "input").figure
    assert own.shown == found.shown
    there = only(assembly, case_of(volts(660.0), current(145.0), mains=117.0), "input").figure
    assert any("carried to 128.7 V" in source for source, _ in found.budget)
    assert not any("carried" in source for source, _ in there.budget)


def test_a_reading_comes_before_what_a_good_set_shows(assembly: Assembly) -> None:
    """A screen current that was read is used; but never for what it is held against."""
    screen = Observation("final.screen", value=15.0)
    found = only(assembly, case_of(volts(600.0), current(145.0), screen), "input").figure
    assert "145 mA - 15 mA" in found.shown
    assert only(assembly, case_of(screen), "rise").figure.value == pytest.approx(50.0)


def test_one_result_for_each_condition_that_the_readings_share(assembly: Assembly) -> None:
    """Plate current for each band, the volts once: one input for each band."""
    case = case_of(
        volts(600.0),
        current(140.0, band="80m", mode="cw"),
        current(130.0, band="40m", mode="cw"),
        current(110.0, band="40m", mode="phone"),
    )
    found = {(f.figure.mode, f.figure.band): f.figure.value for f in worked(assembly, case, "input")}
    assert found == pytest.approx({("cw", "80m"): 78.0, ("cw", "40m"): 72.0, ("phone", "40m"): 60.0})


def test_readings_of_other_conditions_are_not_mixed(assembly: Assembly) -> None:
    """Volts on phone and current on CW make no input."""
    assert not worked(assembly, case_of(volts(600.0, mode="phone"), current(140.0, mode="cw")), "input")
    both = case_of(volts(600.0, mode="cw"), current(140.0, band="80m"))
    found = only(assembly, both, "input").figure
    assert (found.mode, found.band) == ("cw", "80m")


def test_without_readings_nothing_is_worked_out(assembly: Assembly) -> None:
    """What a good set shows is no reading; and one of two inputs is not enough."""
    assert Workings(assembly, case_of()).results == ()
    assert not worked(assembly, case_of(volts(600.0)), "input")


def test_a_derived_figure_may_use_another_and_what_gives_a_quantity(assembly: Assembly) -> None:
    """Efficiency from the crest on the dummy load and the plate input; each reading once in the budget."""
    case = case_of(volts(600.0), current(145.0), Observation("final.crest", value=178.0))
    found = only(assembly, case, "efficiency")
    out = uncertainties.ufloat(178, 0.04 * 178) ** 2 / 400
    into = (
        uncertainties.ufloat(600, 18)
        * (uncertainties.ufloat(145, 2.9) - uncertainties.ufloat(10, 1.0))
        / 1000
    )
    expected = 100 * out / into
    assert found.figure.value == pytest.approx(expected.n)
    assert found.figure.standard == pytest.approx(expected.s, rel=1e-9)
    assert found.figure.inputs == ("final.volts", "final.current", "final.crest")
    assert len(found.figure.budget) == 4


def test_a_quantity_that_was_read_comes_before_what_gives_it(assembly: Assembly) -> None:
    """With a wattmeter's reading the crest is not asked for the output."""
    read = Observation("final.power", value=40.5)
    case = case_of(volts(600.0), current(145.0), Observation("final.crest", value=178.0), read)
    assert only(assembly, case, "efficiency").figure.value == pytest.approx(50.0)


def test_a_formula_without_a_value_says_so(assembly: Assembly) -> None:
    """A trough above the crest has no root; the figure is there with the reason, and the rest goes on."""
    case = case_of(Observation("final.crest", value=30.0), Observation("final.trough", value=60.0))
    found = only(assembly, case, "root").figure
    assert found.value is None
    assert "negative number" in found.notes[-1]
    assert "crest = 30 V" in found.notes[-1]
    assert only(assembly, case, "depth").figure.value == pytest.approx(-100.0 / 3.0)


def test_a_figure_that_does_not_apply_is_not_worked_out(tmp_path: Path) -> None:
    """`when` asks for a feature of the stage."""
    stages = "final: {kind: final, title: final, features: {modulated: none}}\n"
    other = assembled(tmp_path, {"final.yaml": FINAL, "rig.yaml": rig_of(stages, CHART)})
    case = case_of(Observation("final.crest", value=100.0), Observation("final.trough", value=60.0))
    assert not worked(other, case, "depth")
    assert worked(other, case, "root")


def test_what_stands_in_the_place_of_an_unknown_part(tmp_path: Path) -> None:
    """`or` is used where the rig states no value."""
    other = assembled(
        tmp_path,
        {"final.yaml": FINAL, "rig.yaml": rig_of("final: {kind: final, title: final}\n", CHART)},
    )
    found = only(other, case_of(Observation("final.fed", value=100.0)), "heat").figure
    assert found.value == pytest.approx(10.0)


def test_readings_of_two_times_are_told_apart_in_plain_words(assembly: Assembly) -> None:
    """After 1 piece of work, after 2 pieces of work."""
    for many, words in ((1, "after 1 piece of work"), (2, "after 2 pieces of work")):
        case = case_of(volts(600.0, period=many), work=tuple(Work(f"job {n}") for n in range(many)))
        (had,) = Workings(assembly, case).readings("final.volts")
        assert [source for source in had.amount.parts if source.endswith(words)]


def test_the_readings_are_those_of_the_set_as_it_is_now(assembly: Assembly) -> None:
    """The last reading under a condition, not one from before the work, a warm one before a cold one."""
    before, after = volts(500.0, period=0), volts(600.0)
    case = case_of(after, before, current(130.0), current(140.0), work=(Work("new rectifier"),))
    assert "600 V x (140 mA" in only(assembly, case, "input").figure.shown
    cold = case_of(volts(600.0), current(150.0, warmth="warm"), current(120.0, warmth="cold"))
    assert "150 mA" in only(assembly, cold, "input").figure.shown


def test_readings_at_different_mains_are_remarked_upon(assembly: Assembly) -> None:
    """One reading at 110 V of line and one at 120 V make a figure of neither."""
    case = case_of(volts(600.0, mains=110.0), current(145.0, mains=120.0))
    assert only(assembly, case, "input").figure.notes == ("its readings were taken at 110 to 120 V of mains",)
    assert only(assembly, case_of(volts(600.0), current(145.0), mains=117.0), "input").figure.notes == ()


def test_the_power_of_each_instrument_is_that_of_its_readings(assembly: Assembly) -> None:
    """Volts and current with one meter: its gain stands squared in the input, and not at all in a ratio."""
    case = case_of(volts(600.0), current(145.0))
    assert only(assembly, case, "input").powers() == {"meter.shows": 2.0}
    one = case_of(volts(600.0, meter="other"), current(145.0))
    assert only(assembly, one, "input").powers() == {"meter.shows": 1.0, "other.shows": 1.0}
    both = [
        Observation(f"final.{name}", value=80.0 - 40 * n, meter="meter")
        for n, name in enumerate(("crest", "trough"))
    ]
    assert only(assembly, case_of(*both), "depth").powers() == {}
    assert only(assembly, case_of(*both), "output").powers() == {"meter.shows": 2.0}


def test_any_readings_carry_their_uncertainty_as_the_package_does(assembly: Assembly) -> None:
    """Modulation from any crest and trough, one meter or two, each reading with an uncertainty of its own."""
    volts_read, share = st.floats(1.0, 900.0), st.floats(0.002, 0.1)

    @given(volts_read, volts_read, share, share, share, st.booleans())
    def agrees(
        crest: float, trough: float, of_crest: float, of_trough: float, limit: float, same: bool
    ) -> None:
        meters = {
            name: Meter(name, name, "meter", "V", input_resistance=1e7, of_reading=limit)
            for name in ("a", "b")
        }
        case = case_of(
            Observation("final.crest", value=crest, within=of_crest, meter="a"),
            Observation("final.trough", value=trough, within=of_trough, meter="a" if same else "b"),
            meters=meters,
        )
        # one scale error for what was read with one meter, in limits that are half the width of a spread
        errors = [uncertainties.ufloat(1.0, limit / math.sqrt(3.0)) for _ in meters]
        high = uncertainties.ufloat(crest, of_crest * crest) * errors[0]
        low = uncertainties.ufloat(trough, of_trough * trough) * errors[0 if same else 1]
        expected = 100 * (high - low) / (high + low)
        found = only(assembly, case, "depth").figure
        assert found.value == pytest.approx(expected.n, abs=1e-9)
        assert found.standard == pytest.approx(expected.s, rel=1e-6, abs=1e-9)

    agrees()
