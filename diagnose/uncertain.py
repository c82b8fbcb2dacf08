"""Values with a standard uncertainty, and what becomes of it in arithmetic.

An uncertainty is kept as its contributions by independent source, so that two values that share a
source (the same meter, the same mains reading) are correlated as they are on the bench. Propagation is
of first order: JCGM 100:2008 (GUM) 5.1.2 and 5.2.2, correlation through shared sources as in F.1.2.3.
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final, NamedTuple

_NONE: Final[Mapping[str, float]] = MappingProxyType({})


class Share(NamedTuple):
    """One line of a budget: a source, the size of its contribution, its share of the variance (0 to 1)."""

    source: str
    contribution: float
    share: float


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A value and, for each independent source, (slope of the value over the source) x u(source), signed.

    Contributions are in the unit of the value. The same source name in two values is the same source:
    they are fully correlated in it. Raises ValueError where a number is not finite.
    """

    value: float
    parts: Mapping[str, float] = field(default_factory=lambda: _NONE)

    def __post_init__(self) -> None:
        if type(self.parts) is not MappingProxyType:
            object.__setattr__(self, "parts", MappingProxyType(dict(self.parts)))
        if not (math.isfinite(self.value) and all(map(math.isfinite, self.parts.values()))):
            raise ValueError(f"{self.value:g} with {dict(self.parts)} is not a usable value")

    def __hash__(self) -> int:
        return hash((self.value, frozenset(self.parts.items())))

    def __reduce__(self) -> tuple[type[Uncertain], tuple[float, dict[str, float]]]:
        # a read-only view cannot be handed to another process
        return Uncertain, (self.value, dict(self.parts))

    @property
    def standard(self) -> float:
        """The standard uncertainty, in the unit of the value."""
        return math.hypot(*self.parts.values())

    @property
    def relative(self) -> float:
        """The standard uncertainty over the size of the value; infinite for an uncertain zero."""
        standard = self.standard
        if self.value:
            return standard / abs(self.value)
        return math.inf if standard else 0.0

    def budget(self) -> list[Share]:
        """The sources, the largest contribution first; shares add up to 1 unless nothing is uncertain."""
        standard = self.standard
        lines = [
            Share(source, abs(part), (part / standard) ** 2 if standard else 0.0)
            for source, part in self.parts.items()
        ]
        return sorted(lines, key=lambda line: (-line.contribution, line.source))

    def __add__(self, other: Uncertain | float) -> Uncertain:
        return _both("+", self, other)

    def __radd__(self, other: float) -> Uncertain:
        return _both("+", other, self)

    def __sub__(self, other: Uncertain | float) -> Uncertain:
        return _both("-", self, other)

    def __rsub__(self, other: float) -> Uncertain:
        return _both("-", other, self)

    def __mul__(self, other: Uncertain | float) -> Uncertain:
        return _both("*", self, other)

    def __rmul__(self, other: float) -> Uncertain:
        return _both("*", other, self)

    def __truediv__(self, other: Uncertain | float) -> Uncertain:
        return _both("/", self, other)

    def __rtruediv__(self, other: float) -> Uncertain:
        return _both("/", other, self)

    def __pow__(self, other: Uncertain | float) -> Uncertain:
        return _both("^", self, other)

    def __rpow__(self, other: float) -> Uncertain:
        return _both("^", other, self)

    def __neg__(self) -> Uncertain:
        return propagated(-self.value, ((-1.0, self),))

    def __abs__(self) -> Uncertain:
        return applied("abs", self)


def exact(value: float) -> Uncertain:
    """A value without uncertainty."""
    return Uncertain(value)


def measured(value: float, standard: float, source: str) -> Uncertain:
    """A value with a standard uncertainty from one source; raises ValueError where that is negative."""
    if standard < 0:
        raise ValueError(f"a standard uncertainty is not negative ({standard:g})")
    return Uncertain(value, MappingProxyType({source: standard}) if standard else _NONE)


def propagated(value: float, terms: Iterable[tuple[float, Uncertain]]) -> Uncertain:
    """`value` with the contributions of its inputs, each given with the slope of the value over it.

    The sum of slope x contribution by source is GUM (13) for inputs that depend on common sources.
    An exact input contributes nothing, whatever its slope. Raises ValueError where a contribution is
    not finite: there propagation of first order has no answer.
    """
    parts: dict[str, float] = {}
    for slope, term in terms:
        for source, part in term.parts.items():
            parts[source] = parts.get(source, 0.0) + slope * part
    return Uncertain(value, MappingProxyType(parts) if parts else _NONE)


# Functions of one number with their slopes at x, y being the value there; an upright tangent is infinite.


class Function(NamedTuple):
    """A function of one number: its value, and its slope from the number and the value."""

    value: Callable[[float], float]
    slope: Callable[[float, float], float]


class Operation(NamedTuple):
    """A function of two numbers: its value, and its two slopes from the numbers and the value."""

    value: Callable[[float, float], float]
    slopes: Callable[[float, float, float], tuple[float, float]]


