"""One measured reading on its way from the dial to the scale of its states.

Uncertainties are relative and standard; those of different origin are independent and add as squares
(JCGM 100:2008, 5.1.2).
"""

from __future__ import annotations

import math

from diagnose.evidence.expected import Expectation
from diagnose.evidence.mains import factor, widening
from diagnose.evidence.meters import (
    in_unit_of,
    inaccuracy,
    limit_of_error,
    loading,
    marked_for_another,
    meter_of,
    range_in_use,
    resistance,
)
from diagnose.model.assembly import Assembly, PlacedIndication
from diagnose.model.case import Case, Observation
from diagnose.model.result import Path
from diagnose.units import convert, dimension

READS_AT_BEST = 0.01  # nobody reads a dial better, and no set stands quite still
POWER = "a power"
MAINS_WITHIN = 0.01  # relative standard uncertainty of a reading of the line


def path_of(
    assembly: Assembly,
    case: Case,
    placed: PlacedIndication,
    observation: Observation,
    expectation: Expectation | None,
    source: tuple[float, float] | None,
) -> Path:
    """The steps of a measured reading: values in the unit of its quantity, uncertainties as shares.

    `source`: ohms at the test point, and how far they are known (relative, standard); None where they are not. The
    observation has a value.
    """
    assert observation.value is not None
    indication = placed.indication
    value = observation.value
    meter = meter_of(assembly.book, assembly.rig, case, observation)
    budget: list[tuple[str, float]] = []
    ohms = math.inf
    shown, limit, marked = 1.0, 0.0, 0.0
    source_ohms, source_within = source or (0.0, 0.0)
    own = _own_uncertainty(observation, indication.reads_within)
    if meter is not None:
        in_meter = in_unit_of(meter, value, indication.unit)
        if in_meter is not None:
            full = range_in_use(meter, in_meter, observation.range)
            ohms = resistance(meter, full)
            shown = loading(source_ohms, ohms)
            if meter.impedance > 0 and dimension(indication.unit) == POWER:
                shown = marked_for_another(source_ohms, meter.impedance)
                marked = meter.impedance if shown != 1.0 else 0.0
            wrong = inaccuracy(meter, in_meter, full)
            limit = convert(limit_of_error(meter, in_meter, full), meter.unit, indication.unit)
            if wrong > 0 and in_meter != 0:
                budget.append((f"accuracy of the {meter.title}", wrong / abs(in_meter)))
                own = READS_AT_BEST if observation.within is None and observation.low is None else own
    budget.insert(0, ("reading it", own))
    corrected = value / shown
    if shown != 1.0:
        budget.append(("load of the meter", abs(1.0 - shown) * source_within))
    mains = observation.mains if observation.mains is not None else case.mains
    chart_mains = assembly.rig.mains_voltage
    power = indication.follows_mains
    followed = factor(mains, chart_mains, power, indication.drops_out_below)
    at_chart = corrected / followed
    if mains is not None:
        budget.append(("carrying it to the chart's mains", widening(mains, chart_mains, power)))
        budget.append(("reading of the mains", abs(power) * MAINS_WITHIN))
    expected = raw = None
    by, within = "", 0.0
    if expectation is not None:
        raw, by, within = expectation.value, expectation.by, expectation.within
        expected = raw
        if meter is not None and expectation.meter is not None and source is not None:
            in_chart = in_unit_of(expectation.meter, raw, indication.unit)
            if in_chart is not None:
                chart_range = range_in_use(expectation.meter, in_chart, None)
                expected = raw / loading(source_ohms, resistance(expectation.meter, chart_range))
        budget.append(("expected value", within))
    kept = tuple((name, share) for name, share in budget if share > 0)
    return Path(
        as_read=value,
        corrected=corrected,
        at_chart=at_chart,
        meter=meter.title if meter is not None else "",
        meter_ohms=0.0 if math.isinf(ohms) else ohms,
        marked_ohms=marked,
        source_ohms=source_ohms,
        mains=mains,
        chart_mains=chart_mains,
        follows=power,
        expected=expected,
        expected_raw=raw,
        expected_by=by,
        expected_within=within,
        budget=kept,
        spread=math.sqrt(sum(share * share for _, share in kept)),
        limit=limit / shown / followed,
    )


def _own_uncertainty(observation: Observation, usual: float) -> float:
    """Of the reading itself: as stated, by its range, else as such readings usually are."""
    if observation.within is not None:
        return observation.within
    value = observation.value
    if observation.low is not None and observation.high is not None and value:
        return (observation.high - observation.low) / 2.0 / math.sqrt(3.0) / abs(value)
    return usual
