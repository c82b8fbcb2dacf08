"""The one solution of the equations of a rectifier and its filter.

Whether a leg conducts or not becomes one equation in a number p for each instant: the leg's parameter is the
positive part of p, the volts that hold the leg off are the negative part of it. Newton's method solves that.
Where its kink is in the way, p is first split by a hyperbola instead, (p + sqrt(p^2 + 4 m^2)) / 2, and m goes to
zero in steps (Kanzow, Some noninterior continuation methods for linear complementarity problems, 1996).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from diagnose.circuits.method import CannotCompute
from diagnose.circuits.rectifier import Array
from diagnose.circuits.supply_wave import Problem

Point = tuple[Array, float]  # p at each instant, and U in V

CLOSE = 1e-9  # of the peak of the source: far below anything a meter shows
CLOSE_ENOUGH = 1e-5  # where no more can be had: 10 mV in a kilovolt
CLOSE_ON_THE_WAY = 0.02  # of the hyperbola's m; less is enough to be led on
CLOSE_ON_A_COARSE_CUT = 1e-4  # of the peak: the finer cut differs by more than that
STEPS_OF_NEWTON = 20
LEAST_STEP = 1.0 / 1024.0
BELOW_THE_PEAK = 0.8
LADDER = (8, 2, 1)  # the cuts that are solved in turn, as divisors of the finest
WIDEST, WIDE, LEAST_BLUR = 1.0, 0.1, 1e-6  # m from nothing known, from a coarser cut, and in the end
SHARPER, SLOWEST = math.sqrt(0.1), 0.95  # m over the one before it, at best and at worst


@dataclass(frozen=True, eq=False)
class Steady:
    """Currents in A at the N instants, and the direct part U in V of the filter's input."""

    current: Array
    direct: float


@dataclass(frozen=True, eq=False)
class Trial:
    """A point: the currents there, the slopes of current and rectifier's volts by p, and what is missed.

    missed: volts at each instant. gap: volts for the direct current.
    """

    p: Array
    direct: float
    current: Array
    current_slope: Array
    volts_slope: Array
    missed: Array
    gap: float

    @property
    def merit(self) -> float:
        """What a step of Newton's method must lessen, in V^2."""
        return float(self.missed @ self.missed) + self.gap * self.gap

    @property
    def most(self) -> float:
        """The largest volts missed."""
        return max(float(np.abs(self.missed).max()), abs(self.gap))


