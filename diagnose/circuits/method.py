"""How an expected value is computed: what a method wants, what it gives and how far it may be believed.

A rule file names a method by its id and says where each argument comes from; here is only the physics.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

Value = float | str


class CannotCompute(ValueError):
    """The figures given do not make a working circuit; the text says why, for the person."""


@dataclass(frozen=True)
class Argument:
    """One figure that a method wants: in SI base units of `unit`, or one of `words`.

    An optional argument that is not given takes `default`.
    """

    title: str
    unit: str = ""
    words: tuple[str, ...] = ()
    optional: bool = False
    default: Value | None = None


@dataclass(frozen=True)
class Result:
    """One figure that a method gives, with its relative standard uncertainty (0.05 is 5 %)."""

    title: str
    unit: str
    within: float


@dataclass(frozen=True)
class Method:
    """A way to compute expected values from parts. `run` raises CannotCompute."""

    id: str
    title: str
    says: str  # how it computes, in one sentence, with the source of the formula
    arguments: Mapping[str, Argument]
    results: Mapping[str, Result]
    run: Callable[[Mapping[str, Value]], Mapping[str, float]]
