"""Methods: the resistors around a stage, the glow regulator, and what a modulator has to supply.

Ohm's law throughout, in SI units; a grid is negative. What these give is as good as the figures put in, so
their own uncertainty is small: what is left out, such as the drop in leads and chokes.
"""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.circuits.method import Argument, CannotCompute, Method, Result, Value
from diagnose.circuits.tube_figures import above_zero, needed, number

EXACT = 0.01
# A glow tube holds its voltage within 2 V of 105 and 4 V of 150 over its currents (makers' sheets, from memory).
GLOW = 0.02


def _none_below(given: Mapping[str, Value], name: str, default: float | None = None) -> float:
    """A figure that may be nothing but not below it, such as a current that flows one way."""
    value = number(given, name)
    value = default if value is None else value
    if value is None or value < 0.0:
        raise CannotCompute(f"{name.replace('_', ' ')} must be known and not below zero")
    return value


def _bias_divider(given: Mapping[str, Value]) -> Mapping[str, float]:
    supply, series = needed(given, "supply_voltage"), above_zero(given, "series_resistance")
    shunt, taken = above_zero(given, "shunt_resistance"), _none_below(given, "grid_current", 0.0)
    if supply >= 0.0:
        raise CannotCompute("the bias supply is negative: its voltage must be below zero")
    tap = supply * shunt / (series + shunt) - taken * series * shunt / (series + shunt)
    return {"grid_voltage": tap, "divider_current": (tap - supply) / series}


def _grid_leak_bias(given: Mapping[str, Value]) -> Mapping[str, float]:
    current, leak = _none_below(given, "grid_current"), above_zero(given, "grid_resistance")
    raised = _none_below(given, "cathode_resistance", 0.0) * _none_below(given, "cathode_current", 0.0)
    fixed = number(given, "fixed_voltage") or 0.0
    if fixed > 0.0:
        raise CannotCompute("the fixed part of the bias must not be above zero")
    return {
        "grid_voltage": fixed - current * leak - raised,
        "leak_voltage": current * leak,
        "leak_dissipation": current**2 * leak,
    }


def _screen_dropper(given: Mapping[str, Value]) -> Mapping[str, float]:
    supply, resistance = above_zero(given, "screen_supply"), above_zero(given, "screen_resistance")
    drawn = _none_below(given, "screen_current") + _none_below(given, "bleeder_current", 0.0)
    volts = supply - drawn * resistance
    if volts <= 0.0:
        raise CannotCompute("the resistor would drop more than the supply has at that screen current")
    return {"screen_voltage": volts, "resistor_dissipation": drawn**2 * resistance}


def _regulator(given: Mapping[str, Value]) -> Mapping[str, float]:
    """A glow tube strikes if its terminals reach the striking voltage without it, then holds its own voltage.

    The load is a current at the regulated voltage, or a resistance. Below the least current the glow goes out.
    """
    supply, series = above_zero(given, "supply_voltage"), above_zero(given, "series_resistance")
    held, least = above_zero(given, "tube_voltage"), _none_below(given, "least_current", 0.0)
    load = number(given, "load_resistance")
    drawn = (
        held / above_zero(given, "load_resistance")
        if load is not None
        else _none_below(given, "load_current")
    )
    unlit = supply * load / (series + load) if load is not None else max(supply - series * drawn, 0.0)
    through = (supply - held) / series - drawn
    if through < max(least, 0.0) or unlit < (number(given, "striking_voltage") or held):
        return {
            "tube_current": 0.0,
            "voltage": unlit,
            "resistor_dissipation": (supply - unlit) ** 2 / series,
            "lit": 0.0,
        }
    return {
        "tube_current": through,
        "voltage": held,
        "resistor_dissipation": (supply - held) ** 2 / series,
        "lit": 1.0,
    }


def _modulating_impedance(given: Mapping[str, Value]) -> Mapping[str, float]:
    volts, current = above_zero(given, "plate_voltage"), above_zero(given, "plate_current")
    drawn = current + _none_below(given, "screen_current", 0.0)
    return {"impedance": volts / drawn, "input": volts * drawn}


def _audio_power(given: Mapping[str, Value]) -> Mapping[str, float]:
    """For a sine wave of audio: half the modulated input times the square of the depth."""
    volts, current = above_zero(given, "plate_voltage"), above_zero(given, "plate_current")
    depth, passed = _none_below(given, "depth", 1.0), above_zero(given, "transformer_efficiency", 1.0)
    if depth > 1.0 or passed > 1.0:
        raise CannotCompute("depth of modulation and efficiency are shares of one")
    drawn = current + _none_below(given, "screen_current", 0.0)
    needed_power = depth**2 * volts * drawn / 2.0
    return {
        "audio_power": needed_power,
        "modulator_output": needed_power / passed,
        "audio_voltage": depth * volts / 2.0**0.5,
        "peak_plate_voltage": (1.0 + depth) * volts,
    }


