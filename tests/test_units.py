"""Quantities as people write them; the table of the fast path is held against pint."""

from __future__ import annotations

import math
import subprocess
import sys
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose import units
from diagnose.units import DimensionError, UnitError, dimension, known_unit, parse_quantity

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
]


@pytest.mark.parametrize(("text", "unit", "magnitude"), TRADE_WORDS)
def test_trade_words_are_understood(text: str, unit: str, magnitude: float) -> None:
    """Each spelling gives the magnitude that the definition of its unit gives."""
    assert parse_quantity(text, unit) == pytest.approx(magnitude, rel=1e-12)


@pytest.mark.parametrize("symbol", sorted(units._TABLE))
def test_table_agrees_with_pint(symbol: str) -> None:
    """Every entry of the table has the factor that pint has for the modern spelling."""
    modern = units.TRADE.get(symbol, symbol)
    words, factor = units._TABLE[symbol]
    if words == "a level in decibels":
        assert factor == 1.0  # a level has no factor to another unit
        return
    base = {family: unit for unit, family, _ in units._FAMILIES}.get(words, "dimensionless")
    theirs = REGISTRY.Quantity(1.0, REGISTRY.Unit(modern.replace("\xb5", "u") or "dimensionless"))
    assert factor == pytest.approx(theirs.to(base).magnitude, rel=1e-12)


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
        ("77 degF", "degC", 25.0),
        ("600 ppm", "percent", 0.06),
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
        ("5 kg", "V", "of the dimension [mass]", "a voltage", None),
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


@pytest.mark.parametrize(
    ("text", "sentence", "hint"),
    [
        ("", "`` is no number with a unit", "write it like `12.5 V`"),
        ("low", "`low` is no number with a unit", "write it like `12.5 V`"),
        ("1,200 V", "`1,200 V` holds a comma", "write the number with a decimal point, or none"),
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


@given(st.text(max_size=80), st.sampled_from(["V", "mA", "percent", "", "ohm", "Hz"]))
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


def test_known_units_and_their_dimensions() -> None:
    """Units are known by their words; an unknown one is not."""
    assert dimension("kc") == "a frequency"
    assert dimension("W/V") == "a current"
    assert known_unit("percent")
    assert not known_unit("blorp")


def test_an_ordinary_quantity_needs_no_registry() -> None:
    """The fast path answers without importing pint."""
    code = (
        "import sys; from diagnose.units import parse_quantity; "
        "parse_quantity('145 mils', 'A'); parse_quantity('3.5 Mc', 'kHz'); print('pint' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
