"""The working point of a tuned amplifier from its volts and the figures of its tube.

Grid and plate swing as cosines in opposite phase, because both circuits are tuned:

    vg = bias + drive cos p        vp = plate - (plate - lowest) cos p

At each phase the law of the tube gives the currents; their means over the cycle are what the meters show, and
the component of the plate current at the carrier, with the swing of the plate, is the output. This is the
working point taken along the path of operation, as makers' charts are used (H. P. Thomas, Proc. IRE, August
1933, for the drive; F. E. Terman and W. C. Roake, Proc. IRE, April 1936, for the whole), with the three-halves
law in place of the chart.

Loading: the set is loaded until the plate swings down to its knee, LOWEST_OVER_POTENTIAL times the crest of the
potential in the plane of the grid. Below about that the electrons that the grid lets through no longer reach
the plate, and go to screen and grid. The factor is the middle of what published push-pull rows of audio
service swing down to; nothing of class C enters it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from diagnose.circuits import class_c_pulse
from diagnose.circuits.method import CannotCompute
from diagnose.circuits.tube_law import TubeLaw
from diagnose.circuits.tube_solve import crossing

LOWEST_OVER_POTENTIAL = 1.4
# What a tank passes on: a loaded Q of 12 in a coil of about 240 (handbook practice, from memory).
TANK_EFFICIENCY = 0.95
_MOST_DRIVE = 40.0  # times the potential behind the grid: far beyond any working point


@dataclass(frozen=True)
class Operation:
    """A working point of one tube: volts, amperes, watts, ohms, radians, and efficiencies as shares of one."""

    plate_current: float
    screen_current: float
    grid_current: float
    plate_input: float
    output: float  # behind the tank
    tank_loss: float
    plate_dissipation: float
    drive_power: float  # into grid and bias
    load_resistance: float  # at the carrier, seen by this tube
    lowest_plate_voltage: float
    half_angle: float
    drive: float
    screen_voltage: float

    @property
    def efficiency(self) -> float:
        """Output over plate input."""
        return self.output / self.plate_input

    @property
    def ideal_efficiency(self) -> float:
        """The most that pulses of this angle could give."""
        return class_c_pulse.ideal_efficiency(self.half_angle)


@dataclass(frozen=True)
class Volts:
    """What is set from outside, against the cathode: plate and screen supply, bias (negative)."""

    plate: float
    bias: float
    screen: float = 0.0


def lowest_plate_voltage(law: TubeLaw, volts: Volts, drive: float) -> float:
    """How far down the plate may swing, in volts: the knee at the crest of the drive.

    The potential at the crest holds a share 1/mu of it itself, hence the denominator.
    """
    crest = law.potential(volts.bias + drive, 0.0, volts.screen)
    return LOWEST_OVER_POTENTIAL * crest / (1.0 - LOWEST_OVER_POTENTIAL / law.mu)


@lru_cache(maxsize=4096)
def operate(
    law: TubeLaw,
    volts: Volts,
    drive: float,
    tank: float = TANK_EFFICIENCY,
    lowest: float | None = None,
) -> Operation:
    """The working point with `drive` volts of crest at the grid.

    lowest: where the plate turns, if it is not to be the knee. Raises CannotCompute where no current flows, or
    the plate supply does not reach above the knee.
    """
    low = lowest_plate_voltage(law, volts, drive) if lowest is None else lowest
    swing = volts.plate - low
    rest = law.potential(volts.bias, volts.plate, volts.screen)
    rise = drive - swing / law.mu
    if low < 0.0 or rest + rise <= 0.0 or rise <= 0.0:
        raise CannotCompute("the drive does not reach above cut-off: no plate current flows")
    if swing <= 0.0:
        raise CannotCompute("the plate voltage does not reach above the knee of the tube")
    half_angle = math.acos(min(1.0, max(-1.0, -rest / rise)))
    phase, weight = class_c_pulse.over_flow(half_angle)
    cosine = np.cos(phase)
    shares = law.shares(volts.bias + drive * cosine, volts.plate - swing * cosine, volts.screen)
    plate = float(np.sum(weight * shares.plate))
    carrier = 2.0 * float(np.sum(weight * shares.plate * cosine))
    made = 0.5 * swing * carrier
    return Operation(
        plate_current=plate,
        screen_current=float(np.sum(weight * shares.screen)),
        grid_current=float(np.sum(weight * shares.grid)),
        plate_input=volts.plate * plate,
        output=tank * made,
        tank_loss=(1.0 - tank) * made,
        plate_dissipation=volts.plate * plate - made,
        drive_power=drive * float(np.sum(weight * shares.grid * cosine)),
        load_resistance=swing / carrier,
        lowest_plate_voltage=low,
        half_angle=half_angle,
        drive=drive,
        screen_voltage=volts.screen,
    )


def driven_to(
    law: TubeLaw,
    volts: Volts,
    grid_current: float,
    tank: float = TANK_EFFICIENCY,
    lowest: float | None = None,
) -> Operation:
    """The working point whose grid current is this many amperes: what the drive must be, and what follows."""
    if grid_current <= 0.0:
        raise CannotCompute("grid current must flow to tell the drive")
    nothing = -volts.bias  # the crest just reaches zero volts
    knee = volts.plate / LOWEST_OVER_POTENTIAL * (1.0 - LOWEST_OVER_POTENTIAL / law.mu)
    most = min(
        _MOST_DRIVE * (volts.plate / law.mu - volts.bias + volts.screen),
        nothing + knee - law.potential(0.0, 0.0, volts.screen),
    )
    why = "no drive gives that grid current with this bias"

    def excess(drive: float) -> float:
        try:
            return operate(law, volts, drive, tank, lowest).grid_current - grid_current
        except CannotCompute:
            return -grid_current

    drive = crossing(excess, nothing, nothing + (most - nothing) * 0.999, why)
    return operate(law, volts, drive, tank, lowest)
