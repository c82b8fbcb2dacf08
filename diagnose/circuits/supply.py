"""A plate or bias supply computed from its parts, in its periodic steady state, loaded and with its bleeder only.

The voltage is given as a magnitude: a bias supply is the same supply, the other way round.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from diagnose.circuits import supply_bleeder, supply_ripple
from diagnose.circuits.method import CannotCompute, Method, Result, Value
from diagnose.circuits.supply_parts import ARGUMENTS, Parts, parts_of
from diagnose.circuits.supply_ripple import critical_inductance
from diagnose.circuits.supply_solve import steady_state
from diagnose.circuits.supply_wave import Complex, Problem, circular, derivative

CLOSE_TO_NOTHING = 0.05  # of the direct volts
INSTANTS = 128  # in one charging period of a full-wave rectifier; twice that in the cycle of a half-wave one


@dataclass(frozen=True)
class Output:
    """Volts direct and of ripple (rms) at the output, total direct current and peak of a leg's current in A."""

    volts: float
    ripple: float
    current: float
    peak_current: float


def problem_of(parts: Parts, instants: int) -> Problem:
    """The supply as a source, a rectifier and a filter at that many instants of one charging period."""
    pulses, smoothing = parts.circuit.pulses, parts.filter
    turns = np.arange(instants) / instants * (2.0 * math.pi / pulses)
    source = parts.peak * (np.abs(np.sin(turns)) if pulses > 1 else np.sin(turns))
    # Out of the rectifier goes the load and the bleeder's share of V = tiers U - ohms I.
    divide = 1.0 + smoothing.bleeder * smoothing.ohms
    return Problem(
        source=source,
        ohms=parts.ohms,
        law=parts.law,
        filter=circular(spectrum(smoothing.input, parts, instants), instants),
        drawn=parts.load / divide,
        per_volt=smoothing.bleeder * parts.circuit.tiers / divide,
        size=parts.peak,
    )


def spectrum(impedance: Callable[[Complex, Complex], Complex], parts: Parts, instants: int) -> Complex:
    """An impedance in ohms at the harmonics 0 to N/2 of the charging period; 0 for direct current."""
    symbol = derivative(instants, 1.0 / (parts.mains * parts.circuit.pulses))[1:]
    odd: Complex = (np.arange(1, len(symbol) + 1) % 2).astype(np.complex128)
    return np.concatenate((np.zeros(1, np.complex128), impedance(symbol, odd)))


@lru_cache(
    maxsize=1024
)  # what a figure's uncertainty does is asked for one by one, and most leave one run alone
def output_of(parts: Parts) -> Output:
    """What the supply gives in its steady state. Raises CannotCompute."""
    smoothing, instants = parts.filter, INSTANTS * 2 // parts.circuit.pulses
    if parts.load == 0.0 and smoothing.bleeder == 0.0:
        return Output(parts.circuit.tiers * (parts.peak - parts.law.threshold), 0.0, 0.0, 0.0)
    steady = steady_state(lambda count: problem_of(parts, count), instants)
    current = float(np.mean(steady.current))
    volts = parts.circuit.tiers * steady.direct - smoothing.ohms * current
    if not 0.0 < volts < math.inf:
        raise CannotCompute("this winding and rectifier cannot deliver that current")
    ripple = np.fft.irfft(spectrum(smoothing.output, parts, instants) * np.fft.rfft(steady.current), instants)
    # At the zero of the mains a small capacitor lets the output fall to nothing, less the drop of the load. A steady
    # load that would pull it further below is none that a set has.
    taken = parts.circuit.tiers * (parts.law.drop(parts.load) + (parts.ohms + smoothing.ohms) * parts.load)
    if volts + float(np.min(ripple)) < -taken - CLOSE_TO_NOTHING * volts:
        raise CannotCompute(
            "the capacitor does not carry this load from one pulse of the rectifier to the next"
        )
    return Output(
        volts=volts,
        ripple=float(np.sqrt(np.mean(ripple * ripple))),
        current=current,
        peak_current=float(np.max(steady.current)) / parts.in_parallel,
    )


def rectified_supply(values: Mapping[str, Value]) -> Mapping[str, float]:
    """The results of the method; arguments in SI base units. Raises CannotCompute.

    Those of an input choke are left out where there is none.
    """
    parts, idle = parts_of(values)
    loaded, unloaded = output_of(parts), output_of(idle)
    return {
        "voltage": loaded.volts,
        "voltage_unloaded": unloaded.volts,
        "ripple": loaded.ripple,
        "ripple_percent": 100.0 * loaded.ripple / loaded.volts,
        "ripple_frequency": parts.circuit.ripple_frequency(parts.mains),
        "peak_current": loaded.peak_current,
        "supply_regulation": 100.0 * (unloaded.volts - loaded.volts) / loaded.volts,
        **choke_results(parts, loaded, idle, unloaded),
        "peak_inverse": parts.circuit.inverse * parts.peak,
        "source_resistance": parts.ohms,
    }


def choke_results(parts: Parts, loaded: Output, idle: Parts, unloaded: Output) -> Mapping[str, float]:
    """What there is to say of an input choke: how it compares with the critical inductance."""
    choke, swung = parts.filter.choke, idle.filter.choke
    if choke is None or swung is None:
        return {}
    critical = critical_inductance(loaded.volts / loaded.current, parts.mains)
    # Without any current no inductance is enough.
    least = (
        critical_inductance(unloaded.volts / unloaded.current, parts.mains) if unloaded.current else math.inf
    )
    return {
        "critical_inductance": critical,
        "choke_margin": choke.inductance / critical,
        "choke_margin_unloaded": swung.inductance / least,
    }


RECTIFIED_SUPPLY = Method(
    id="rectified_supply",
    title="rectified supply from its parts",
    says=(
        "solves one mains cycle of winding, rectifier (three-halves power law, or a nearly constant drop) and "
        "filter for the steady state that repeats itself; held against a circuit simulator"
    ),
    arguments=ARGUMENTS,
    results={
        "voltage": Result("direct volts at the output under load", "V", 0.03),
        "voltage_unloaded": Result("direct volts with the bleeder only", "V", 0.03),
        "ripple": Result("ripple at the output, rms", "V", 0.10),
        "ripple_percent": Result("ripple over direct volts", "percent", 0.10),
        "ripple_frequency": Result("lowest frequency of the ripple", "Hz", 0.0),
        "peak_current": Result("peak current of one plate or diode", "A", 0.10),
        "supply_regulation": Result(
            "rise from full load to bleeder only, over the loaded volts", "percent", 0.20
        ),
        "critical_inductance": Result("least inductance that keeps current flowing at this load", "H", 0.06),
        "choke_margin": Result("input choke over that inductance; below 1 the output climbs", "", 0.06),
        "choke_margin_unloaded": Result("the same with the bleeder only", "", 0.06),
        "peak_inverse": Result("peak inverse volts of one leg at no load", "V", 0.02),
        "source_resistance": Result("source resistance of one leg that was used", "ohm", 0.30),
    },
    run=rectified_supply,
)

METHODS = (RECTIFIED_SUPPLY, *supply_ripple.METHODS, *supply_bleeder.METHODS)
