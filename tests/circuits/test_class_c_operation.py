"""The working point of a tuned amplifier: its laws, and its methods."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.circuits import class_c
from diagnose.circuits.class_c_operation import (
    LOWEST_OVER_POTENTIAL,
    Operation,
    Volts,
    driven_to,
    lowest_plate_voltage,
    operate,
)
from diagnose.circuits.class_c_pulse import component, ideal_efficiency
from diagnose.circuits.method import CannotCompute
from diagnose.circuits.tube_law import TubeLaw, tube_law
from tests.circuits.class_c_rows import all_points, checks
from tests.circuits.tube_rows import characteristics, points, rows

BEAM = TubeLaw(1.2e-3, 135.0, 8.0, 20.0, 6.0)
TRIODE = TubeLaw(0.8e-3, 40.0, None, grid_division=2.5)
STAGES = st.tuples(
    st.sampled_from((BEAM, TRIODE)),
    st.floats(400.0, 1500.0),
    st.floats(150.0, 300.0),
    st.floats(1.2, 3.0),  # bias over cut-off
    st.floats(1.05, 1.6),  # crest of the drive over the bias
)


def stage(drawn: tuple[TubeLaw, float, float, float, float]) -> tuple[TubeLaw, Volts, float]:
    """A working stage from what hypothesis draws: law, volts, drive."""
    law, plate, screen, over, crest = drawn
    screen = screen if law.mu_screen is not None else 0.0
    bias = -over * law.potential(0.0, plate, screen)
    return law, Volts(plate, bias, screen), -crest * bias


def at(drawn: tuple[TubeLaw, float, float, float, float]) -> Operation:
    """Its working point; draws in which the plate does not reach above the knee are dropped."""
    law, volts, drive = stage(drawn)
    assume(lowest_plate_voltage(law, volts, drive) < 0.6 * volts.plate)
    return operate(law, volts, drive)


@given(STAGES)
def test_what_goes_in_comes_out(drawn: tuple[TubeLaw, float, float, float, float]) -> None:
    """Output, loss of the tank and plate dissipation make up the input, and each is there."""
    point = at(drawn)
    assert point.output + point.tank_loss + point.plate_dissipation == pytest.approx(
        point.plate_input, rel=1e-9
    )
    assert min(point.output, point.tank_loss, point.plate_dissipation) > 0.0
    assert point.plate_input == pytest.approx(stage(drawn)[1].plate * point.plate_current)


@given(STAGES)
def test_no_stage_beats_the_ideal_of_its_angle(drawn: tuple[TubeLaw, float, float, float, float]) -> None:
    """The knee, the tank and what the other electrodes take from the crest only cost."""
    point = at(drawn)
    assert 0.0 < point.efficiency < point.ideal_efficiency
    assert point.ideal_efficiency == ideal_efficiency(point.half_angle)


@given(STAGES, st.floats(1.02, 1.3))
def test_more_bias_shortens_the_pulse(drawn: tuple[TubeLaw, float, float, float, float], more: float) -> None:
    """With the same drive the angle of flow and the plate current fall."""
    law, volts, drive = stage(drawn)
    point = at(drawn)
    try:
        colder = operate(law, replace(volts, bias=more * volts.bias), drive)
    except CannotCompute:
        return  # beyond cut-off altogether
    assert colder.half_angle < point.half_angle
    assert colder.plate_current < point.plate_current


@given(STAGES.filter(lambda drawn: drawn[0] is BEAM), st.floats(1.02, 1.5))
def test_more_plate_voltage_gives_more_output(
    drawn: tuple[TubeLaw, float, float, float, float], more: float
) -> None:
    """With a screen, loaded to the knee again: output and the load that it takes rise with the plate voltage.

    (Of a triode cut-off itself moves with the plate voltage, and so the class.)
    """
    law, volts, drive = stage(drawn)
    point = at(drawn)
    higher = operate(law, replace(volts, plate=more * volts.plate), drive)
    assert higher.output > point.output
    assert higher.load_resistance > point.load_resistance


@given(STAGES, st.floats(1.02, 1.2))
def test_more_drive_draws_more_grid_current(
    drawn: tuple[TubeLaw, float, float, float, float], more: float
) -> None:
    """And more power from the driver."""
    law, volts, drive = stage(drawn)
    point = at(drawn)
    assume(lowest_plate_voltage(law, volts, more * drive) < 0.9 * volts.plate)
    harder = operate(law, volts, more * drive)
    assert harder.grid_current > point.grid_current
    assert harder.drive_power > point.drive_power


@given(STAGES, st.floats(0.2, 5.0))
def test_all_currents_go_with_the_perveance(
    drawn: tuple[TubeLaw, float, float, float, float], times: float
) -> None:
    """Angle, swing and efficiency do not: a stronger tube of the same build is several in parallel."""
    law, volts, drive = stage(drawn)
    point = at(drawn)
    other = operate(replace(law, perveance=times * law.perveance), volts, drive)
    assert other.plate_current == pytest.approx(times * point.plate_current)
    assert other.grid_current == pytest.approx(times * point.grid_current)
    assert other.output == pytest.approx(times * point.output)
    assert other.efficiency == pytest.approx(point.efficiency)
    assert other.half_angle == pytest.approx(point.half_angle)


@given(st.floats(50.0, 89.0), st.floats(20.0, 60.0))
def test_an_ideal_tube_gives_the_coefficients_of_its_angle(degrees: float, crest: float) -> None:
    """Screened perfectly and with grids that take nothing, the plate current is the pulse of the tables."""
    law = TubeLaw(1e-3, math.inf, 8.0, 1e12, 1e12)
    half = math.radians(degrees)
    drive = crest / (1.0 - math.cos(half))
    volts = Volts(1000.0, -160.0 / 8.0 - drive * math.cos(half), 160.0)
    point = operate(law, volts, drive, tank=1.0, lowest=0.0)
    peak = 1e-3 * crest**1.5
    assert point.half_angle == pytest.approx(half)
    assert point.plate_current == pytest.approx(component(half, 0) * peak, rel=1e-6)
    assert point.output == pytest.approx(500.0 * component(half, 1) * peak, rel=1e-6)
    assert point.efficiency == pytest.approx(point.ideal_efficiency, rel=1e-6)


@given(STAGES)
def test_the_drive_is_told_from_the_grid_current(drawn: tuple[TubeLaw, float, float, float, float]) -> None:
    """There and back again."""
    law, volts, drive = stage(drawn)
    point = at(drawn)
    again = driven_to(law, volts, point.grid_current)
    assert again.drive == pytest.approx(drive, rel=1e-6)
    assert again.plate_current == pytest.approx(point.plate_current, rel=1e-5)


def test_the_knee_is_where_published_audio_rows_turn() -> None:
    """Vp less sqrt(output x load / 2), over the crest of the potential there: middle of the push-pull rows.

    The swing of one plate of a class B pair into R plate to plate is sqrt(P R / 2) (RCA receiving tube manuals).
    Rows from memory and from the GE and RCA sheets of the 6L6GC, as the tube data say.
    """
    ratios = []
    for tube in rows():
        for name, figures in points(tube):
            found = [point for point in all_points(tube) if point.name == name and point.output is None]
            if found:
                (point,) = found
                low = point.plate - math.sqrt(figures["output"] * figures["load"] / 2)
                known = characteristics(tube)
                law = tube_law(1.0, known.get("mu"), known.get("mu_screen"))
                crest = law.potential(point.bias + point.drive, low, point.screen)
                ratios.append(low / crest)
    ratios.sort()
    middle = (ratios[(len(ratios) - 1) // 2] + ratios[len(ratios) // 2]) / 2
    assert len(ratios) >= 15
    assert middle == pytest.approx(LOWEST_OVER_POTENTIAL, abs=0.15)


def test_drive_power_is_about_nine_tenths_of_crest_times_grid_current() -> None:
    """H. P. Thomas, Proc. IRE, August 1933: the rule by which makers' sheets reckon it."""
    for check in checks():
        rule = 0.9 * check.point.drive * check.made["grid_current"]
        assert check.made["drive_power"] == pytest.approx(rule, rel=0.11), check.point


