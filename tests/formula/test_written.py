"""Formulas as text: normalised, and with figures for the person."""

from __future__ import annotations

import pytest

from diagnose.formula import parse_formula
from diagnose.formula.written import figure


@pytest.mark.parametrize(
    ("text", "normalised"),
    [
        ("a*b+c", "a * b + c"),
        ("((a)+(b))*c", "(a + b) * c"),
        ("a-(b-c)", "a - (b - c)"),
        ("(a-b)-c", "a - b - c"),
        ("a/(b*c)", "a / (b * c)"),
        ("(a^b)^c", "(a^b)^c"),
        ("a^(b^c)", "a^b^c"),
        ("-(a^2)", "-a^2"),
        ("(-a)^2", "(-a)^2"),
        ("-(a*b)", "-(a * b)"),
        ("a*(-b)", "a * -b"),
        ("a^(-2)", "a^-2"),
        ("a^(1/2)", "a^(1 / 2)"),
        ("max( a,b ,2.50)", "max(a, b, 2.5)"),
        ("1e6*a", "1000000 * a"),
        ("1e-7*a", "1e-07 * a"),
        ("1e22*a", "1e+22 * a"),
    ],
)
def test_normalised(text: str, normalised: str) -> None:
    """Even blanks and only the brackets that matter."""
    assert str(parse_formula(text)) == normalised


@pytest.mark.parametrize(
    ("text", "units", "result", "inputs", "shown"),
    [
        (
            "v*(ip-ig-is2)",
            {"v": "V", "ip": "mA", "ig": "mA", "is2": "mA"},
            "W",
            {"v": 600, "ip": 145, "ig": 11, "is2": 3},
            "600 V x (145 mA - 11 mA - 3 mA) = 78.6 W",
        ),
        ("v^2/r", {"v": "V", "r": "ohm"}, "W", {"v": 45.5, "r": 50}, "(45.5 V)^2 / 50 ohm = 41.405 W"),
        ("bias-v", {"bias": "V", "v": "V"}, "V", {"bias": -52, "v": -40}, "-52 V - (-40 V) = -12 V"),
        ("-bias*i", {"bias": "V", "i": "mA"}, "W", {"bias": -52, "i": 10}, "-(-52 V) x 10 mA = 0.52 W"),
        ("i*bias", {"bias": "V", "i": "mA"}, "mW", {"bias": -52, "i": 10}, "10 mA x (-52 V) = -520 mW"),
        ("p/q", {"p": "W", "q": "W"}, "percent", {"p": 52, "q": 78}, "52 W / 78 W = 66.667 %"),
        ("1-eta", {"eta": "percent"}, "percent", {"eta": 70}, "1 - 70 % = 30 %"),
        ("n^2", {"n": ""}, "", {"n": 3}, "3^2 = 9"),
        (
            "sqrt(2*p*z)",
            {"p": "W", "z": "ohm"},
            "V",
            {"p": 50, "z": 50},
            "sqrt(2 x 50 W x 50 ohm) = 70.711 V",
        ),
        (
            "f-g",
            {"f": "Hz", "g": "Hz"},
            "Hz",
            {"f": 7150012, "g": 7150000},
            "7150012 Hz - 7150000 Hz = 12 Hz",
        ),
    ],
)
def test_shown_with_figures(
    text: str, units: dict[str, str], result: str, inputs: dict[str, float], shown: str
) -> None:
    """Each figure in its own unit and bracketed where it would be misread."""
    assert parse_formula(text).bound(units, result).shown(inputs) == shown


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (-0.0, "0"),
        (145.0, "145"),
        (78.59999999999998, "78.6"),
        (612.34567, "612.35"),
        (99999.96, "100000"),
        (7150012.0, "7150012"),
        (-0.00012345, "-0.00012345"),
        (2.5e-12, "2.5e-12"),
        (1.5e15, "1.5e+15"),
        (float("inf"), "not a number"),
    ],
)
def test_figures_have_five_digits(value: float, text: str) -> None:
    """Whole numbers stand in full, very large and very small ones with their power of ten."""
    assert figure(value) == text
