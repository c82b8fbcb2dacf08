"""What a good set would show: the rig's chart, by the conditions of the reading."""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import ChartRow


def chart_row(rows: Iterable[ChartRow], observation: Observation, case: Case) -> ChartRow | None:
    """The most specific row for this reading; None where the chart says nothing.

    A row that names another mode or band does not apply; a reading without mode or band takes the
    case's, and where neither says anything, the first row of the quantity.
    """
    mode = observation.mode or case.mode
    band = observation.band or case.band
    best: ChartRow | None = None
    best_score = -1
    for row in rows:
        if row.quantity != observation.name:
            continue
        if (mode and row.mode and row.mode != mode) or (band and row.band and row.band != band):
            continue
        score = 2 * (bool(mode) and row.mode == mode) + (bool(band) and row.band == band)
        if score > best_score:
            best, best_score = row, score
    return best


def at_chart_mains(value: float, mains: float | None, chart_mains: float, follows: float) -> float:
    """A reading carried to the mains of the chart: it follows the line voltage to a power."""
    if mains is None or mains <= 0 or chart_mains <= 0:
        return value
    return float(value / (mains / chart_mains) ** follows)


def mains_widening(mains: float | None, chart_mains: float, follows: float) -> float:
    """Relative standard uncertainty that carrying to the chart's mains adds.

    A fifth of the correction: the exponent is a rule of thumb, not a property of this set.
    """
    if mains is None or mains <= 0 or chart_mains <= 0:
        return 0.0
    return 0.2 * abs(follows) * abs(mains / chart_mains - 1.0)
