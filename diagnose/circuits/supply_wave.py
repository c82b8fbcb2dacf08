"""The periodic steady state of a rectifier into a linear filter.

One charging period is cut into N equal steps. The filter is linear, so the volts v at its input follow from
the currents i by a circular convolution, v = U + Z i, with U the direct part; the rectifier ties the two
together at each instant,

    e = R i + drop(i) + U + Z i    where it conducts,
    e < threshold + U + Z i        where it does not, and i = 0,

and the direct current is what leaves on the other side, mean(i) = a + b U. Z is monotone (the filter is
passive) and so is the rectifier: there is one solution.

Both cases become one equation in a number p for each instant: the leg's parameter is the positive part of p,
the volts that hold the leg off are the negative part of it. Newton's method solves that. Where its kink is in the
way, p is first split by a hyperbola instead, (p + sqrt(p^2 + 4 m^2)) / 2, and m goes to zero in steps (Kanzow,
Some noninterior continuation methods for linear complementarity problems, 1996).

Time derivatives are second-order backward differences, s = (3 - 4 q + q^2) / 2h with q = exp(-j 2 pi n / N)
(Gear, Numerical initial value problems in ordinary differential equations, 1971). They keep the filter
passive, and damp what the trapezoidal rule would leave ringing when the current of a choke stops.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from diagnose.circuits.method import CannotCompute
from diagnose.circuits.rectifier import Array, Law

Complex = NDArray[np.complex128]
Point = tuple[Array, float]  # p at each instant, and U in V

CLOSE = 1e-9  # of the peak of the source: far below anything a meter shows
CLOSE_ENOUGH = 1e-5  # where no more can be had: 10 mV in a kilovolt
CLOSE_ON_THE_WAY = 0.02  # of the hyperbola's m; less is enough to be led on
STEPS_OF_NEWTON = 20
LEAST_STEP = 1.0 / 1024.0
LADDER = (4, 2, 1)  # the cuts that are solved in turn, as divisors of the finest
WIDEST, WIDE, LEAST_BLUR = 1.0, 0.1, 1e-6  # m from nothing known, from a coarser cut, and in the end
SHARPER = math.sqrt(0.1)


@dataclass(frozen=True)
class Problem:
    """A source behind a rectifier and a resistance, into a filter.

    source: volts at N instants of one period. ohms: source resistance. kernel: ohms, the first column of Z.
    drawn, per_volt: a in A and b in A/V of mean(i) = a + b U.
    """

    source: Array
    ohms: float
    law: Law
    kernel: Array
    drawn: float
    per_volt: float

    @property
    def size(self) -> float:
        """Volts at the top of the source."""
        return float(np.max(np.abs(self.source)))

    @property
    def weight(self) -> float:
        """Ohms that make an error of the direct current comparable with an error in volts."""
        return self.size / max(self.drawn + self.per_volt * self.size, 1e-12)


@dataclass(frozen=True)
class Steady:
    """Currents in A at the N instants, and the direct part U in V of the filter's input."""

    current: Array
    direct: float


@dataclass(frozen=True)
class Shape:
    """What the rectifier does at each p: amps, volts (negative ones hold it off), and the slopes of both."""

    current: Array
    volts: Array
    current_slope: Array
    volts_slope: Array


@dataclass(frozen=True)
class LeftOver:
    """By how much the equations are missed at a point: volts at each instant, and volts for the direct current."""

    volts: Array
    gap: float

    @property
    def merit(self) -> float:
        """What a step of Newton's method must lessen, in V^2."""
        return float(self.volts @ self.volts) + self.gap * self.gap

    @property
    def most(self) -> float:
        """The largest volts left over."""
        return max(float(np.max(np.abs(self.volts))), abs(self.gap))


