"""A formula of a rule file, read and checked; nothing in it can run code, loop or grow."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.formula.bound import Bound
from diagnose.formula.dimension import Dimension, dimension_of
from diagnose.formula.errors import FormulaError
from diagnose.formula.parse import parse
from diagnose.formula.program import Program, compiled
from diagnose.formula.tree import Node, names
from diagnose.formula.written import written
from diagnose.units import UnitError


@dataclass(frozen=True, slots=True)
class Formula:
    """A formula as written and what it says; two are equal that say the same."""

    text: str = field(compare=False)
    root: Node
    program: Program = field(compare=False, repr=False)

    def __str__(self) -> str:
        """The normalised text; reading it gives an equal formula."""
        return written(self.root)

    def __reduce__(self) -> tuple[object, ...]:
        # read anew in another process: code does not travel
        return parse_formula, (self.text,)

    @property
    def names(self) -> tuple[str, ...]:
        """The names that want a figure, in order of appearance."""
        return self.program.names

    def dimension(self, units: Mapping[str, str]) -> Dimension:
        """The dimension of the result when the names are in `units`.

        Raises FormulaError with the column where a name has no unit, or where the parts do not go
        together: volts added to amperes, the sine of a voltage, an exponent that is no number. Numbers are plain
        ones, a nought is of every dimension; an angle and a level in decibels are plain numbers here.
        """
        for name in names(self.root):
            if name.id not in units:
                close = difflib.get_close_matches(name.id, units, n=1)
                hint = (
                    f"did you mean {close[0]}?" if close else f"known here: {', '.join(units) or 'no name'}"
                )
                raise FormulaError(f"`{name.id}` is not known here", name.column, hint)
        return dimension_of(self.root, units)

    def check(self, units: Mapping[str, str], result_unit: str) -> None:
        """Raises FormulaError unless the result is of the dimension of `result_unit`; see `dimension`."""
        found = self.dimension(units)
        try:
            wanted = Dimension.of(result_unit)
        except UnitError as error:
            raise FormulaError(error.text, 1, error.hint) from error
        if found != wanted:
            unit = f" ({result_unit})" if result_unit else ""
            said = f"the formula gives {found}, but {wanted}{unit} is wanted"
            used = ", ".join(f"{name} in {units[name] or 'plain numbers'}" for name in self.names)
            raise FormulaError(said, 1, f"with {used}" if used else "")

    def bound(self, units: Mapping[str, str], result_unit: str) -> Bound:
        """The formula for figures in `units`, with its result in `result_unit`; raises as `check`."""
        self.check(units, result_unit)
        return Bound.made(self.root, {name: units[name] for name in self.names}, result_unit)


def parse_formula(text: str) -> Formula:
    """The formula that a text says; raises FormulaError with column and hint for anything else.

    Numbers, names (small letters, digits, underscores), `pi`, + - * / ^, brackets, and the functions
    sqrt abs log10 ln exp sin cos tan asin acos atan of one argument, min and max of several. Angles
    are in radians. A part without names that has no value (9^9^9^9, 1/0) is refused here.
    """
    root = parse(text)
    return Formula(text, root, compiled(root))
