"""Quantities as people write them; the table of the fast path is held against pint."""

from __future__ import annotations

import math
import random
import subprocess
import sys
from fractions import Fraction
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose import units
from diagnose.units import DimensionError, UnitError, dimension, factor, parse_quantity, words_of

REGISTRY: Any = pint.UnitRegistry(cache_folder=None)

# What the trade's words mean, from the definitions of the units: a mil of a radio man is a milliampere,
# a kilocycle a kilohertz, mfd a microfarad, mmf (micro-microfarad) a picofarad.
TRADE_WORDS = [
    ("150 mils", "mA", 150.0),
    ("150 ma", "A", 0.150),
    ("455 kc", "Hz", 455e3),
    ("3.5 Mc", "kHz", 3500.0),
    ("60 cycles", "Hz", 60.0),
    ("8 mfd", "F", 8e-6),
    ("100 mmf", "pF", 100.0),
    ("100 uuf", "uF", 1e-4),
    ("2 megs", "kohm", 2000.0),
    ("0.5 meg", "ohm", 500e3),
    ("47k", "ohm", 47e3),
    ("47 K", "kohm", 47.0),
    ("1 M", "kohm", 1000.0),
    ("5000 umhos", "mS", 5.0),
    ("5 %", "percent", 5.0),
    ("5 %", "", 0.05),
    ("1.5:1", "", 1.5),
    ("1.2 kv", "V", 1200.0),
    ("1e1 V", "V", 10.0),
    ("\u221245 V", "V", -45.0),
    ("-45", "V", -45.0),
    ("50 \u03bcA", "mA", 0.05),
    ("47 k\u03a9", "ohm", 47e3),
    (" 145\u00a0mA ", "mA", 145.0),
    ("20 min", "h", 1 / 3),
    ("145 mils", "mA", 145.0),
    ("0.145 A", "mA", 145.0),
    ("145ma", "mA", 145.0),
    ("145 MA.", "mA", 145.0),
    ("500 microamps", "mA", 0.5),
    ("7150kc", "Mc", 7.15),
    ("7150 kc/s", "Mc", 7.15),
    ("3.5 Mc/s", "kc", 3500.0),
    ("60 c/s", "Hz", 60.0),
    ("60 c.p.s.", "Hz", 60.0),
    ("145 mA DC", "mA", 145.0),
    ("145 m.a.", "mA", 145.0),
    ("1.2 K.V.", "V", 1200.0),
    ("7.15 Mcs", "kc", 7150.0),
    ("3500 kilocycles", "Mc", 3.5),
    ("-52v", "V", -52.0),
    ("600 VDC", "V", 600.0),
    ("6.3 V ac", "V", 6.3),
    ("0.1 MFD", "F", 1e-7),
    ("8 mf", "uF", 8.0),
    ("20 mmfd", "pF", 20.0),
    ("5 \xb5\xb5F", "pF", 5.0),
    ("250 micromicrofarads", "pF", 250.0),
    ("10 hy", "H", 10.0),
    ("10 h", "H", 10.0),
    ("2.5 millihenries", "uH", 2500.0),
    ("47 K ohms", "ohm", 47e3),
    ("47 Kilohms", "ohm", 47e3),
    ("2 meg ohms", "ohm", 2e6),
    ("10 MEGOHMS", "ohm", 10e6),
    ("100 KOHM", "ohm", 100e3),
    ("20 ppm", "percent", 0.002),
    ("-6 dB", "dB", -6.0),
    ("-6 DB", "dB", -6.0),
    ("77 degF", "degC", 25.0),
    ("25 \xb0C", "degF", 77.0),
    ("25 degrees C", "K", 298.15),
    ("77 F", "degC", 25.0),
    ("25 C", "degF", 77.0),
    ("180 degrees", "rad", math.pi),
]

