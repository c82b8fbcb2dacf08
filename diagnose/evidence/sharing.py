"""A pattern over the bands and the readings in it, taken as one witness.

The reading that counts for the quantity is part of the pattern too. It counts once all the same: half of its
weight here, half there. With r the readings, c the one that counts and s a shape,

    p(c | state)^(1/2)   for the quantity,   p(r | s) / p(c | s)^(1/2)   for the pattern,

so that a quantity which is low and a pattern which is even still contradict each other. (Weights that add up to
one over the places where a thing counts: Wainwright, Jaakkola and Willsky, IEEE Trans. Information Theory 51
(2005), 2313, section V.)
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from diagnose.evidence.band_rows import BandRow, band_row
from diagnose.evidence.bands import logs_of, scaled
from diagnose.evidence.grade import density, good_limits, softened
from diagnose.model.assembly import Assembly, PlacedIndication
from diagnose.model.case import Case
from diagnose.model.knowledge import State
from diagnose.model.measuring import DEAD, HIGH, LOW, Astray, OverBands
from diagnose.model.result import Finding
from diagnose.series.over_bands import EVEN, Readings, log_likelihoods

SHARE: Final = 0.5  # of the weight of a reading that counts twice


def shared_out(assembly: Assembly, case: Case, findings: Sequence[Finding]) -> list[Finding]:
    """The findings with each counted pattern over the bands, and the readings in it that count, taken as one witness."""
    result = list(findings)
    for place, finding in enumerate(findings):
        placed = assembly.indications[finding.name]
        declared = placed.indication.over_bands
        if declared is None or not finding.counted or not finding.observation.likelihood:
            continue
        row = band_row(assembly, case, placed, findings)
        if row is None:
            continue
        bands = {id(f.observation): band for band, f in enumerate(row.findings) if f is not None}
        counted = [n for n, f in enumerate(findings) if f.counted and id(f.observation) in bands]
        kept = [bands[id(findings[number].observation)] for number in counted]
        result[place] = _pattern(assembly, placed, declared, finding, row, kept)
        for number in counted:
            result[number] = _halved(result[number], finding.title)
    return result


def _halved(finding: Finding, pattern: str) -> Finding:
    """A reading whose other half counts in a pattern."""
    return replace(
        finding,
        weight=finding.weight * SHARE,
        likelihood=tuple(value**SHARE for value in finding.likelihood),
        notes=(*finding.notes, f"counts by half here, by half in: {pattern}"),
    )


def _pattern(
    assembly: Assembly,
    placed: PlacedIndication,
    declared: OverBands,
    finding: Finding,
    row: BandRow,
    kept: Sequence[int],
) -> Finding:
    """The finding of a pattern without half of the readings that count by themselves, and through its instrument."""
    alone = _apart(placed, declared, row, kept)
    # relative to each other, as they were told; a state that is out of the question stays so
    told = [math.log(value) if value > 0.0 else -math.inf for value in finding.observation.likelihood]
    logs = [log - half for log, half in zip(told, alone, strict=True)]
    likelihood = softened(scaled(logs), finding.right)
    best = max(range(len(likelihood)), key=likelihood.__getitem__)
    finding = replace(finding, likelihood=likelihood, state=finding.states[best], abnormal=best != 0)
    instrument = _instrument(row)
    if instrument is None:
        return finding
    if told[0] > -math.inf:
        level = _even(row.readings) - told[0]
    else:
        level = max(logs_of(placed, declared, row.readings))
    top = max(logs) + level
    astray = assembly.indications[instrument].indication.astray
    through = [_through(row, kept, astray[word]) for word in (LOW, HIGH)]
    through.append(_dead(row, kept, astray[DEAD].gain))
    low, high, dead = softened([math.exp(min(log - top, 300.0)) for log in through], finding.right)
    return replace(finding, read_with=((instrument, 1.0),), through=(low, high, dead))


def _apart(placed: PlacedIndication, declared: OverBands, row: BandRow, kept: Sequence[int]) -> list[float]:
    """The logarithm of what the readings that count by themselves say there, state by state."""
    if not kept:
        return [0.0] * len(placed.indication.states)
    return [SHARE * log for log in logs_of(placed, declared, row.only(kept), len(kept))]


def _through(row: BandRow, kept: Sequence[int], err: Astray) -> float:
    """The same for a set that is even, its readings taken through a gain."""
    readings, scale = row.at_gain(err.gain, err.spread)
    half = SHARE * _even(replace(row, readings=readings).only(kept)) if kept else 0.0
    return _even(readings) - half + scale * (1.0 - SHARE * len(kept) / len(readings.places))


def _even(readings: Readings) -> float:
    """The logarithm of the density of the readings in an even set."""
    return log_likelihoods(readings, {})[EVEN]


def _dead(row: BandRow, kept: Sequence[int], gain: float) -> float:
    """The same through an instrument that shows next to nothing."""
    log = 0.0
    for place in row.readings.places:
        finding, ratio = row.findings[place], row.readings.ratios[place]
        limits = good_limits(finding.graded) if finding is not None else None
        nothing = State(DEAD, between=(0.0, gain * (limits[1] if limits else 1.0)))
        own = max(row.readings.uncertainties[place], 1e-3)
        share = SHARE if place in kept else 1.0
        log += share * math.log(max(density(nothing, abs(ratio or 0.0), own), 1e-300))
    return log


def _instrument(row: BandRow) -> str | None:
    """The instrument that all readings were taken with, if it is one alone."""
    used = [{name for name, power in f.read_with if power == 1} for f in row.findings if f is not None]
    shared = set.intersection(*used)
    return shared.pop() if len(shared) == 1 and all(len(names) == 1 for names in used) else None
