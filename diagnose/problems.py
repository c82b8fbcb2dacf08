"""Faults of the input as values: where, how bad, what, and what to do about it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

ERROR = "error"
WARNING = "warning"
NOTE = "note"

_ORDER = {ERROR: 0, WARNING: 1, NOTE: 2}


@dataclass(frozen=True, order=True)
class Place:
    """A position in a file; line and column count from 1, 0 where there is none."""

    file: str
    line: int = 0
    column: int = 0

    def __str__(self) -> str:
        if not self.line:
            return self.file
        return f"{self.file}:{self.line}:{self.column}"


NOWHERE = Place("")


@dataclass(frozen=True)
class Problem:
    """One fault of the input, in one sentence, with at most one suggestion."""

    place: Place
    level: str
    id: str
    text: str
    suggestion: str = ""

    def __str__(self) -> str:
        where = f"{self.place}: " if self.place.file else ""
        hint = f" ({self.suggestion})" if self.suggestion else ""
        return f"{where}{self.level}: {self.text}{hint}"


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """The problems in file order, each said once."""
    unique = dict.fromkeys(problems)
    return tuple(sorted(unique, key=lambda p: (p.place, _ORDER.get(p.level, 3), p.id, p.text)))


def errors(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Only those that make the input unusable."""
    return tuple(p for p in problems if p.level == ERROR)


@dataclass
class Unusable(Exception):
    """The program cannot go on with this input; `problems` says why."""

    what: str
    problems: tuple[Problem, ...] = field(default=())

    def __str__(self) -> str:
        lines = [self.what, *(str(p) for p in self.problems)]
        return "\n".join(lines)
