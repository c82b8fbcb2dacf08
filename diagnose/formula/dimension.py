"""The dimension of a formula, from the units of its names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType
from typing import Final

from diagnose.formula.errors import FormulaError
from diagnose.formula.program import fixed
from diagnose.formula.tree import Binary, Call, Constant, Name, Negative, Node, Number, names, start
from diagnose.formula.written import excerpt
from diagnose.units import UnitError, factor, words_of

_STEEPEST: Final = 12  # no quantity of the bench is a higher power of another
_SAME: Final = ("abs", "min", "max")  # functions whose result is of the dimension of their arguments
_DOING: Final = MappingProxyType({"+": "added", "-": "subtracted", "min": "compared", "max": "compared"})


@dataclass(frozen=True, slots=True)
class Dimension:
    """Exponents of mass, length, time, current and temperature; two are equal if all of these are."""

    exponents: tuple[Fraction, ...]

    @classmethod
    def of(cls, unit: str) -> Dimension:
        """The dimension of a unit; raises UnitError."""
        return _of(unit)

    def __str__(self) -> str:
        if self.plain:
            return "a plain number"
        words = words_of(self.exponents)
        return f"something {words}" if words.startswith("of ") else words

    def times(self, other: Dimension) -> Dimension:
        return Dimension(tuple(a + b for a, b in zip(self.exponents, other.exponents, strict=True)))

    def power(self, exponent: Fraction) -> Dimension:
        return Dimension(tuple(exponent * mine for mine in self.exponents))

    @property
    def plain(self) -> bool:
        """Whether this is the dimension of a plain number."""
        return not any(self.exponents)


@lru_cache(maxsize=512)
def _of(unit: str) -> Dimension:
    return Dimension(tuple(Fraction(exponent) for exponent in factor(unit)[0]))


_PLAIN: Final = Dimension((Fraction(0),) * 5)


def dimension_of(node: Node, units: Mapping[str, str]) -> Dimension:
    """The dimension of a tree; raises FormulaError where its parts do not go together."""
    match node:
        case Number() | Constant():
            return _PLAIN
        case Name():
            return _of_name(node, units)
        case Negative():
            return dimension_of(node.of, units)
        case Call():
            return _of_call(node, units)
        case Binary(sign="^"):
            return _of_power(node, units)
        case Binary():
            if node.sign in ("+", "-"):
                return _common(node.sign, (node.left, node.right), units, node.column)
            left, right = dimension_of(node.left, units), dimension_of(node.right, units)
            return left.times(right if node.sign == "*" else right.power(Fraction(-1)))


def _of_name(name: Name, units: Mapping[str, str]) -> Dimension:
    try:
        return Dimension.of(units[name.id])
    except UnitError as error:
        raise FormulaError(f"`{name.id}`: {error.text}", name.column, error.hint) from error


def _of_call(call: Call, units: Mapping[str, str]) -> Dimension:
    if call.function in _SAME:
        return _common(call.function, call.arguments, units, call.column)
    inner = dimension_of(call.arguments[0], units)
    if call.function == "sqrt":
        return inner.power(Fraction(1, 2))
    if not inner.plain:
        said = f"`{call.function}` wants a plain number, but `{excerpt(call.arguments[0])}` is {inner}"
        raise FormulaError(said, start(call.arguments[0]), "divide by something of the same kind")
    return _PLAIN


def _of_power(power: Binary, units: Mapping[str, str]) -> Dimension:
    exponent = dimension_of(power.right, units)
    if not exponent.plain:
        said = f"an exponent is a plain number, but `{excerpt(power.right)}` is {exponent}"
        raise FormulaError(said, start(power.right))
    base = dimension_of(power.left, units)
    if base.plain:
        return _PLAIN
    number = fixed(power.right)
    if number is None:
        said = f"`{excerpt(power.left)}` is {base}, so its exponent must be a number"
        raise FormulaError(said, start(power.right), "only a plain number is raised to a power that varies")
    # a third is written 1/3, and its nearest binary number is meant to be one
    exact = Fraction(number).limit_denominator(1000)
    if abs(number) > _STEEPEST or abs(exact - Fraction(number)) > 1e-9:
        said = f"`{excerpt(power.left)}` is {base}; {number:g} is no sensible exponent for it"
        raise FormulaError(said, start(power.right))
    return base.power(exact)


def _common(doing: str, parts: tuple[Node, ...], units: Mapping[str, str], column: int) -> Dimension:
    """The dimension that all parts share; a nought is of any: max(volts, 0)."""
    first, wanted = parts[0], None
    for part in parts:
        if isinstance(part, Number) and part.value == 0.0:
            continue
        found = dimension_of(part, units)
        if wanted is None:
            first, wanted = part, found
        elif found != wanted:
            said = f"`{excerpt(first)}` is {wanted}, but `{excerpt(part)}` is {found}"
            used = dict.fromkeys(name.id for node in (first, part) for name in names(node))
            hint = ", ".join(f"{name} is in {units[name] or 'plain numbers'}" for name in used)
            raise FormulaError(f"{said}: they cannot be {_DOING[doing]}", column, hint)
    return _PLAIN if wanted is None else wanted
