"""The frequency of a crystal, and what readings from band to band make, against published figures and practice.

Every example goes through the door of a case file and the formulas of the built-in book. Examples whose source is
named were read in a copy of it (an examination bank, or a transcription of a textbook's examples).
"""

from __future__ import annotations

from functools import lru_cache

import pytest

from diagnose.model.result import Diagnosis
from tests.outside.bench import Bench, bench, finding, place
from tests.outside.worked import worked_out

EXTRA = "US amateur Element 4 (Extra) question pool, 2008-era edition"


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