def _over(divisor: float) -> float:
    return 1.0 / divisor if divisor else math.inf


def _leg(x: float) -> float:
    # of two factors: 1 - x * x would lose its digits near 1
    return math.sqrt((1.0 - x) * (1.0 + x))


FUNCTIONS: Final[Mapping[str, Function]] = MappingProxyType(
    {
        "sqrt": Function(math.sqrt, lambda _, y: _over(2.0 * y)),
        "abs": Function(math.fabs, lambda x, _: math.copysign(1.0, x)),
        "log10": Function(math.log10, lambda x, _: 1.0 / (x * math.log(10.0))),
        "ln": Function(math.log, lambda x, _: 1.0 / x),
        "exp": Function(math.exp, lambda _, y: y),
        "sin": Function(math.sin, lambda x, _: math.cos(x)),
        "cos": Function(math.cos, lambda x, _: -math.sin(x)),
        "tan": Function(math.tan, lambda _, y: 1.0 + y * y),
        "asin": Function(math.asin, lambda x, _: _over(_leg(x))),
        "acos": Function(math.acos, lambda x, _: -_over(_leg(x))),
        "atan": Function(math.atan, lambda x, _: 1.0 / (1.0 + x * x)),
    }
)


def _power_slopes(base: float, exponent: float, power: float) -> tuple[float, float]:
    try:
        # 0 * 0^-1 is the slope of a constant
        over_base = exponent * math.pow(base, exponent - 1.0) if exponent else 0.0
    except (ValueError, OverflowError):  # the tangent of a root at zero, or one beyond all numbers
        over_base = math.inf
    if base > 0.0:
        return over_base, power * math.log(base)
    # a negative number has no powers beside the whole ones, hence no slope over the exponent
    return over_base, 0.0 if base == 0.0 < exponent else math.nan


OPERATIONS: Final[Mapping[str, Operation]] = MappingProxyType(
    {
        "+": Operation(operator.add, lambda *_: (1.0, 1.0)),
        "-": Operation(operator.sub, lambda *_: (1.0, -1.0)),
        "*": Operation(operator.mul, lambda x, y, _: (y, x)),
        "/": Operation(operator.truediv, lambda _, y, z: (1.0 / y, -z / y)),
        "^": Operation(math.pow, _power_slopes),
        "min": Operation(min, lambda x, y, _: (1.0, 0.0) if x <= y else (0.0, 1.0)),
        "max": Operation(max, lambda x, y, _: (1.0, 0.0) if x >= y else (0.0, 1.0)),
    }
)


def applied(name: str, x: Uncertain) -> Uncertain:
    """One of FUNCTIONS of an uncertain value; raises ValueError or ArithmeticError where it has none."""
    function = FUNCTIONS[name]
    y = function.value(x.value)
    return propagated(y, ((function.slope(x.value, y), x),))


def combined(name: str, x: Uncertain | float, y: Uncertain | float) -> Uncertain:
    """One of OPERATIONS of two values; raises ValueError or ArithmeticError where it has none.

    Of two that are equal, `min` and `max` take the first with its uncertainty.
    """
    left = x.value if isinstance(x, Uncertain) else float(x)
    right = y.value if isinstance(y, Uncertain) else float(y)
    operation = OPERATIONS[name]
    value = operation.value(left, right)
    over_left, over_right = operation.slopes(left, right, value)
    if not isinstance(x, Uncertain):
        return propagated(value, ((over_right, y),) if isinstance(y, Uncertain) else ())
    if not isinstance(y, Uncertain):
        return propagated(value, ((over_left, x),))
    return propagated(value, ((over_left, x), (over_right, y)))


def _both(name: str, x: Uncertain | float, y: Uncertain | float) -> Uncertain:
    if isinstance(x, (Uncertain, float, int)) and isinstance(y, (Uncertain, float, int)):
        return combined(name, x, y)
    return NotImplemented


# Standard uncertainties from what is known without repeating a measurement (type B, GUM 4.3).


def from_limits(half_width: float) -> float:
    """Of a value that may lie anywhere within +- `half_width` with equal chance (GUM 4.3.7)."""
    if half_width < 0:
        raise ValueError(f"limits are given by half their width, which is not negative ({half_width:g})")
    return half_width / math.sqrt(3.0)


def from_resolution(step: float) -> float:
    """Of a display or scale that is read to the nearest `step` (GUM F.2.2.1)."""
    return from_limits(step / 2.0)


def of_full_scale(percent: float, full_scale: float) -> float:
    """Of an instrument with limits of error in percent of its full scale, in the unit of the scale."""
    return from_limits(percent / 100.0 * abs(full_scale))


def of_reading(percent: float, reading: float, digits: float = 0.0, step: float = 0.0) -> float:
    """Of an instrument with limits of error in percent of the reading plus `digits` steps of the display.

    The two are added before they are halved into a standard uncertainty, as in the voltmeter of
    GUM 4.3.7, example 2; `step` is the value of the last digit, in the unit of the reading.
    """
    return from_limits(percent / 100.0 * abs(reading) + digits * step)
