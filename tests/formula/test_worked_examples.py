"""Formulas against worked examples in print, computed with the units as they are printed.

Each row names where it is printed. The banks are the public question pools of radio amateur examinations.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from diagnose.formula import parse_formula
from diagnose.units import parse_quantity

GENERAL = "US amateur Element 3 question pool"
TECHNICIAN = "US amateur Element 2 question pool"
EXTRA = "US amateur Element 4 question pool, 2008 edition"
ADVANCED = "Canadian amateur Advanced Qualification question bank"
PRINCIPLES = "Principles of Electronic Communication Systems"
MODERN = "Modern Electronic Communication"

OHM = ({"e": "V", "r": "ohm"}, "e^2 / r")
ENVELOPE = ({"top": "V", "bottom": "V"}, "(top - bottom) / (top + bottom)")
ANTENNA = ({"on": "A", "off": "A"}, "sqrt(2 * ((on / off)^2 - 1))")
LOAD = ({"pp": "V", "r": "ohm"}, "(pp / (2 * sqrt(2)))^2 / r")
LOSS = ({"p": "W", "q": "W"}, "10 * log10(q / p)")
TANK = ({"l": "uH", "c": "pF"}, "1 / (2 * pi * sqrt(l * c))")
ERROR = ({"f": "Mc", "part": "ppm"}, "f * part")
DISCHARGE = ({"v": "V", "end": "V", "c": "uF", "r": "Mohm"}, "r * c * ln(v / end)")
METER = (
    {"v": "V", "r1": "ohm", "r2": "ohm", "rm": "ohm"},
    "v * (r2 * rm / (r2 + rm)) / (r1 + r2 * rm / (r2 + rm))",
)

# source, formula, figures, printed result, half a unit of its last digit
EXAMPLES = [
    (f"{GENERAL}, G5B03", OHM, {"e": "400", "r": "800"}, "200 W", 0.5),
    (f"{MODERN}, example 2.2(a)", ENVELOPE, {"top": "100", "bottom": "60"}, "25 %", 0.5),
    (f"{MODERN}, example 2.2(b)", ENVELOPE, {"top": "125", "bottom": "35"}, "56.25 %", 0.005),
    (f"{PRINCIPLES}, example 3.1", ENVELOPE, {"top": "5.9", "bottom": "1.2"}, "66 %", 0.5),
    (f"{MODERN}, example 2.6", ANTENNA, {"on": "13", "off": "12"}, "59 %", 0.5),
    (f"{PRINCIPLES}, example 3.5", ANTENNA, {"on": "5.1", "off": "4.8"}, "51 %", 0.5),
    (f"{GENERAL}, G5B06", LOAD, {"pp": "200", "r": "50"}, "100 W", 0.5),
    (f"{GENERAL}, G5B14", LOAD, {"pp": "500", "r": "50"}, "625 W", 0.5),
    (f"{PRINCIPLES}, example 3.7", LOAD, {"pp": "178", "r": "75"}, "52.8 W", 0.05),
    (f"{TECHNICIAN}, T5B10", LOSS, {"p": "12", "q": "3"}, "-6 dB", 0.5),
    (f"{TECHNICIAN}, T5B11", LOSS, {"p": "20", "q": "200"}, "10 dB", 0.5),
    (f"{ADVANCED}, A-001-03-01", TANK, {"l": "50", "c": "40"}, "3.56 Mc", 0.005),
    (f"{ADVANCED}, A-001-04-08", TANK, {"l": "10", "c": "50 mmf"}, "7.12 Mc", 0.005),
    (f"{ADVANCED}, A-001-03-05", TANK, {"l": "3", "c": "40"}, "14.5 Mc", 0.05),
    (f"{EXTRA}, E4B03", ERROR, {"f": "146.52", "part": "1"}, "146.52 cycles", 0.005),
    (f"{EXTRA}, E4B05", ERROR, {"f": "146520 kc", "part": "10"}, "1465.2 cycles", 0.05),
    (f"{EXTRA}, E5B06", DISCHARGE, {"v": "800", "end": "294", "c": "450", "r": "1"}, "450 s", 0.5),
    (f"{EXTRA}, E5B05", DISCHARGE, {"v": "20", "end": "7.36", "c": ".01", "r": "2 megs"}, "0.02 s", 0.005),
    (
        "Electronic Instrumentation, example 4.11 case 1",
        METER,
        {"v": "100", "r1": "10 K", "r2": "10 K", "rm": "50 K"},
        "45.45 V",
        0.005,
    ),
    (
        "Electronic Instrumentation, example 4.12, meter 1",
        METER,
        {"v": "30", "r1": "25k", "r2": "5k", "rm": "10k"},
        "3.53 V",
        0.005,
    ),
]


@pytest.mark.parametrize(
    ("source", "formula", "figures", "printed", "half"), EXAMPLES, ids=[row[0] for row in EXAMPLES]
)
def test_printed_results(
    source: str,
    formula: tuple[Mapping[str, str], str],
    figures: Mapping[str, str],
    printed: str,
    half: float,
) -> None:
    """The printed figures give the printed result."""
    units, text = formula
    number, unit = printed.split(" ")
    inputs = {name: parse_quantity(figure, units[name]) for name, figure in figures.items()}
    found = parse_formula(text).bound(units, unit).value(inputs)
    assert found == pytest.approx(float(number), abs=half * 1.001), source
