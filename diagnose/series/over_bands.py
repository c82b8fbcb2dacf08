"""Readings of one quantity over the bands: how well each shape explains them.

For every band, in order of frequency, the ratio of the reading to its expected value. A shape says where the
ratio departs from 1 and leaves open by how much:

    all       every band alike at the size a
    falling   from 1 at the lowest band to a at the highest, straight, late or early
    one_band  a on one band, no matter which
    above     a on all bands from one upward

In every shape a band reads m_b = (1 + c) alpha_b + a beta_b, with c the deviation that a good set has on all its
bands alike, a even over the shape's declared range, and a scatter from band to band on top of the
reading's own uncertainty. With S the covariance of both, r - alpha = a beta + noise, and

    p(r | shape) = mean over places of the integral over a of N(r; alpha + a beta, S) / (high - low)

which is closed: a normal density in a times the normal distribution between two bounds. (Pearl, Probabilistic
Reasoning in Intelligent Systems, 1988, 2.2.2, on virtual evidence; MacKay, Information Theory, Inference, and
Learning Algorithms, 2003, chapter 28, on integrating over the size.) Sizes above 1 make the same shapes upward.

A rule file binds a pattern's states to shapes; its good state is the even one, which needs no entry:

    drive_over_bands:
      over_bands:
        quantity: output
        spread: 12 %                       # from band to band in a good set
        shapes:
          all_bands: {kind: all, size: [0.05, 0.75]}
          dead: {kind: all, size: [0, 0.05]}
          falling: {kind: falling, size: [0.05, 0.75]}
          one_band: {kind: one_band, size: [0, 0.75]}
          above_one: {kind: above, size: [0, 0.75]}
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

EVEN = "even"
KINDS = ("all", "falling", "one_band", "above")
# Powers of the way up the bands by which a falling shape falls, one as good as another.
BENDS = (0.5, 1.0, 2.0)
# A range of the oscillator may begin where no multiplier comes in; how often, against one that does.
OFF_A_RISE = 0.25
SPREAD = 0.05  # from band to band in a good set, where nothing else is said
LOOKED = 0.5  # chance that the bands which were read were chosen because the trouble shows there


@dataclass(frozen=True)
class Shape:
    """A way to depart from the expected values: its `kind`, and between which ratios its `size` lies.

    A size below 1 is low, above 1 high; the range is even and need not stop short of 1.
    """

    kind: str
    size: tuple[float, float]

    def __post_init__(self) -> None:
        low, high = self.size
        if self.kind not in KINDS:
            raise ValueError(f"`{self.kind}` is no kind of shape: {', '.join(KINDS)}")
        if not (math.isfinite(low) and math.isfinite(high) and low < high):
            raise ValueError("the size of a shape is a range, from its least to its greatest ratio")


@dataclass(frozen=True, eq=False)
class Readings:
    """What was read over the bands, and how the readings of a good set lie.

    `ratios`: reading over expected value for every band of the set in order of frequency, None where it was
    not read; `uncertainties`: their standard uncertainties, as ratios. `spread`: standard deviation from band
    to band in a good set; `common`: that of all bands alike. `multiplication` of each band, where known, lets a
    shape `above` mostly begin where it rises (if it rises anywhere). `looked`: the chance that the bands which
    were read were read because the trouble shows there; else they are any. With 1, one reading alone says
    nothing at all between one band and all of them. Raises ValueError for what is no set of readings.
    """

    ratios: Sequence[float | None]
    uncertainties: Sequence[float]
    spread: float = SPREAD
    common: float = 0.0
    multiplication: Sequence[float] | None = None
    looked: float = LOOKED

    def __post_init__(self) -> None:
        count = len(self.ratios)
        if count == 0 or len(self.uncertainties) != count:
            raise ValueError(f"{count} ratios and {len(self.uncertainties)} uncertainties do not go together")
        if self.multiplication is not None and len(self.multiplication) != count:
            raise ValueError(
                f"{count} bands and {len(self.multiplication)} multiplications do not go together"
            )
        if not all(0.0 <= figure < math.inf for figure in (self.spread, self.common)):
            raise ValueError("the spread of good sets is a number not below zero")
        if not 0.0 <= self.looked <= 1.0:
            raise ValueError("a chance lies between 0 and 1")
        for place in self.places:
            ratio, own = float(self.ratios[place] or 0.0), float(self.uncertainties[place])
            if not (math.isfinite(ratio) and 0.0 <= own < math.inf):
                raise ValueError(f"the reading of band {place + 1} is no number with an uncertainty")
            if math.hypot(own, self.spread) == 0.0:
                raise ValueError("a reading without any uncertainty or spread cannot be weighed")

    @property
    def places(self) -> list[int]:
        """The bands that were read."""
        return [place for place, ratio in enumerate(self.ratios) if ratio is not None]


def shape_likelihoods(
    ratios: Sequence[float | None],
    uncertainties: Sequence[float],
    shapes: Mapping[str, Shape],
    *,
    spread: float = SPREAD,
    common: float = 0.0,
    multiplication: Sequence[float] | None = None,
    looked: float = LOOKED,
) -> dict[str, float]:
    """Likelihood of `even` and of each shape by its name, scaled to a maximum of 1; see Readings."""
    if EVEN in shapes:
        raise ValueError(f"`{EVEN}` names the readings of a good set and can be no shape")
    readings = Readings(ratios, uncertainties, spread, common, multiplication, looked)
    logs = log_likelihoods(readings, shapes)
    top = max(logs.values())
    return {name: math.exp(log - top) for name, log in logs.items()}


def log_likelihoods(readings: Readings, shapes: Mapping[str, Shape]) -> dict[str, float]:
    """Logarithm of the density of the readings in an even set and in each shape, densities per ratio."""
    logs = {EVEN: _log_density(readings, np.zeros(len(readings.ratios)), None)}
    for name, shape in shapes.items():
        each = _by_place(readings, shape)
        top = max(log for _, _, log in each)
        total = sum(chance * math.exp(log - top) for _, chance, log in each) if top > -math.inf else 0.0
        logs[name] = top + math.log(total) if total > 0.0 else -math.inf
    return logs


def where(readings: Readings, shape: Shape) -> tuple[float, ...]:
    """For each band, the probability that it is the one band, or the first of those above; they add up to 1.

    Raises ValueError for the shapes that have no place.
    """
    if shape.kind not in ("one_band", "above"):
        raise ValueError(f"the shape `{shape.kind}` has no one place")
    each = _by_place(readings, shape)
    top = max(log for _, chance, log in each if chance > 0.0)
    found = np.zeros(len(readings.ratios))
    for place, chance, log in each:
        found[place] += chance * math.exp(log - top)
    return tuple(float(share) for share in found / found.sum())


def _by_place(readings: Readings, shape: Shape) -> list[tuple[int, float, float]]:
    """Each form of a shape: the band where it begins, its prior chance, the log density of the readings."""
    forms = _forms(readings, shape.kind)
    shows = [bool(np.any(beta[readings.places] > 0.0)) for _, beta in forms]
    usual = _usual(readings, shape.kind, [place for place, _ in forms])
    part = math.fsum(share for share, showing in zip(usual, shows, strict=True) if showing)
    # the bands read show the trouble because they were chosen so, or by the luck of the draw
    shown = readings.looked + (1.0 - readings.looked) * part if any(shows) else 0.0
    each = []
    for (place, beta), share, showing in zip(forms, usual, shows, strict=True):
        alike = part if showing else 1.0 - part
        chance = (shown if showing else 1.0 - shown) * share / alike
        each.append((place, chance, _log_density(readings, beta, shape.size)))
    return each


def _usual(readings: Readings, kind: str, places: Sequence[int]) -> list[float]:
    """Chances that a shape begins at each of the places, before anything is read; they add up to 1."""
    steps = readings.multiplication
    weights = [1.0] * len(places)
    if kind == "above" and steps is not None:
        rises = [place > 0 and steps[place] > steps[place - 1] for place in places]
        weights = [1.0 if rise or not any(rises) else OFF_A_RISE for rise in rises]
    return [weight / sum(weights) for weight in weights]


def _forms(readings: Readings, kind: str) -> list[tuple[int, Array]]:
    """The forms of a shape: the band where each begins, and the share beta of the size in every band."""
    count = len(readings.ratios)
    bands = np.arange(count)
    if kind == "all":
        return [(0, np.ones(count))]
    if kind == "falling":
        way = bands / (count - 1) if count > 1 else np.ones(1)
        return [(0, way**bend) for bend in BENDS]
    if kind == "one_band":
        return [(place, (bands == place).astype(np.float64)) for place in range(count)]
    starts = list(range(1, count)) or [0]
    return [(place, (bands >= place).astype(np.float64)) for place in starts]


def _log_density(readings: Readings, beta: Array, size: tuple[float, float] | None) -> float:
    """Log of the integral over the size of the density of the readings; `size` None for an even set.

    With W = beta' S^-1 beta and a = beta' S^-1 (r - alpha) / W, the integrand is the density at a times
    exp(-W (size - a)^2 / 2). S is a diagonal and the common c^2 alpha alpha', so its inverse and its determinant
    are those of Sherman and Morrison (1950); a handful of bands costs less in plain numbers than in arrays.
    """
    places = readings.places
    if not places:
        return 0.0
    shares = [float(beta[place]) for place in places]
    alpha = [1.0 - share for share in shares]
    rest = [readings.ratios[place] - there for place, there in zip(places, alpha, strict=True)]  # type: ignore[operator]
    own = [readings.uncertainties[place] ** 2 + readings.spread**2 for place in places]

    def diagonal(x: Sequence[float], y: Sequence[float]) -> float:
        return math.fsum(a * b / variance for a, b, variance in zip(x, y, own, strict=True))

    shared = 1.0 + readings.common**2 * diagonal(alpha, alpha)
    pull, push = diagonal(alpha, rest), diagonal(alpha, shares)
    damped = readings.common**2 / shared
    spread = math.fsum(map(math.log, own)) + math.log(shared)
    constant = -0.5 * (spread + len(places) * math.log(2.0 * math.pi))
    squares = diagonal(rest, rest) - damped * pull * pull
    weight = diagonal(shares, shares) - damped * push * push
    if size is None or weight == 0.0:
        return constant - 0.5 * squares
    best = (diagonal(shares, rest) - damped * push * pull) / weight
    low, high = ((bound - best) * math.sqrt(weight) for bound in size)
    peak = constant - 0.5 * max(squares - weight * best**2, 0.0) + 0.5 * math.log(2.0 * math.pi / weight)
    return peak + _log_mass(low, high) - math.log(size[1] - size[0])


def _log_mass(low: float, high: float) -> float:
    """Log of the probability of a standard normal value between two bounds, precise far out in both tails."""
    if low > 0.0:
        low, high = -high, -low
    root = math.sqrt(2.0)
    if high > 0.0:
        return math.log(max(0.5 * (math.erf(high / root) - math.erf(low / root)), 1e-300))
    upper = _log_tail(-high)
    return upper + math.log(max(-math.expm1(_log_tail(-low) - upper), 1e-300))


def _log_tail(z: float) -> float:
    """Log of the probability above z >= 0; beyond 30 by the asymptotic series (Abramowitz and Stegun 26.2.12)."""
    if z < 30.0:
        return math.log(0.5 * math.erfc(z / math.sqrt(2.0)))
    return -0.5 * z * z - math.log(z * math.sqrt(2.0 * math.pi)) + math.log1p(-1.0 / z**2 + 3.0 / z**4)