def derivative(instants: int, period: float) -> Complex:
    """The symbol s of d/dt in 1/s for the harmonics 0 to N/2 of a period in seconds."""
    q = np.exp(-2j * np.pi * np.arange(instants // 2 + 1) / instants)
    symbol: Complex = (3.0 - 4.0 * q + q * q) / 2.0 * (instants / period)
    return symbol


@lru_cache(maxsize=8)
def lags(instants: int) -> NDArray[np.intp]:
    """Which element of the kernel stands in row j and column k of Z: (j - k) modulo N."""
    order = np.arange(instants)
    table: NDArray[np.intp] = (order[:, None] - order[None, :]) % instants
    table.setflags(write=False)
    return table


def steady_state(at: Callable[[int], Problem], instants: int) -> Steady:
    """The one periodic solution of the problem cut into that many instants. Raises CannotCompute.

    at: the problem cut into any number of instants. It is solved on coarse cuts first, where a step of
    Newton's method is cheap; from there the fine one is near.
    """
    problem = at(instants // LADDER[0])
    point = solve(problem, first_guess(problem), WIDEST)
    for rung in LADDER[1:]:
        problem = at(instants // rung)
        point = solve(problem, (finer(point[0], instants // rung), point[1]), WIDE)
    return Steady(shape_at(problem, point[0], 0.0).current, point[1])


def solve(problem: Problem, start: Point, widest: float) -> Point:
    """The solution, sought from a start, and if that does not lead there, on the way of the hyperbolas.

    widest: m of the first of them.
    """
    found = newton(problem, 0.0, start, CLOSE)
    if found is not None:
        return found
    # m^2 is a product of p where it conducts, about that of the mean current, and of p where not, about 1.
    blur, least = widest, LEAST_BLUR * min(1.0, math.sqrt(float(first_guess(problem)[0][0])))
    point = start
    while blur > least:
        point = newton(problem, blur, point, CLOSE_ON_THE_WAY * blur) or point
        blur *= SHARPER
    found = newton(problem, 0.0, point, CLOSE)
    if found is not None:
        return found
    # The last hyperbola is as good as its corner where an instant lies just on the corner.
    if left_over(problem, 0.0, point).most < CLOSE_ENOUGH * problem.size:
        return point
    raise CannotCompute("no steady state was found for this supply; are the parts given in the right units?")


def first_guess(problem: Problem) -> Point:
    """A steady current at every instant, and the volts that the source has on the average."""
    direct = float(np.mean(np.abs(problem.source)))
    mean = max(problem.drawn + problem.per_volt * direct, 1e-9)
    p = np.full(len(problem.source), (mean / problem.law.amps) ** (1.0 / problem.law.power))
    return p, direct


def finer(p: Array, instants: int) -> Array:
    """A periodic wave at more instants, by straight lines between those that are known."""
    known = np.arange(len(p) + 1) / len(p)
    wanted: Array = np.interp(np.arange(instants) / instants, known, np.append(p, p[0]))
    return wanted


def newton(problem: Problem, blur: float, start: Point, close: float) -> Point | None:
    """The solution with the hyperbola of that m, by Newton's method with halved steps.

    None where it does not come as close as that share of the source's peak.
    """
    point, left = start, left_over(problem, blur, start)
    for _ in range(STEPS_OF_NEWTON):
        if left.most < close * problem.size:
            return point
        move, shift = newton_step(problem, blur, point, left)
        merit, step = left.merit, 1.0
        while step >= LEAST_STEP:
            trial = point[0] + step * move, point[1] + step * shift
            left = left_over(problem, blur, trial)
            if left.merit < merit * (1.0 - 1e-4 * step):
                break
            step /= 2.0
        else:
            return None
        point = trial
    return None


def shape_at(problem: Problem, p: Array, blur: float) -> Shape:
    """The rectifier at each p."""
    law, size = problem.law, problem.size
    root = np.sqrt(p * p + 4.0 * blur * blur)
    # The positive root of x (x - p) = m^2, in the form that loses no digits for negative p.
    positive = np.where(p > 0, (p + root) / 2.0, 2.0 * blur * blur / np.maximum(root - p, 1e-300))
    slope = np.where(root > 0, positive / np.maximum(root, 1e-300), 0.0)
    rise = law.power * (positive ** (law.power - 1.0) if law.power != 1.0 else 1.0)
    return Shape(
        current=law.amps * positive**law.power,
        volts=law.threshold + law.volts * positive + size * (p - positive),
        current_slope=law.amps * rise * slope,
        volts_slope=law.volts * slope + size * (1.0 - slope),
    )


def left_over(problem: Problem, blur: float, point: Point) -> LeftOver:
    """By how much the point misses the equations."""
    p, direct = point
    shape = shape_at(problem, p, blur)
    filtered = np.fft.irfft(np.fft.rfft(problem.kernel) * np.fft.rfft(shape.current), len(p))
    missing = float(np.mean(shape.current)) - problem.drawn - problem.per_volt * direct
    return LeftOver(
        volts=problem.ohms * shape.current + shape.volts + filtered + direct - problem.source,
        gap=missing * problem.weight,
    )


def newton_step(problem: Problem, blur: float, point: Point, left: LeftOver) -> Point:
    """The change of p and U that would take the left-over away if the laws were straight.

    Where the current has no slope, p enters its own equation only, and can be found afterwards.
    """
    shape = shape_at(problem, point[0], blur)
    on, off = np.flatnonzero(shape.current_slope > 0), np.flatnonzero(shape.current_slope <= 0)
    count, slope, table = len(on), shape.current_slope[on], lags(len(left.volts))
    matrix = np.empty((count + 1, count + 1))
    matrix[:count, :count] = problem.kernel[table[np.ix_(on, on)]] * slope
    matrix[np.arange(count), np.arange(count)] += problem.ohms * slope + shape.volts_slope[on]
    matrix[:count, count] = 1.0
    matrix[count, :count] = slope * (problem.weight / len(left.volts))
    matrix[count, count] = -problem.per_volt * problem.weight
    solved = np.linalg.solve(matrix, -np.append(left.volts[on], left.gap))
    move, shift = np.empty(len(left.volts)), float(solved[count])
    move[on] = solved[:count]
    across = problem.kernel[table[np.ix_(off, on)]] @ (slope * move[on])
    move[off] = -(left.volts[off] + across + shift) / shape.volts_slope[off]
    return move, shift
