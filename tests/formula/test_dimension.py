"""Dimensions of formulas: what goes together, what does not and where, and agreement with pint."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.formula import Dimension, FormulaError, parse_formula

REGISTRY: Any = pint.UnitRegistry(cache_folder=None)
UNITS = {
    "volts": "V", "amps": "mA", "load": "kohm", "power": "W", "other": "mils", "share": "percent",
    "loss": "dB", "angle": "deg", "c": "mmf", "l": "uH", "f": "Mc", "t": "min", "gm": "umhos",
}  # fmt: skip


@pytest.mark.parametrize(
    ("text", "unit"),
    [
        ("volts * amps", "W"),
        ("volts / amps", "ohm"),
        ("volts^2 / load", "mW"),
        ("amps - other", "A"),
        ("sqrt(power * load)", "V"),
        ("abs(-volts)", "kV"),
        ("min(amps, other, amps + other)", "A"),
        ("max(volts, 0)", "V"),
        ("0 - volts", "V"),
        ("1 / (2 * pi * sqrt(l * c))", "kc"),
        ("1 / (2 * pi * f * c)", "ohm"),
        ("2 * pi * f * l", "ohm"),
        ("1000000 * l * c * f^2", ""),
        ("load * c * ln(power / (volts * amps))", "s"),
        ("10 * log10(power / (volts * amps))", "dB"),
        ("power * 10^(-loss / 10)", "W"),
        ("1 - share", "percent"),
        ("volts * sin(angle)", "V"),
        ("atan(f * t)", "deg"),
        ("gm * volts", "A"),
        ("(volts^3)^(1/3)", "V"),
        ("volts^0.5 * volts^0.5", "V"),
        ("volts^-1 * power", "A"),
        ("volts^(4/2) / power", "ohm"),
        ("share^share", ""),
    ],
)
def test_what_goes_together(text: str, unit: str) -> None:
    """The dimension of a formula is that of its unit by the definitions of the units."""
    formula = parse_formula(text)
    assert formula.dimension(UNITS) == Dimension.of(unit)
    formula.check(UNITS, unit)


@pytest.mark.parametrize(
    ("text", "column", "sentence", "hint"),
    [
        (
            "volts + amps",
            7,
            "`volts` is a voltage, but `amps` is a current: they cannot be added",
            "volts is in V, amps is in mA",
        ),
        (
            "2 * (amps - power/volts - volts)",
            25,
            "`amps - power / volts` is a current, but `volts` is a voltage: they cannot be subtracted",
            "amps is in mA, power is in W, volts is in V",
        ),
        (
            "max(volts, amps)",
            1,
            "`volts` is a voltage, but `amps` is a current: they cannot be compared",
            "volts is in V, amps is in mA",
        ),
        (
            "volts - 1",
            7,
            "`volts` is a voltage, but `1` is a plain number: they cannot be subtracted",
            "volts is in V",
        ),
        (
            "1 - 2 * share * volts",
            3,
            "`1` is a plain number, but `2 * share * volts` is a voltage: they cannot be subtracted",
            "share is in percent, volts is in V",
        ),
        (
            "3 * sin(2 * volts)",
            9,
            "`sin` wants a plain number, but `2 * volts` is a voltage",
            "divide by something of the same kind",
        ),
        ("2^amps", 3, "an exponent is a plain number, but `amps` is a current", ""),
        (
            "volts^share",
            7,
            "`volts` is a voltage, so its exponent must be a number",
            "only a plain number is raised to a power that varies",
        ),
        ("volts^13", 7, "`volts` is a voltage; 13 is no sensible exponent for it", ""),
        ("volts^0.00001", 7, "`volts` is a voltage; 1e-05 is no sensible exponent for it", ""),
        ("1 + vlts", 5, "`vlts` is not known here", "did you mean volts?"),
    ],
)
def test_what_does_not_go_together(text: str, column: int, sentence: str, hint: str) -> None:
    """Both sides are named with what they are, at the column of the sign or of what is out of place."""
    with pytest.raises(FormulaError) as caught:
        parse_formula(text).dimension(UNITS)
    assert (caught.value.text, caught.value.column, caught.value.hint) == (sentence, column, hint)


@pytest.mark.parametrize(
    ("text", "unit", "sentence", "hint"),
    [
        (
            "volts * amps",
            "V",
            "the formula gives a power, but a voltage (V) is wanted",
            "with volts in V, amps in mA",
        ),
        (
            "amps * volts^1.5",
            "A",
            "the formula gives something of the dimension V^1.5 A, but a current (A) is wanted",
            "with amps in mA, volts in V",
        ),
        (
            "volts / volts",
            "V",
            "the formula gives a plain number, but a voltage (V) is wanted",
            "with volts in V",
        ),
        ("volts", "", "the formula gives a voltage, but a plain number is wanted", "with volts in V"),
        ("2 * pi", "W", "the formula gives a plain number, but a power (W) is wanted", ""),
        ("volts", "blorp", "`blorp` is no unit that is known here", ""),
        ("volts", "degC", "`degC` cannot be used in arithmetic: it has no plain factor", "use K"),
    ],
)
def test_the_result_is_held_against_its_unit(text: str, unit: str, sentence: str, hint: str) -> None:
    """A power is no voltage; the units of the names are in the hint. `bound` says the same."""
    formula = parse_formula(text)
    with pytest.raises(FormulaError) as checked:
        formula.check(UNITS, unit)
    with pytest.raises(FormulaError) as bound:
        formula.bound(UNITS, unit)
    assert (checked.value.text, checked.value.column, checked.value.hint) == (sentence, 1, hint)
    assert (bound.value.text, bound.value.hint) == (sentence, hint)


@pytest.mark.parametrize(
    ("unit", "sentence"),
    [
        ("blorp", "`heat`: `blorp` is no unit that is known here"),
        ("degF", "`heat`: `degF` cannot be used in arithmetic: it has no plain factor"),
        ("dBm", "`heat`: `dBm` cannot be used in arithmetic: it has no plain factor"),
    ],
)
def test_units_that_cannot_be_computed_with(unit: str, sentence: str) -> None:
    """A temperature that does not start at zero and a level over a power have no factor."""
    with pytest.raises(FormulaError) as caught:
        parse_formula("2 * heat").dimension({"heat": unit})
    assert (caught.value.text, caught.value.column) == (sentence, 5)


powers = st.sampled_from([Fraction(n, d) for n in range(-3, 4) for d in (1, 2, 3)])


@given(
    st.lists(
        st.tuples(st.sampled_from(["V", "A", "kohm", "uF", "mH", "MHz", "W", "min", "K", "m"]), powers),
        max_size=5,
    )
)
def test_products_of_powers_agree_with_pint(factors: list[tuple[str, Fraction]]) -> None:
    """The exponents of any product of powers are those that pint finds."""
    names = [f"x{place}" for place in range(len(factors))]
    text = " * ".join(["1", *(f"{name}^({power})" for name, (_, power) in zip(names, factors, strict=True))])
    found = parse_formula(text).dimension(
        {name: unit for name, (unit, _) in zip(names, factors, strict=True)}
    )
    theirs: dict[str, float] = {}
    for unit, power in factors:
        for base, exponent in REGISTRY.Unit(unit).dimensionality.items():
            theirs[base] = theirs.get(base, 0.0) + exponent * float(power)
    bases = ("[mass]", "[length]", "[time]", "[current]", "[temperature]")
    assert [float(mine) for mine in found.exponents] == pytest.approx(
        [theirs.get(base, 0.0) for base in bases], abs=1e-12
    )
