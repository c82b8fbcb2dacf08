"""A formula as straight-line code: one list of numbers, one short step for each sign and function.

What does not depend on a name is worked out when the code is made, and refused there if it cannot be.
Running backwards over the steps gives the slope over every name at once (reverse accumulation:
Griewank and Walther, Evaluating Derivatives, 2008, chapter 3.2).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from diagnose.formula.errors import FormulaError
from diagnose.formula.tree import CONSTANTS, Binary, Call, Constant, Name, Negative, Node, Number, names
from diagnose.formula.written import excerpt
from diagnose.uncertain import FUNCTIONS, OPERATIONS, Function, Operation

_MINUS: Final = Function(lambda x: -x, lambda *_: -1.0)


class _Single(NamedTuple):
    """A step from one number."""

    function: Function
    of: int
    target: int
    node: Node


class _Double(NamedTuple):
    """A step from two numbers."""

    operation: Operation
    left: int
    right: int
    target: int
    node: Node


@dataclass(frozen=True, slots=True)
class Program:
    """The names in the order of their inputs, then the numbers known beforehand, and the steps to the result."""

    names: tuple[str, ...]
    _numbers: tuple[float, ...]
    _steps: tuple[_Single | _Double, ...]
    _result: int

    def value(self, inputs: Sequence[float]) -> float:
        """The result for one finite number per name; raises FormulaError where there is none."""
        return self._run(inputs)[self._result]

    def slopes(self, inputs: Sequence[float]) -> tuple[float, list[float]]:
        """The result and its slope over each name; a slope is infinite or not a number where there is none."""
        values = self._run(inputs)
        slopes = [0.0] * len(values)
        slopes[self._result] = 1.0
        for step in reversed(self._steps):
            slope = slopes[step.target]
            if slope == 0.0:
                continue  # nothing below matters here, not even an upright tangent
            if isinstance(step, _Single):
                slopes[step.of] += slope * step.function.slope(values[step.of], values[step.target])
            else:
                x, y = values[step.left], values[step.right]
                over_left, over_right = step.operation.slopes(x, y, values[step.target])
                slopes[step.left] += slope * over_left
                slopes[step.right] += slope * over_right
        return values[self._result], slopes[: len(self.names)]

    def _run(self, inputs: Sequence[float]) -> list[float]:
        """All numbers on the way, the inputs first."""
        values = [*inputs, *self._numbers]
        try:
            for step in self._steps:
                if isinstance(step, _Single):
                    values[step.target] = step.function.value(values[step.of])
                else:
                    values[step.target] = step.operation.value(values[step.left], values[step.right])
        except (ArithmeticError, ValueError):
            raise _first_trouble(self._steps, values) from None
        if not all(map(math.isfinite, values)):
            raise _first_trouble(self._steps, values)
        return values


def _first_trouble(steps: Sequence[_Single | _Double], values: Sequence[float]) -> FormulaError:
    """What is wrong with the first step that has no result."""
    numbers = list(values)
    for step in steps:
        places = (step.of,) if isinstance(step, _Single) else (step.left, step.right)
        operands = [numbers[place] for place in places]
        try:
            if isinstance(step, _Single):
                number = step.function.value(*operands)
            else:
                number = step.operation.value(*operands)
        except (ArithmeticError, ValueError):
            number = math.nan
        if not math.isfinite(number):
            return _trouble(step.node, operands)
        numbers[step.target] = number
    return FormulaError("the formula has no value for these figures")


def _trouble(node: Node, operands: Sequence[float]) -> FormulaError:
    """What is wrong with a node that has no result for these numbers, in words."""
    x = operands[0]
    size = "zero" if x == 0.0 else f"a negative number ({x:.6g})" if x < 0.0 else f"{x:.6g}"
    said = f"`{excerpt(node)}` is too large to compute"
    match node:
        case Call(function="sqrt" | "log10" | "ln") if x <= 0.0:
            said = f"{node.function} of {size}"
        case Call(function="asin" | "acos") if abs(x) > 1.0:
            said = f"{node.function} of a number that is not between -1 and 1 ({x:.6g})"
        case Binary(sign="/") if operands[1] == 0.0:
            said = "division by zero"
            if not isinstance(node.right, Number):
                said += f": `{excerpt(node.right)}` is 0"
        case Binary(sign="^") if x == 0.0 or (x < 0.0 and not operands[1].is_integer()):
            said = f"{size} to the power {operands[1]:.6g}"
    where = "" if "`" in said else f" in `{excerpt(node)}`"
    return FormulaError(said + where, node.column)


class _Maker:
    """The numbers and steps so far; a place is an index into the list of numbers."""

    def __init__(self, inputs: tuple[str, ...]) -> None:
        self.places = {name: place for place, name in enumerate(inputs)}
        self.numbers: list[float] = []
        self.steps: list[_Single | _Double] = []
        self.known: dict[int, float] = {}

    def place(self, node: Node) -> int:
        """The place where the value of a node will stand."""
        match node:
            case Number():
                return self._number(node.value)
            case Constant():
                return self._number(CONSTANTS[node.id])
            case Name():
                return self.places[node.id]
            case Negative():
                return self._single(_MINUS, node.of, node)
            case Binary():
                return self._double(
                    OPERATIONS[node.sign], self.place(node.left), self.place(node.right), node
                )
            case Call(function=function) if function in FUNCTIONS:
                return self._single(FUNCTIONS[function], node.arguments[0], node)
            case Call():
                first, *others = map(self.place, node.arguments)
                for other in others:
                    first = self._double(OPERATIONS[node.function], first, other, node)
                return first

    def _single(self, function: Function, inner: Node, node: Node) -> int:
        of = self.place(inner)
        return self._stepped(_Single(function, of, self._next, node), (of,))

    def _double(self, operation: Operation, left: int, right: int, node: Node) -> int:
        if operation is OPERATIONS["/"] and self.known.get(right) == 0.0:
            raise _trouble(node, (0.0, 0.0))  # whatever stands above
        return self._stepped(_Double(operation, left, right, self._next, node), (left, right))

    def _stepped(self, step: _Single | _Double, operands: tuple[int, ...]) -> int:
        """The place of a step's result; a step from known numbers is taken at once."""
        if not all(place in self.known for place in operands):
            self.numbers.append(0.0)
            self.steps.append(step)
            return step.target
        numbers = [0.0] * len(self.places) + self.numbers + [0.0]
        program = Program((), tuple(numbers), (step,), step.target)
        return self._number(program.value(()))

    def _number(self, number: float) -> int:
        place = self._next
        self.numbers.append(number)
        self.known[place] = number
        return place

    @property
    def _next(self) -> int:
        return len(self.places) + len(self.numbers)


def compiled(node: Node) -> Program:
    """The code of a tree; raises FormulaError where a part without names has no value."""
    inputs = tuple(dict.fromkeys(name.id for name in names(node)))
    maker = _Maker(inputs)
    result = maker.place(node)
    return Program(inputs, tuple(maker.numbers), tuple(maker.steps), result)


def fixed(node: Node) -> float | None:
    """The value of a tree without names, None of one with names."""
    program = compiled(node)
    return None if program.names else program.value(())
