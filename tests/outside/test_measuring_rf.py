"""The formulas of final, network, load and exciter against published worked examples and tables.

Every example goes through the door of a case file and the formulas of the built-in book. Examples whose source is
named were read in a copy of it (an examination bank, or a transcription of a textbook's examples); the working
points of tubes are marked from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

import pytest

from diagnose.evidence.derived import Workings
from diagnose.evidence.figures import computed_values
from diagnose.evidence.limits import flags
from diagnose.model.assembly import Assembly, assemble
from diagnose.model.knowledge import ChartRow
from diagnose.model.result import Diagnosis, Flag
from tests.outside.bench import RIGS, Bench, bench, book, finding, place

GENERAL = "US amateur Element 3 (General) question pool"
TECHNICIAN = "US amateur Element 2 (Technician) question pool 2026-2030"
CANADA = "Canadian amateur Advanced Qualification question bank"
EXTRA = "US amateur Element 4 (Extra) question pool, 2008-era edition"
PRINCIPLES = "Principles of Electronic Communication Systems"
ENGINEERING = "Principle of Communication Engineering"
SYSTEMS = "Electronic Communication Systems, chapters 5 and 14"

Readings = Mapping[str, str]


def workings(rig: str, readings: Readings, mode: str = "cw") -> Workings:
    """What can be worked out from these readings on a rig of the book."""
    found = bench(rig)
    return Workings(found.assembly, found.case({"mode": mode, "mains": "117 V", "readings": dict(readings)}))


def worked_out(rig: str, name: str, readings: Readings, mode: str = "cw") -> float:
    """A derived figure, in its unit; exactly one must follow."""
    (only,) = workings(rig, readings, mode).worked_out(name)
    value = only.figure.value
    assert value is not None, only.figure.notes
    return value


def beyond(rig: str, readings: Readings, mode: str = "cw") -> dict[str, Flag]:
    """By name what is beyond a limit, without what is only near it."""
    return {flag.name: flag for flag in flags(workings(rig, readings, mode), ()) if not flag.near}


# --- power from what is read on the dummy load -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "volts", "ohms", "watts", "source"),
    [
        ("peak_to_peak", "200 V", "50 ohm", 100.0, f"{GENERAL}, G5B06"),
        ("peak_to_peak", "500 V", "50 ohm", 625.0, f"{GENERAL}, G5B14"),
        ("peak_to_peak", "400 V", "50 ohm", 400.0, f"{CANADA}, A-003-02-09"),
        ("peak_to_peak", "800 V", "50 ohm", 1600.0, f"{CANADA}, A-003-02-10"),
        ("peak_to_peak", "178 V", "75 ohm", 52.81, f"{PRINCIPLES}, example 3.7"),
        ("peak", "500 V", "600 ohm", 208.33, f"{ENGINEERING}, example 3.9, the carrier"),
        ("rms", "244.9 V", "50 ohm", 1200.0, f"{GENERAL}, G5B12"),
        ("rms", "400 V", "800 ohm", 200.0, f"{GENERAL}, G5B03"),
    ],
)
def test_power_from_volts_on_a_measured_load(
    name: str, volts: str, ohms: str, watts: float, source: str
) -> None:
    """Rms, peak and peak to peak are three figures with three formulas."""
    readings = {f"load.{name}_volts": volts, "load.cold_resistance": ohms}
    found = worked_out("gannet_60", f"output_network.power_by_{name}_volts", readings)
    assert found == pytest.approx(watts, rel=1e-3), source


@pytest.mark.parametrize("name", ["rms", "peak", "peak_to_peak"])
def test_one_sine_wave_by_three_names(name: str) -> None:
    """120 V rms are 169.7 V peak and 339.4 V peak to peak (G5B08 of the General pool): 288 W in 50 ohm."""
    volts = {"rms": "120 V", "peak": "169.7 V", "peak_to_peak": "339.4 V"}[name]
    readings = {f"load.{name}_volts": volts}
    found = worked_out("skua_150", f"output_network.power_by_{name}_volts", readings)
    assert found == pytest.approx(288.0, rel=1e-3)


@pytest.mark.parametrize(
    ("current", "ohms", "watts", "source"),
    [
        ("7.0 mA", "1250 ohm", 0.06125, f"{GENERAL}, G5B05"),
        ("4.8 A", "40 ohm", 921.6, f"{PRINCIPLES}, example 3.4, the carrier"),
    ],
)
def test_power_from_the_current_into_the_load(current: str, ohms: str, watts: float, source: str) -> None:
    """Current squared times the ohms of the load."""
    readings = {"load.load_current": current, "load.cold_resistance": ohms}
    assert worked_out("gannet_60", "output_network.power_by_current", readings) == pytest.approx(watts), (
        source
    )


# --- standing waves -------------------------------------------------------------------------------------------------

# Standing-wave ratio, reflected power in percent, return loss and mismatch loss in dB: the table of the formulas of
# examples 13.5 and 13.6 in Principles of Electronic Communication Systems.
SWR_TABLE = [
    (1.1, 0.2268, 26.44, 0.00986),
    (1.2, 0.8264, 20.83, 0.036),
    (1.5, 4.0, 13.98, 0.177),
    (2.0, 11.11, 9.542, 0.512),
    (2.5, 18.37, 7.36, 0.881),
    (3.0, 25.0, 6.021, 1.25),
    (4.0, 36.0, 4.437, 1.94),
    (5.0, 44.44, 3.522, 2.55),
    (10.0, 66.94, 1.743, 4.81),
]


@pytest.mark.parametrize(("ratio", "back", "return_loss", "mismatch_loss"), SWR_TABLE)
def test_standing_waves_from_forward_and_reflected_power(
    ratio: float, back: float, return_loss: float, mismatch_loss: float
) -> None:
    """A whole row of the table from the two powers of a directional wattmeter."""
    readings = {"load.forward_power": "100 W", "load.reflected_power": f"{back} W"}
    found = {
        name: worked_out("gannet_60", f"load.{name}", readings)
        for name in ("standing_wave_ratio", "reflected_share", "return_loss", "mismatch_loss")
    }
    assert found["standing_wave_ratio"] == pytest.approx(ratio, rel=1e-3)
    assert found["reflected_share"] == pytest.approx(back)
    assert found["return_loss"] == pytest.approx(return_loss, abs=5e-3)
    assert found["mismatch_loss"] == pytest.approx(mismatch_loss, rel=5e-3)


@pytest.mark.parametrize(
    ("forward", "back", "watts", "source"),
    [
        ("30 W", "7.686 W", 22.314, f"{PRINCIPLES}, example 13.6: 25.62 % of 30 W come back"),
        ("50 mW", "12.5 mW", 0.0375, f"{SYSTEMS}, example 14.7"),
        ("50 W", "5.556 W", 44.444, f"{SYSTEMS}, example 14.8: a ratio of 2"),
    ],
)
def test_the_load_keeps_what_does_not_come_back(forward: str, back: str, watts: float, source: str) -> None:
    """Power in the load is forward less reflected."""
    readings = {"load.forward_power": forward, "load.reflected_power": back}
    found = worked_out("gannet_60", "output_network.power_by_difference", readings)
    assert found == pytest.approx(watts, rel=1e-3), source


@pytest.mark.parametrize(
    ("ohms", "ratio", "source"),
    [
        ("200 ohm", 4.0, f"{GENERAL}, G9A09"),
        ("10 ohm", 5.0, f"{GENERAL}, G9A10"),
        ("25 ohm", 2.0, f"{GENERAL}, G9A12"),
        ("300 ohm", 6.0, f"{GENERAL}, G9A13"),
    ],
)
def test_standing_wave_ratio_of_a_resistance(ohms: str, ratio: float, source: str) -> None:
    """The larger over the smaller of load and line."""
    found = worked_out("gannet_60", "load.resistance_ratio", {"load.cold_resistance": ohms})
    assert found == pytest.approx(ratio), source


def test_the_ratio_stands_in_for_one_that_was_not_read() -> None:
    """Forward 50 W and reflected 12.5 W, a ratio of 3, are a reading of the match: too high. Nothing back is good."""
    high = bench("gannet_60").diagnose(
        {"mains": "117 V", "readings": {"load.forward_power": "50 W", "load.reflected_power": "12.5 W"}}
    )
    good = bench("gannet_60").diagnose(
        {"mains": "117 V", "readings": {"load.forward_power": "50 W", "load.reflected_power": "0 W"}}
    )
    assert finding(high, "load.match").state == "high"
    assert finding(good, "load.match").state == "normal"


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


@pytest.mark.parametrize(
    ("hertz", "ppm", "source"),
    [
        ("146.52 Hz", 1.0, f"{EXTRA}, E4B03"),
        ("1465.2 Hz", 10.0, f"{EXTRA}, E4B05"),
        ("14652 Hz", 100.0, EXTRA),
    ],
)
def test_error_of_a_crystal_in_parts_per_million(hertz: str, ppm: float, source: str) -> None:
    """So many hertz of 146.52 MHz are so many parts per million."""
    off = 146520.0 + float(hertz.split(maxsplit=1)[0]) / 1000.0
    readings = {"oscillator.counted_frequency": f"{off!r} kHz", "oscillator.crystal_marking": "146520 kHz"}
    found = worked_out("skua_150", "oscillator.frequency_error", readings)
    assert found == pytest.approx(ppm, rel=1e-6), source


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
    if "modulator" in own.stages:
        readings["modulator.final_feed"] = readings["hv.voltage"]
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


# --- from band to band ----------------------------------------------------------------------------------------------


@lru_cache(maxsize=16)
def on_bands(rig: str, name: str, ratios: tuple[float | None, ...]) -> Diagnosis:
    """The diagnosis of a set that reads so much of its chart on each band."""
    found: Bench = bench(rig)
    own = found.assembly.rig
    unit = found.assembly.indications[name].indication.unit
    rows = {row.band: row.value for row in own.chart if row.quantity == name and row.mode in ("", "cw")}
    entries = [
        {"quantity": name, "value": f"{ratio * rows.get(band, rows[''])} {unit}", "band": band}
        for band, ratio in zip(own.bands, ratios, strict=True)
        if ratio is not None
    ]
    return found.diagnose({"mains": "117 V", "mode": "cw", "readings": entries})


@pytest.mark.parametrize(
    ("name", "pattern"),
    [
        ("final.grid_current", "final.drive_over_bands"),
        ("driver.output", "driver.drive_over_bands"),
        ("multiplier.output", "multiplier.drive_over_bands"),
        ("buffer.output", "buffer.drive_over_bands"),
    ],
)
@pytest.mark.parametrize(
    ("ratios", "state"),
    [
        ((1.0, 1.05, 0.95, 1.0, 1.0), "normal"),
        ((1.0, 1.0, 0.4, 1.0, 1.0), "one_band"),
        ((1.0, 1.0, 0.45, 0.45, 0.45), "above_one"),
        ((1.0, 0.85, 0.7, 0.5, 0.3), "falling"),
        ((0.5, 0.5, 0.5, 0.5, 0.5), "all_bands"),
        ((0.0, 0.0, 0.0, 0.0, 0.0), "dead"),
    ],
)
def test_a_table_of_readings_makes_a_pattern(
    name: str, pattern: str, ratios: tuple[float, ...], state: str
) -> None:
    """The shapes a technician sees in a drive table (common practice), by one reading a band."""
    assert finding(on_bands("gannet_60", name, ratios), pattern).state == state


@pytest.mark.parametrize(
    ("ratios", "state"),
    [
        ((1.0, 1.03, 0.97, 1.0, 1.0), "normal"),
        ((1.0, 1.0, 0.5, 1.0, 1.0), "one_band"),
        ((1.0, 0.9, 0.8, 0.65, 0.5), "falling"),
        ((0.55, 0.55, 0.55, 0.55, 0.55), "all_bands"),
    ],
)
def test_a_table_of_watts_makes_a_pattern(ratios: tuple[float, ...], state: str) -> None:
    """The same of the output."""
    found = on_bands("gannet_60", "output_network.power", ratios)
    assert finding(found, "output_network.power_over_bands").state == state


def test_grid_current_low_on_one_band_leads_to_its_coil() -> None:
    """A drive table that is right but for one band speaks of a coil or the switch of that band (common practice)."""
    found = on_bands("gannet_60", "final.grid_current", (1.0, 1.0, 0.35, 1.0, 1.0))
    likely = {part.id for part in found.parts[:8]}
    assert likely & {
        "driver.band_coil",
        "driver.band_switch",
        "multiplier.band_coil",
        "multiplier.band_switch",
    }


def test_grid_current_low_everywhere_is_not_blamed_on_a_coil() -> None:
    """What is low on all bands alike does not sit in the circuit of one band (common practice)."""
    found = on_bands("gannet_60", "final.grid_current", (0.5, 0.5, 0.5, 0.5, 0.5))
    assert place(found, "driver.band_coil") > 8


def test_a_drive_table_is_one_witness() -> None:
    """Five readings of one quantity: one of them counts, and the pattern; the weights add up to no more than two."""
    found = on_bands("gannet_60", "final.grid_current", (0.5, 0.5, 0.5, 0.5, 0.5))
    counted = [f for f in found.findings if f.counted]
    assert {f.name for f in counted} == {"final.grid_current", "final.drive_over_bands"}
    assert len(counted) == 2


# --- instruments and pairs ------------------------------------------------------------------------------------------


def test_volts_that_flatter_the_power_lead_to_the_load() -> None:
    """Input right and a third more power than it can give: the load has aged upward or is another (common practice)."""
    readings = {
        "hv.voltage": "600 V",
        "final.plate_current": "146 mA",
        "final.grid_current": "3.0 mA",
        "load.peak_to_peak_volts": "172 V",
    }
    found = bench("gannet_60").diagnose({"mains": "117 V", "mode": "cw", "readings": readings})
    assert finding(found, "output_network.power").state == "high"
    assert place(found, "load.dummy_load") == 1
    assert "output_network.efficiency" in beyond("gannet_60", readings)


def test_a_wattmeter_that_is_off_tells_the_right_ratio() -> None:
    """Both powers come through one wattmeter, whose gain leaves their ratio alone; the power goes with it."""
    readings = {"load.forward_power": "100 W", "load.reflected_power": "11.11 W"}
    at = workings("gannet_60", readings)
    (ratio,) = at.worked_out("load.standing_wave_ratio")
    (power,) = at.worked_out("output_network.power_by_difference")
    assert ratio.powers() == {}
    assert power.powers() == {"metering.wattmeter_shows": 1.0}


@pytest.mark.parametrize(("warm", "creeps"), [("118 mA", "no"), ("150 mA", "yes")])
def test_plate_current_that_creeps_up(warm: str, creeps: str) -> None:
    """From 115 mA cold to 150 mA warm is creeping, to 118 mA is not (common practice)."""
    entries = [
        {"quantity": "final.plate_current", "value": "115 mA", "warmth": "cold"},
        {"quantity": "final.plate_current", "value": warm, "warmth": "warm"},
    ]
    found = bench("skua_150").diagnose({"mains": "117 V", "mode": "phone", "readings": entries})
    assert finding(found, "final.plate_current_creeps_up").state == creeps
