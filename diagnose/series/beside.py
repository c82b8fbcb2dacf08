"""What was read beside the frequency, line voltage and temperature: whether it can be used, and what it explains."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from diagnose.series.log import Array, Log
from diagnose.series.projection import orthonormal, without
from diagnose.series.student import two_sided

STILL = 0.002  # of itself: a line voltage that moves less says nothing
STILL_DEGREES = 0.5
FEWEST_BESIDE = 6  # readings from which a column beside the frequency is afforded
OWN = 0.05  # part of a column's movement that must not go with time


@dataclass(frozen=True)
class Correlation:
    """How closely the frequency goes with the line voltage, all else taken out.

    `coefficient` from -1 to 1; `chance`: how often scatter alone would show as much (Student's t).
    """

    coefficient: float
    chance: float


@dataclass(frozen=True, eq=False)
class Column:
    """One thing read beside the frequency, about its mean."""

    class Of(Enum):
        """What it is."""

        MAINS = "line voltage"
        TEMPERATURE = "temperature"

    what: Column.Of
    values: Array


_WITH_TIME = {
    Column.Of.MAINS: "its part is in the warm-up and the residual drift",
    Column.Of.TEMPERATURE: "its coefficient holds the warm-up as well",
}


@dataclass(frozen=True, eq=False)
class Beside:
    """The usable columns, those that move with time alone, and sentences about what cannot be told."""

    columns: tuple[Column, ...]
    with_time: tuple[Column, ...]
    notes: tuple[str, ...]


def columns_beside(log: Log) -> Beside:
    """The columns that can be told from time itself, and what of the others."""
    columns: list[Column] = []
    with_time: list[Column] = []
    notes: list[str] = []
    for what, values, still in (
        (Column.Of.MAINS, log.mains, STILL * float(np.mean(log.mains)) if log.mains is not None else 0.0),
        (Column.Of.TEMPERATURE, log.temperature, STILL_DEGREES),
    ):
        why = _unusable(log, what, values, still, columns)
        if why:
            notes.append(why)
        elif values is not None:
            column = Column(what, values - values.mean())
            if _goes_with_time(log, column, columns):
                with_time.append(column)
                notes.append(f"the {what.value} moved with time alone: {_WITH_TIME[what]}")
            else:
                columns.append(column)
    if log.filled:
        notes.append(
            f"{log.filled} figures beside the frequency were not read: their neighbours stand for them"
        )
    return Beside(tuple(columns), tuple(with_time), tuple(notes))


def _unusable(
    log: Log, what: Column.Of, values: Array | None, still: float, columns: Sequence[Column]
) -> str:
    """Why a column cannot be used; "" if it can."""
    if values is None:
        return "no line voltage in the log: its part is not told" if what is Column.Of.MAINS else ""
    if float(np.ptp(values)) <= still:
        return f"the {what.value} hardly moved: its part is not told"
    if len(log) < FEWEST_BESIDE + len(columns):
        return f"{len(log)} readings are too few to tell the part of the {what.value}"
    return ""


def _goes_with_time(log: Log, column: Column, columns: Sequence[Column]) -> bool:
    """Whether a smooth curve over time accounts for nearly all movement of a column."""
    smooth = [np.ones(len(log)), log.time / log.span, np.exp(-3.0 * log.time / log.span)]
    smooth += [np.exp(-12.0 * log.time / log.span)] if len(log) >= 2 * FEWEST_BESIDE else []
    smooth += [other.values for other in columns]
    own = without(orthonormal(np.stack(smooth, axis=1)), column.values)
    return float(own @ own) < OWN * float(column.values @ column.values)


def correlation(hertz: Array, values: Array, rest: Array, share: float) -> Correlation:
    """Partial correlation of two columns with the columns of `rest` taken out of both.

    `share`: the part of the readings that count as independent.
    """
    basis = orthonormal(rest)
    one, other = without(basis, hertz), without(basis, values)
    size = math.sqrt(float(one @ one) * float(other @ other))
    freedom = share * len(hertz) - rest.shape[1] - 1
    if size <= 0.0 or freedom < 1.0:
        return Correlation(0.0, 1.0)
    r = max(-1.0, min(1.0, float(one @ other) / size))
    t = r * math.sqrt(freedom / max(1e-300, 1.0 - r * r)) if abs(r) < 1.0 else math.inf
    return Correlation(r, two_sided(t, freedom))
