"""Worked examples of textbooks and examination questions, worked out from readings by formulas as a book has them.

Numbers were read in public transcriptions and question banks, named with each row; an answer is checked to the figures
that are printed.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.evidence.derived import Workings
from diagnose.formula import parse_formula
from diagnose.model.assembly import Assembly
from diagnose.model.case import Observation
from tests.evidence.workbook import assembled, case_of, figure, kind, rig_of

UNITS = {
    "e": "V", "f": "V", "g": "V", "i": "A", "j": "A", "ma": "mA", "mb": "mA", "r": "ohm", "s": "ohm",
    "p": "W", "q": "W", "eff": "percent", "m": "percent", "x": "", "n": "", "c": "uF", "hz": "Hz", "khz": "kHz",
}  # fmt: skip
# Name of the derived figure: unit, formula over the figures above.
FORMULAS = {
    "output_peak_to_peak": ("W", "(e / (2 * sqrt(2)))^2 / r"),
    "peak_to_peak": ("V", "2 * sqrt(2) * e"),
    "load_volts": ("V", "sqrt(p * r)"),
    "heat": ("mW", "ma^2 * r"),
    "depth_of_envelope": ("percent", "(e - f) / (e + f)"),
    "depth_of_antenna_current": ("percent", "sqrt(2 * ((i / j)^2 - 1))"),
    "depth_of_power": ("percent", "sqrt(2 * (p / q - 1))"),
    "power_modulated": ("W", "p * (1 + m^2 / 2)"),
    "power_of_carrier": ("W", "p / (1 + m^2 / 2)"),
    "peak_envelope_power": ("W", "(e * (1 + m))^2 / (2 * r)"),
    "audio_power": ("W", "m^2 * e * ma / 2"),
    "modulating_impedance": ("ohm", "e / ma"),
    "plate_dissipation": ("W", "e * ma + m^2 * e * ma / 2 - p"),
    "reflected_to_tubes": ("ohm", "e / i * n^2"),
    "plate_input": ("W", "p / eff"),
    "ripple": ("percent", "f / (2 * sqrt(2)) / e"),
    "standing_wave_ratio": ("", "e / f"),
    "reflection": ("", "(x - 1) / (x + 1)"),
    "passed_on": ("W", "p * (1 - ((x - 1) / (x + 1))^2)"),
    "gain": ("", "10 * log10(p / q)"),
    "discharge_time": ("s", "r * c * ln(e / f)"),
    "frequency_error": ("Hz", "khz * x * 1e-6"),
    "shunt": ("ohm", "ma * r / (mb - ma)"),
    "multiplier": ("ohm", "e / ma - r"),
}  # fmt: skip
# Derived figure, readings, answer as printed, the unit of its last printed place, source.
EXAMPLES = [
    ("output_peak_to_peak", {"e": 200, "r": 50}, 100, 1, "US Element 3 pool, G5B06"),
    ("output_peak_to_peak", {"e": 500, "r": 50}, 625, 1, "US Element 3 pool, G5B14"),
    ("output_peak_to_peak", {"e": 400, "r": 50}, 400, 1, "Canadian advanced bank, A-003-02-09"),
    ("output_peak_to_peak", {"e": 800, "r": 50}, 1600, 1, "Canadian advanced bank, A-003-02-10"),
    ("output_peak_to_peak", {"e": 178, "r": 75}, 52.8, 0.1, "Principles of Electronic Communication Systems, 3.7"),
    ("peak_to_peak", {"e": 120}, 339.4, 0.1, "US Element 3 pool, G5B08"),
    ("load_volts", {"p": 1200, "r": 50}, 245, 1, "US Element 3 pool, G5B12"),
    ("heat", {"ma": 7, "r": 1250}, 61.25, 0.01, "US Element 3 pool, G5B05, recomputed"),
    ("depth_of_envelope", {"e": 100, "f": 60}, 25, 1, "Modern Electronic Communication, 2.2(a)"),
    ("depth_of_envelope", {"e": 125, "f": 35}, 56.25, 0.01, "Modern Electronic Communication, 2.2(b)"),
    ("depth_of_envelope", {"e": 180, "f": 0}, 100, 1, "Modern Electronic Communication, 2.2(c)"),
    ("depth_of_envelope", {"e": 0.15, "f": 0.07}, 36.4, 0.1, "Electronic Communication Systems, 3.4, p. 110"),
    ("depth_of_antenna_current", {"i": 13, "j": 12}, 59, 1, "Modern Electronic Communication, 2.6"),
    ("depth_of_antenna_current", {"i": 8.93, "j": 8}, 70.1, 0.1, "Electronic Communication Systems, 3.4, p. 39"),
    ("depth_of_antenna_current", {"i": 5.1, "j": 4.8}, 51, 1, "Principles of Electronic Communication Systems, 3.5"),
    ("depth_of_antenna_current", {"i": 11.6, "j": 10}, 83.14, 0.01, "Principle of Communication Engineering, 3.1"),
    ("depth_of_power", {"p": 10125, "q": 9000}, 50, 1, "Principle of Communication Engineering, 3.2"),
    ("power_modulated", {"p": 400, "m": 75}, 512.5, 0.1, "Electronic Communication Systems, 3.2, p. 38"),
    ("power_modulated", {"p": 500, "m": 90}, 702.5, 0.1, "Modern Electronic Communication, 2.4"),
    ("power_modulated", {"p": 1000, "m": 100}, 1500, 1, "Modern Electronic Communication, 2.3"),
    ("power_modulated", {"p": 30, "m": 85}, 40.8, 0.1, "Principles of Electronic Communication Systems, 3.3"),
    ("power_of_carrier", {"p": 10000, "m": 60}, 8470, 10, "Electronic Communication Systems, 3.3, p. 39"),
    ("power_of_carrier", {"p": 50000, "m": 95}, 34453, 1, "Modern Electronic Communication, 2.5"),
    ("peak_envelope_power", {"e": 500, "m": 40, "r": 600}, 408.33, 0.01, "Principle of Communication Engineering, 3.9"),
    ("audio_power", {"e": 2000, "ma": 67, "m": 75}, 37.69, 0.01, "Principle of Communication Engineering, 3.4"),
    ("modulating_impedance", {"e": 2000, "ma": 67}, 29850.75, 0.01, "Principle of Communication Engineering, 3.4"),
    ("plate_dissipation", {"e": 2000, "ma": 67, "m": 75, "p": 75}, 96.69, 0.01, "the same, 3.4"),
    ("reflected_to_tubes", {"e": 12, "i": 2, "n": 4}, 96, 1, "Electronic Communication Systems, 5.3, p. 181"),
    ("plate_input", {"p": 10, "eff": 70}, 14.29, 0.01, "Electronic Communication Systems, 5.2, p. 179"),
    ("ripple", {"e": 20, "f": 1}, 1.77, 0.01, "Electronics Fundamentals and Applications, chapter 6, 4"),
    ("standing_wave_ratio", {"e": 52, "f": 17}, 3.06, 0.01, "Principles of Electronic Communication Systems, 13.5"),
    ("reflection", {"x": 3.06}, 0.51, 0.01, "Principles of Electronic Communication Systems, 13.5"),
    ("passed_on", {"p": 30, "x": 3.05}, 22.314, 0.001, "Principles of Electronic Communication Systems, 13.6"),
    ("passed_on", {"p": 50, "x": 2}, 44.444, 0.001, "Electronic Communication Systems, 14.8, p. 478"),
    ("gain", {"p": 200, "q": 20}, 10, 1, "US Element 2 pool, T5B11"),
    ("gain", {"p": 3, "q": 12}, -6, 1, "US Element 2 pool, T5B10"),
    ("discharge_time", {"e": 800, "f": 294, "r": 1e6, "c": 450}, 450.5, 0.1, "US Element 4 pool, E5B06, recomputed"),
    ("discharge_time", {"e": 20, "f": 7.36, "r": 2e6, "c": 0.01}, 0.02, 0.001, "US Element 4 pool, E5B05"),
    ("frequency_error", {"khz": 146520, "x": 1}, 146.52, 0.01, "US Element 4 pool, E4B03"),
    ("frequency_error", {"khz": 146520, "x": 0.1}, 14.652, 0.001, "US Element 4 pool, E4B04"),
    ("shunt", {"ma": 1, "r": 100, "mb": 100}, 1.01, 0.01, "Electronic Instrumentation, 3.1(a)"),
    ("shunt", {"ma": 1, "r": 100, "mb": 50}, 2.041, 0.001, "Electronic Instrumentation, 3.2"),
    ("multiplier", {"e": 10, "ma": 1, "r": 500}, 9500, 1, "Lessons in Electric Circuits I, voltmeter design"),
    ("multiplier", {"e": 10, "ma": 0.05, "r": 500}, 199500, 1, "Electronic Instrumentation, 4.2(a)"),
]  # fmt: skip


def sections() -> str:
    """All figures, and all formulas over them."""
    lines = ["figures:", *(f"  {name}: {figure(unit)}" for name, unit in UNITS.items()), "derived:"]
    for name, (unit, formula) in FORMULAS.items():
        inputs = ", ".join(f"{word}: {word}" for word in parse_formula(formula).names)
        lines.append(
            f"  {name}: {{title: {name}, unit: {unit or 'dimensionless'}, formula: '{formula}', "
            f"from: {{{inputs}}}, source: from memory}}"
        )
    return "\n".join(lines)


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    folder: Path = tmp_path_factory.mktemp("book")
    stage = "set: {kind: set, title: the set}\n"
    return assembled(folder, {"set.yaml": kind("set", sections()), "rig.yaml": rig_of(stage)})


@pytest.mark.parametrize(
    ("name", "readings", "answer", "place", "source"), EXAMPLES, ids=[f"{e[0]}: {e[4]}" for e in EXAMPLES]
)
def test_published_example(
    assembly: Assembly, name: str, readings: dict[str, float], answer: float, place: float, source: str
) -> None:
    """Read in the units of the bench, the figure comes out as printed."""
    case = case_of(*(Observation(f"set.{word}", value=float(value)) for word, value in readings.items()))
    found = {figure.figure.id: figure.figure for figure in Workings(assembly, case).results}[f"set.{name}"]
    assert found.value == pytest.approx(answer, abs=0.5001 * place), source
    assert found.unit == (FORMULAS[name][0] or "dimensionless")
    assert "dimensionless" not in found.shown
