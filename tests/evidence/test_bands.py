"""Patterns over the bands: what the readings say of each, with the reading that counts by itself counted once."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.diagnosis import diagnose
from diagnose.evidence.collect import Findings, collect
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation, Work
from diagnose.model.result import Finding
from tests.evidence.workbook import assembled, case_of, kind, quantity, rig_of
from tests.small_book import cause, rule

DRIVER = kind(
    "driver",
    f"""\
quantities:
  grid: {quantity("mA", "reads_within: 2 %")}
patterns:
  over:
    title: drive over the bands
    ask: how
    states: {{all_bands: all, falling: falls, one_band: one, above: above one, wild: it jumps about}}
    over_bands:
      quantity: grid
      spread: 5 %
      shapes:
        all_bands: {{kind: all, size: [0.05, 0.85]}}
        falling: {{kind: falling, size: [0.05, 0.8]}}
        one_band: {{kind: one_band, size: [0, 0.8]}}
        above: {{kind: above, size: [0, 0.8]}}
""",
    "  a: " + rule("tube weak", "grid low", "9 of 10", "weak alone") + "\n"
    "  b: " + rule("tube weak", "over all_bands", "9 of 10", "the same on all bands") + "\n"
    "  c: " + rule("coil off", "grid low", "9 of 10", "out of tune") + "\n"
    "  d: " + rule("coil off", "over one_band", "9 of 10", "one coil only") + "\n",
).replace("parts:\n", f"parts:\n  coil: {{title: coil, modes: {{off: {cause('0.05')}}}}}\n")
BANDS = ("80m", "40m", "20m", "10m")
CHART = "\n".join(
    f"{{quantity: driver.grid, value: {value} mA, band: {band}}}"
    for band, value in zip(BANDS, (3.0, 3.0, 2.5, 2.0), strict=True)
)
EXPECTED = dict(zip(BANDS, (3.0, 3.0, 2.5, 2.0), strict=True))
STAGES = "driver: {kind: driver, title: driver}\n"
MORE = "multiplication: {80m: 1, 40m: 2, 20m: 4, 10m: 8}"


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    folder: Path = tmp_path_factory.mktemp("book")
    return assembled(folder, {"driver.yaml": DRIVER, "rig.yaml": rig_of(STAGES, CHART, MORE)})


def read(ratios: Sequence[float | None], **more: object) -> list[Observation]:
    return [
        Observation("driver.grid", value=ratio * EXPECTED[band], band=band, **more)  # type: ignore[arg-type]
        for band, ratio in zip(BANDS, ratios, strict=True)
        if ratio is not None
    ]


def pattern(found: Findings) -> Finding:
    (last,) = [f for f in found.all if f.name == "driver.over" and f.observation.made_by]
    return last


def case(ratios: Sequence[float | None], **more: object) -> Case:
    return case_of(*read(ratios), **more)


@pytest.mark.parametrize(
    ("ratios", "state"),
    [
        ((1.0, 1.02, 0.97, 1.01), "normal"),
        ((0.6, 0.62, 0.59, 0.6), "all_bands"),
        ((1.0, 0.9, 0.75, 0.5), "falling"),
        ((1.0, 0.45, 1.02, 0.98), "one_band"),
        ((0.4, 1.0, 1.0, 0.98), "one_band"),
        ((1.0, 1.0, 0.5, 0.5), "above"),
        ((1.9, 0.3, 1.4, 0.2), "wild"),
        ((0.6, None, None, 0.6), "all_bands"),
    ],
)
def test_the_pattern_that_the_bands_make(
    assembly: Assembly, ratios: Sequence[float | None], state: str
) -> None:
    """Each shape is told by its name, from the ratios to what a good set shows on each band."""
    found = pattern(collect(assembly, case(ratios)))
    assert found.state == state
    assert found.abnormal == (state != "normal")
    assert found.counted
    assert max(found.likelihood) == 1.0
    words = ", ".join(f"{b} {100 * r:.0f} %" for b, r in zip(BANDS, ratios, strict=True) if r is not None)
    assert words in found.notes[0]


def test_one_band_is_no_pattern(assembly: Assembly) -> None:
    """A single reading, or two of one band, say nothing of the others."""
    assert "driver.over" not in collect(assembly, case((0.5, None, None, None))).counted
    twice = case_of(*read((0.5, None, None, None)), *read((0.6, None, None, None)))
    assert "driver.over" not in collect(assembly, twice).counted


def test_the_order_of_the_readings_does_not_matter(assembly: Assembly) -> None:
    """The bands stand in the order of the rig."""
    readings = read((1.0, 0.45, 1.02, 0.98))
    first = collect(assembly, case_of(*readings)).counted
    for order in permutations(readings):
        found = collect(assembly, case_of(*order)).counted
        assert found["driver.over"].likelihood == pytest.approx(first["driver.over"].likelihood)
        assert found["driver.grid"].likelihood == pytest.approx(first["driver.grid"].likelihood)


def alone(assembly: Assembly, ratio: float, band: int) -> tuple[float, ...]:
    """What one band says of the quantity, counted in full."""
    ratios = [ratio if place == band else None for place in range(len(BANDS))]
    return collect(assembly, case(ratios)).counted["driver.grid"].likelihood


def test_the_reading_that_counts_counts_half_here_and_half_there(assembly: Assembly) -> None:
    """Of 0.85 on one band the quantity keeps the square root of what that reading says alone."""
    found = collect(assembly, case((1.0, 0.85, 1.0, 1.0)))
    grid = found.counted["driver.grid"]
    assert grid.observation.band == "40m"
    assert grid.weight == 0.5
    assert grid.likelihood == pytest.approx([math.sqrt(value) for value in alone(assembly, 0.85, 1)])
    assert "by half in: drive over the bands" in grid.notes[-1]
    assert found.witnesses["driver.grid"] == (grid,)


def test_the_two_halves_make_one_whole(assembly: Assembly) -> None:
    """Both bands at one ratio: what they say of `all` against `normal`, in both places together, is no more than
    what one reading says of low against normal, but for what the second band adds.
    """
    ratio = 0.86
    found = collect(assembly, case((ratio, ratio, None, None)))
    grid, over = found.counted["driver.grid"], found.counted["driver.over"]
    low, good = grid.states.index("low"), grid.states.index("normal")
    single = math.log(alone(assembly, ratio, 0)[low] / alone(assembly, ratio, 0)[good])
    kept = math.log(grid.likelihood[low] / grid.likelihood[good])
    assert kept == pytest.approx(0.5 * single)
    told = math.log(over.likelihood[over.states.index("all_bands")] / over.likelihood[0])
    assert kept + told < 1.5 * single + 0.5


def test_bands_convict_what_fits_them(assembly: Assembly) -> None:
    """Low on one band only: the coil of that band, not the tube; low on all: the tube."""

    def blame(ratios: Sequence[float | None]) -> dict[str, float]:
        found = diagnose(assembly, case(ratios), advice=False)
        return {part.id: part.blame for part in found.parts}

    one, every = blame((1.0, 0.5, 1.0, 1.0)), blame((0.5, 0.5, 0.5, 0.5))
    assert one["driver.coil"] > 10 * one["driver.tube"]
    assert every["driver.tube"] > 10 * every["driver.coil"]


def test_the_person_said_otherwise(assembly: Assembly) -> None:
    """What was read takes the place of what was answered, whatever the condition of that."""
    said = Observation("driver.over", "all_bands", mode="cw")
    found = collect(assembly, case_of(said, *read((1.0, 0.45, 1.0, 1.0))))
    assert found.counted["driver.over"].state == "one_band"
    assert found.counted["driver.over"].notes[0].endswith("; answered too")
    assert [f.counted for f in found.all if f.name == "driver.over"] == [False, True]


def test_one_tired_meter_is_one_suspect(assembly: Assembly) -> None:
    """All bands 20 % low with one meter: the meter explains all of it, and every further band that agrees says so
    again; without a meter that can lie it is the tube.
    """

    def blame(ratios: Sequence[float | None], meter: str) -> dict[str, float]:
        found = diagnose(assembly, case_of(*read(ratios, meter=meter)), advice=False)
        return {part.id: part.blame for part in found.parts}

    plain = blame((0.8, 0.8, 0.8, 0.8), "")
    assert plain["driver.tube"] > 0.75
    assert plain["meter.movement"] == 0.0
    rows = [(0.8, None, None, None), (0.8, 0.8, None, None), (0.8, 0.8, 0.8, 0.8)]
    suspected = [blame(row, "meter")["meter.movement"] for row in rows]
    assert 0.2 < suspected[0] < suspected[1] < suspected[2]
    assert blame(rows[-1], "meter")["driver.tube"] < 0.5 * plain["driver.tube"]


def test_a_meter_does_not_make_one_band_low(assembly: Assembly) -> None:
    """A tired meter reads low everywhere: low on one band only acquits it."""
    found = diagnose(assembly, case_of(*read((1.0, 0.5, 1.0, 1.0), meter="meter")), advice=False)
    parts = {part.id: part.blame for part in found.parts}
    assert parts["driver.coil"] > 0.9
    assert parts["meter.movement"] < 0.05


def test_readings_of_the_set_as_it_was_are_left_out(assembly: Assembly) -> None:
    """Before the work it was low on one band; now it is good on all that were read again."""
    before = read((1.0, 0.4, 1.0, 1.0), period=0)
    after = read((1.0, 1.0, None, None))
    found = pattern(collect(assembly, case_of(*before, *after, work=(Work("tuned the coil"),))))
    assert found.state == "normal"


def test_readings_of_one_mode_make_a_pattern(assembly: Assembly) -> None:
    """CW on one band and phone on another are no row; of two modes the longer row is taken."""
    mixed = [
        replace(o, mode=mode) for o, mode in zip(read((0.5, 1.0, None, None)), ("cw", "phone"), strict=True)
    ]
    assert "driver.over" not in collect(assembly, case_of(*mixed)).counted
    row = [replace(o, mode="phone") for o in read((None, 1.0, 0.5, 0.5))]
    found = pattern(collect(assembly, case_of(mixed[0], *row)))
    assert "80m" not in found.notes[0]


def test_what_the_owner_says_excludes_nothing(assembly: Assembly) -> None:
    """Readings remembered leave every pattern possible."""
    found = pattern(collect(assembly, case_of(*read((1.0, 0.5, 1.0, 1.0), told_by="owner"))))
    assert found.state == "one_band"
    assert min(found.likelihood) > 0.1


@given(st.lists(st.floats(0.0, 2.0) | st.none(), min_size=4, max_size=4))
def test_every_row_leaves_something_possible(ratios: list[float | None]) -> None:
    """Whatever is read, some state explains it, and likelihoods are numbers from 0 to 1."""
    found = collect(HELD["it"], case(ratios)).counted.get("driver.over")
    if sum(ratio is not None for ratio in ratios) < 2:
        assert found is None
        return
    assert found is not None
    assert max(found.likelihood) == 1.0
    assert all(0.0 <= value <= 1.0 for value in found.likelihood)


HELD: dict[str, Assembly] = {}


@pytest.fixture(scope="module", autouse=True)
def _held(assembly: Assembly) -> None:
    HELD["it"] = assembly
