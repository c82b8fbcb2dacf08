"""What a meter does to a reading: its load on the circuit, and how far it may be wrong.

A source of resistance R feeding a meter of resistance M shows M / (R + M) of its voltage without a meter.
Limits of error are half the width of a uniform spread: standard uncertainty a / sqrt(3) (JCGM 100:2008, 4.3.7).
"""

from __future__ import annotations

import math

from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Book, Rig
from diagnose.model.measuring import Meter
from diagnose.units import UnitError, convert, dimension

_ROOT_3 = math.sqrt(3.0)


def meter_of(book: Book, rig: Rig, case: Case, observation: Observation) -> Meter | None:
    """The meter that a reading names: of the case, of the shop, or the bench's usual one of that sort."""
    name = observation.meter
    if not name:
        return None
    if name in case.meters:
        return case.meters[name]
    if name in book.meters:
        return book.meters[name]
    instrument = book.bench.instruments.get(name)
    return instrument.meter if instrument is not None else None


def in_unit_of(meter: Meter, value: float, unit: str) -> float | None:
    """A value of a quantity in the unit of the meter; None where it measures something else."""
    if not meter.unit:
        return None
    try:
        if dimension(meter.unit) != dimension(unit):
            return None
        return convert(value, unit, meter.unit)
    except UnitError:
        return None


def range_in_use(meter: Meter, value: float, asked: float | None) -> float:
    """Full scale in use: as stated, else the smallest range that holds the value; 0 where none is known.

    All in the unit of the meter.
    """
    if asked:
        return asked
    holding = [full for full in meter.ranges if full >= abs(value)]
    return min(holding) if holding else max(meter.ranges, default=0.0)


def resistance(meter: Meter, full_scale: float) -> float:
    """Ohms between the leads on a range of so many volts; infinite where nothing is said."""
    if meter.input_resistance > 0:
        return meter.input_resistance
    if meter.ohms_per_volt > 0 and full_scale > 0:
        return meter.ohms_per_volt * full_scale
    return math.inf


def loading(source: float, meter_ohms: float) -> float:
    """The share that the meter shows of the voltage that is there without it; both resistances in ohms."""
    if source <= 0 or math.isinf(meter_ohms):
        return 1.0
    return meter_ohms / (source + meter_ohms)


def marked_for_another(line: float, marked: float) -> float:
    """What a wattmeter that reads the volts shows of the power in a line of other ohms than it is marked for.

    It shows V^2 / marked where V^2 / line is there, both in ohms; 1 where either is not known.
    """
    return line / marked if line > 0 and marked > 0 else 1.0


def inaccuracy(meter: Meter, value: float, full_scale: float) -> float:
    """Standard uncertainty of a reading of `value`, in the unit of the meter; 0 where nothing is said."""
    # the last place is told to half its step
    return math.hypot(limit_of_error(meter, value, full_scale) / _ROOT_3, 0.5 * meter.resolution / _ROOT_3)


def limit_of_error(meter: Meter, value: float, full_scale: float) -> float:
    """How far the meter may be off at `value`, in its unit: errors of one scale add up."""
    return meter.of_full_scale * full_scale + meter.of_reading * abs(value) + meter.digits * meter.resolution
