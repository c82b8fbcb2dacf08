"""Worked examples of textbooks and question banks for rectifiers, ripple, chokes and bleeders.

The examples were read in public transcriptions of the books. What is marked `definition` has no source and needs none.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.circuits import supply_bleeder, supply_ripple
from diagnose.circuits.supply import rectified_supply
from diagnose.circuits.supply_ripple import SAW_TOOTH, attenuation, critical_inductance
from tests.circuits.supplies.strategies import (
    FULL_WAVE,
    Given,
    any_supply,
    capacitor_inputs,
    choke_inputs,
    few,
)

RUN = {method.id: method.run for method in (*supply_bleeder.METHODS, *supply_ripple.METHODS)}
IDEAL: Given = {"rectifier": "silicon", "drop_volts": 1e-6, "drop_current": 1.0}


def ripple_of(**given: float | str) -> float:
    """Ripple in percent by the handbook formulas."""
    return RUN["ripple"](given)["ripple_percent"]


def test_ripple_of_a_reservoir() -> None:
    """1 kilohm, full wave at 50 Hz: 288.7 uF for 1 percent (A Textbook of Applied Electronics, example 19.11)."""
    made = ripple_of(circuit="bridge", filter="capacitor_input", voltage=100.0, current=0.1, capacitance=288.7e-6,
                     mains_frequency=50.0)  # fmt: skip
    assert made == pytest.approx(1.0, rel=1e-3)


@pytest.mark.parametrize(
    ("circuit", "volts", "swing"), [("half_wave", 39.12, 5.209), ("centre_tap", 40.38, 2.690)]
)
def test_swing_of_a_reservoir(circuit: str, volts: float, swing: float) -> None:
    """250 ohms on 500 uF at 60 Hz (Grob's Basic Electronics, example 27-7).

    The book lets the capacitor discharge for the whole time between two peaks by its exponential; the saw-tooth
    with the current of the mean volts is the same within 1 percent.
    """
    made = RUN["ripple"]({"circuit": circuit, "filter": "capacitor_input", "voltage": volts, "current": volts / 250.0,
                          "capacitance": 500e-6, "mains_frequency": 60.0})  # fmt: skip
    assert made["ripple"] / SAW_TOOTH == pytest.approx(swing, rel=0.01)


@pytest.mark.parametrize(
    ("circuit", "winding", "volts", "swing"),
    [("half_wave", 30.0, 39.12, 5.209), ("centre_tap", 30.0, 40.38, 2.690)],
)
def test_volts_of_a_reservoir(circuit: str, winding: float, volts: float, swing: float) -> None:
    """The same example solved: 1 percent more volts and 5 to 15 percent less ripple, for the pulse takes its time."""
    made = rectified_supply({"circuit": circuit, "rectifier": "silicon", "filter": "capacitor_input",
                             "drop_volts": 0.7, "drop_current": 0.16, "winding_volts": winding, "source_ohms": 0.1,
                             "mains_frequency": 60.0, "capacitance": 500e-6, "load_current": 0.0,
                             "bleeder_ohms": 250.0})  # fmt: skip
    assert made["voltage"] == pytest.approx(volts, rel=0.012)
    assert 0.82 < made["ripple"] / (swing * SAW_TOOTH) < 0.97


@pytest.mark.parametrize(
    ("percent", "farads"),
    [
        (1.0, 119.4e-6),
        (2.0, 59.7e-6),
    ],  # A Textbook of Applied Electronics, 19.12; Electronics Fundamentals, 6.5
)
def test_ripple_behind_a_choke(percent: float, farads: float) -> None:
    """1 H at 50 Hz, full wave: the published capacitors, within 5 percent.

    The books take the capacitor as nothing against the choke; it is 2 to 4 percent of it here.
    """
    made = ripple_of(circuit="bridge", filter="choke_input", voltage=100.0, current=0.5, capacitance=farads,
                     mains_frequency=50.0, choke_inductance=1.0)  # fmt: skip
    assert made == pytest.approx(percent, rel=0.05)


def test_ripple_of_a_pi_filter() -> None:
    """30 V, 200 mA, 100 uF, 5 H, 100 uF at 50 Hz: 0.076 percent (A Textbook of Applied Electronics, example 19.13)."""
    made = ripple_of(circuit="bridge", filter="capacitor_input", voltage=30.0, current=0.2, capacitance=100e-6,
                     mains_frequency=50.0, section_inductance=5.0, section_capacitance=100e-6)  # fmt: skip
    assert made == pytest.approx(0.076, rel=0.01)


def test_what_a_section_lets_through() -> None:
    """3.18 ohms behind 100 ohms lets 0.0318 through, behind 10 H at 50 Hz 0.00101.

    Electronic Circuits, chapter 6 (power supplies), examples 6.2 and 6.3; the second neglects 3 ohms of 3142.
    """
    farads = 1.0 / (2.0 * math.pi * 50.0 * 3.18)
    assert attenuation(50.0, 0.0, 100.0, farads) == pytest.approx(0.0318, rel=1e-3)
    assert attenuation(50.0, 10.0, 0.0, farads) == pytest.approx(0.00101, rel=5e-3)


def test_critical_inductance() -> None:
    """100 ohms at 50 Hz: 0.106 H (Electronics Fundamentals and Applications, chapter 6, example 5: R / 942)."""
    assert critical_inductance(100.0, 50.0) == pytest.approx(0.106, rel=2e-3)
    assert critical_inductance(1131.0, 60.0) == pytest.approx(1.0, rel=1e-4)


@few
@given(choke_inputs())
def test_the_choke_margin_is_by_that_inductance(parts: Given) -> None:
    """At the volts and the current of the supply, the bleeder's included (the same example)."""
    made = rectified_supply(parts)
    for volts, drawn, margin in (
        (made["voltage"], parts["load_current"], made["choke_margin"]),
        (made["voltage_unloaded"], 0.0, made["choke_margin_unloaded"]),
    ):
        ohms = volts / (drawn + volts / parts["bleeder_ohms"])
        critical = critical_inductance(ohms, parts["mains_frequency"])
        assert margin == pytest.approx(parts["choke_inductance"] / critical, rel=1e-6)


def test_full_wave_into_a_resistor() -> None:
    """220 V peak, 10 ohms, 1 kilohm, no filter: 217.8 mA peak, 138.67 mA, ripple factor 0.483.

    Basic Electronics and Linear Circuits, example 4.3. The filter must have a capacitor here: 1 pF.
    """
    made = rectified_supply({**IDEAL, "circuit": "centre_tap", "filter": "capacitor_input", "mains_frequency": 50.0,
                             "winding_volts": 220.0 / math.sqrt(2.0), "source_ohms": 10.0, "capacitance": 1e-12,
                             "load_current": 0.0, "bleeder_ohms": 1000.0})  # fmt: skip
    assert made["peak_current"] == pytest.approx(0.2178, rel=1e-3)
    assert made["voltage"] == pytest.approx(138.67, rel=1e-3)
    assert made["ripple_percent"] == pytest.approx(48.3, rel=2e-3)


@pytest.mark.parametrize(
    ("circuit", "winding", "inverse"),
    [
        ("centre_tap", 23.0, 65.05),  # A Textbook of Applied Electronics, example 19.7
        ("bridge", 220.0 / 12.0, 25.93),  # Basic Electronics and Linear Circuits, example 4.2
        ("centre_tap", 220.0 / 12.0, 51.85),  # the same
        ("half_wave", 100.0, 280.0),  # Canadian Advanced question bank, A-004-01-02: 2.8 times the winding
    ],
)
def test_peak_inverse_volts(circuit: str, winding: float, inverse: float) -> None:
    """What a rectifier must stand."""
    made = rectified_supply({"circuit": circuit, "rectifier": "silicon", "filter": "capacitor_input",
                             "winding_volts": winding, "mains_frequency": 50.0, "capacitance": 100e-6,
                             "load_current": 0.1})  # fmt: skip
    assert made["peak_inverse"] == pytest.approx(inverse, rel=0.011)


@pytest.mark.parametrize(
    ("circuit", "mains", "hertz"),
    [("half_wave", 60.0, 60.0), ("bridge", 60.0, 120.0), ("centre_tap", 50.0, 100.0)],
)
def test_ripple_frequency(circuit: str, mains: float, hertz: float) -> None:
    """Canadian Advanced question bank, A-004-01-06 and -07; A Textbook of Applied Electronics, example 19.6."""
    made = RUN["ripple"]({"circuit": circuit, "filter": "capacitor_input", "voltage": 300.0, "current": 0.1,
                          "capacitance": 10e-6, "mains_frequency": mains})  # fmt: skip
    assert made["ripple_frequency"] == hertz


@few
@given(capacitor_inputs(circuits=FULL_WAVE))
def test_the_formula_is_above_the_solved_ripple(parts: Given) -> None:
    """It lets the capacitor discharge all the time; in a soft supply it is up to nine tenths too high, and never low."""
    solved = rectified_supply(parts)
    drawn = parts["load_current"] + solved["voltage"] / parts["bleeder_ohms"]
    made = RUN["ripple"]({**{name: parts[name] for name in ("circuit", "filter", "capacitance", "mains_frequency")},
                          "voltage": solved["voltage"], "current": drawn})  # fmt: skip
    assert solved["ripple"] < 1.02 * made["ripple"] < 1.9 * solved["ripple"]


@few
@given(choke_inputs(margins=(1.5, 10.0)))
def test_the_formula_is_the_solved_ripple_behind_a_choke(parts: Given) -> None:
    """Above the critical inductance they agree within 3 percent where nothing is lost in the supply."""
    solved = rectified_supply({**parts, **IDEAL, "source_ohms": 1e-3, "choke_ohms": 0.0})
    drawn = parts["load_current"] + solved["voltage"] / parts["bleeder_ohms"]
    names = ("circuit", "filter", "capacitance", "mains_frequency", "choke_inductance")
    made = RUN["ripple"](
        {**{name: parts[name] for name in names}, "voltage": solved["voltage"], "current": drawn}
    )
    assert made["ripple"] == pytest.approx(solved["ripple"], rel=0.03)


@few
@given(any_supply())
def test_regulation_and_percent(parts: Given) -> None:
    """The rise over the loaded volts, and the ripple over them, in percent (definition)."""
    made = rectified_supply(parts)
    rise = made["voltage_unloaded"] / made["voltage"] - 1.0
    assert made["supply_regulation"] == pytest.approx(100.0 * rise, rel=1e-6, abs=1e-9)
    assert made["ripple_percent"] == pytest.approx(100.0 * made["ripple"] / made["voltage"])


def test_the_primary_is_seen_through_the_turns() -> None:
    """8 ohms at 230 V are 8 x (280/230)^2 = 11.9 ohms at 280 V, in series with the winding's 45 (common practice)."""
    parts: Given = {"circuit": "centre_tap", "rectifier": "silicon", "filter": "capacitor_input",
                    "winding_volts": 280.0, "mains_frequency": 50.0, "capacitance": 50e-6, "load_current": 0.1,
                    "secondary_ohms": 45.0}  # fmt: skip
    both = rectified_supply({**parts, "primary_ohms": 8.0, "primary_volts": 230.0})
    assert both["source_resistance"] == pytest.approx(45.0 + 8.0 * (280.0 / 230.0) ** 2)
    assert rectified_supply(parts)["source_resistance"] == 45.0
    given_as_such = rectified_supply({**parts, "source_ohms": 0.0})
    assert given_as_such["source_resistance"] == 0.0


def test_a_winding_known_by_its_regulation() -> None:
    """8 percent of 350 V at 200 mA are 140 ohms (definition); 7 percent at the load where nothing is said."""
    parts: Given = {"circuit": "centre_tap", "rectifier": "silicon", "filter": "capacitor_input",
                    "winding_volts": 350.0, "mains_frequency": 60.0, "capacitance": 50e-6,
                    "load_current": 0.1}  # fmt: skip
    rated = rectified_supply({**parts, "regulation": 0.08, "rated_current": 0.2})
    assert rated["source_resistance"] == pytest.approx(140.0)
    assert rectified_supply(parts)["source_resistance"] == pytest.approx(245.0)


@pytest.mark.parametrize(
    ("volts", "below", "farads", "ohms", "seconds"),
    [
        (800.0, 294.0, 450e-6, 1e6, 450.5),  # US amateur Extra question pool, E5B06
        (20.0, 7.36, 0.01e-6, 2e6, 0.01999),  # E5B05
        (200.0, 73.58, 0.01e-6, 1e6, 0.01),  # Grob's Basic Electronics, example 22-7
    ],
)
def test_discharge_through_a_bleeder(
    volts: float, below: float, farads: float, ohms: float, seconds: float
) -> None:
    """Published times until so many volts are left."""
    made = RUN["bleeder"]({"voltage": volts, "bleeder_ohms": ohms, "capacitance": farads, "below": below})
    assert made["discharge_time"] == pytest.approx(seconds, rel=1e-3)


def test_a_discharge_is_to_50_volts_if_nothing_is_said() -> None:
    """500 V on 20 kilohms and 40 uF: 25 mA, 12.5 W, and 0.8 s times ln 10 (definition; 50 V is common practice)."""
    made = RUN["bleeder"]({"voltage": 500.0, "bleeder_ohms": 20e3, "capacitance": 40e-6})
    assert made == pytest.approx({"current": 0.025, "power": 12.5, "discharge_time": 0.8 * math.log(10.0)})


@few
@given(st.floats(60.0, 4000.0), st.floats(1e3, 1e6), st.floats(1e-7, 1e-3), st.floats(0.1, 0.9))
def test_a_discharge_goes_by_stages(volts: float, ohms: float, farads: float, share: float) -> None:
    """Down to a share and from there on is as long as all at once; the bleeder's heat is volts by current."""
    part = {"bleeder_ohms": ohms, "capacitance": farads}
    first = RUN["bleeder"]({"voltage": volts, "below": share * volts, **part})
    then = RUN["bleeder"]({"voltage": share * volts, "below": share * share * volts, **part})
    whole = RUN["bleeder"]({"voltage": volts, "below": share * share * volts, **part})
    total = first["discharge_time"] + then["discharge_time"]
    assert total == pytest.approx(whole["discharge_time"], rel=1e-6)
    assert whole["power"] == pytest.approx(volts * whole["current"])
    assert RUN["bleeder"]({"voltage": 0.5 * share * volts, "below": volts, **part})["discharge_time"] == 0.0