# Arguments of a working stage of each method.
GIVEN = {
    "class_c_amplifier": {
        "plate_voltage": 600.0, "screen_voltage": 250.0, "grid_voltage": -45.0, "peak_grid_voltage": 65.0,
        "mu": 135.0, "mu_screen": 8.0, "current_at_100_volts": 1.17,
    },
    "class_c_dropped_screen": {
        "plate_voltage": 600.0, "screen_supply": 600.0, "screen_resistance": 50e3, "grid_voltage": -45.0,
        "peak_grid_voltage": 65.0, "mu": 135.0, "mu_screen": 8.0, "current_at_100_volts": 1.17,
    },
    "class_c_triode": {
        "plate_voltage": 1500.0, "grid_voltage": -70.0, "peak_grid_voltage": 175.0, "mu": 160.0,
        "current_at_100_volts": 0.75,
    },
}  # fmt: skip
METHODS = {method.id: method for method in class_c.METHODS}


@pytest.mark.parametrize("id", METHODS)
def test_a_method_gives_what_it_declares(id: str) -> None:
    """Exactly the declared results, from arguments that are all declared; tubes add their currents."""
    method, given = METHODS[id], GIVEN[id]
    one = method.run(given)
    assert set(one) == set(method.results)
    assert set(given) <= set(method.arguments)
    required = {name for name, argument in method.arguments.items() if not argument.optional}
    for name in required:
        with pytest.raises(CannotCompute):
            method.run({key: value for key, value in given.items() if key != name})
    if id != "class_c_dropped_screen":
        pair = method.run({**given, "tubes": 2.0})
        assert pair["plate_current"] == pytest.approx(2 * one["plate_current"])
        assert pair["plate_dissipation"] == pytest.approx(one["plate_dissipation"])
        assert pair["load_resistance"] == pytest.approx(one["load_resistance"] / 2)


