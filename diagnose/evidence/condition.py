"""Under which condition, mode and band, a figure is asked for, and which of those that were had fits it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from diagnose.evidence.worked_out import Had


@dataclass(frozen=True)
class At:
    """What a figure is asked for: a condition, and the line voltage that what a good set shows is carried to.

    `mains` is in volts, None for the chart's. What the names `beside` in a formula were read as is not taken for what
    a good set shows.
    """

    mode: str = ""
    band: str = ""
    mains: float | None = None
    beside: frozenset[str] = field(default_factory=frozenset)


def best(found: Iterable[Had], mode: str, band: str) -> Had | None:
    """The figure that was read under this very condition, else one of which less is said; None for any other."""
    chosen: Had | None = None
    score = -1
    for had in found:
        if (had.mode and had.mode != mode) or (had.band and had.band != band):
            continue
        close = 2 * (had.mode == mode) + (had.band == band)
        if close > score:
            chosen, score = had, close
    return chosen


def may_be(mode: str, band: str, other_mode: str, other_band: str) -> bool:
    """Whether two conditions may be the same, where one says less than the other."""
    modes_meet = not mode or not other_mode or mode == other_mode
    return modes_meet and (not band or not other_band or band == other_band)
