"""Methods: what a class C stage draws and gives, from its volts, its drive and the figures of its tube.

How far they may be believed is measured against published working points, each with the figures of its tube
taken from the other published rows of that tube: docs/final-amplifier.md, and the test that keeps it.
"""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.circuits.class_c_operation import (
    LOWEST_OVER_POTENTIAL,
    TANK_EFFICIENCY,
    Operation,
    Volts,
    driven_to,
    operate,
)
from diagnose.circuits.method import Argument, CannotCompute, Method, Result, Value
from diagnose.circuits.tube_figures import LAW, SCREEN_LAW, TUBES, above_zero, bias, law_of, needed, number
from diagnose.circuits.tube_law import TubeLaw
from diagnose.circuits.tube_solve import crossing

_LEAST_SCREEN = 0.02  # of its supply: no working stage has less
# Relative standard uncertainty: root mean square of what was found. `drive` is the crest told from grid current.
WITH_SCREEN = {
    "input": 0.09,
    "output": 0.11,
    "efficiency": 0.06,
    "loss": 0.17,
    "screen": 0.28,
    "grid": 0.22,
    "drive": 0.045,
    "volts": 0.01,
}
DROPPED_SCREEN = {**WITH_SCREEN, "input": 0.14, "output": 0.135, "screen": 0.05, "volts": 0.18}
TRIODE = {"input": 0.28, "output": 0.25, "efficiency": 0.04, "loss": 0.38, "grid": 0.13, "drive": 0.04}

_STAGE = {
    "plate_voltage": Argument("plate voltage", "V"),
    "grid_voltage": Argument("bias of the control grid, negative", "V"),
    "peak_grid_voltage": Argument("crest of the carrier at each grid", "V", optional=True),
    "grid_current": Argument(
        "grid current of all tubes, where the drive is to be told from it", "A", optional=True
    ),
    "tubes": TUBES,
    "tank_efficiency": Argument("what the tank passes on", optional=True, default=TANK_EFFICIENCY),
    "lowest_plate_voltage": Argument("where the plate turns, if not at the knee", "V", optional=True),
}
_SCREEN = {"screen_voltage": Argument("screen voltage", "V")}
_DROPPED = {
    "screen_supply": Argument("supply of the screen's dropping resistor", "V"),
    "screen_resistance": Argument("the dropping resistor", "ohm"),
}


def _results(spread: Mapping[str, float]) -> dict[str, Result]:
    found = {
        "plate_current": Result("plate current", "A", spread["input"]),
        "grid_current": Result("grid current", "A", spread["grid"]),
        "cathode_current": Result("plate, screen and grid current together", "A", spread["input"]),
        "plate_input": Result("plate input", "W", spread["input"]),
        "output": Result("output behind the tank", "W", spread["output"]),
        "efficiency": Result("output over plate input", "", spread["efficiency"]),
        "plate_dissipation": Result("plate dissipation of each tube", "W", spread["loss"]),
        "load_resistance": Result("load at the plates", "ohm", spread["input"]),
        "drive_power": Result("power into grids and bias", "W", spread["grid"]),
        "peak_grid_voltage": Result("crest of the carrier at each grid", "V", spread["drive"]),
        "lowest_plate_voltage": Result("where the plate turns", "V", 0.4),
        "conduction_angle": Result("angle of flow", "rad", 0.05),
        "ideal_efficiency": Result("the most that this angle of flow could give", "", 0.01),
    }
    if "screen" in spread:
        found["screen_current"] = Result("screen current", "A", spread["screen"])
        found["screen_voltage"] = Result("screen voltage", "V", spread["volts"])
        found["screen_input"] = Result("screen input of each tube", "W", spread["screen"])
    return found


