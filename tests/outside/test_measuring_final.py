"""Input, dissipation, volts and ratings of the final, against published worked examples and tables.

Every example goes through the door of a case file and the formulas of the built-in book. Examples whose source is
named were read in a copy of it (an examination bank, or a transcription of a textbook's examples); the working
points of tubes are marked from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from diagnose.evidence.figures import computed_values
from diagnose.model.assembly import Assembly, assemble
from diagnose.model.knowledge import ChartRow
from tests.outside.bench import RIGS, bench, book, finding
from tests.outside.worked import Readings, beyond, worked_out, workings

# --- input, dissipation, modulation ---------------------------------------------------------------------------------


def test_a_plate_modulated_stage() -> None:
    """2000 V and 67 mA: 29 851 ohm; 37.69 W of audio for 75 percent (Principle of Communication Engineering, 3.4)."""
    readings = {"hv.voltage": "2000 V", "final.plate_current": "67 mA"}
    impedance = worked_out("skua_150", "final.modulating_impedance", readings, "phone")
    audio = worked_out("skua_150", "final.audio_needed", readings, "phone")
    assert impedance == pytest.approx(29850.75, rel=1e-4)
    assert 0.75**2 * audio == pytest.approx(37.69, rel=1e-3)


def test_audio_for_a_carrier() -> None:
    """10 W of carrier at 70 percent: 14.29 W input, 7.143 W of audio (Electronic Communication Systems, 5.2)."""
    readings = {"hv.voltage": "142.9 V", "final.plate_current": "100 mA", "output_network.power": "10 W"}
    assert worked_out("skua_150", "final.input_of_pair", readings, "phone") == pytest.approx(14.29)
    assert worked_out("skua_150", "final.audio_needed", readings, "phone") == pytest.approx(7.143, rel=1e-3)
    assert worked_out("skua_150", "output_network.efficiency", readings, "phone") == pytest.approx(
        70.0, rel=1e-3
    )


def test_heat_in_the_plates() -> None:
    """150 W out of 214.286 W leave 64.286 W (Electronic Communication Systems, 5.4): half of it in each of a pair."""
    readings = {"hv.voltage": "1071.43 V", "final.plate_current": "200 mA", "final.rf": "150 W"}
    each = worked_out("skua_150", "final.plate_dissipation_of_each", readings)
    assert 2 * each == pytest.approx(64.286, rel=1e-4)


@pytest.mark.parametrize(
    ("rig", "tubes", "volts", "plate", "screen", "grid", "rf", "input_each", "heat_each"),
    [  # published typical operation, from memory; input and dissipation are arithmetic of the same rows
        ("kestrel_30", 1, 750, 100.0, 6.0, 3.5, 50.0, 75.0, 25.0),  # 807
        ("kestrel_30", 1, 600, 100.0, 7.0, 3.5, 40.0, 60.0, 20.0),  # 807
        ("gannet_60", 1, 600, 112.0, 9.0, 2.8, 52.0, 67.2, 15.2),  # 6146
        ("gannet_60", 1, 750, 120.0, 11.0, 3.1, 70.0, 90.0, 20.0),  # 6146
        ("petrel_90", 2, 600, 150.0, 10.0, 2.8, 66.0, 90.0, 24.0),  # two 6146
        ("skua_150", 2, 1500, 173.0, 0.0, 40.0, 200.0, 259.5, 59.5),  # two 811A
    ],
)
def test_input_and_dissipation_of_each_tube(
    rig: str, tubes: int, volts: float, plate: float, screen: float, grid: float, rf: float,
    input_each: float, heat_each: float,
) -> None:  # fmt: skip
    """The meter shows all tubes, in three of the rigs with screen and grid current; the figures are of one tube."""
    cathode = plate + (screen + grid if rig != "skua_150" else 0.0)
    readings = {
        "hv.voltage": f"{volts} V",
        "final.plate_current": f"{tubes * cathode} mA",
        "final.grid_current": f"{tubes * grid} mA",
        "final.rf": f"{tubes * rf} W",
    }
    if screen:
        readings["final.screen_current"] = f"{tubes * screen} mA"
    pair = tubes == 2
    put_in = worked_out(rig, "final.input_of_each" if pair else "final.input", readings)
    heat = worked_out(rig, f"final.plate_dissipation_of_{'each' if pair else 'tube'}", readings)
    assert put_in == pytest.approx(input_each, rel=1e-6)
    assert heat == pytest.approx(heat_each, rel=1e-6)
    # by the power in the load it is more, for the network keeps its share of what leaves the plates
    readings["output_network.power"] = f"{tubes * rf * 0.93} W"
    again = worked_out(rig, "output_network.plate_dissipation", readings)
    assert again == pytest.approx(heat_each, rel=1e-6)


@pytest.mark.parametrize(
    ("rig", "rating", "name"),
    [
        ("kestrel_30", 30.0, "807"),
        ("gannet_60", 25.0, "6146"),
        ("petrel_90", 25.0, "6146"),
        ("skua_150", 65.0, "811A"),
    ],
)
def test_the_network_knows_the_rating_of_the_tubes(rig: str, rating: float, name: str) -> None:
    """Ratings from memory: 30 W of the 807, 25 W of the 6146, 65 W of the 811A, whatever the readings are."""
    readings = {"hv.voltage": "600 V", "final.plate_current": "150 mA", "output_network.power": "30 W"}
    found = worked_out(rig, "output_network.rated_plate_dissipation", readings)
    assert found == pytest.approx(rating, rel=1e-6), name


# --- Ohm's law at grid, screen and cathode ------------------------------------------------------------------------


def test_bias_and_grid_current_over_a_measured_leak() -> None:
    """90 V, 30 ohm and 3 A belong together (Technician pool, T5D04): so do 90 V, 30 kohm and 3 mA."""
    leak = {"final.leak_resistance": "30 kohm"}
    by_volts = worked_out("kestrel_30", "final.grid_current_by_leak", {**leak, "final.leak_volts": "90 V"})
    by_current = worked_out("kestrel_30", "final.leak_bias", {**leak, "final.grid_current": "3 mA"})
    assert by_volts == pytest.approx(3.0)
    assert by_current == pytest.approx(90.0)


def test_the_bias_has_its_fixed_part() -> None:
    """A fixed part of 0.51 x 90 V and 3 mA in 10 kohm: 75.9 V (Ohm's law), which is what the chart has."""
    readings = {"bias.voltage": "90 V", "final.grid_current": "3.0 mA"}
    assert worked_out("gannet_60", "final.combined_bias", readings) == pytest.approx(0.51 * 90 + 30)


def test_the_cathode_resistor_adds_to_the_bias() -> None:
    """60 V at the grid and 95 mA in 47 ohm: 64.5 V between grid and cathode (Ohm's law)."""
    readings = {"final.grid_bias": "60 V", "final.plate_current": "95 mA"}
    assert worked_out("kestrel_30", "final.working_bias", readings) == pytest.approx(60 + 0.095 * 47)


def test_the_screen_behind_its_resistor() -> None:
    """600 V less 11 mA in 40 kohm are 160 V, and the resistor turns 4.84 W into heat (Ohm's law)."""
    readings = {"hv.voltage": "600 V", "final.screen_current": "11 mA"}
    assert worked_out("gannet_60", "final.screen_behind_dropper", readings) == pytest.approx(160.0)
    readings = {"hv.voltage": "600 V", "final.screen_voltage": "160 V"}
    assert worked_out("gannet_60", "final.dropper_current", readings) == pytest.approx(11.0)
    assert worked_out("gannet_60", "final.dropper_dissipation", readings) == pytest.approx(4.84)


# --- what is beyond a rating ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rig", "readings", "name"),
    [  # ratings of the 807, 6146 and 811A from memory
        ("gannet_60", {"hv.voltage": "820 V"}, "final.plate_voltage"),  # 750 V
        ("gannet_60", {"final.plate_current": "190 mA"}, "final.plate_current_of_tube"),  # 150 mA
        ("gannet_60", {"final.grid_current": "5 mA"}, "final.grid_current_of_tube"),  # 4 mA
        ("petrel_90", {"final.grid_current": "9.5 mA"}, "final.grid_current_of_each"),  # 4 mA each
        ("gannet_60", {"final.screen_voltage": "290 V"}, "final.screen_voltage"),  # 250 V
        ("gannet_60", {"final.screen_voltage": "220 V", "final.screen_current": "18 mA"},
         "final.screen_dissipation_of_tube"),  # 3 W
        ("kestrel_30", {"hv.voltage": "700 V", "final.key_up_current": "60 mA"},
         "final.standing_dissipation_of_tube"),  # 30 W
        ("skua_150", {"hv.voltage": "1200 V", "final.plate_current": "260 mA", "output_network.power": "120 W"},
         "output_network.plate_dissipation"),  # 65 W each
        ("petrel_90", {"hv.voltage": "650 V", "final.plate_current": "215 mA", "output_network.power": "50 W"},
         "output_network.plate_dissipation"),  # 25 W each
        ("gannet_60", {"hv.voltage": "700 V", "final.plate_current": "160 mA"}, "final.input"),  # 90 W
        ("gannet_60", {"driver.screen_voltage": "290 V"}, "driver.screen_voltage"),  # 250 V of the 5763
    ],
)  # fmt: skip
def test_beyond_a_rating(rig: str, readings: Readings, name: str) -> None:
    """A reading or what follows from it is flagged by the rating of one tube."""
    assert name in beyond(rig, readings)