# A prefix alone, and the marking code of components (IEC 60062): the letter stands for the point.
MARKED = [
    ("1.5K", "ohm", 1500.0),
    ("1.5K", "V", 1500.0),
    ("10 meg", "ohm", 10e6),
    ("10 meg", "Mc", 10.0),
    ("7.15 M", "kHz", 7150.0),
    ("470 p", "pF", 470.0),
    ("250 u", "mA", 0.25),
    ("47 R", "ohm", 47.0),
    ("2k2", "ohm", 2200.0),
    ("2K2", "ohm", 2200.0),
    ("2k2 ohm", "kohm", 2.2),
    ("2k2\u03a9", "kohm", 2.2),
    ("4R7", "ohm", 4.7),
    ("R47", "ohm", 0.47),
    ("6M8", "Mohm", 6.8),
    ("4n7", "pF", 4700.0),
    ("4n7F", "pF", 4700.0),
    ("4u7", "uF", 4.7),
    ("2p2", "pF", 2.2),
    ("2m5", "mH", 2.5),
    ("7M15", "kHz", 7150.0),
]

# Thousands with commas, and the fractions that stand on fuses and resistors.
GROUPED = [
    ("1,200 V", "V", 1200.0),
    ("1,200", "V", 1200.0),
    ("-1,200.5 V", "V", -1200.5),
    ("14,060,000 cps", "Mc", 14.06),
    ("3/4 A", "A", 0.75),
    ("3/8A", "mA", 375.0),
    ("1/100 amp", "mA", 10.0),
    ("1 1/2 W", "W", 1.5),
    ("-1/2", "V", -0.5),
]


@pytest.mark.parametrize(("text", "unit", "magnitude"), TRADE_WORDS + MARKED + GROUPED)
def test_trade_words_are_understood(text: str, unit: str, magnitude: float) -> None:
    """Each spelling gives the magnitude that the definition of its unit gives."""
    assert parse_quantity(text, unit) == pytest.approx(magnitude, rel=1e-12)


@pytest.mark.parametrize("symbol", sorted(units._TABLE))
def test_table_agrees_with_pint(symbol: str) -> None:
    """Every entry of the table has the factor, the zero and the dimension that pint has for it."""
    words, multiple, zero = units._TABLE[symbol]
    vector = units._VECTORS[words]
    if words == "a level in decibels":
        assert (multiple, zero, set(vector)) == (1.0, 0.0, {0})  # for arithmetic a plain number
        return
    unit = REGISTRY.Unit(symbol or "dimensionless")
    nothing, one = (REGISTRY.Quantity(number, unit).to_base_units().magnitude for number in (0.0, 1.0))
    assert zero == pytest.approx(nothing, rel=1e-12)
    assert multiple == pytest.approx(one - nothing, rel=1e-12)
    assert {base: power for base, power in zip(units._BASES, vector, strict=True) if power} == dict(
        unit.dimensionality
    )


@pytest.mark.parametrize("written", sorted(units.TRADE.keys() | units._ANY_CASE.keys()))
def test_every_word_of_the_trade_leads_to_a_unit(written: str) -> None:
    """Each has the unit of today that it stands for, and no word is the symbol of something else."""
    modern = units._modern(written)
    assert modern in units._TABLE or REGISTRY.Unit(modern) is not None
    assert written not in units._TABLE or units._TABLE[written] == units._TABLE[modern]


@given(st.sampled_from(sorted(units._ANY_CASE)), st.randoms())
def test_words_may_be_in_capitals(word: str, chance: random.Random) -> None:
    """A word means the same in any mixture of capitals, but where that is the symbol of another unit."""
    mixed = "".join(letter.upper() if chance.random() < 0.5 else letter for letter in word)
    expected = mixed if mixed in units._TABLE else units.TRADE.get(mixed, units._ANY_CASE[word])
    assert units._modern(mixed) == expected


@pytest.mark.parametrize(
    ("unit", "vector", "multiple"),
    [
        ("mils", (0, 0, 0, 1, 0), 1e-3),
        ("kc", (0, 0, -1, 0, 0), 1e3),
        ("percent", (0, 0, 0, 0, 0), 0.01),
        ("", (0, 0, 0, 0, 0), 1.0),
        ("deg", (0, 0, 0, 0, 0), math.pi / 180),
        ("dB", (0, 0, 0, 0, 0), 1.0),
        ("K", (0, 0, 0, 0, 1), 1.0),
        ("V/A", (1, 2, -3, -2, 0), 1.0),
        ("mA/kV", (-1, -2, 3, 2, 0), 1e-6),
        ("kc/hour", (0, 0, -2, 0, 0), 1 / 3.6),
        ("ppm/K", (0, 0, 0, 0, -1), 1e-6),
        ("ft", (0, 1, 0, 0, 0), 0.3048),
    ],
)
def test_factors_to_si(unit: str, vector: tuple[int, ...], multiple: float) -> None:
    """The dimension in SI base units, and the factor by the definition of the unit."""
    found, theirs = factor(unit)
    assert tuple(found) == vector
    assert theirs == pytest.approx(multiple, rel=1e-12)


