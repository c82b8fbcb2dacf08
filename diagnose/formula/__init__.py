"""The small language in which rule files say how a quantity follows from others."""

from diagnose.formula.bound import Bound
from diagnose.formula.dimension import Dimension
from diagnose.formula.errors import FormulaError
from diagnose.formula.formula import Formula, parse_formula

__all__ = ["Bound", "Dimension", "Formula", "FormulaError", "parse_formula"]
