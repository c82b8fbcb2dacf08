"""Random formulas, each with the same arithmetic in Python built beside it, independently of the parser."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

NAMES = ("a", "b2", "plate_volts")
Inputs = Mapping[str, Any]


@dataclass(frozen=True)
class Sample:
    """A text and what it means: `compute(inputs, functions)`; `functions` gives those named by the language."""

    text: str
    compute: Callable[[Inputs, Mapping[str, Callable[..., Any]]], Any]

    def __repr__(self) -> str:
        return self.text


def _real(number: float | complex) -> float:
    """Python goes on with infinities, and from a root of a negative number with complex ones; a formula does not."""
    if isinstance(number, complex) or not math.isfinite(number):
        raise ArithmeticError(number)
    return number


PLAIN: Mapping[str, Callable[..., Any]] = {
    "sqrt": math.sqrt,
    "abs": abs,
    "log10": math.log10,
    "ln": math.log,
    "exp": math.exp,
    "sin": math.sin,
    "cos": math.cos,
    "tan": math.tan,
    "asin": math.asin,
    "acos": math.acos,
    "atan": math.atan,
    "min": min,
    "max": max,
    "checked": _real,
}
FUNCTIONS = tuple(name for name in PLAIN if name not in ("min", "max", "checked"))


def _number(text: str) -> Sample:
    return Sample(text, lambda _inputs, _functions: float(text))


def _named(name: str) -> Sample:
    return Sample(name, lambda inputs, _: inputs[name])


PI = Sample("pi", lambda *_: math.pi)
numbers = st.one_of(
    st.integers(0, 1000).map(str),
    st.floats(0.001, 1000).map(lambda x: f"{x:.4f}"),
    st.floats(1e-5, 1e5).map(lambda x: f"{x:.3e}"),
    st.sampled_from([".5", "2.", "1e3", "1E-3", "1.5e+2"]),
).map(_number)
leaves = st.one_of(numbers, st.sampled_from(NAMES).map(_named), st.just(PI))


def _binary(sign: str, left: Sample, right: Sample) -> Sample:
    operate: Mapping[str, Callable[[Any, Any], Any]] = {
        "+": lambda x, y: x + y,
        "-": lambda x, y: x - y,
        "*": lambda x, y: x * y,
        "/": lambda x, y: x / y,
        "^": lambda x, y: x**y,
    }
    compute = operate[sign]
    return Sample(
        f"({left.text}){sign}({right.text})",
        lambda inputs, functions: functions["checked"](
            compute(left.compute(inputs, functions), right.compute(inputs, functions))
        ),
    )


def _called(function: str, *arguments: Sample) -> Sample:
    text = ",".join(argument.text for argument in arguments)
    return Sample(
        f"{function}({text})",
        lambda inputs, functions: functions[function](*(a.compute(inputs, functions) for a in arguments)),
    )


def _negative(inner: Sample) -> Sample:
    return Sample(f"-({inner.text})", lambda inputs, functions: -inner.compute(inputs, functions))


def samples(functions: tuple[str, ...] = FUNCTIONS, several: tuple[str, ...] = ("min", "max")) -> Any:
    """Formulas of all signs, of `functions` of one argument and of those of `several`."""

    def grown(inner: st.SearchStrategy[Sample]) -> st.SearchStrategy[Sample]:
        kinds = [
            st.builds(_binary, st.sampled_from("+-*/^"), inner, inner),
            st.builds(_called, st.sampled_from(functions), inner),
            st.builds(_negative, inner),
        ]
        if several:
            kinds.append(st.builds(_called, st.sampled_from(several), inner, inner, inner))
        return st.one_of(kinds)

    return st.recursive(leaves, grown, max_leaves=12)
