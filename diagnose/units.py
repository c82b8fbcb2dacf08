"""Numbers with units, the trade's old ones included; the only module that knows pint.

A registry takes longer to build than most cases take to read, so the spellings of a bench
(`145 mA`, `3.5 Mc`, `47 kohm`) are answered from a table; only the rest asks pint. The tests hold
the table against pint.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

Number = int | float


@dataclass
class UnitError(ValueError):
    """A text that is no quantity of the kind asked for; `hint` says what to write instead."""

    text: str
    hint: str = ""

    def __str__(self) -> str:
        return self.text


@dataclass
class DimensionError(UnitError):
    """A quantity of another kind: a voltage where a current is asked for."""

    found: str = ""
    expected: str = ""


# Symbol, words for its dimension, and the SI prefixes in use before it.
_FAMILIES: Final = (
    ("V", "a voltage", "u m k M"),
    ("A", "a current", "n u m k"),
    ("W", "a power", "u m k M"),
    ("ohm", "a resistance", "m k M G"),
    ("S", "a conductance", "u m"),
    ("Hz", "a frequency", "m k M G"),
    ("F", "a capacitance", "p n u m"),
    ("H", "an inductance", "n u m"),
    ("s", "a time", "n u m"),
)
_PREFIXES: Final = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6, "G": 1e9}
_TABLE_EXTRA: Final = {
    "min": ("a time", 60.0),
    "h": ("a time", 3600.0),
    "day": ("a time", 86400.0),
    "year": ("a time", 31557600.0),  # 365.25 days, as pint has it
    "percent": ("a ratio", 0.01),
    "": ("a ratio", 1.0),
    "dB": ("a level in decibels", 1.0),
}

# What the trade writes, and the same in units of today. `MA` and `MC` are capitals of old manuals.
TRADE: Final = {
    "v": "V", "volt": "V", "volts": "V", "kv": "kV", "KV": "kV", "mv": "mV",
    "a": "A", "amp": "A", "amps": "A", "ampere": "A", "amperes": "A",
    "ma": "mA", "Ma": "mA", "MA": "mA", "mil": "mA", "mils": "mA", "milliamps": "mA",
    "milliamperes": "mA", "ua": "uA", "microamps": "uA",
    "w": "W", "watt": "W", "watts": "W", "mw": "mW", "kw": "kW", "KW": "kW",
    "ohms": "ohm", "Ohm": "ohm", "Ohms": "ohm", "Ω": "ohm", "\u2126": "ohm",
    "Kohm": "kohm", "kohms": "kohm", "kilohm": "kohm", "kilohms": "kohm", "Kohms": "kohm",
    "kΩ": "kohm", "k\u2126": "kohm", "mΩ": "mohm", "MΩ": "Mohm", "M\u2126": "Mohm",
    "Mohms": "Mohm", "megohm": "Mohm", "megohms": "Mohm", "meg": "Mohm", "megs": "Mohm",
    "Meg": "Mohm", "Megs": "Mohm",
    "mho": "S", "mhos": "S", "umho": "uS", "umhos": "uS", "micromhos": "uS", "micromho": "uS",
    "hz": "Hz", "cps": "Hz", "cycles": "Hz", "cycle": "Hz",
    "kc": "kHz", "Kc": "kHz", "KC": "kHz", "kcs": "kHz", "khz": "kHz", "KHz": "kHz", "KHZ": "kHz",
    "kilocycles": "kHz",
    "mc": "MHz", "Mc": "MHz", "MC": "MHz", "mcs": "MHz", "mhz": "MHz", "Mhz": "MHz",
    "MHZ": "MHz", "megacycles": "MHz",
    "f": "F", "mfd": "uF", "mfds": "uF", "MFD": "uF", "Mfd": "uF", "mf": "uF", "ufd": "uF",
    "uf": "uF", "UF": "uF", "microfarads": "uF",
    "mmf": "pF", "mmfd": "pF", "MMF": "pF", "MMFD": "pF", "uuf": "pF", "uufd": "pF", "uuF": "pF",
    "pf": "pF", "pfd": "pF", "nf": "nF",
    "mh": "mH", "uh": "uH", "henry": "H", "henries": "H", "hy": "H",
    "sec": "s", "secs": "s", "second": "s", "seconds": "s", "msec": "ms", "usec": "us",
    "mins": "min", "minute": "min", "minutes": "min", "hr": "h", "hrs": "h", "hour": "h",
    "hours": "h", "days": "day", "years": "year", "yr": "year", "yrs": "year",
    "%": "percent", "pct": "percent", "per cent": "percent",
    "db": "dB", "DB": "dB", "decibel": "dB", "decibels": "dB", "dbm": "dBm",
}  # fmt: skip


def _table() -> dict[str, tuple[str, float]]:
    table = dict(_TABLE_EXTRA)
    for symbol, dimension, prefixes in _FAMILIES:
        table[symbol] = (dimension, 1.0)
        for prefix in prefixes.split():
            table[prefix + symbol] = (dimension, _PREFIXES[prefix])
            if prefix == "u":
                table["\xb5" + symbol] = table["\u03bc" + symbol] = table["u" + symbol]
    for written, modern in TRADE.items():
        if modern in table:
            table.setdefault(written, table[modern])
    return table


_TABLE: Final = _table()
_QUANTITY = re.compile(r"([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(.*)\Z", re.DOTALL)
_TO_ONE = re.compile(r"(\d+(?:\.\d+)?)\s*:\s*1\Z")
# Words joined by / * or blanks, each with at most one digit of exponent: pint cannot choke on it.
_WORD = r"[A-Za-z\xb5\u03bcΩ\u2126%°]+(?:\^-?[1-9])?"
_EXPRESSION = re.compile(rf"{_WORD}(?:\s*[*/ ]\s*{_WORD})*\Z")
_MULTIPLES: Final = {"k": 1e3, "K": 1e3, "M": 1e6}  # 47 k: ohms understood
_LONGEST: Final = 60


def parse_quantity(text: str | Number, default_unit: str) -> float:
    """The magnitude of `text` in `default_unit`; a bare number is already in it.

    Raises UnitError for what is no quantity, DimensionError for one of another kind.
    """
    if isinstance(text, (int, float)):
        return _finite(float(text), str(text))
    number, unit = split_quantity(text, default_unit)
    if not unit:
        return number
    return convert(number, unit, default_unit, written=text.strip())


def split_quantity(text: str, default_unit: str = "") -> tuple[float, str]:
    """The number and the unit as written ("" if there is none)."""
    tidy = text.strip().replace("\u2212", "-").replace("\xa0", " ")
    to_one = _TO_ONE.match(tidy)
    if to_one:
        # a ratio is no voltage: as a number with a unit of its own it meets the check of dimensions
        plain = not default_unit or dimension(default_unit) == dimension("dimensionless")
        return float(to_one.group(1)), "" if plain else "dimensionless"
    match = _QUANTITY.match(tidy[:_LONGEST])
    if match is None or len(tidy) > _LONGEST:
        raise UnitError(f"`{_short(text)}` is no number with a unit", _example(default_unit))
    number = _finite(float(match.group(1)), text)
    unit = match.group(2).strip()
    if unit[:1] == ",":
        raise UnitError(f"`{_short(text)}` holds a comma", "write the number with a decimal point, or none")
    if unit in _MULTIPLES and dimension(default_unit) == dimension("ohm"):
        return number * _MULTIPLES[unit], "ohm"
    return number, unit


def convert(number: float, unit: str, into: str, *, written: str = "") -> float:
    """`number` of `unit` as a number of `into`."""
    written = written or f"{number:g} {unit}"
    if unit == into:
        return number
    source, target = _TABLE.get(unit), _TABLE.get(into)
    if source is not None and target is not None:
        if source[0] != target[0]:
            raise _wrong(written, unit, into)
        return number * source[1] / target[1]
    return _convert_with_pint(number, unit, into, written)


def known_unit(unit: str) -> bool:
    """Whether this is a unit at all."""
    try:
        dimension(unit)
    except UnitError:
        return False
    return True


@lru_cache(maxsize=512)
def dimension(unit: str) -> str:
    """The dimension of a unit in words: `a voltage`. Raises UnitError if it is none."""
    if unit in _TABLE:
        return _TABLE[unit][0]
    found = str(_pint_unit(unit).dimensionality)
    for symbol, words, _ in _FAMILIES:
        if found == _dimensionality(symbol):
            return words
    if found == "dimensionless":
        return "a ratio"
    return f"of the dimension {found}"


def _convert_with_pint(number: float, unit: str, into: str, written: str) -> float:
    source, target = _pint_unit(unit), _pint_unit(into)
    try:
        magnitude = _registry().Quantity(number, source).to(target).magnitude
    except Exception as error:  # pint raises a dozen kinds, some of them not its own
        raise _wrong(written, unit, into) from error
    return _finite(float(magnitude), written)


def _wrong(written: str, unit: str, into: str) -> DimensionError:
    found, expected = dimension(unit), dimension(into)
    wanted = f"{expected} ({into})" if into else expected
    return DimensionError(
        f"`{_short(written)}` is {found}, but {wanted} is wanted",
        hint=_example(into),
        found=found,
        expected=expected,
    )


@lru_cache(maxsize=512)
def _pint_unit(unit: str) -> Any:
    """The pint unit of a text, with the trade's words put into units of today first."""
    modern = re.sub(r"[A-Za-z%Ω\u2126]+", lambda word: TRADE.get(word.group(), word.group()), unit)
    if len(unit) > _LONGEST or not _EXPRESSION.match(modern):
        raise UnitError(f"`{_short(unit)}` is no unit", "")
    try:
        return _registry().Unit(modern)
    except Exception as error:  # see above; an unknown word must not end the program
        raise UnitError(f"`{_short(unit)}` is no unit that is known here", "") from error


@lru_cache(maxsize=64)
def _dimensionality(unit: str) -> str:
    return str(_pint_unit(unit).dimensionality)


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint  # noqa: PLC0415 - a third of a second that most runs never need

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True, cache_folder=None)


def _finite(number: float, written: str) -> float:
    if not math.isfinite(number):
        raise UnitError(f"`{_short(written)}` is not a usable number", "")
    return number


def _example(unit: str) -> str:
    return f"write it like `12.5 {unit}`" if unit else "write a plain number"


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= 40 else text[:37] + "..."
