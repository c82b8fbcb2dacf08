"""What a good set would show: the rig's chart where it has a row, otherwise computed from its parts."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.evidence.chart import row_of
from diagnose.evidence.figures import computed_values
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from diagnose.model.measuring import Meter

BY_CHART = "the chart"


@dataclass(frozen=True)
class Expectation:
    """The value of a good set in the quantity's unit, how it is known, and how far (relative, standard).

    `tolerance` is the row's own, `meter` what the chart was made with, both where the chart says so.
    """

    value: float
    by: str = BY_CHART
    within: float = 0.0
    tolerance: float | None = None
    meter: Meter | None = None


def expectation(assembly: Assembly, case: Case, observation: Observation) -> Expectation | None:
    """What a good set shows under the conditions of a reading; None where nothing can be said."""
    rig = assembly.rig
    mode, band = observation.mode or case.mode, observation.band or case.band
    row = row_of(rig.chart, observation.name, mode, band)
    if row is not None:
        meter = rig.chart_meters.get(row.meter or rig.chart_meter)
        return Expectation(row.value, tolerance=row.tolerance, meter=meter)
    if mode and any(row.quantity == observation.name and row.mode not in ("", mode) for row in rig.chart):
        return None  # the chart has it for another mode only: here the set is not meant to be judged by it
    computed = computed_values(assembly, mode).get(observation.name)
    if computed is None:
        return None
    return Expectation(computed.value, f"computed: {computed.by}", computed.within)