@pytest.mark.parametrize(
    ("rig", "readings", "name", "limit"),
    [  # ratings of the 6146 and 811A with plate modulation, from memory: two thirds of the heat, and less of the rest
        ("gannet_60", {"modulator.final_feed": "680 V"}, "final.plate_voltage", 600.0),
        ("gannet_60", {"modulator.final_feed": "580 V", "final.plate_current": "155 mA"},
         "final.plate_current_of_tube", 125.0),
        ("gannet_60", {"modulator.final_feed": "590 V", "final.plate_current": "150 mA"}, "final.input", 67.5),
        ("petrel_90", {"modulator.final_feed": "600 V", "final.plate_current": "215 mA", "final.rf": "70 W"},
         "final.plate_dissipation_of_each", 16.7),
        ("petrel_90", {"modulator.final_feed": "600 V", "final.plate_current": "200 mA",
                       "output_network.power": "60 W"}, "output_network.plate_dissipation", 16.7),
        ("skua_150", {"modulator.final_feed": "1400 V"}, "final.plate_voltage", 1250.0),
    ],
)  # fmt: skip
def test_on_phone_the_ratings_with_modulation_hold(
    rig: str, readings: Readings, name: str, limit: float
) -> None:
    """What key-down telegraphy allows may be too much on phone, where peaks reach twice the carrier."""
    assert beyond(rig, readings, "phone")[name].limit == pytest.approx(limit)
    on_cw = beyond(rig, {**readings, "hv.voltage": readings["modulator.final_feed"]})
    assert name not in on_cw


