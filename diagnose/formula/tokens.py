"""A formula cut into numbers, names and signs. Plain ASCII only, so that nothing looks like what it is not."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from diagnose.formula.errors import FormulaError, short

LONGEST: Final = 400

# What people write for a sign of the language, or out of the habit of another one.
_MEANT: Final = MappingProxyType(
    {
        "\u00d7": "write * for times",
        "\u00b7": "write * for times",
        "\u22c5": "write * for times",
        "\u00f7": "write / for a division",
        "\u2212": "write - for minus",
        "\u2013": "write - for minus",
        "\u221a": "write sqrt(...)",
        "\u03c0": "write pi",
        "\u00b2": "write ^2",
        "\u00b3": "write ^3",
        "%": "declare the unit percent instead; there is no sign for it",
        "=": "a formula is only what stands right of the equals sign",
        "<": "a formula gives a number and does not compare",
        ">": "a formula gives a number and does not compare",
        "[": "write round brackets",
        "]": "write round brackets",
        "{": "write round brackets",
        "}": "write round brackets",
        ".": "a name has no point in it; a number has digits beside its point",
    }
)
_TOKEN: Final = re.compile(
    r"(?P<number>(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][-+]?[0-9]+)?)"
    r"|(?P<word>[A-Za-z_][A-Za-z0-9_]*)"
    r"|(?P<power>\*\*)"
    r"|(?P<sign>[-+*/^(),])"
    r"|(?P<blank>[ \t\r\n]+)"
)
_NAME: Final = re.compile(r"[a-z][a-z0-9_]*\Z")


@dataclass(frozen=True, slots=True)
class Token:
    """A piece of a formula: `kind` is number, name, end, or the sign itself."""

    kind: str
    text: str
    column: int


def tokenise(text: str) -> tuple[Token, ...]:
    """The pieces of a formula, with an `end` behind them; raises FormulaError for what is no piece."""
    if len(text) > LONGEST:
        said = f"the formula is too long: {len(text)} characters, and at most {LONGEST} are read"
        raise FormulaError(said, LONGEST + 1, "cut it into quantities of their own")
    return (*_pieces(text), Token("end", "", len(text) + 1))


def _pieces(text: str) -> Iterator[Token]:
    place = 0
    while place < len(text):
        match = _TOKEN.match(text, place)
        if match is None:
            raise _no_piece(text[place], place + 1)
        kind, piece, column = str(match.lastgroup), match.group(), place + 1
        place = match.end()
        if kind == "power":
            raise FormulaError("`**` is no sign of a formula", column, "write ^ for a power")
        if kind == "number":
            _check_number(piece, column)
        if kind == "word":
            _check_name(piece, column)
        if kind != "blank":
            yield Token({"word": "name", "sign": piece}.get(kind, kind), piece, column)


def _no_piece(character: str, column: int) -> FormulaError:
    shown = f"`{character}`" if character.isprintable() else "a character that cannot be seen"
    hint = _MEANT.get(character, "a formula has numbers, names, + - * / ^, brackets and functions")
    return FormulaError(f"{shown} has no place in a formula", column, hint)


def _check_number(piece: str, column: int) -> None:
    number = float(piece)
    vanishes = number == 0.0 and any(digit in "123456789" for digit in re.split("[eE]", piece)[0])
    if vanishes or not math.isfinite(number):
        said = f"`{short(piece)}` is too {'small' if vanishes else 'large'} to compute with"
        raise FormulaError(said, column)


def _check_name(piece: str, column: int) -> None:
    if not _NAME.match(piece):
        hint = "names are written with small letters, digits and underscores, a letter first"
        if _NAME.match(piece.lower()):
            hint = f"names are written with small letters: {short(piece.lower())}"
        raise FormulaError(f"`{short(piece)}` is no name", column, hint)
