"""A bleeder: what it draws, what it burns, and how long until the capacitors can be touched.

The time is arithmetic, not proof: a bleeder that has opened discharges nothing. Measure before touching.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from diagnose.circuits.method import Argument, Method, Result, Value
from diagnose.circuits.supply_parts import Given

TOUCH = 50.0  # V; the usual limit below which a discharged supply may be worked on (common practice)


def discharge_time(ohms: float, farads: float, volts: float, below: float) -> float:
    """Seconds until volts have fallen to `below`: R C ln(V / V'), and 0 if they are lower already."""
    return ohms * farads * math.log(max(volts / below, 1.0))


def bleeder(values: Mapping[str, Value]) -> Mapping[str, float]:
    """The results of the method; arguments in SI base units. Raises CannotCompute."""
    given = Given(values)
    volts, ohms = given.number("voltage"), given.number("bleeder_ohms")
    farads, below = given.number("capacitance"), given.default("below", TOUCH)
    return {
        "current": volts / ohms,
        "power": volts * volts / ohms,
        "discharge_time": discharge_time(ohms, farads, volts, below),
    }


METHODS = (
    Method(
        id="bleeder",
        title="bleeder current, power and discharge time",
        says="Ohm's law, and t = R C ln(V / V') for the fall of the volts of a capacitor through a resistor",
        arguments={
            "voltage": Argument("volts across the bleeder when the supply is switched off", "V"),
            "bleeder_ohms": Argument("bleeder", "ohm"),
            "capacitance": Argument("all filter capacitors together; a doubler's two count half of one", "F"),
            "below": Argument("volts to be reached", "V", optional=True, default=TOUCH),
        },
        results={
            "current": Result("bleeder current", "A", 0.001),
            "power": Result("power burnt in the bleeder", "W", 0.001),
            "discharge_time": Result("time until the volts are below the stated ones", "s", 0.001),
        },
        run=bleeder,
    ),
)
