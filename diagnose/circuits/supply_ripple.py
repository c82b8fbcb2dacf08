"""Ripple in closed form, as handbooks give it, and the critical inductance of an input choke.

Capacitor input: the capacitor gives up I / f V of charge between two pulses, a saw-tooth of I / (f C) volts
from peak to peak, with 1 / (2 sqrt 3) of that as its rms value. Behind a further section only its lowest
component is left, sqrt 2 / pi of half of it. Choke input: the rectified wave has sqrt 2 / 3 of its direct
volts as rms volts at twice the mains frequency, and the rest may be forgotten (A Textbook of Applied
Electronics, examples 19.10 to 19.13; Electronics Fundamentals and Applications, chapter 6).
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from diagnose.circuits.method import Argument, CannotCompute, Method, Result, Value
from diagnose.circuits.rectifier import CIRCUITS
from diagnose.circuits.supply_parts import CAPACITOR_INPUT, CHOKE_INPUT, Given

SAW_TOOTH = 1.0 / (2.0 * math.sqrt(3.0))  # rms over peak to peak
SAW_TOOTH_LOWEST = 1.0 / (math.pi * math.sqrt(2.0))  # rms of its lowest component, over peak to peak
FULL_WAVE_LOWEST = math.sqrt(2.0) / 3.0  # rms of the lowest component over direct volts


def critical_inductance(ohms: float, mains: float) -> float:
    """Henries that just keep current flowing into a load of that many ohms: R / (3 * 2 pi f), full wave.

    The amplitude of the current at twice the mains frequency then equals the direct current. At 60 Hz that
    is R / 1131, at 50 Hz R / 942 (rounded to 950 in Electronics Fundamentals and Applications, chapter 6).
    """
    return ohms / (6.0 * math.pi * mains)


def saw_tooth(amps: float, frequency: float, farads: float) -> float:
    """Volts from peak to peak on a reservoir capacitor: I / (f C)."""
    return amps / (frequency * farads)


def attenuation(frequency: float, henries: float, ohms: float, farads: float) -> float:
    """Volts after a series choke or resistor and a capacitor, for one volt before: Xc / |Z|."""
    turns = 2.0 * math.pi * frequency
    reactance = 1.0 / (turns * farads)
    return reactance / math.hypot(ohms, turns * henries - reactance)


def ripple(values: Mapping[str, Value]) -> Mapping[str, float]:
    """The results of the method; arguments in SI base units. Raises CannotCompute."""
    given = Given(values)
    circuit = CIRCUITS[given.word("circuit", tuple(CIRCUITS))]
    volts, amps = given.number("voltage"), given.number("current")
    farads, mains = given.number("capacitance"), given.number("mains_frequency")
    frequency = circuit.ripple_frequency(mains)
    ahead = given.word("filter", (CAPACITOR_INPUT, CHOKE_INPUT))
    passed = section_attenuation(given, frequency)
    if ahead == CAPACITOR_INPUT:
        # Each of a doubler's two capacitors is charged once in a cycle, and half the ripple cancels.
        swing = saw_tooth(amps, frequency, farads / circuit.tiers)
        found = swing * (SAW_TOOTH if passed is None else SAW_TOOTH_LOWEST * passed)
    elif circuit.pulses == 1:
        raise CannotCompute("a choke at the input needs full-wave rectification")
    else:
        henries = given.number("choke_inductance")
        if henries < critical_inductance(volts / amps, mains):
            raise CannotCompute(
                "the input choke is below its critical inductance, where the formula does not hold"
            )
        choke = attenuation(frequency, henries, 0.0, farads)
        found = volts * FULL_WAVE_LOWEST * choke * (1.0 if passed is None else passed)
    return {"ripple": found, "ripple_percent": 100.0 * found / volts, "ripple_frequency": frequency}


def section_attenuation(given: Given, frequency: float) -> float | None:
    """What a further section lets through, or None without one."""
    farads = given.optional("section_capacitance")
    if farads is None:
        return None
    henries = given.default("section_inductance", 0.0, zero=True)
    return attenuation(frequency, henries, given.default("section_ohms", 0.0, zero=True), farads)


METHODS = (
    Method(
        id="ripple",
        title="ripple by the handbook formulas",
        says=(
            "capacitor input: saw-tooth of I / (f C), behind a further section its lowest component only; choke "
            "input: 0.471 of the direct volts, divided by each choke and capacitor (A Textbook of Applied "
            "Electronics, chapter 19)"
        ),
        arguments={
            "circuit": Argument("how the winding is rectified", words=tuple(CIRCUITS)),
            "filter": Argument("first element of the filter", words=(CAPACITOR_INPUT, CHOKE_INPUT)),
            "voltage": Argument("direct volts at the output", "V"),
            "current": Argument("direct current, the bleeder's included", "A"),
            "capacitance": Argument("first filter capacitor; each of the two of a doubler", "F"),
            "mains_frequency": Argument("mains frequency", "Hz"),
            "choke_inductance": Argument("input choke", "H", optional=True),
            "section_inductance": Argument("choke of a further section", "H", optional=True),
            "section_ohms": Argument("its resistance, or that of an R-C section", "ohm", optional=True),
            "section_capacitance": Argument("capacitor of the further section", "F", optional=True),
        },
        results={
            "ripple": Result("ripple at the output, rms", "V", 0.32),
            "ripple_percent": Result("ripple over direct volts", "percent", 0.32),
            "ripple_frequency": Result("lowest frequency of the ripple", "Hz", 0.0),
        },
        run=ripple,
    ),
)