def steady_state(at: Callable[[int], Problem], instants: int) -> Steady:
    """The one periodic solution of the problem cut into that many instants. Raises CannotCompute.

    at: the problem cut into any number of instants. It is solved on coarse cuts first, where a step of
    Newton's method is cheap; from there the fine one is near.
    """
    problem = at(instants // LADDER[0])
    start = min(steady_guess(problem), pulsed_guess(problem), key=lambda at: trial_at(problem, 0.0, at).merit)
    found = solve(problem, start, WIDEST, CLOSE_ON_A_COARSE_CUT)
    for rung in LADDER[1:]:
        start = finer(found.p, instants // rung), found.direct
        found = solve(at(instants // rung), start, WIDE, CLOSE if rung == 1 else CLOSE_ON_A_COARSE_CUT)
    return Steady(found.current, found.direct)


def steady_guess(problem: Problem) -> Point:
    """A steady current at every instant, and the volts that the source has on the average: near for a choke."""
    direct = float(np.mean(np.abs(problem.source)))
    mean = max(problem.drawn + problem.per_volt * direct, 1e-9)
    p = np.full(len(problem.source), (mean / problem.law.amps) ** (1.0 / problem.law.power))
    return p, direct


def pulsed_guess(problem: Problem) -> Point:
    """Volts a little below the peak, and a pulse of current while the source is above them: near for a reservoir."""
    direct, law = BELOW_THE_PEAK * problem.size, problem.law
    above = problem.source - direct
    pulse = np.maximum(above, 0.0)
    mean = problem.drawn + problem.per_volt * direct
    p = (pulse * (mean / float(np.mean(pulse))) / law.amps) ** (1.0 / law.power)
    return np.where(above > 0.0, p, above / problem.size), direct


def solve(problem: Problem, start: Point, widest: float, close: float) -> Trial:
    """The solution, sought from a start, and if that does not lead there, on the way of the hyperbolas.

    widest: m of the first of them. close: what may be missed, as a share of the source's peak.
    """
    found = newton(problem, 0.0, start, close)
    if found is not None:
        return found
    point = led_on(problem, start, widest)
    found = newton(problem, 0.0, point, close)
    if found is not None:
        return found
    # The last hyperbola is as good as its corner where an instant lies just on the corner.
    last = trial_at(problem, 0.0, point)
    if last.most < CLOSE_ENOUGH * problem.size:
        return last
    raise CannotCompute("no steady state was found for this supply; are the parts given in the right units?")


def led_on(problem: Problem, start: Point, widest: float) -> Point:
    """A point near the solution: hyperbolas of smaller and smaller m, by smaller steps where one is too large."""
    # m^2 is a product of p where it conducts, about that of the mean current, and of p where not, about 1.
    least = LEAST_BLUR * min(1.0, math.sqrt(float(steady_guess(problem)[0][0])))
    point, blur, sharper = start, widest, SHARPER
    while blur > least and sharper < SLOWEST:
        led = newton(problem, blur, point, CLOSE_ON_THE_WAY * blur)
        if led is not None:
            point, sharper = (led.p, led.direct), max(sharper * sharper, SHARPER)
        else:
            blur, sharper = blur / sharper, math.sqrt(sharper)
        blur *= sharper
    return point


def finer(p: Array, instants: int) -> Array:
    """A periodic wave at more instants, by straight lines between those that are known."""
    known = np.arange(len(p) + 1) / len(p)
    wanted: Array = np.interp(np.arange(instants) / instants, known, np.append(p, p[0]))
    return wanted


def newton(problem: Problem, blur: float, start: Point, close: float) -> Trial | None:
    """The solution with the hyperbola of that m, by Newton's method with halved steps.

    None where it does not come as close as that share of the source's peak.
    """
    at = trial_at(problem, blur, start)
    for _ in range(STEPS_OF_NEWTON):
        if at.most < close * problem.size:
            return at
        try:
            move, shift = newton_step(problem, at)
        except np.linalg.LinAlgError:  # the rectifier is off all the time, and nothing is drawn by the volts
            return None
        merit, step = at.merit, 1.0
        while step >= LEAST_STEP:
            tried = trial_at(problem, blur, (at.p + step * move, at.direct + step * shift))
            if tried.merit < merit * (1.0 - 1e-4 * step):
                break
            step /= 2.0
        else:
            return None
        at = tried
    return None


def trial_at(problem: Problem, blur: float, point: Point) -> Trial:
    """What the rectifier does at a point, and by how much the point misses the equations."""
    p, direct = point
    law, size = problem.law, problem.size
    positive, slope = corner(p) if blur == 0.0 else hyperbola(p, blur)
    rise = np.sqrt(positive) if law.power == 1.5 else positive ** (law.power - 1.0)
    current = law.amps * rise * positive
    across = (law.volts - size) * positive + size * p  # negative ones hold it off
    lacking = float(current.sum()) / len(p) - problem.drawn - problem.per_volt * direct
    return Trial(
        p=p,
        direct=direct,
        current=current,
        current_slope=(law.amps * law.power) * rise * slope,
        volts_slope=(law.volts - size) * slope + size,
        missed=problem.ohms * current
        + across
        + problem.filter @ current
        + (direct + law.threshold)
        - problem.source,
        gap=lacking * problem.weight,
    )


def corner(p: Array) -> tuple[Array, Array]:
    """The positive part of p and its slope."""
    return np.maximum(p, 0.0), (p > 0.0).astype(np.float64)


def hyperbola(p: Array, blur: float) -> tuple[Array, Array]:
    """The positive part of p with the corner rounded off, and its slope: the positive root of x (x - p) = m^2."""
    root = np.sqrt(p * p + 4.0 * blur * blur)
    # In the form that loses no digits for negative p.
    positive = np.where(p > 0.0, (p + root) / 2.0, 2.0 * blur * blur / np.maximum(root - p, 1e-300))
    return positive, positive / root


def newton_step(problem: Problem, at: Trial) -> Point:
    """The change of p and U that would take what is missed away if the laws were straight.

    Where the current has no slope, p enters its own equation only, and can be found afterwards.
    """
    on = np.flatnonzero(at.current_slope)
    count, slope = len(on), at.current_slope[on]
    reach = problem.filter[:, on] * slope  # volts at all instants by p where it conducts
    matrix = np.empty((count + 1, count + 1))
    matrix[:count, :count] = reach[on]
    matrix.flat[: count * (count + 2) : count + 2] += problem.ohms * slope + at.volts_slope[on]
    matrix[:count, count] = 1.0
    matrix[count, :count] = slope * (problem.weight / len(at.p))
    matrix[count, count] = -problem.per_volt * problem.weight
    solved = np.linalg.solve(matrix, -np.append(at.missed[on], at.gap))
    shift = float(solved[count])
    move, off = np.empty(len(at.p)), np.flatnonzero(at.current_slope == 0.0)
    move[on] = solved[:count]
    move[off] = -(at.missed[off] + reach[off] @ solved[:count] + shift) / at.volts_slope[off]
    return move, shift
