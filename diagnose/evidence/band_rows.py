"""The readings of one quantity by band, as ratios to what a good set shows."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from diagnose.evidence.amounts import READING
from diagnose.model.assembly import Assembly, PlacedIndication, resolve
from diagnose.model.case import Case
from diagnose.model.measuring import OverBands
from diagnose.model.periods import is_now
from diagnose.model.result import Finding
from diagnose.series.over_bands import Readings

NOT_READ: Final = 1e6  # uncertainty of a ratio that says nothing


@dataclass(frozen=True, eq=False)
class BandRow:
    """The readings of a quantity by band, in the order of the rig's bands; None where there is none."""

    findings: tuple[Finding | None, ...]
    readings: Readings

    def at_gain(self, gain: float, spread: float) -> tuple[Readings, float]:
        """The ratios that are there when they come through a gain, and the natural logarithm of the scale of their density.

        `gain` is what is shown over what is there, above 0; `spread` its relative standard uncertainty.
        """
        read = self.readings
        common = math.hypot(read.common, spread)
        ratios = [None if ratio is None else ratio / gain for ratio in read.ratios]
        through = replace(
            read, ratios=ratios, uncertainties=[own / gain for own in read.uncertainties], common=common
        )
        return through, -len(read.places) * math.log(gain)

    def only(self, kept: Sequence[int]) -> Readings:
        """The same bands, of which only those at the places `kept` say anything."""
        read = self.readings
        own = [u if place in kept else NOT_READ for place, u in enumerate(read.uncertainties)]
        return replace(read, uncertainties=own)


def band_row(
    assembly: Assembly, case: Case, placed: PlacedIndication, findings: Sequence[Finding]
) -> BandRow | None:
    """The readings of the set as it is now, of the mode in which most bands were read; of each band the last."""
    declared = placed.indication.over_bands
    name = resolve(assembly.rig.stages[placed.stage], declared.quantity) if declared is not None else None
    bands = assembly.rig.bands
    by_mode: dict[str, dict[str, Finding]] = {}
    for finding in findings:
        observation = finding.observation
        band = observation.band or case.band
        if finding.name != name or band not in bands or not _usable(case, finding):
            continue
        row = by_mode.setdefault(observation.mode or case.mode, {})
        if not (observation.warmth == "cold" and band in row and row[band].observation.warmth != "cold"):
            row[band] = finding
    found = max(by_mode.values(), key=len, default={})
    if declared is None or name is None or len(found) < 2:
        return None
    return _as_row(assembly, declared, assembly.indications[name].indication.tolerance, found)


def _usable(case: Case, finding: Finding) -> bool:
    """Whether a finding is a reading of the set as it is now, against what a good set shows."""
    path = finding.path
    return path is not None and bool(path.expected) and is_now(case, finding.observation)


def _as_row(
    assembly: Assembly, declared: OverBands, tolerance: float, found: Mapping[str, Finding]
) -> BandRow:
    """The ratios of the readings to what a good set shows, with what is their own and what all of them share."""
    bands = assembly.rig.bands
    ratios: list[float | None] = []
    owns: list[float] = []
    shared = 0.0
    for band in bands:
        path = found[band].path if band in found else None
        if path is None or not path.expected:
            ratios.append(None)
            owns.append(0.0)
            continue
        ratio = path.at_chart / path.expected
        own = math.hypot(*(share for name, share in path.budget if name == READING))
        common = math.hypot(*(share for name, share in path.budget if name != READING))
        ratios.append(ratio)
        owns.append(own * abs(ratio))
        shared = max(shared, common)
    steps = [assembly.rig.multiplication.get(band) for band in bands]
    known = [step for step in steps if step is not None]
    readings = Readings(
        ratios,
        owns,
        spread=max(declared.spread, 1e-3),
        common=math.hypot(0.5 * tolerance, shared),
        multiplication=known if len(known) == len(bands) else None,
    )
    return BandRow(tuple(found.get(band) for band in bands), readings)