def test_a_pair_with_half_the_resistor_is_as_one_with_the_whole() -> None:
    """Two tubes draw twice the screen current through half the ohms."""
    method, given = METHODS["class_c_dropped_screen"], GIVEN["class_c_dropped_screen"]
    one = method.run(given)
    pair = method.run({**given, "tubes": 2.0, "screen_resistance": 25e3})
    assert pair["screen_voltage"] == pytest.approx(one["screen_voltage"], rel=1e-6)
    assert pair["plate_current"] == pytest.approx(2 * one["plate_current"], rel=1e-6)


@given(st.floats(5e3, 200e3))
def test_the_screen_settles_where_its_resistor_leaves_it(ohms: float) -> None:
    """Supply less current times resistor is the screen voltage with which the current was computed."""
    given = {**GIVEN["class_c_dropped_screen"], "screen_resistance": ohms}
    found = METHODS["class_c_dropped_screen"].run(given)
    left = given["screen_supply"] - ohms * found["screen_current"]
    assert found["screen_voltage"] == pytest.approx(left, rel=1e-4)
    fixed = METHODS["class_c_amplifier"].run({**given, "screen_voltage": found["screen_voltage"]})
    assert fixed["plate_current"] == pytest.approx(found["plate_current"])


def test_a_larger_resistor_lowers_screen_and_plate_current() -> None:
    """The way a drifted dropping resistor shows."""
    runs = [
        METHODS["class_c_dropped_screen"].run({**GIVEN["class_c_dropped_screen"], "screen_resistance": ohms})
        for ohms in (20e3, 40e3, 80e3, 160e3)
    ]
    for name in ("screen_voltage", "plate_current", "output"):
        values = [run[name] for run in runs]
        assert values == sorted(values, reverse=True)
        assert values[0] > values[-1]


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"grid_voltage": 45.0}, "biased negative"),
        ({"grid_voltage": -120.0}, "drive does not reach above cut-off"),
        ({"plate_voltage": 50.0}, "does not reach above the knee"),
        ({"plate_voltage": 0.0}, "plate voltage must be known and above zero"),
        ({"peak_grid_voltage": None}, "grid current is not known"),
        ({"peak_grid_voltage": None, "grid_current": 0.0}, "grid current must flow"),
        ({"peak_grid_voltage": None, "grid_current": 5.0}, "no drive gives that grid current"),
        ({"current_at_100_volts": None}, "transconductance is not known"),
        ({"mu_screen": 0.0}, "above zero"),
        ({"tubes": 0.0}, "tubes must be known and above zero"),
        ({"plate_voltage": "much"}, "a figure, not a word"),
        ({"lowest_plate_voltage": 700.0}, "does not reach above the knee"),
    ],
)
def test_a_stage_that_cannot_work_is_refused_with_the_reason(
    changed: dict[str, float | str | None], why: str
) -> None:
    """Never a number for a set that draws nothing or cannot be."""
    given = {
        key: value for key, value in {**GIVEN["class_c_amplifier"], **changed}.items() if value is not None
    }
    with pytest.raises(CannotCompute, match=why):
        METHODS["class_c_amplifier"].run(given)


def test_transconductance_serves_where_no_current_at_100_volts_is_known() -> None:
    """The perveance from 1.5 P**(2/3) I**(1/3) instead."""
    given: dict[str, float] = {**GIVEN["class_c_amplifier"]}
    perveance = given.pop("current_at_100_volts") / 1000.0
    slope = 1.5 * perveance ** (2 / 3) * 0.08 ** (1 / 3)
    told = METHODS["class_c_amplifier"].run(
        {**given, "transconductance": slope, "transconductance_current": 0.08}
    )
    assert told["plate_current"] == pytest.approx(
        METHODS["class_c_amplifier"].run(GIVEN["class_c_amplifier"])["plate_current"]
    )
