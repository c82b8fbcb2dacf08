"""The value and the slopes of any formula, against Python's own arithmetic on the same tree."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Mapping
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.formula import FormulaError, parse_formula
from diagnose.formula.program import Program
from tests.formula.trees import FUNCTIONS, NAMES, PLAIN, Sample, samples

figures = st.fixed_dictionaries({name: st.floats(-5, 5, allow_subnormal=False) for name in NAMES})
positive = st.fixed_dictionaries({name: st.floats(0.1, 3) for name in NAMES})

# Of a complex number, for the slope by a step along the imaginary axis, which loses no digits
# (Squire and Trapp, Using complex variables to estimate derivatives of real functions, 1998).
COMPLEX: Mapping[str, Callable[..., Any]] = {
    name: getattr(cmath, {"ln": "log"}.get(name, name)) for name in FUNCTIONS if name != "abs"
} | {"checked": lambda number: number}
STEP = 1e-30


def program_of(sample: Sample) -> Program:
    return parse_formula(sample.text).program


def ours(sample: Sample, inputs: Mapping[str, float]) -> float | None:
    """The value, None where the formula is refused, at once or for these figures."""
    try:
        program = program_of(sample)
        return program.value([inputs[name] for name in program.names])
    except FormulaError:
        return None


def theirs(sample: Sample, inputs: Mapping[str, float]) -> float | None:
    """The value in Python, None where that has none that is real and finite."""
    try:
        value = sample.compute(inputs, PLAIN)
    except (ArithmeticError, ValueError):
        return None
    return float(value) if math.isfinite(value) else None


@given(samples(), figures)
def test_values_are_those_of_python(sample: Sample, inputs: Mapping[str, float]) -> None:
    """To the last digit, and without a value where Python has none."""
    assert ours(sample, inputs) == theirs(sample, inputs)


@given(samples(tuple(name for name in FUNCTIONS if name != "abs"), ()), positive)
def test_slopes_are_those_of_a_step_along_the_imaginary_axis(
    sample: Sample, inputs: Mapping[str, float]
) -> None:
    """Over every name at once, for any formula that is smooth where it stands."""
    value = ours(sample, inputs)
    assume(value is not None and abs(value) < 1e6)
    program = program_of(sample)
    _, slopes = program.slopes([inputs[name] for name in program.names])
    for name, slope in zip(program.names, slopes, strict=True):
        assume(abs(slope) < 1e6)
        stepped = sample.compute({**inputs, name: complex(inputs[name], STEP)}, COMPLEX)
        assume(abs(stepped.real - value) < 1e-6)  # not over a cut, where Python takes another branch
        assert slope == pytest.approx(stepped.imag / STEP, rel=1e-6, abs=1e-6)


@given(samples(), figures)
def test_values_and_slopes_come_from_the_same_numbers(sample: Sample, inputs: Mapping[str, float]) -> None:
    """The value beside the slopes is the value."""
    value = ours(sample, inputs)
    assume(value is not None)
    program = program_of(sample)
    assert program.slopes([inputs[name] for name in program.names])[0] == value


@pytest.mark.parametrize(
    ("text", "inputs", "slopes"),
    [
        ("a * a", [3.0], [6.0]),
        ("abs(a)", [-2.0], [-1.0]),
        ("max(a, b, 2)", [3.0, 4.0], [0.0, 1.0]),
        ("min(a, b)", [3.0, 3.0], [1.0, 0.0]),
        ("a", [5.0], [1.0]),
        ("a * 0 + sqrt(b)", [5.0, 4.0], [0.0, 0.25]),
        ("0 * sqrt(b)", [0.0], [0.0]),  # the upright tangent counts for nothing
        ("sqrt(b)", [0.0], [math.inf]),
        ("b^0.5", [0.0], [math.inf]),
        ("b^0", [0.0], [0.0]),
        ("b^1", [0.0], [1.0]),
        ("a^3", [-2.0], [12.0]),
    ],
)
def test_slopes_at_corners_and_edges(text: str, inputs: list[float], slopes: list[float]) -> None:
    """By hand, where a derivative has a corner, an end or an upright tangent."""
    assert parse_formula(text).program.slopes(inputs)[1] == slopes


def test_what_is_known_beforehand_is_worked_out_once() -> None:
    """2 * pi is one number; only the steps that depend on a name are left."""
    assert len(parse_formula("2 * pi * f * sqrt(4 * 9)").program._steps) == 2
