"""Power in the load, the load as an instrument and standing waves, against published worked examples and tables.

Every example goes through the door of a case file and the formulas of the built-in book. Examples whose source is
named were read in a copy of it (an examination bank, or a transcription of a textbook's examples).
"""

from __future__ import annotations

import pytest

from tests.outside.bench import bench, finding, place
from tests.outside.worked import beyond, worked_out, workings

GENERAL = "US amateur Element 3 (General) question pool"
CANADA = "Canadian amateur Advanced Qualification question bank"
PRINCIPLES = "Principles of Electronic Communication Systems"
ENGINEERING = "Principle of Communication Engineering"
SYSTEMS = "Electronic Communication Systems, chapters 5 and 14"


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


# --- the load and the wattmeter as instruments ---------------------------------------------------------------------


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