_SCREEN = Argument("screen current that is modulated too", "A", optional=True, default=0.0)

METHODS = (
    Method(
        "bias_divider",
        "bias from a divider across the bias supply",
        "Divider by Ohm's law; grid current flowing into the tap makes the bias more negative.",
        {
            "supply_voltage": Argument("bias supply, negative", "V"),
            "series_resistance": Argument("resistor from the supply to the tap", "ohm"),
            "shunt_resistance": Argument("resistor from the tap to ground", "ohm"),
            "grid_current": Argument("grid current through the tap", "A", optional=True, default=0.0),
        },
        {
            "grid_voltage": Result("voltage of the tap, negative", "V", EXACT),
            "divider_current": Result("current from the supply", "A", EXACT),
        },
        _bias_divider,
    ),
    Method(
        "grid_leak_bias",
        "bias of a driven grid: fixed, by its leak and by a cathode resistor",
        "Grid current times leak, added to the fixed part and to the drop of the cathode resistor.",
        {
            "grid_current": Argument("grid current through the leak", "A"),
            "grid_resistance": Argument("the leak", "ohm"),
            "fixed_voltage": Argument("fixed part, negative", "V", optional=True, default=0.0),
            "cathode_resistance": Argument("resistor in the cathode lead", "ohm", optional=True, default=0.0),
            "cathode_current": Argument("cathode current through it", "A", optional=True, default=0.0),
        },
        {
            "grid_voltage": Result("bias, negative", "V", EXACT),
            "leak_voltage": Result("part of it across the leak", "V", EXACT),
            "leak_dissipation": Result("heat in the leak", "W", 2 * EXACT),
        },
        _grid_leak_bias,
    ),
    Method(
        "screen_dropper",
        "screen voltage behind a dropping resistor",
        "Supply less screen current (and bleeder current) times the resistor.",
        {
            "screen_supply": Argument("supply of the resistor", "V"),
            "screen_resistance": Argument("the resistor", "ohm"),
            "screen_current": Argument("screen current", "A"),
            "bleeder_current": Argument(
                "current of a bleeder from the screen", "A", optional=True, default=0.0
            ),
        },
        {
            "screen_voltage": Result("screen voltage", "V", EXACT),
            "resistor_dissipation": Result("heat in the resistor", "W", 2 * EXACT),
        },
        _screen_dropper,
    ),
    Method(
        "regulator_current",
        "current of a glow regulator behind its resistor",
        "What the resistor passes at the tube's voltage, less the load; no glow below the striking voltage or "
        "the least current (Lessons in Electric Circuits, volume 3; makers' ranges).",
        {
            "supply_voltage": Argument("supply ahead of the resistor", "V"),
            "series_resistance": Argument("the resistor", "ohm"),
            "tube_voltage": Argument("voltage that the tube, or the tubes in series, hold", "V"),
            "striking_voltage": Argument("voltage at which it strikes", "V", optional=True),
            "least_current": Argument("least current at which it glows", "A", optional=True, default=0.0),
            "load_current": Argument("current of the load at the held voltage", "A", optional=True),
            "load_resistance": Argument(
                "resistance of the load, instead of its current", "ohm", optional=True
            ),
        },
        {
            "tube_current": Result("current of the tube", "A", 0.05),
            "voltage": Result("voltage across it", "V", GLOW),
            "resistor_dissipation": Result("heat in the resistor", "W", 0.05),
            "lit": Result("1 if it glows, else 0", "", EXACT),
        },
        _regulator,
    ),
    Method(
        "modulating_impedance",
        "load that a modulated stage is to its modulator",
        "Plate voltage over the modulated current.",
        {
            "plate_voltage": Argument("plate voltage of the modulated stage", "V"),
            "plate_current": Argument("its plate current", "A"),
            "screen_current": _SCREEN,
        },
        {"impedance": Result("impedance", "ohm", EXACT), "input": Result("modulated input", "W", EXACT)},
        _modulating_impedance,
    ),
    Method(
        "audio_power_needed",
        "audio power for plate modulation",
        "Half the modulated input times the square of the depth, for a sine wave.",
        {
            "plate_voltage": Argument("plate voltage of the modulated stage", "V"),
            "plate_current": Argument("its plate current", "A"),
            "screen_current": _SCREEN,
            "depth": Argument("depth of modulation, 1 for full", optional=True, default=1.0),
            "transformer_efficiency": Argument("what the transformer passes on", optional=True, default=1.0),
        },
        {
            "audio_power": Result("audio into the modulated stage", "W", 2 * EXACT),
            "modulator_output": Result("audio out of the modulator tubes", "W", 2 * EXACT),
            "audio_voltage": Result("audio across the secondary, rms", "V", EXACT),
            "peak_plate_voltage": Result("plate voltage at the crest", "V", EXACT),
        },
        _audio_power,
    ),
)
