"""Numbers with units, the trade's old ones included; the only module that knows pint.

A registry takes longer to build than most cases take to read, so the spellings of a bench
(`145 mA`, `3.5 Mc`, `47 K ohms`, `2k2`, `3/8 A`, `1,200 V`) are answered from a table; only the rest
asks pint. The tests hold the table against pint.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final, NamedTuple

Number = int | float
Vector = tuple[
    Number | Fraction, ...
]  # exponents of mass, length, time, current and temperature, in SI base units


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


class Known(NamedTuple):
    """A unit of the table: the words for its dimension, its factor to SI, and what is added after it."""

    dimension: str
    factor: float
    offset: float = 0.0


# Symbol, words for its dimension, the SI prefixes in use before it, and its dimension in SI base units.
_FAMILIES: Final[tuple[tuple[str, str, str, Vector], ...]] = (
    ("V", "a voltage", "u m k M", (1, 2, -3, -1, 0)),
    ("A", "a current", "n u m k", (0, 0, 0, 1, 0)),
    ("W", "a power", "u m k M", (1, 2, -3, 0, 0)),
    ("ohm", "a resistance", "m k M G", (1, 2, -3, -2, 0)),
    ("S", "a conductance", "u m", (-1, -2, 3, 2, 0)),
    ("Hz", "a frequency", "m k M G", (0, 0, -1, 0, 0)),
    ("F", "a capacitance", "p n u m", (-1, -2, 4, 2, 0)),
    ("H", "an inductance", "n u m", (1, 2, -2, -2, 0)),
    ("s", "a time", "n u m", (0, 0, 1, 0, 0)),
    ("K", "a temperature", "", (0, 0, 0, 0, 1)),
    ("", "a ratio", "", (0, 0, 0, 0, 0)),
    # Not ratios on the bench, though they are for arithmetic: 5 % is no angle, and 3 dB no percentage.
    ("rad", "an angle", "", (0, 0, 0, 0, 0)),
    ("dB", "a level in decibels", "", (0, 0, 0, 0, 0)),
)
_PREFIXES: Final = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6, "G": 1e9}
_TABLE_EXTRA: Final = {
    "min": Known("a time", 60.0),
    "h": Known("a time", 3600.0),
    "day": Known("a time", 86400.0),
    "year": Known("a time", 31557600.0),  # 365.25 days, as pint has it
    "percent": Known("a ratio", 0.01),
    "ppm": Known("a ratio", 1e-6),
    "deg": Known("an angle", math.pi / 180),
    "degC": Known("a temperature", 1.0, 273.15),
    "degF": Known("a temperature", 5 / 9, 459.67 * 5 / 9),
}
_MICRO: Final = ("\xb5", "\u03bc")  # the sign of its own, and the Greek letter

# What the trade writes, and the same in units of today. Short ones as they stand (`MA` and `MC` are
# capitals of old manuals); those of three letters and more in any mixture of capitals.
TRADE: Final = {
    "v": "V", "kv": "kV", "Kv": "kV", "KV": "kV", "mv": "mV", "uv": "uV",
    "vdc": "V", "vac": "V", "voltsdc": "V", "voltsac": "V", "k.v": "kV", "madc": "mA", "m.a": "mA",
    "a": "A", "ma": "mA", "Ma": "mA", "MA": "mA", "ua": "uA", "mil": "mA", "mils": "mA",
    "w": "W", "mw": "mW", "kw": "kW", "KW": "kW",
    "\u03a9": "ohm", "\u2126": "ohm", "m\u03a9": "mohm", "k\u03a9": "kohm", "k\u2126": "kohm",
    "K\u03a9": "kohm", "K\u2126": "kohm", "M\u03a9": "Mohm", "M\u2126": "Mohm",
    "kohm": "kohm", "kohms": "kohm", "Mohms": "Mohm", "meg": "Mohm", "megs": "Mohm",
    "kilohm": "kohm", "kilohms": "kohm", "megohm": "Mohm", "megohms": "Mohm",
    "umho": "uS", "umhos": "uS",
    "hz": "Hz", "cps": "Hz", "c.p.s": "Hz", "c/s": "Hz", "kc/s": "kHz", "mc/s": "MHz", "kc": "kHz", "Kc": "kHz", "KC": "kHz", "kcs": "kHz", "khz": "kHz",
    "mc": "MHz", "Mc": "MHz", "MC": "MHz", "mcs": "MHz", "mhz": "MHz",
    "f": "F", "mf": "uF", "MF": "uF", "Mf": "uF", "mfd": "uF", "mfds": "uF", "uf": "uF", "UF": "uF",
    "ufd": "uF", "mmf": "pF", "mmfd": "pF", "mmfds": "pF", "uuf": "pF", "uufd": "pF", "pf": "pF", "PF": "pF",
    "pfd": "pF", "nf": "nF", "NF": "nF", "\xb5\xb5F": "pF", "\u03bc\u03bcF": "pF",
    "micromicrofarad": "pF", "micromicrofarads": "pF",
    "hy": "H", "mh": "mH", "mhy": "mH", "uh": "uH", "uhy": "uH",
    "sec": "s", "secs": "s", "msec": "ms", "usec": "us", "mins": "min", "minute": "min", "minutes": "min",
    "hr": "h", "hrs": "h", "hour": "h", "hours": "h", "days": "day", "years": "year", "yr": "year",
    "yrs": "year",
    "%": "percent", "pct": "percent", "percent": "percent", "dimensionless": "",
    "\xb0": "deg", "degree": "deg", "degrees": "deg", "\xb0C": "degC", "degc": "degC", "degreesc": "degC",
    "celsius": "degC", "\xb0F": "degF", "degf": "degF", "degreesf": "degF", "fahrenheit": "degF",
    "db": "dB", "DB": "dB", "decibel": "dB", "decibels": "dB", "dbm": "dBm",
}  # fmt: skip
_UNIT_WORDS: Final = {
    "volt": "V", "volts": "V", "amp": "A", "amps": "A", "ampere": "A", "amperes": "A", "watt": "W",
    "watts": "W", "ohm": "ohm", "ohms": "ohm", "mho": "S", "mhos": "S", "siemens": "S", "hertz": "Hz",
    "cycle": "Hz", "cycles": "Hz", "farad": "F", "farads": "F", "henry": "H", "henries": "H",
    "henrys": "H", "second": "s", "seconds": "s",
}  # fmt: skip
_PREFIX_WORDS: Final = {
    "": "", "pico": "p", "nano": "n", "micro": "u", "milli": "m", "kilo": "k", "mega": "M", "meg": "M",
}  # fmt: skip
# What a prefix alone means is said by the unit of the quantity: 47 K, 10 meg, 4n7.
_OF_OHMS: Final = {"k": "kohm", "K": "kohm", "M": "Mohm", "R": "ohm"}
_OF_CYCLES: Final = {"k": "kHz", "K": "kHz", "M": "MHz"} | dict.fromkeys(
    ("meg", "megs", "Meg", "Megs"), "MHz"
)
_BARE: Final[Mapping[str, Mapping[str, str]]] = {
    "a resistance": _OF_OHMS,
    "a frequency": _OF_CYCLES,
    "a capacitance": {"p": "pF", "n": "nF", "u": "uF", "\xb5": "uF", "\u03bc": "uF"},
    "an inductance": {"n": "nH", "u": "uH", "\xb5": "uH", "\u03bc": "uH", "m": "mH", "h": "H"},
    "a voltage": {"k": "kV", "K": "kV", "m": "mV"},
    "a current": {"n": "nA", "u": "uA", "\xb5": "uA", "\u03bc": "uA", "m": "mA"},
    "a power": {"k": "kW", "K": "kW", "m": "mW"},
    "a temperature": {"C": "degC", "F": "degF"},
}


def _table() -> dict[str, Known]:
    table = dict(_TABLE_EXTRA)
    for symbol, dimension, prefixes, _ in _FAMILIES:
        table[symbol] = Known(dimension, 1.0)
        for prefix in prefixes.split():
            table[prefix + symbol] = Known(dimension, _PREFIXES[prefix])
            if prefix == "u":
                table.update(dict.fromkeys((micro + symbol for micro in _MICRO), table["u" + symbol]))
    return table


def _any_case() -> dict[str, str]:
    """Words that mean the same in capitals, with their modern spelling."""
    words = {word: modern for word, modern in TRADE.items() if len(word) >= 3 and word.islower()}
    for prefix, sign in _PREFIX_WORDS.items():
        words |= {prefix + word: sign + unit for word, unit in _UNIT_WORDS.items()}
    return words


_ANY_CASE: Final = MappingProxyType(_any_case())
_TABLE: Final = MappingProxyType(_table())
_VECTORS: Final = MappingProxyType({words: vector for _, words, _, vector in _FAMILIES})
_WORDS: Final = MappingProxyType({vector: words for _, words, _, vector in reversed(_FAMILIES)})
_BASES: Final = ("[mass]", "[length]", "[time]", "[current]", "[temperature]")

_QUANTITY = re.compile(r"([-+]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][-+]?[0-9]+)?)\s*(.*)\Z", re.DOTALL)
_TO_ONE = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*:\s*1\Z")
# A first group without a leading nought and all others of three: nobody writes a decimal comma so ("1,200").
_THOUSANDS = re.compile(r"([-+]?[1-9][0-9]{0,2}(?:,[0-9]{3})+)(?![0-9,])")
_FRACTION = re.compile(r"([-+]?)(?:([0-9]{1,3})\s+)?([0-9]{1,2})/([0-9]{1,3})(?![0-9./])")
_HALVES: Final = (2, 3, 4, 8, 16, 32)
# The marking of components: the letter stands in the place of the point.
_MARKED = re.compile(r"([kKMRmnpu\xb5\u03bc])([0-9]{1,3})\s*([A-Za-z\u03a9\u2126]*)\Z")
# Words joined by / * or blanks, each with at most one digit of exponent: pint cannot choke on it.
_WORD = r"[A-Za-z\xb5\u03bc\u03a9\u2126%\xb0]+(?:\^-?[1-9])?"
_EXPRESSION = re.compile(rf"(?:1\s*/\s*)?{_WORD}(?:\s*[*/ ]\s*{_WORD})*\Z")
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
    """The number and its unit, prefixes that stand alone put into words ("" if there is no unit)."""
    tidy = text.strip().replace("\u2212", "-").replace("\xa0", " ")
    if len(tidy) > _LONGEST:
        raise UnitError(f"`{_short(text)}` is no number with a unit", _example(default_unit))
    to_one = _TO_ONE.match(tidy)
    if to_one:
        # a ratio is no voltage: as a number with a unit of its own it meets the check of dimensions
        plain = not default_unit or dimension(default_unit) == "a ratio"
        return float(to_one.group(1)), "" if plain else "dimensionless"
    tidy = _in_full(tidy)
    match = _QUANTITY.match(tidy)
    if match is None:
        raise UnitError(f"`{_short(text)}` is no number with a unit", _example(default_unit))
    digits, unit = match.group(1), match.group(2).rstrip()
    if unit[:1] == ",":
        raise UnitError(f"`{_short(text)}` holds a comma", "write the number with a decimal point, or none")
    if unit[:1] == "/":
        raise UnitError(f"`{_short(text)}` is no fraction of the trade", "write it as a decimal number")
    bare = _BARE.get(dimension(default_unit), {})
    marked = _MARKED.match(unit)
    if marked and digits.lstrip("-+").isdigit():
        letter, decimals, rest = marked.groups()
        if letter in bare and (not rest or _is_base(rest, default_unit)):
            digits, unit = f"{digits}.{decimals}", letter
    number = _finite(float(digits), text)
    if unit in bare:
        return number, bare[unit]
    return number, unit.removesuffix(".")


def _in_full(tidy: str) -> str:
    """The text with thousands joined and a fraction as a decimal number: `1,200 V`, `1 1/2 A`, `R47`."""
    if "," in tidy:
        joined = _THOUSANDS.match(tidy)
        return joined.group().replace(",", "") + tidy[joined.end() :] if joined else tidy
    fraction = _FRACTION.match(tidy)
    if fraction:
        sign, whole, over, under = fraction.groups()
        above, below = int(over), int(under)
        # anything else (117/230) may be two readings
        if 0 < above < below and (below in _HALVES or above == 1):
            return f"{sign}{int(whole or 0) + above / below!r} {tidy[fraction.end() :]}"
    return "0" + tidy if tidy[:1] == "R" and tidy[1:2].isdigit() else tidy


def _is_base(word: str, unit: str) -> bool:
    """Whether a word is the unit without a prefix of the same dimension."""
    known = _TABLE.get(_modern(word))
    return known is not None and known == (dimension(unit), 1.0, 0.0)


def convert(number: float, unit: str, into: str, *, written: str = "") -> float:
    """`number` of `unit` as a number of `into`."""
    written = written or f"{number:g} {unit}"
    if unit == into:
        return number
    source, target = _TABLE.get(_modern(unit)), _TABLE.get(_modern(into))
    if source is not None and target is not None:
        if source.dimension != target.dimension:
            raise _wrong(written, unit, into)
        if source.offset == target.offset:
            return _finite(number * source.factor / target.factor, written)
        return _finite((number * source.factor + source.offset - target.offset) / target.factor, written)
    return _convert_with_pint(number, unit, into, written)


@lru_cache(maxsize=512)
def dimension(unit: str) -> str:
    """The dimension of a unit in words: `a voltage`. Raises UnitError if it is none."""
    known = _TABLE.get(_modern(unit))
    if known is not None:
        return known.dimension
    found = _pint_unit(unit).dimensionality
    vector = _vector(found)
    return f"of the dimension {found}" if vector is None else words_of(vector)


@lru_cache(maxsize=512)
def factor(unit: str) -> tuple[Vector, float]:
    """The dimension of a unit in SI base units, and how many of the SI unit it is.

    A level in decibels counts as a plain number. Raises UnitError for what is no unit, and for a unit
    that has no such factor: a temperature that does not start at absolute zero, a level over a power.
    """
    known = _TABLE.get(_modern(unit))
    if known is not None:
        if known.offset:
            raise _no_factor(unit)
        return _VECTORS[known.dimension], known.factor
    theirs = _pint_unit(unit)
    vector = _vector(theirs.dimensionality)
    nothing, one = (_registry().Quantity(number, theirs).to_base_units().magnitude for number in (0.0, 1.0))
    if vector is None or nothing != 0.0:
        raise _no_factor(unit)
    return vector, float(one)


def words_of(vector: Vector) -> str:
    """A dimension in words: `a voltage`, or in volts, amperes and seconds: `of the dimension V^2/A`."""
    vector = tuple(vector)
    if vector in _WORDS:
        return _WORDS[vector]
    mass, length, time, current, temperature = vector
    if length == 2 * mass and not temperature:  # 1 V = 1 kg m2 / (s3 A)
        powers = {"V": mass, "A": current + mass, "s": time + 3 * mass}
    else:
        powers = dict(zip(("kg", "m", "s", "A", "K"), vector, strict=True))
    above = [f"{sign}{_exponent(power)}" for sign, power in powers.items() if power > 0]
    below = [f"{sign}{_exponent(-power)}" for sign, power in powers.items() if power < 0]
    return "of the dimension " + "/".join([" ".join(above) or "1", *below])


def _exponent(power: Number | Fraction) -> str:
    return "" if power == 1 else f"^{float(power):g}"


def _no_factor(unit: str) -> UnitError:
    words = dimension(unit)
    hint = "use K" if words == "a temperature" else ""
    return UnitError(f"`{_short(unit)}` cannot be used in arithmetic: it has no plain factor", hint)


@lru_cache(maxsize=1024)
def _modern(unit: str) -> str:
    """The spelling of today: of one word, or of two that a blank has parted (`K ohms`, `per cent`)."""
    joined = unit.replace(" ", "") if unit.count(" ") == 1 else unit
    for word in (unit, joined):
        if word in _TABLE:
            return word
        modern = TRADE.get(word, _ANY_CASE.get(word.lower()))
        if modern is not None:
            return modern
    return unit


def _vector(theirs: Mapping[str, Number]) -> Vector | None:
    """The exponents of a dimension of pint, None for one outside mechanics, electricity and heat."""
    if not set(theirs) <= set(_BASES):
        return None
    return tuple(theirs.get(base, 0) for base in _BASES)


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
    modern = re.sub(
        r"[A-Za-z%\xb0\xb5\u03bc\u03a9\u2126]+", lambda word: _modern(word.group()), _modern(unit)
    )
    if len(unit) > _LONGEST or not _EXPRESSION.match(modern or "dimensionless"):
        raise UnitError(f"`{_short(unit)}` is no unit", "")
    try:
        return _registry().Unit(modern)
    except Exception as error:  # see above; an unknown word must not end the program
        raise UnitError(f"`{_short(unit)}` is no unit that is known here", "") from error


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
