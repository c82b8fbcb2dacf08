"""Plain scalars follow YAML 1.2 core (section 10.3.2 of the specification)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.files.scalars import plain_scalar


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("yes", "yes"),
        ("no", "no"),
        ("on", "on"),
        ("Off", "Off"),
        ("y", "y"),
        ("true", True),
        ("False", False),
        ("null", None),
        ("~", None),
        ("", None),
        ("010", 10),
        ("-7", -7),
        ("+7", 7),
        ("0x1F", "0x1F"),
        ("0o17", "0o17"),
        ("1_000", "1_000"),
        ("1:30", "1:30"),
        ("2024-01-01", "2024-01-01"),
        ("1e-3", 0.001),
        ("1.", 1.0),
        (".5", 0.5),
        ("6E5", 6e5),
        ("8 of 10", "8 of 10"),
        ("12AX7", "12AX7"),
        ("1e999", "1e999"),
        (".inf", ".inf"),
        (".nan", ".nan"),
        ("<<", "<<"),
        ("=", "="),
    ],
)
def test_resolution(text: str, value: object) -> None:
    """Each text has its value and its type."""
    resolved = plain_scalar(text)
    assert resolved == value
    assert type(resolved) is type(value)


@given(st.integers(-(10**40), 10**40))
def test_integers_stay_themselves(number: int) -> None:
    """Any integer is read as itself."""
    assert plain_scalar(str(number)) == number


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_decimals_stay_themselves(number: float) -> None:
    """Any finite decimal is read as itself."""
    assert plain_scalar(repr(number)) == number