def _operation(given: Mapping[str, Value], law: TubeLaw, volts: Volts, tubes: float) -> Operation:
    """The working point of one tube, the drive being told by its crest or by the grid current."""
    tank = above_zero(given, "tank_efficiency", TANK_EFFICIENCY)
    lowest, drive = number(given, "lowest_plate_voltage"), number(given, "peak_grid_voltage")
    if drive is not None:
        return operate(law, volts, drive, tank, lowest)
    return driven_to(law, volts, needed(given, "grid_current") / tubes, tank, lowest)


def _said(point: Operation, tubes: float) -> dict[str, float]:
    """What is read at the stage."""
    return {
        "plate_current": tubes * point.plate_current,
        "grid_current": tubes * point.grid_current,
        "cathode_current": tubes * (point.plate_current + point.screen_current + point.grid_current),
        "plate_input": tubes * point.plate_input,
        "output": tubes * point.output,
        "efficiency": point.efficiency,
        "plate_dissipation": point.plate_dissipation,
        "load_resistance": point.load_resistance / tubes,
        "drive_power": tubes * point.drive_power,
        "peak_grid_voltage": point.drive,
        "lowest_plate_voltage": point.lowest_plate_voltage,
        "conduction_angle": 2.0 * point.half_angle,
        "ideal_efficiency": point.ideal_efficiency,
    }


def _with_screen(given: Mapping[str, Value]) -> Mapping[str, float]:
    needed(given, "mu_screen")
    return _at_screen(given, law_of(given), above_zero(given, "screen_voltage"))


def _at_screen(given: Mapping[str, Value], law: TubeLaw, screen: float) -> dict[str, float]:
    tubes = above_zero(given, "tubes", 1.0)
    volts = Volts(above_zero(given, "plate_voltage"), bias(given), screen)
    point = _operation(given, law, volts, tubes)
    return {
        **_said(point, tubes),
        "screen_current": tubes * point.screen_current,
        "screen_voltage": screen,
        "screen_input": screen * point.screen_current,
    }


def _dropped_screen(given: Mapping[str, Value]) -> Mapping[str, float]:
    needed(given, "mu_screen")
    law = law_of(given)
    supply, resistance = above_zero(given, "screen_supply"), above_zero(given, "screen_resistance")

    def excess(screen: float) -> float:
        """How far the screen lies above what its resistor leaves it; rises with the screen voltage."""
        try:
            drawn = _at_screen(given, law, screen)["screen_current"]
        except CannotCompute:
            drawn = 0.0  # cut off by so low a screen, or the plate not above the knee by so high a one
        return screen - (supply - resistance * drawn)

    why = "no screen voltage satisfies the dropping resistor"
    return _at_screen(given, law, crossing(excess, _LEAST_SCREEN * supply, supply, why))


def _triode(given: Mapping[str, Value]) -> Mapping[str, float]:
    needed(given, "mu")
    law, tubes = law_of(given), above_zero(given, "tubes", 1.0)
    point = _operation(given, law, Volts(above_zero(given, "plate_voltage"), bias(given)), tubes)
    return _said(point, tubes)


_SAYS = (
    "The three-halves law over a cycle of the drive, with the plate swinging down to "
    f"{LOWEST_OVER_POTENTIAL:g} times the potential in the plane of the grid (Thomas, Proc. IRE, August 1933; "
    "Terman and Roake, Proc. IRE, April 1936)"
)

METHODS = (
    Method(
        "class_c_amplifier",
        "class C stage with a screen-grid tube",
        _SAYS + ".",
        {**_STAGE, **_SCREEN, **SCREEN_LAW},
        _results(WITH_SCREEN),
        _with_screen,
    ),
    Method(
        "class_c_dropped_screen",
        "class C stage whose screen is fed through a resistor",
        _SAYS + ", at the screen voltage that the screen current leaves behind the resistor.",
        {**_STAGE, **_DROPPED, **SCREEN_LAW},
        _results(DROPPED_SCREEN),
        _dropped_screen,
    ),
    Method(
        "class_c_triode",
        "class C stage with a triode",
        _SAYS + ".",
        {**_STAGE, **LAW},
        _results(TRIODE),
        _triode,
    ),
)
