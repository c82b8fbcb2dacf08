"""A formula as text again: normalised, or with figures in the place of its names."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from diagnose.formula.errors import short
from diagnose.formula.tree import Binary, Call, Constant, Name, Negative, Node, Number

# How tightly a piece of text holds together; a looser one is put into brackets.
_SUM: Final = 1.0
_NEGATIVE_FIGURE: Final = 1.5  # may open a sum, and is bracketed everywhere else: 3 V - (-52 V)
_PRODUCT: Final = 2.0
_MINUS: Final = 3.0
_POWER: Final = 4.0
_ATOM: Final = 5.0
# What the sides of a sign must hold at least, so that reading the text gives the same tree.
_SIDES: Final = {
    "+": (_SUM, _PRODUCT),
    "-": (_SUM, _PRODUCT),
    "*": (_PRODUCT, _MINUS),
    "/": (_PRODUCT, _MINUS),
    "^": (_ATOM, _MINUS),
}
_HOLDS: Final = {"+": _SUM, "-": _SUM, "*": _PRODUCT, "/": _PRODUCT, "^": _POWER}
_UNIT_SIGNS: Final = {"percent": "%"}

Naming = Callable[[str], tuple[str, float]]  # what stands for a name, and how tightly it holds


def written(node: Node) -> str:
    """The text of a tree with the fewest brackets and even blanks; reading it gives the same tree."""
    return _write(node, lambda name: (name, _ATOM), "*")[0]


def excerpt(node: Node) -> str:
    """The text of a tree for a message."""
    return short(written(node))


def with_figures(node: Node, figures: Callable[[str], tuple[float, str]]) -> str:
    """The text of a tree with the value and unit of each name in its place: `600 V x (145 mA - 11 mA)`."""
    return _write(node, lambda name: _figure(*figures(name)), "x")[0]


def with_unit(value: float, unit: str) -> str:
    """A value with its unit: `145 mA`, `5 %`, `12`."""
    return f"{figure(value)} {_UNIT_SIGNS.get(unit, unit)}".rstrip()


def figure(value: float) -> str:
    """A number to five figures, whole numbers in full: `78.6`, `7150012`, `0.00012345`."""
    if value == 0.0 or not math.isfinite(value):
        return "0" if value == 0.0 else "not a number"
    places = 4 - math.floor(math.log10(abs(value)))
    if not -8 <= places <= 12:
        return f"{value:.5g}"
    text = f"{value:.{max(0, places)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _figure(value: float, unit: str) -> tuple[str, float]:
    text = with_unit(value, unit)
    if text.startswith("-"):
        return text, _NEGATIVE_FIGURE
    return text, _POWER if " " in text else _ATOM


def _number(value: float) -> str:
    return repr(value).removesuffix(".0")


def _write(node: Node, naming: Naming, times: str) -> tuple[str, float]:
    """The text of a node, and how tightly it holds together."""

    def inner(part: Node, at_least: float) -> str:
        text, holds = _write(part, naming, times)
        return text if holds >= at_least else f"({text})"

    match node:
        case Number():
            return _number(node.value), _ATOM
        case Constant():
            return node.id, _ATOM
        case Name():
            return naming(node.id)
        case Negative():
            return "-" + inner(node.of, _MINUS), _MINUS
        case Call():
            arguments = ", ".join(inner(argument, _SUM) for argument in node.arguments)
            return f"{node.function}({arguments})", _ATOM
        case Binary():
            at_left, at_right = _SIDES[node.sign]
            sign = node.sign if node.sign == "^" else f" {times if node.sign == '*' else node.sign} "
            return inner(node.left, at_left) + sign + inner(node.right, at_right), _HOLDS[node.sign]
