"""A formula with the units of its names and of its result: figures in, a figure out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeVar

from diagnose.formula.errors import FormulaError
from diagnose.formula.program import Program, compiled
from diagnose.formula.tree import Node, names
from diagnose.formula.written import with_figures, with_unit
from diagnose.uncertain import Uncertain, propagated
from diagnose.units import factor

Figure = TypeVar("Figure", float, Uncertain)


@dataclass(frozen=True, slots=True, eq=False)
class Bound:
    """A formula that takes each name in its own unit and gives its result in another.

    Everything raises FormulaError where a figure is missing or not finite, or where the formula has no
    value for them ("sqrt of a negative number (-3)"), with the figures in the hint.
    """

    root: Node
    units: Mapping[str, str]
    result_unit: str
    _program: Program
    _factors: tuple[float, ...]
    _result_factor: float

    @classmethod
    def made(cls, root: Node, units: Mapping[str, str], result_unit: str) -> Bound:
        """The formula with its factors to SI looked up; the dimensions have been checked before."""
        program = compiled(root)
        factors = tuple(factor(units[name])[1] for name in program.names)
        return cls(root, MappingProxyType(dict(units)), result_unit, program, factors, factor(result_unit)[1])

    def __reduce__(self) -> tuple[object, ...]:
        # made anew in another process: code does not travel
        return Bound.made, (self.root, dict(self.units), self.result_unit)

    def value(self, inputs: Mapping[str, float]) -> float:
        """The result in its unit, for one figure per name in the name's unit."""
        return self._value([self._input(name, inputs) for name in self._program.names])

    def uncertain(self, inputs: Mapping[str, Uncertain]) -> Uncertain:
        """The result in its unit with its uncertainty, for one figure per name in the name's unit.

        First order (GUM 5.1.2, and 5.2.2 for shared sources), with slopes worked out and not estimated. Where a
        slope has no end (the root of a reading of zero), the result is worked out anew one standard
        uncertainty away instead, source by source, after GUM 5.1.3, note 2.
        """
        terms = [self._input(name, inputs) for name in self._program.names]
        figures = [term.value for term in terms]
        try:
            result, slopes = self._program.slopes(self._to_si(figures))
        except FormulaError as error:
            raise self._with_figures(error, figures) from None
        ratios = (mine / self._result_factor for mine in self._factors)
        own = [slope * ratio for slope, ratio in zip(slopes, ratios, strict=True)]
        value = self._finished(result, figures)
        straight = all(math.isfinite(slope) or not term.parts for slope, term in zip(own, terms, strict=True))
        try:
            if straight:
                return propagated(value, zip(own, terms, strict=True))
            return Uncertain(value, self._spans(value, figures, terms))
        except ValueError:
            raise self._with_figures(
                FormulaError("the uncertainty is too large to compute"), figures
            ) from None

    def shown(self, inputs: Mapping[str, float]) -> str:
        """The arithmetic with its figures: `600 V x (145 mA - 11 mA - 3 mA) = 78.6 W`."""
        result = self.value(inputs)
        text = with_figures(self.root, lambda name: (inputs[name], self.units[name]))
        return f"{text} = {with_unit(result, self.result_unit)}"

    def _value(self, figures: Sequence[float]) -> float:
        try:
            result = self._program.value(self._to_si(figures))
        except FormulaError as error:
            raise self._with_figures(error, figures) from None
        return self._finished(result, figures)

    def _spans(self, result: float, figures: Sequence[float], terms: Sequence[Uncertain]) -> dict[str, float]:
        """For each source, how far the result moves when it moves by one standard uncertainty.

        The larger of the two ways is taken, where the guide takes their mean: at the lowest point of a
        root they would cancel. A way that leads where there is no value (negative power) does not count.
        """
        parts = {}
        for source in dict.fromkeys(source for term in terms for source in term.parts):
            steps = [term.parts.get(source, 0.0) for term in terms]
            ways = []
            for sign in (1.0, -1.0):
                moved = [figure + sign * step for figure, step in zip(figures, steps, strict=True)]
                with suppress(FormulaError):
                    ways.append(sign * (self._value(moved) - result))
            parts[source] = max(ways, key=abs, default=math.inf)
        return parts

    def _input(self, name: str, inputs: Mapping[str, Figure]) -> Figure:
        if name not in inputs:
            raise FormulaError(f"there is no figure for `{name}`", self._column(name))
        return inputs[name]

    def _to_si(self, figures: Sequence[float]) -> list[float]:
        numbers = [figure * mine for figure, mine in zip(figures, self._factors, strict=True)]
        if not all(map(math.isfinite, numbers)):
            for name, number in zip(self._program.names, numbers, strict=True):
                if not math.isfinite(number):
                    raise FormulaError(f"the figure for `{name}` is not a usable number", self._column(name))
        return numbers

    def _finished(self, result: float, figures: Sequence[float]) -> float:
        """A result in SI units as one in the result's unit."""
        scaled = result / self._result_factor
        if not math.isfinite(scaled):
            said = f"the result is too large to compute in {self.result_unit}"
            raise self._with_figures(FormulaError(said), figures)
        return scaled

    def _with_figures(self, error: FormulaError, figures: Sequence[float]) -> FormulaError:
        """The same fault with the figures that brought it about."""
        used = zip(self._program.names, figures, strict=True)
        listed = ", ".join(f"{name} = {with_unit(figure, self.units[name])}" for name, figure in used)
        return FormulaError(error.text, error.column, error.hint or f"with {listed}")

    def _column(self, name: str) -> int:
        return next(node.column for node in names(self.root) if node.id == name)