def test_what_the_modulator_must_give_is_no_matter_on_cw() -> None:
    """Audio power and the load on the modulator are worked out on phone only."""
    readings = {"hv.voltage": "600 V", "final.plate_current": "120 mA"}
    wanted = {"final.audio_needed", "final.modulating_impedance", "final.modulated_input"}
    on_cw = {found.placed.id for found in workings("gannet_60", readings).results}
    on_phone = {found.placed.id for found in workings("gannet_60", readings, "phone").results}
    assert not wanted & on_cw
    assert wanted <= on_phone


@pytest.mark.parametrize(
    ("rig", "mode"), [(rig, mode) for rig in RIGS for mode in book().rigs[rig].features["modes"]]
)
def test_a_set_that_reads_as_its_chart_is_within_its_ratings(rig: str, mode: str) -> None:
    """No rating of final, network or exciter is passed by the chart's own figures."""
    own = bench(rig).assembly.rig
    kinds = ("final", "output_network", "driver", "multiplier", "buffer", "crystal_oscillator", "supply")
    units = {name: placed.indication.unit for name, placed in bench(rig).assembly.indications.items()}
    readings = {
        row.quantity: f"{row.value} {units[row.quantity]}"
        for row in own.chart
        if not row.band and row.mode in ("", mode)
        if own.stages[row.quantity.partition(".")[0]].kind in kinds
    }
    feeds = [r for r in own.chart if r.quantity == "modulator.final_feed" and r.mode in ("", mode)]
    readings |= {row.quantity: f"{row.value} V" for row in feeds}  # what is left behind the modulator
    passed = beyond(rig, readings, mode)
    mine = [name for name in passed if own.stages[name.partition(".")[0]].kind in kinds[:-1]]
    assert mine == []


