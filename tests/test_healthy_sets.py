"""No healthy set becomes faulty through high mains, a loading meter or a coarse range; on every rig of the book.

The readings are those that a good set shows: the chart at its mains, or what is computed from the parts; carried
to the mains of today by how the quantity follows it; without the load of the meter that the chart was made
with; loaded by the meter of today; off by as much as that meter may be; and rounded to what its scale tells.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from diagnose.diagnosis import diagnose
from diagnose.evidence.expected import expectation
from diagnose.evidence.figures import ohms_of
from diagnose.evidence.grade import good_limits
from diagnose.files.read_book import load_book
from diagnose.files.read_case import assembly_of
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Book
from diagnose.model.measuring import Meter
from diagnose.model.result import GOOD, OPEN, Diagnosis

ROOT = Path(__file__).parent.parent

# What lies on benches (common practice): the accuracy of a moving coil counts of full scale.
VOLTMETERS = (
    Meter(
        "old_voltmeter",
        "voltmeter of 1000 ohms per volt",
        "voltmeter",
        "V",
        (10.0, 50.0, 250.0, 500.0, 1000.0),
        ohms_per_volt=1000.0,
        of_full_scale=0.03,
    ),
    Meter(
        "test_set",
        "test set of 20 000 ohms per volt",
        "voltmeter",
        "V",
        (2.5, 10.0, 50.0, 250.0, 1000.0),
        ohms_per_volt=20_000.0,
        of_full_scale=0.03,
    ),
    Meter(
        "electronic",
        "electronic voltmeter",
        "voltmeter",
        "V",
        (1.5, 5.0, 15.0, 50.0, 150.0, 500.0, 1500.0),
        input_resistance=11e6,
        of_full_scale=0.03,
    ),
    Meter(
        "digital",
        "digital voltmeter",
        "voltmeter",
        "V",
        (2.0, 20.0, 200.0, 1000.0),
        input_resistance=10e6,
        of_reading=0.01,
        digits=2,
        resolution=0.1,
    ),
)
MILLIAMMETERS = (
    Meter(
        "milliamperes",
        "milliammeter",
        "milliammeter",
        "mA",
        (1.0, 5.0, 25.0, 100.0, 500.0),
        of_full_scale=0.02,
    ),
    Meter("panel", "panel meter", "panel_meter", "mA", (5.0, 50.0, 300.0), of_full_scale=0.03),
)
WATTMETER = Meter("watts", "wattmeter", "wattmeter", "W", (20.0, 100.0, 200.0, 1000.0), of_full_scale=0.05)
METERS = (*VOLTMETERS, *MILLIAMMETERS, WATTMETER)

EXAMPLES = settings().max_examples  # of the profile; one takes a second
FROM_SET_TO_SET = 0.25  # of the tolerance: what good sets differ by here
TELLS = 0.08  # relative standard uncertainty of a reading up to which it can tell such values from good ones
SOME_BLAME = 0.2  # of all parts together, where a proof reading is far too low
LINE_WITHIN = 0.015  # what the meter on the line may be off


@dataclass(frozen=True)
class Bench:
    """One visit to the bench: the line and how far its meter is off, the meters, and how far these are off.

    `coarse`: how many ranges above the one that fits are in use. `errors`: of the limit of a meter, "each" by
    itself, or all of them one way.
    """

    line: float
    line_off: float
    mode: int
    band: int
    voltmeter: int
    milliammeter: int
    coarse: int
    errors: str
    seed: int
    some: float  # share of the quantities beside the proof that is read


BENCHES = st.builds(
    Bench,
    line=st.integers(210, 260).map(lambda half: half / 2),
    line_off=st.sampled_from((-1.0, -0.5, 0.0, 0.5, 1.0)),
    mode=st.integers(0, 9),
    band=st.integers(0, 9),
    voltmeter=st.integers(0, len(VOLTMETERS) - 1),
    milliammeter=st.integers(0, len(MILLIAMMETERS) - 1),
    coarse=st.integers(0, 2),
    errors=st.sampled_from(("each", "low", "high")),
    seed=st.integers(0, 2**20),
    some=st.sampled_from((0.0, 0.25)),
)


@cache
def book() -> Book:
    found, problems = load_book(ROOT / "rules")
    assert found is not None, "\n".join(map(str, problems))
    return found


def assembly_on_bench(rig: str) -> Assembly:
    return assembly_of(book(), rig, METERS)


def healthy_case(assembly: Assembly, bench: Bench, wrong: tuple[str, float] | None = None) -> Case:
    """A good set, read on this bench; of the quantity `wrong` there is so many times what should be."""
    rng = np.random.default_rng(bench.seed)
    rig = assembly.rig
    modes = rig.features.get("modes", ())
    case = Case(
        "bench",
        rig.id,
        mains=bench.line,
        mode=modes[bench.mode % len(modes)] if modes else "",
        band=rig.bands[bench.band % len(rig.bands)] if rig.bands else "",
        meters={meter.id: meter for meter in METERS},
    )
    read = []
    for name, placed in assembly.indications.items():
        if name not in rig.proof and (placed.indication.sort != "quantity" or rng.random() >= bench.some):
            continue
        if placed.indication.sort != "quantity":
            read.append(Observation(name, placed.indication.states[0].id))
            continue
        value = there_is(assembly, case, name)
        if value is not None:
            value *= 1.0 + FROM_SET_TO_SET * placed.indication.tolerance * rng.uniform(-1.0, 1.0)
            value *= wrong[1] if wrong is not None and wrong[0] == name else 1.0
            told = shown(assembly, case, name, value, bench, rng)
            read.append(replace(told, mode=mode_for(assembly, case, name)))
    return replace(case, observations=tuple(read))


def mode_for(assembly: Assembly, case: Case, name: str) -> str:
    """The mode that a quantity is read in where the chart has it for another than that of the case; "" otherwise."""
    modes = [row.mode for row in assembly.rig.chart if row.quantity == name]
    return modes[0] if modes and not {"", case.mode} & set(modes) else ""


def there_is(assembly: Assembly, case: Case, name: str) -> float | None:
    """What a good set has of a quantity at the mains of the chart, no meter on it; None where nothing is known."""
    indication = assembly.indications[name].indication
    if indication.scale != "ratio":
        limits = good_limits(indication.states)
        if limits is None:
            return None
        low, high = limits
        return 0.5 * (low + high) if low > 0 else 0.4 * high
    expected = expectation(assembly, case, Observation(name, mode=mode_for(assembly, case, name)))
    if expected is None:
        return None
    meter, source = (
        expected.meter,
        ohms_of(assembly, assembly.indications[name].stage, indication.source_resistance),
    )
    if meter is None or source is None or meter.unit != indication.unit:
        return expected.value
    return expected.value / share_left(source[0], meter, fitting(meter, expected.value, 0))


def shown(
    assembly: Assembly, case: Case, name: str, there: float, bench: Bench, rng: np.random.Generator
) -> Observation:
    """What the meter of today shows of it on the mains of today."""
    placed = assembly.indications[name]
    indication = placed.indication
    line = bench.line * (1.0 + LINE_WITHIN * bench.line_off) / assembly.rig.mains_voltage
    power, regulated_from = indication.follows_mains, indication.drops_out_below
    today = there * (line**power if line >= regulated_from else regulated_from**power * line / regulated_from)
    off = 0.9 * {"each": rng.uniform(-1.0, 1.0), "low": -1.0, "high": 1.0}[bench.errors]
    of_this_unit = [
        meter
        for meter in (VOLTMETERS[bench.voltmeter], MILLIAMMETERS[bench.milliammeter], WATTMETER)
        if meter.unit == indication.unit
    ]
    if not of_this_unit or today > max(of_this_unit[0].ranges):
        return Observation(name, value=today * (1.0 + indication.reads_within * off))
    meter = of_this_unit[0]
    full = fitting(meter, today, bench.coarse)
    source = ohms_of(assembly, placed.stage, indication.source_resistance)
    if source is not None:
        today *= share_left(source[0] * (1.0 + source[1] * rng.uniform(-1.0, 1.0)), meter, full)
    today += off * (meter.of_full_scale * full + meter.of_reading * today + meter.digits * meter.resolution)
    step = meter.resolution or full / 200.0
    told = max(round(today / step) * step, 0.0)
    return Observation(name, value=told, meter=meter.id, range=full)


def share_left(source: float, meter: Meter, full: float) -> float:
    """Of the volts without a meter: a source of so many ohms with the meter across it."""
    ohms = meter.input_resistance or meter.ohms_per_volt * full
    return ohms / (ohms + source) if ohms else 1.0


def fitting(meter: Meter, value: float, coarse: int) -> float:
    """Full scale of the range that fits a value, or of one so many steps above it."""
    holding = sorted(full for full in meter.ranges if full >= value) or [max(meter.ranges)]
    return holding[min(coarse, len(holding) - 1)]


def convicted(found: Diagnosis) -> Iterator[str]:
    """The named parts that are blamed beyond the threshold."""
    threshold = book().bench.advice["fault_indicated"]
    for part in found.parts:
        if part.blame >= threshold:
            yield f"{part.causes[0].id} {part.blame:.2f}"


def rigs() -> list[str]:
    """Every rig of the book, by its file: the tests say what is wrong with a book that cannot be read."""
    return sorted(path.stem for path in (ROOT / "rules" / "rigs").glob("*.yaml"))


def judged(case: Case) -> Diagnosis:
    return diagnose(assembly_on_bench(case.rig), case, advice=False, details=False)


@pytest.mark.parametrize("rig", rigs())
@settings(max_examples=max(1, EXAMPLES // 20))
@given(bench=BENCHES)
def test_a_healthy_set_is_not_called_faulty(rig: str, bench: Bench) -> None:
    """Whatever the line, the meter and its range: no fault indicated, no part blamed beyond the threshold."""
    found = judged(healthy_case(assembly_on_bench(rig), bench))
    said = [(f.name, f.observation.value, f.state) for f in found.findings if f.counted and f.abnormal]
    assert found.verdict.word in (GOOD, OPEN), (found.verdict, said)
    assert not list(convicted(found)), said


@pytest.mark.parametrize("rig", rigs())
@pytest.mark.parametrize("line", [105.0, 117.0, 130.0])
def test_with_a_meter_that_fits_it_is_called_good(rig: str, line: float) -> None:
    """Every proof taken with a digital meter in its proper range, on any line, is good."""
    assembly = assembly_on_bench(rig)
    bench = Bench(line, 0.0, 0, 0, voltmeter=3, milliammeter=0, coarse=0, errors="each", seed=1, some=0.0)
    found = judged(healthy_case(assembly, bench))
    said = [(f.name, f.observation.value, f.state) for f in found.findings if f.counted and f.abnormal]
    assert found.verdict.word == GOOD, (found.verdict, said)


@pytest.mark.parametrize("rig", rigs())
@settings(max_examples=max(1, EXAMPLES // 33))
@given(bench=BENCHES, which=st.integers(0, 99), factor=st.sampled_from((0.45, 0.6, 1.6)))
def test_at_the_same_threshold_a_faulty_set_is_not_called_good(
    rig: str, bench: Bench, which: int, factor: float
) -> None:
    """One proof reading far off, in a range that fits, on any line and with any meter: something is to blame."""
    assembly = assembly_on_bench(rig)
    measured = [name for name in assembly.rig.proof if assembly.indications[name].indication.scale == "ratio"]
    wrong = measured[which % len(measured)]
    found = judged(healthy_case(assembly, replace(bench, coarse=0, some=0.0), (wrong, factor)))
    (path,) = [
        f.path for f in found.findings if f.name == wrong and f.path is not None and not f.observation.made_of
    ]
    assume(path.spread < TELLS)  # a meter whose lowest range is too coarse for it tells nothing of it
    assert found.verdict.word != GOOD, wrong
    assert wrong in [f.name for f in found.findings if f.counted and f.abnormal]
    if factor < 1.0:  # of too much the book has few causes, and what it leaks explains most
        assert sum(part.blame for part in found.parts) > SOME_BLAME, wrong


def test_one_reading_that_a_coarse_meter_blurs_is_not_out_of_the_book() -> None:
    """Nothing is blamed to speak of: so little speaks neither for a listed fault nor for one that is not."""
    assembly = assembly_on_bench("petrel_90")
    bench = Bench(124.5, -1.0, 0, 0, voltmeter=1, milliammeter=0, coarse=2, errors="high", seed=6, some=0.25)
    found = judged(healthy_case(assembly, bench))
    assert found.verdict.word in (GOOD, OPEN), found.verdict
    assert not list(convicted(found))