@pytest.mark.parametrize(
    ("unit", "sentence", "hint"),
    [
        ("degC", "`degC` cannot be used in arithmetic: it has no plain factor", "use K"),
        ("\xb0F", "`\xb0F` cannot be used in arithmetic: it has no plain factor", "use K"),
        ("dBm", "`dBm` cannot be used in arithmetic: it has no plain factor", ""),
        ("mol", "`mol` cannot be used in arithmetic: it has no plain factor", ""),
        ("blorp", "`blorp` is no unit that is known here", ""),
    ],
)
def test_units_without_a_factor(unit: str, sentence: str, hint: str) -> None:
    """A scale that does not start at zero, a level over a power, what is outside the trade, and no unit at all."""
    with pytest.raises(UnitError) as caught:
        factor(unit)
    assert (str(caught.value), caught.value.hint) == (sentence, hint)


@pytest.mark.parametrize(
    ("unit", "words"),
    [
        ("kc", "a frequency"),
        ("W/V", "a current"),
        ("V^2", "of the dimension V^2"),
        ("V/A^2", "of the dimension V/A^2"),
        ("Hz/min", "of the dimension 1/s^2"),
        ("kg m/s^2", "of the dimension kg m/s^2"),
        ("mol", "of the dimension [substance]"),
    ],
)
def test_dimensions_in_words(unit: str, words: str) -> None:
    """By name where there is one, in volts, amperes and seconds where that can be."""
    assert dimension(unit) == words


def test_broken_powers_in_words() -> None:
    """A perveance is in A/V^1.5."""
    root = tuple(Fraction(3, 2) * exponent for exponent in factor("V")[0])
    over = tuple(a - b for a, b in zip(factor("A")[0], root, strict=True))
    assert words_of(over) == "of the dimension A/V^1.5"


@given(
    st.floats(min_value=-1e6, max_value=1e6, allow_nan=False),
    st.sampled_from(["uV", "mV", "V", "kV"]),
    st.sampled_from(["uV", "mV", "V", "kV"]),
)
def test_conversion_agrees_with_pint(number: float, unit: str, into: str) -> None:
    """Any number converts as pint converts it."""
    theirs = REGISTRY.Quantity(number, unit).to(into).magnitude
    assert parse_quantity(f"{number!r} {unit}", into) == pytest.approx(theirs, rel=1e-9, abs=1e-300)


@pytest.mark.parametrize(
    ("text", "unit", "magnitude"),
    [
        ("3 Hz/min", "kc/hour", 0.18),
        ("100 mil/s", "A/s", 0.1),
        ("10 dBm", "W", 0.01),
        ("2 ppm/degC", "ppm/K", 2.0),
        ("5 V A", "W", 5.0),
    ],
)
def test_the_rest_is_asked_of_pint(text: str, unit: str, magnitude: float) -> None:
    """Compound and odd units go through the registry, trade words in them included."""
    assert parse_quantity(text, unit) == pytest.approx(magnitude, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "unit", "found", "expected", "sentence"),
    [
        ("5 V", "mA", "a voltage", "a current", "`5 V` is a voltage, but a current (mA) is wanted"),
        ("5 mA", "V", "a current", "a voltage", "`5 mA` is a current, but a voltage (V) is wanted"),
        ("3 dB", "V", "a level in decibels", "a voltage", None),
        ("5 kg", "V", "of the dimension kg", "a voltage", None),
        ("25 degC", "V", "a temperature", "a voltage", None),
        ("30 deg", "percent", "an angle", "a ratio", None),
        ("1.5K", "dB", "a temperature", "a level in decibels", None),
        ("10 dBm", "V", "a power", "a voltage", None),
        ("5 V", "", "a voltage", "a ratio", "`5 V` is a voltage, but a ratio is wanted"),
    ],
)
def test_a_wrong_dimension_names_both(
    text: str, unit: str, found: str, expected: str, sentence: str | None
) -> None:
    """A voltage in the place of a current says so in both words."""
    with pytest.raises(DimensionError) as caught:
        parse_quantity(text, unit)
    assert (caught.value.found, caught.value.expected) == (found, expected)
    if sentence is not None:
        assert str(caught.value) == sentence