# --- class C computed where the chart has no row -------------------------------------------------------------------


def without_rows(
    rig: str, chart: Mapping[str, float], features: Mapping[str, str], tubes: tuple[str, ...]
) -> Assembly:
    """A rig with a chart of these rows alone, its final with these features and tubes."""
    whole = book().rigs[rig]
    final = whole.stages["final"]
    stages = {
        **whole.stages,
        "final": replace(final, features={**final.features, **features}, tubes=tubes),
    }
    rows = tuple(ChartRow(quantity=name, value=value) for name, value in chart.items())
    return assemble(book(), replace(whole, stages=stages, chart=rows))


@pytest.mark.parametrize(
    ("tube", "volts", "screen", "bias", "grid", "plate", "screen_current", "output"),
    [  # typical operation of one tube, from memory
        ("807", 750, 250, 45, 3.5, 100.0, 6.0, 50.0),
        ("6146", 600, 150, 58, 2.8, 112.0, 9.0, 52.0),
        ("6146", 750, 160, 62, 3.1, 120.0, 11.0, 70.0),
        ("2E26", 600, 185, 45, 3.0, 66.0, 10.0, 27.0),
        ("813", 1500, 300, 90, 12.0, 180.0, 30.0, 210.0),
    ],
)
@pytest.mark.parametrize("pair", [False, True])
def test_the_working_point_of_a_final_without_rows(
    tube: str, volts: float, screen: float, bias: float, grid: float, plate: float, screen_current: float,
    output: float, pair: bool,
) -> None:  # fmt: skip
    """Plate current and RF from volts, bias and grid current, within two of their own stated uncertainties."""
    many = 2 if pair else 1
    features = {"pair": "yes" if pair else "no", "cathode": "metered", "modulated": "no"}
    chart = {
        "hv.voltage": volts,
        "final.screen_voltage": screen,
        "final.grid_bias": bias,
        "final.grid_current": many * grid,
    }
    found = computed_values(without_rows("kestrel_30", chart, features, (tube,) * many), "cw")
    shown = found["final.plate_current"]
    assert shown.value == pytest.approx(many * (plate + screen_current + grid), rel=2 * shown.within)
    assert shown.within < 0.35
    made = found["final.rf"]
    assert made.value == pytest.approx(many * output, rel=2 * made.within)


def test_the_working_point_of_a_pair_of_triodes() -> None:
    """Two 811A at 1500 V, bias 70 V and 80 mA of grid current: 346 mA and 400 W (typical operation, from memory)."""
    chart = {"hv.voltage": 1500.0, "final.grid_bias": 70.0, "final.grid_current": 80.0}
    features = {"modulated": "no"}
    found = computed_values(without_rows("skua_150", chart, features, ("811A", "811A")), "cw")
    assert found["final.plate_current"].value == pytest.approx(
        346.0, rel=2 * found["final.plate_current"].within
    )
    assert found["final.rf"].value == pytest.approx(400.0, rel=2 * found["final.rf"].within)


def test_screen_and_bias_of_a_final_without_rows() -> None:
    """7 mA in 35 kohm from 500 V leave 255 V; 3.5 mA in 17 kohm are 59.5 V (Ohm's law)."""
    chart = {"hv.voltage": 500.0, "final.screen_current": 7.0, "final.grid_current": 3.5}
    found = computed_values(without_rows("kestrel_30", chart, {}, ("807", "6Y6G")), "cw")
    assert found["final.screen_voltage"].value == pytest.approx(255.0)
    assert found["final.grid_bias"].value == pytest.approx(59.5)


# --- cold and warm -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("warm", "creeps"), [("118 mA", "no"), ("150 mA", "yes")])
def test_plate_current_that_creeps_up(warm: str, creeps: str) -> None:
    """From 115 mA cold to 150 mA warm is creeping, to 118 mA is not (common practice)."""
    entries = [
        {"quantity": "final.plate_current", "value": "115 mA", "warmth": "cold"},
        {"quantity": "final.plate_current", "value": warm, "warmth": "warm"},
    ]
    found = bench("skua_150").diagnose({"mains": "117 V", "mode": "phone", "readings": entries})
    assert finding(found, "final.plate_current_creeps_up").state == creeps
