"""Patterns that readings of one quantity over the bands make."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

from diagnose.evidence.band_rows import NOT_READ, band_row
from diagnose.model.assembly import Assembly, PlacedIndication
from diagnose.model.case import Case, Observation
from diagnose.model.measuring import OverBands
from diagnose.model.result import Finding
from diagnose.series.over_bands import EVEN, Readings, Shape, log_likelihoods

_ANYWHERE: Final = 2.0  # ratios up to this are as likely as each other in a state that has no shape


def over_bands(
    assembly: Assembly, case: Case, placed: PlacedIndication, findings: Sequence[Finding]
) -> Observation | None:
    """What the readings of a case say of a pattern over the bands; None where fewer than two bands were read."""
    declared = placed.indication.over_bands
    row = band_row(assembly, case, placed, findings)
    if declared is None or row is None:
        return None
    used = [finding for finding in row.findings if finding is not None]
    told = [finding.observation.told_by for finding in used]
    words = ", ".join(
        f"{band} {100.0 * ratio:.0f} %"
        for band, ratio in zip(assembly.rig.bands, row.readings.ratios, strict=True)
        if ratio is not None
    )
    return Observation(
        placed.id,
        likelihood=scaled(logs_of(placed, declared, row.readings)),  # as if the pattern alone counted
        made_of=(used[0].name,),
        made_by=f"worked out from {len(used)} bands, of the expected value: {words}",
        told_by=min(told, key=lambda by: assembly.book.bench.reports[by]),
        place=used[-1].observation.place,
    )


def logs_of(
    placed: PlacedIndication, declared: OverBands, readings: Readings, count: int | None = None
) -> list[float]:
    """The natural logarithm of the density of the readings in each state, in their order; `count` of them say anything."""
    shapes = {state: Shape(shape.kind, shape.size) for state, shape in declared.shapes.items()}
    found: Mapping[str, float] = log_likelihoods(readings, shapes)
    silent = len(readings.places) - (len(readings.places) if count is None else count)
    # a state that has no shape may show anything; what says nothing says it of that state too
    anything = -(len(readings.places) - silent) * math.log(_ANYWHERE)
    anything -= silent * math.log(NOT_READ * math.sqrt(2.0 * math.pi))
    states = placed.indication.states
    return [found[EVEN], *(found.get(state.id, anything) for state in states[1:])]


def scaled(logs: Sequence[float]) -> tuple[float, ...]:
    """Likelihoods of which the greatest is 1, from their logarithms."""
    top = max(logs)
    return tuple(math.exp(log - top) for log in logs)
