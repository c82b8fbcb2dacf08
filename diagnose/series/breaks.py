"""Jumps and misread figures in a drift log, told from smooth drift and from scatter.

A jump is a step that stays, a misread figure one reading that stands alone. Both are columns beside a smooth
curve that is laid through the log: a constant, a slope and the two exponentials that fit best, for a tube
warms up sooner than its box, and a warm-up that is no single exponential must not be taken for jumps. The column that
explains most is added, then the next, as long as every one of them stands out by Student's t against its chance
of doing so somewhere in a log of pure scatter. Last, a jump must stand out against the movements of the log
elsewhere over as many readings, which a frequency that wanders does not grant.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.series.log import Array
from diagnose.series.projection import least_squares, orthonormal, without
from diagnose.series.smooth import SmoothCurve
from diagnose.series.student import two_sided

FEWEST_FOR_JUMPS = 8  # readings: four for the smooth curve, two for a jump, two to be wrong by
FALSE_ALARM = 0.002  # chance that a log of pure scatter shows any jump or misread figure
HOPELESS = 5.0  # expected false alarms from which no further break is looked for behind this one
MOVEMENTS = 6.0  # a jump is so many times the usual movement of the log over as many readings
READINGS_BESIDE = 5  # readings on either side that the local test compares
DIGITS = 1.5  # last digits that a jump must exceed
FIRST = 3  # readings at the start, where a break is hardly told from the quick part of a warm-up
LOOKAHEAD = 3  # columns tried together, for one jump may hide another
MOST_BREAKS = 24
LONG_GAP = 4.0  # times those beside it: a step across such a pause may have been a drift


@dataclass(frozen=True)
class Breaks:
    """`jumps`: numbers of the readings before which the frequency steps. `misread`: readings that stand alone.

    `across_gaps`: steps over a long pause, which may have been drift. `least` (Hz): the smallest jump that
    would have been found; None where there are too few readings to look for any.
    """

    jumps: tuple[int, ...] = ()
    across_gaps: tuple[int, ...] = ()
    misread: tuple[int, ...] = ()
    least: float | None = None


@dataclass(frozen=True)
class _Item:
    reading: int
    stays: bool  # a jump; else one misread figure

    def column(self, count: int) -> Array:
        places = np.arange(count)
        return (places >= self.reading if self.stays else places == self.reading).astype(np.float64)


def find_breaks(
    time: Array, hertz: Array, beside: Sequence[Array], floor: float, resolution: float
) -> Breaks:
    """The breaks of a log: `time` (s) from 0, `hertz` about their middle, `beside` what else moves them.

    `floor` (Hz) is the least scatter that is believed, `resolution` (Hz) the last digit.
    """
    if len(time) < FEWEST_FOR_JUMPS:
        return Breaks()
    curve = SmoothCurve(time, hertz, beside)
    items = _search(time, hertz, curve, floor)
    smooth = curve.through(_columns(items, len(hertz)))
    local = _Local(hertz, smooth, items, floor)
    kept = local.kept(DIGITS * resolution)
    pauses = _pauses(time)
    kept += _over_pauses(
        hertz,
        curve.stiff(_columns(kept, len(hertz))),
        [p for p in pauses if _Item(p, stays=True) not in kept],
        floor,
    )
    jumps = {item.reading for item in kept if item.stays}
    return Breaks(
        jumps=tuple(sorted(jumps - pauses)),
        across_gaps=tuple(sorted(jumps & pauses)),
        misread=tuple(sorted(item.reading for item in kept if not item.stays)),
        least=max(local.least, DIGITS * resolution, _least(hertz, smooth, kept, floor)),
    )


def _pauses(time: Array) -> set[int]:
    """The readings before which nobody looked for much longer than before and after."""
    gaps = np.diff(time)
    return {
        place + 1
        for place in range(1, len(gaps) - 1)
        if gaps[place] > LONG_GAP * max(gaps[place - 1], gaps[place + 1])
    }


def _over_pauses(hertz: Array, stiff: Array, pauses: Sequence[int], floor: float) -> list[_Item]:
    """The pauses over which one exponential and a slope cannot carry the log.

    The smooth curve bends too freely where there are no readings to hold it.
    """
    items = [_Item(place, stays=True) for place in sorted(pauses)]
    if not items or len(hertz) - stiff.shape[1] - len(items) < 2:
        return []
    sizes, deviations, freedom = _sizes(hertz, stiff, items, floor)
    chance = FALSE_ALARM / (2.0 * len(hertz))
    found = zip(items, np.abs(sizes) / deviations, strict=True)
    return [item for item, t in found if two_sided(float(t), freedom) < chance]


def _search(time: Array, hertz: Array, curve: SmoothCurve, floor: float) -> list[_Item]:
    """The breaks that stand out all together, the largest first."""
    items: list[_Item] = []
    found = 0
    limit = min(MOST_BREAKS, len(time) // 4)
    smooth = curve.through(_columns(items, len(hertz)))
    while len(items) < limit and len(time) - smooth.shape[1] - len(items) - 1 >= 2:
        best = _largest(time, hertz, smooth, items)
        if best is None:
            break
        items.append(best)
        smooth = curve.through(_columns(items, len(hertz)))
        least = _least_chance(hertz, smooth, items, floor) * 2.0 * len(hertz)  # at any reading, step or alone
        if least < FALSE_ALARM:
            found = len(items)
        elif least > HOPELESS or len(items) - found >= LOOKAHEAD:
            break
    return items[:found]


def _largest(time: Array, hertz: Array, smooth: Array, items: Sequence[_Item]) -> _Item | None:
    """The break that takes most from the sum of squares, beside those there are.

    For a column h beside the orthonormal Q: (h.r)^2 / (h.h - |Q'h|^2). The sums over a step's column are
    sums from the end, so that all places cost as much as one.
    """
    basis = _with_items(smooth, items)
    rest = without(basis, hertz)
    count = len(hertz)
    alone = 1.0 - np.sum(basis**2, axis=1)
    single = np.where(alone > 0.05, rest**2 / np.maximum(alone, 0.05), 0.0)
    single[:FIRST][~_spikes(hertz)] = 0.0
    steps = np.zeros(count)
    inner = np.arange(FIRST, count - 1)  # two readings at least after it
    after = np.cumsum(rest[::-1])[::-1][inner]
    covered = np.sum(np.cumsum(basis[::-1], axis=0)[::-1][inner] ** 2, axis=1)
    free = (count - inner) - covered
    apart = (free > 0.02 * np.minimum(inner, count - inner)) & (np.diff(time)[inner - 1] > 0.0)
    steps[inner] = np.where(apart, after**2 / np.maximum(free, 1e-9), 0.0)
    for item in items:
        (steps if item.stays else single)[item.reading] = 0.0
    step, one = int(np.argmax(steps)), int(np.argmax(single))
    if max(steps[step], single[one]) <= 0.0:
        return None
    return _Item(step, stays=True) if steps[step] > single[one] else _Item(one, stays=False)


def _spikes(hertz: Array) -> NDArray[np.bool_]:
    """Which of the first readings stand out on one side of both neighbours by more than all others range."""
    spikes = np.zeros(FIRST, dtype=np.bool_)
    for place in range(1, FIRST):
        ways = hertz[place] - hertz[[place - 1, place + 1]]
        others = float(np.ptp(np.delete(hertz, place)))
        spikes[place] = ways[0] * ways[1] > 0.0 and float(np.abs(ways).min()) > others
    return spikes


def _with_items(smooth: Array, items: Sequence[_Item]) -> Array:
    if not items:
        return smooth
    return orthonormal(_columns(items, len(smooth)), smooth)


def _columns(items: Sequence[_Item], count: int) -> Array:
    return np.stack([item.column(count) for item in items], axis=1) if items else np.empty((count, 0))


def _least_chance(hertz: Array, smooth: Array, items: Sequence[_Item], floor: float) -> float:
    """How often scatter alone makes as much of one reading as of the least certain of the breaks."""
    sizes, deviations, freedom = _sizes(hertz, smooth, items, floor)
    return max(two_sided(t, freedom) for t in np.abs(sizes) / deviations)


def _sizes(hertz: Array, smooth: Array, items: Sequence[_Item], floor: float) -> tuple[Array, Array, int]:
    """Sizes of the breaks by least squares, their standard deviations, and the degrees of freedom left."""
    columns, rest = without(smooth, _columns(items, len(hertz))), without(smooth, hertz)
    sizes, inverse = least_squares(columns, rest)
    freedom = len(hertz) - smooth.shape[1] - len(items)
    left = rest - columns @ sizes
    scatter = max(float(left @ left) / freedom, floor**2)
    return sizes, np.sqrt(scatter * np.maximum(np.diag(inverse), 1e-12)), freedom


class _Local:
    """The movements of a log about its smooth curve: what a break has to stand out from where it is."""

    def __init__(self, hertz: Array, smooth: Array, items: Sequence[_Item], floor: float) -> None:
        self._floor = floor
        sizes = _sizes(hertz, smooth, items, floor)[0] if items else ()
        self._sizes = dict(zip(items, sizes, strict=True))
        self._bare = without(_with_items(smooth, items), hertz)  # the breaks taken out
        single = {item.reading for item in items if not item.stays}
        self._read = np.array([place for place in range(len(hertz)) if place not in single])
        self._beside = max(1, min(READINGS_BESIDE, len(self._read) // 6))
        self.least = self._usual(self._bare, self._beside)

    def kept(self, digits: float) -> list[_Item]:
        """The breaks that exceed what the log does elsewhere, and `digits` (Hz) of its last digit."""
        kept: list[_Item] = []
        rest = self._bare + sum(size * item.column(len(self._bare)) for item, size in self._sizes.items())
        for item in sorted(self._sizes, key=lambda item: -abs(self._sizes[item])):
            size = self._sizes[item]
            left = rest - size * item.column(len(rest))
            if abs(size) > digits and (
                self._stands_out(item, rest, rest, 1) or self._stands_out(item, rest, left, self._beside)
            ):
                kept.append(item)
                rest = left
        return kept

    def _stands_out(self, item: _Item, seen: Array, elsewhere: Array, width: int) -> bool:
        """Whether a break moves the log more than it moves over `width` readings by itself."""
        size = abs(self._sizes[item])
        if item.stays:
            rest = seen[self._read]
            place = int(np.searchsorted(self._read, item.reading))
            width = min(width, place, len(rest) - place)
            size = abs(float(rest[place : place + width].mean() - rest[place - width : place].mean()))
        return bool(size > self._usual(elsewhere, width))

    def _usual(self, rest: Array, width: int) -> float:
        """What a movement over `width` readings must exceed, from the median of those there are."""
        sums = np.concatenate([[0.0], np.cumsum(rest[self._read])])
        means = (sums[width:] - sums[:-width]) / width
        movements = np.abs(means[width:] - means[:-width])
        least = self._floor * math.sqrt(2.0 / width)
        return MOVEMENTS * max(1.4826 * float(np.median(movements)), least)


def _least(hertz: Array, smooth: Array, items: Sequence[_Item], floor: float) -> float:
    """The smallest step (Hz) in the midst of the log that Student's t would let pass."""
    count = len(hertz)
    middle = _Item(count // 2, stays=True)
    others = [item for item in items if item != middle]
    _, deviations, freedom = _sizes(hertz, smooth, [*others, middle], floor)
    low, high = 1.0, 1e6
    for _ in range(30):
        t = math.sqrt(low * high)
        low, high = (t, high) if two_sided(t, freedom) > FALSE_ALARM / (2.0 * count) else (low, t)
    return float(high * deviations[-1])
