"""The arguments that methods of tubes have in common, and how a tube's law is made of them."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.circuits.method import Argument, CannotCompute, Value
from diagnose.circuits.tube_law import TubeLaw, perveance_from_transconductance, tube_law

TUBES = Argument("tubes that share the work", optional=True, default=1.0)
MU = Argument("amplification factor of the plate", optional=True)
MU_SCREEN = Argument("amplification factor of the screen against the grid")

# Figures of a tube from which its law follows. One of the two ways to the perveance is needed.
LAW: Mapping[str, Argument] = {
    "mu": MU,
    "current_at_100_volts": Argument(
        "space current at 100 V in the plane of the grid: 1000 perveances", "A", optional=True
    ),
    "transconductance": Argument("transconductance of the cathode at the next current", "S", optional=True),
    "transconductance_current": Argument("cathode current at that transconductance", "A", optional=True),
    "grid_division": Argument("division factor between grid and what lies behind", optional=True),
}
SCREEN_LAW: Mapping[str, Argument] = {
    "mu_screen": MU_SCREEN,
    **LAW,
    "screen_division": Argument("division factor between plate and screen", optional=True),
}


def number(given: Mapping[str, Value], name: str) -> float | None:
    """A figure that was given, or None. Raises CannotCompute for a word."""
    value = given.get(name)
    if value is None or isinstance(value, (int, float)):
        return value
    raise CannotCompute(f"{name.replace('_', ' ')} is a figure, not a word")


def needed(given: Mapping[str, Value], name: str) -> float:
    """A figure that must be there. Raises CannotCompute where it is not."""
    value = number(given, name)
    if value is None:
        raise CannotCompute(f"{name.replace('_', ' ')} is not known")
    return value


def above_zero(given: Mapping[str, Value], name: str, default: float | None = None) -> float:
    """The same for a figure that is more than nothing, such as a resistance or a number of tubes."""
    value = number(given, name)
    value = default if value is None else value
    if value is None or value <= 0.0:
        raise CannotCompute(f"{name.replace('_', ' ')} must be known and above zero")
    return value


def bias(given: Mapping[str, Value], name: str = "grid_voltage") -> float:
    """The bias, which is negative or nothing: a positive one is a slip of the sign."""
    value = needed(given, name)
    if value > 0.0:
        raise CannotCompute("the grid is biased negative: the voltage must be below zero")
    return value


def law_of(given: Mapping[str, Value]) -> TubeLaw:
    """The law of the tube that the figures of LAW or SCREEN_LAW describe."""
    at_100 = number(given, "current_at_100_volts")
    if at_100 is not None:
        perveance = at_100 / 100.0**1.5
    else:
        slope = needed(given, "transconductance")
        perveance = perveance_from_transconductance(slope, needed(given, "transconductance_current"))
    return tube_law(
        perveance,
        number(given, "mu"),
        number(given, "mu_screen"),
        number(given, "screen_division"),
        number(given, "grid_division"),
    )