COMMA = "write the number with a decimal point, or none"


@pytest.mark.parametrize(
    ("text", "sentence", "hint"),
    [
        ("", "`` is no number with a unit", "write it like `12.5 V`"),
        ("low", "`low` is no number with a unit", "write it like `12.5 V`"),
        ("0,145 A", "`0,145 A` holds a comma", COMMA),
        ("1,2 V", "`1,2 V` holds a comma", COMMA),
        ("12,34,567 V", "`12,34,567 V` holds a comma", COMMA),
        ("1,2000 V", "`1,2000 V` holds a comma", COMMA),
        ("0.1,200 V", "`0.1,200 V` holds a comma", COMMA),
        ("1234,567 V", "`1234,567 V` holds a comma", COMMA),
        ("117/230 V", "`117/230 V` is no fraction of the trade", "write it as a decimal number"),
        ("3/0 V", "`3/0 V` is no fraction of the trade", "write it as a decimal number"),
        ("3/4/5 V", "`3/4/5 V` is no fraction of the trade", "write it as a decimal number"),
        ("2k2 ohm", "`k2 ohm` is no unit", ""),
        ("4R7", "`R7` is no unit", ""),
        ("1e308 MV", "`1e308 MV` is not a usable number", ""),
        ("5 xyz", "`xyz` is no unit that is known here", ""),
        ("1e999 V", "`1e999 V` is not a usable number", ""),
        ("5 V**9**9**9", "`V**9**9**9` is no unit", ""),
        ("5 __import__('os')", "`__import__('os')` is no unit", ""),
        ("1" * 5000, f"`{'1' * 37}...` is no number with a unit", "write it like `12.5 V`"),
    ],
)
def test_what_is_no_quantity_is_refused_in_words(text: str, sentence: str, hint: str) -> None:
    """Nonsense, commas and hostile texts end in a sentence."""
    with pytest.raises(UnitError) as caught:
        parse_quantity(text, "V")
    assert (str(caught.value), caught.value.hint) == (sentence, hint)


UNITS = ["V", "mA", "percent", "", "ohm", "Hz", "uF", "degC", "dB", "deg"]
PIECES = [
    "1",
    "20",
    "2k2",
    ",",
    ",200",
    "/",
    "3/4",
    " ",
    ".",
    "-",
    "e9",
    "R",
    "k",
    "K",
    "meg",
    "V",
    "mA",
    "^2",
    "*",
    "F",
]


@given(
    st.one_of(st.text(max_size=80), st.lists(st.sampled_from(PIECES), max_size=12).map("".join)),
    st.sampled_from(UNITS),
)
def test_any_text_gives_a_number_or_a_unit_error(text: str, unit: str) -> None:
    """No text brings anything else about, and no number that is not finite."""
    outcome = _outcome(text, unit)
    assert math.isfinite(outcome) if isinstance(outcome, float) else outcome


def _outcome(text: str, unit: str) -> float | str:
    """The magnitude, or what is said instead."""
    try:
        return parse_quantity(text, unit)
    except UnitError as error:
        return str(error)


def test_a_bare_number_is_in_the_default_unit() -> None:
    """145 for a current in mA is 145 mA."""
    assert parse_quantity(145, "mA") == 145.0
    assert parse_quantity("145", "mA") == 145.0


def test_an_ordinary_quantity_needs_no_registry() -> None:
    """The fast path answers without importing pint."""
    code = (
        "import sys; from diagnose.units import factor, parse_quantity; factor('mmf'); "
        f"[parse_quantity(text, unit) for text, unit, _ in {TRADE_WORDS + MARKED + GROUPED!r}]; "
        "print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
