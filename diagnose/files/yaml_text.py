"""Values as YAML text that the reader of these files understands the same way.

Short entries stand on one line (`{value: 585 V, mode: cw}`), as a person would write them.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from diagnose.files.scalars import plain_scalar
from diagnose.units import UnitError, parse_quantity

# A text may stand without quotes if it begins like a word or a number and holds no sign of YAML.
_PLAIN = re.compile(r"(?:[^\W_]|[_/~(]|[-+]?\.?[0-9])[^:#,\[\]{}\"&*!|>%@`?\\]*%?\Z")
# What single quotes cannot hold: breaks of lines, and what is no character of a text file.
_TO_ESCAPE = re.compile("[^\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]")
_LONE = re.compile("[\ud800-\udfff]")


def is_plain(text: str) -> bool:
    """Whether a text can stand without quotes, also inside brackets, and does not read as nothing."""
    return bool(_PLAIN.match(text)) and text.isprintable() and text == text.strip() and text != "~"


def word(text: str, unquoted: tuple[type, ...] = ()) -> str:
    """A text as one scalar; what would read as a number or a truth stays unquoted if its type is allowed."""
    text = _LONE.sub("\ufffd", text)  # half a character, as a broken terminal sends it
    if is_plain(text) and type(plain_scalar(text)) in (str, *unquoted):
        return text
    if not _TO_ESCAPE.search(text):
        return "'" + text.replace("'", "''") + "'"
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\t", "\\t")
    return '"' + _TO_ESCAPE.sub(lambda found: f"\\u{ord(found.group()):04x}", escaped) + '"'


def read_back(text: str, unquoted: tuple[type, ...]) -> str | int | float | bool | None:
    """What the reader makes of `word(text, unquoted)`."""
    value = plain_scalar(text)
    return value if is_plain(text) and type(value) in (str, *unquoted) else text


def number(value: float) -> str:
    """A number with all its digits; a whole one without a point."""
    return repr(value if isinstance(value, int) else float(value)).removesuffix(".0")


def amount(value: float, unit: str) -> str:
    """A value with its unit, or alone where the unit would not be read as itself."""
    text = f"{number(value)} {unit}".strip()
    try:
        same = parse_quantity(text, unit) == value
    except UnitError:
        same = False
    return text if same else number(value)


def share(value: float) -> str:
    """A relative width as a percentage where that is exact."""
    percent = f"{100 * value:.6f}".rstrip("0").rstrip(".")
    return f"{percent} %" if float(percent) / 100 == value else number(value)


def mapping(entries: Mapping[str, str]) -> str:
    """A mapping on one line; its values are YAML text already."""
    return "{" + ", ".join(f"{word(key)}: {value}" for key, value in entries.items()) + "}"


def listing(members: Iterable[str]) -> str:
    """A list on one line; its members are YAML text already."""
    return "[" + ", ".join(members) + "]"


def block(key: str, lines: Iterable[str]) -> list[str]:
    """A section with its lines indented; nothing for a section without any."""
    below = [f"  {line}" for line in lines]
    return [f"{key}:", *below] if below else []
