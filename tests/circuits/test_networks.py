"""Bias, screen, regulator and modulation networks: published examples, and their laws."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.circuits import networks
from diagnose.circuits.method import CannotCompute, Method
from tests.circuits.tube_rows import points

RUN = {method.id: method.run for method in networks.METHODS}
OHMS = st.floats(100.0, 1e6)
AMPS = st.floats(0.0, 0.05)

# Working points of transmitting tubes with the resistors their sheets give beside them; from memory.
# Tube, point, grid leak in ohms.
LEAKS = [
    ("813", "cw", 10_000.0),
    ("6146", "cw_750", 20_000.0),
    ("5763", "cw", 18_000.0),
    ("811A", "phone", 2_700.0),
]
# Tube, point, screen resistor in ohms.
DROPPERS = [("807", "cw_750", 83_000.0), ("813", "phone", 41_000.0), ("6146", "phone", 58_000.0)]


@pytest.mark.parametrize(("tube", "name", "ohms"), LEAKS, ids=str)
def test_grid_leaks_of_published_points(tube: str, name: str, ohms: float) -> None:
    """Grid current through the leak gives the published bias within 4 percent."""
    point = dict(points(tube))[name]
    made = RUN["grid_leak_bias"]({"grid_current": point["grid_current"], "grid_resistance": ohms})
    assert made["grid_voltage"] == pytest.approx(point["grid_voltage"], rel=0.04)


@pytest.mark.parametrize(("tube", "name", "ohms"), DROPPERS, ids=str)
def test_screen_resistors_of_published_points(tube: str, name: str, ohms: float) -> None:
    """Fed from the plate supply, the resistor leaves the published screen voltage within 4 percent."""
    point = dict(points(tube))[name]
    made = RUN["screen_dropper"]({
        "screen_supply": point["plate_voltage"], "screen_resistance": ohms,
        "screen_current": point["screen_current"],
    })  # fmt: skip
    assert made["screen_voltage"] == pytest.approx(point["screen_voltage"], rel=0.04)


def test_the_regulator_of_a_training_course() -> None:
    """VR90-40 from 150 V with a load of 100 mA: 490 ohms pass the mean current of 22.5 mA besides the load.

    learn-about-electronics.com, The VR-Tube (text of the Navy training series): mean of 5 and 40 mA.
    """
    made = RUN["regulator_current"]({
        "supply_voltage": 150.0, "series_resistance": 490.0, "tube_voltage": 90.0, "load_current": 0.1,
        "least_current": 0.005,
    })  # fmt: skip
    assert made["tube_current"] == pytest.approx(0.0225, rel=0.01)
    assert made["voltage"] == 90.0
    assert made["resistor_dissipation"] == pytest.approx(60.0**2 / 490.0)


@pytest.mark.parametrize(("current", "ohms"), [(0.005, 30e3), (0.030, 5e3)])
def test_the_equivalent_resistance_of_a_glow_tube(current: float, ohms: float) -> None:
    """VR-150: 30 kilohms at 5 mA and 5 kilohms at 30 mA (Lessons in Electric Circuits, volume 3, tubes)."""
    made = RUN["regulator_current"]({
        "supply_voltage": 150.0 + 1000.0 * current, "series_resistance": 1000.0, "tube_voltage": 150.0,
        "load_current": 0.0,
    })  # fmt: skip
    assert made["voltage"] / made["tube_current"] == pytest.approx(ohms)


GLOW = {"series_resistance": 3000.0, "tube_voltage": 150.0, "striking_voltage": 185.0, "least_current": 0.005}


def test_a_regulator_that_does_not_strike_leaves_the_supply() -> None:
    """0D3 strikes at 185 V (course page on glow regulators): from 180 V it stays dark, from 250 V it holds."""
    dark = RUN["regulator_current"]({**GLOW, "supply_voltage": 180.0, "load_current": 0.0})
    assert (dark["lit"], dark["tube_current"], dark["voltage"]) == (0.0, 0.0, 180.0)
    held = RUN["regulator_current"]({**GLOW, "supply_voltage": 250.0, "load_current": 0.01})
    assert (held["lit"], held["voltage"]) == (1.0, 150.0)
    assert held["tube_current"] == pytest.approx(100.0 / 3000.0 - 0.01)


def test_a_regulator_robbed_by_its_load_drops_out() -> None:
    """With less than 5 mA left for the tube it goes out, and the voltage follows the supply."""
    out = RUN["regulator_current"]({**GLOW, "supply_voltage": 250.0, "load_current": 0.030})
    assert out["lit"] == 0.0
    assert out["voltage"] == pytest.approx(160.0)


@given(st.floats(160.0, 500.0), OHMS, OHMS)
def test_the_currents_of_a_regulator_add_up(supply: float, series: float, load: float) -> None:
    """What goes through the resistor is what load and tube take, lit or not."""
    made = RUN["regulator_current"]({
        "supply_voltage": supply, "series_resistance": series, "tube_voltage": 150.0, "load_resistance": load
    })  # fmt: skip
    through = (supply - made["voltage"]) / series
    assert through == pytest.approx(made["tube_current"] + made["voltage"] / load, rel=1e-9, abs=1e-12)
    assert made["lit"] in (0.0, 1.0)
    assert made["tube_current"] >= 0.0


@given(st.floats(-400.0, -20.0), OHMS, OHMS, AMPS)
def test_the_currents_of_a_divider_add_up(supply: float, series: float, shunt: float, grid: float) -> None:
    """Current from ground through the shunt and from the grid is what the supply takes."""
    made = RUN["bias_divider"]({
        "supply_voltage": supply, "series_resistance": series, "shunt_resistance": shunt, "grid_current": grid
    })  # fmt: skip
    tap = made["grid_voltage"]
    assert -tap / shunt == pytest.approx(made["divider_current"] + grid, rel=1e-6, abs=1e-9)
    idle = RUN["bias_divider"](
        {"supply_voltage": supply, "series_resistance": series, "shunt_resistance": shunt}
    )
    assert tap <= idle["grid_voltage"] <= 0.0


def test_the_parts_of_a_combined_bias_add_up() -> None:
    """Fixed 30 V, 3 mA in 15 kilohms, 150 mA in 100 ohms: 90 V."""
    made = RUN["grid_leak_bias"]({
        "grid_current": 0.003, "grid_resistance": 15e3, "fixed_voltage": -30.0, "cathode_resistance": 100.0,
        "cathode_current": 0.150,
    })  # fmt: skip
    assert made["grid_voltage"] == pytest.approx(-90.0)
    assert made["leak_voltage"] == pytest.approx(45.0)
    assert made["leak_dissipation"] == pytest.approx(0.135)


@pytest.mark.parametrize(
    ("volts", "amps", "depth", "audio", "impedance"),
    [
        # Principle of Communication Engineering, example 3.4, p. 138: 2000 V, 67 mA, 75 percent.
        (2000.0, 0.067, 0.75, 37.69, 29850.75),
        # Electronic Communication Systems, example 5.2, p. 179: 10 W of carrier at 70 percent, fully modulated.
        (10.0, 10.0 / 0.7 / 10.0, 1.0, 7.14, 7.0),
        # Modern Electronic Communication, example 2.7, p. 82: 10 kW of carrier at 70 percent, fully modulated.
        (10e3, 10e3 / 0.7 / 10e3, 1.0, 7142.86, 7000.0),
        # Electronic Communication Systems, example 5.3, p. 181: 12 V and 2 A are 6 ohms.
        (12.0, 2.0, 1.0, 12.0, 6.0),
    ],
)
def test_modulation_of_published_examples(
    volts: float, amps: float, depth: float, audio: float, impedance: float
) -> None:
    """Audio power and modulating impedance, to the figures printed."""
    given_ = {"plate_voltage": volts, "plate_current": amps}
    assert RUN["audio_power_needed"]({**given_, "depth": depth})["audio_power"] == pytest.approx(
        audio, rel=1e-3
    )
    assert RUN["modulating_impedance"](given_)["impedance"] == pytest.approx(impedance, rel=1e-3)


@given(st.floats(100.0, 3000.0), st.floats(0.01, 0.5), st.floats(0.0, 1.0))
def test_audio_power_is_what_its_voltage_makes_in_the_impedance(
    volts: float, amps: float, depth: float
) -> None:
    """Rms voltage squared over the modulating impedance; the crest of the plate is twice the supply at most."""
    stage = {"plate_voltage": volts, "plate_current": amps, "screen_current": amps / 10}
    made = RUN["audio_power_needed"]({**stage, "depth": depth, "transformer_efficiency": 0.9})
    load = RUN["modulating_impedance"](stage)
    assert made["audio_power"] == pytest.approx(
        made["audio_voltage"] ** 2 / load["impedance"], rel=1e-9, abs=1e-12
    )
    assert made["modulator_output"] == pytest.approx(made["audio_power"] / 0.9)
    assert volts <= made["peak_plate_voltage"] <= 2 * volts
    assert made["audio_power"] <= load["input"] / 2 * (1 + 1e-12)


GIVEN: dict[str, dict[str, float]] = {
    "bias_divider": {"supply_voltage": -120.0, "series_resistance": 10e3, "shunt_resistance": 5e3},
    "grid_leak_bias": {"grid_current": 0.003, "grid_resistance": 20e3},
    "screen_dropper": {"screen_supply": 600.0, "screen_resistance": 40e3, "screen_current": 0.01},
    "regulator_current": {**GLOW, "supply_voltage": 300.0, "load_current": 0.01},
    "modulating_impedance": {"plate_voltage": 600.0, "plate_current": 0.1},
    "audio_power_needed": {"plate_voltage": 600.0, "plate_current": 0.1},
}


@pytest.mark.parametrize("method", networks.METHODS, ids=lambda method: method.id)
def test_a_method_gives_what_it_declares(method: Method) -> None:
    """Exactly the declared results, from declared arguments; without a needed one it refuses."""
    given_ = GIVEN[method.id]
    assert set(given_) <= set(method.arguments)
    assert set(method.run(given_)) == set(method.results)
    for name, argument in method.arguments.items():
        if not argument.optional:
            with pytest.raises(CannotCompute):
                method.run({key: value for key, value in given_.items() if key != name})


@pytest.mark.parametrize(
    ("method", "changed", "why"),
    [
        ("bias_divider", {"supply_voltage": 120.0}, "bias supply is negative"),
        ("bias_divider", {"shunt_resistance": 0.0}, "above zero"),
        ("bias_divider", {"grid_current": -0.001}, "not below zero"),
        ("grid_leak_bias", {"fixed_voltage": 30.0}, "must not be above zero"),
        ("screen_dropper", {"screen_current": 0.05}, "drop more than the supply has"),
        ("regulator_current", {"load_current": None}, "load current must be known"),
        ("audio_power_needed", {"depth": 1.2}, "shares of one"),
    ],
)
def test_impossible_figures_are_refused_with_the_reason(
    method: str, changed: dict[str, float | None], why: str
) -> None:
    """A wrong sign, nothing where something must be, more than there is."""
    given_ = {name: value for name, value in {**GIVEN[method], **changed}.items() if value is not None}
    with pytest.raises(CannotCompute, match=why):
        RUN[method](given_)
