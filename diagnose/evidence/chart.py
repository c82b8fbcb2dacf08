"""The row of a rig's chart that applies under a condition."""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.model.knowledge import ChartRow


def row_of(rows: Iterable[ChartRow], quantity: str, mode: str, band: str) -> ChartRow | None:
    """The most specific row of a quantity (id on the rig); None where the chart says nothing.

    A row that names another mode or band does not apply. Where neither is given, the first row of the quantity.
    """
    best: ChartRow | None = None
    best_score = -1
    for row in rows:
        if row.quantity != quantity:
            continue
        if (mode and row.mode and row.mode != mode) or (band and row.band and row.band != band):
            continue
        score = 2 * (bool(mode) and row.mode == mode) + (bool(band) and row.band == band)
        if score > best_score:
            best, best_score = row, score
    return best
