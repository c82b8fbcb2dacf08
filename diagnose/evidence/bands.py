"""Patterns that readings of one quantity over the bands make.

The reading that counts for the quantity is part of the pattern too. It counts once all the same: half of its
weight here, half there. With r the readings, c the one that counts and s a shape,

    p(c | state)^(1/2)   for the quantity,   p(r | s) / p(c | s)^(1/2)   for the pattern,

so that a quantity which is low and a pattern which is even still contradict each other. (Weights that add up to
one over the places where a thing counts: Wainwright, Jaakkola and Willsky, IEEE Trans. Information Theory 51
(2005), 2313, section V.)
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from diagnose.evidence.amounts import READING
from diagnose.evidence.grade import density, good_limits, softened
from diagnose.model.assembly import Assembly, PlacedIndication, resolve
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import State
from diagnose.model.measuring import DEAD, HIGH, LOW, Astray, OverBands
from diagnose.model.result import Finding
from diagnose.series.over_bands import EVEN, Readings, Shape, log_likelihoods

SHARE: Final = 0.5  # of the weight of a reading that counts twice
_NOT_READ: Final = 1e6  # uncertainty of a ratio that says nothing
_ANYWHERE: Final = 2.0  # ratios up to this are as likely as each other in a state that has no shape


@dataclass(frozen=True, eq=False)
class _Row:
    """The readings of a quantity by band, in the order of the rig's bands; None where there is none."""

    findings: tuple[Finding | None, ...]
    readings: Readings

    def at_gain(self, gain: float, spread: float) -> tuple[Readings, float]:
        """The ratios that are there when they come through a gain, and the logarithm of the scale of their density."""
        read = self.readings
        common = math.hypot(read.common, spread)
        ratios = [None if ratio is None else ratio / gain for ratio in read.ratios]
        through = replace(
            read, ratios=ratios, uncertainties=[own / gain for own in read.uncertainties], common=common
        )
        return through, -len(read.places) * math.log(gain)

    def only(self, kept: Sequence[int]) -> Readings:
        """The same bands, of which only some say anything."""
        read = self.readings
        own = [u if place in kept else _NOT_READ for place, u in enumerate(read.uncertainties)]
        return replace(read, uncertainties=own)


def over_bands(
    assembly: Assembly, case: Case, placed: PlacedIndication, findings: Sequence[Finding]
) -> Observation | None:
    """What the readings of a case say of a pattern over the bands; None where fewer than two bands were read."""
    declared = placed.indication.over_bands
    row = _row(assembly, case, placed, findings)
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
        likelihood=_scaled(_logs(placed, declared, row.readings)),  # as if the pattern alone counted
        made_of=(used[0].name,),
        made_by=f"worked out from {len(used)} bands, of the expected value: {words}",
        told_by=min(told, key=lambda by: assembly.book.bench.reports[by]),
        place=used[-1].observation.place,
    )


def shared_out(assembly: Assembly, case: Case, findings: Sequence[Finding]) -> list[Finding]:
    """The findings with each counted pattern over the bands, and the readings in it that count, taken as one witness."""
    result = list(findings)
    for place, finding in enumerate(findings):
        placed = assembly.indications[finding.name]
        declared = placed.indication.over_bands
        if declared is None or not finding.counted or not finding.observation.likelihood:
            continue
        row = _row(assembly, case, placed, findings)
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
    row: _Row,
    kept: Sequence[int],
) -> Finding:
    """The finding of a pattern without half of the readings that count by themselves, and through its instrument."""
    alone = _apart(placed, declared, row, kept)
    # relative to each other, as they were told; a state that is out of the question stays so
    told = [math.log(value) if value > 0.0 else -math.inf for value in finding.observation.likelihood]
    logs = [log - half for log, half in zip(told, alone, strict=True)]
    likelihood = softened(_scaled(logs), finding.right)
    best = max(range(len(likelihood)), key=likelihood.__getitem__)
    finding = replace(finding, likelihood=likelihood, state=finding.states[best], abnormal=best != 0)
    instrument = _instrument(row)
    if instrument is None:
        return finding
    if told[0] > -math.inf:
        level = _even(row.readings) - told[0]
    else:
        level = max(_logs(placed, declared, row.readings))
    top = max(logs) + level
    astray = assembly.indications[instrument].indication.astray
    through = [_through(row, kept, astray[word]) for word in (LOW, HIGH)]
    through.append(_dead(row, kept, astray[DEAD].gain))
    low, high, dead = softened([math.exp(min(log - top, 300.0)) for log in through], finding.right)
    return replace(finding, read_with=((instrument, 1.0),), through=(low, high, dead))


def _apart(placed: PlacedIndication, declared: OverBands, row: _Row, kept: Sequence[int]) -> list[float]:
    """The logarithm of what the readings that count by themselves say there, state by state."""
    if not kept:
        return [0.0] * len(placed.indication.states)
    return [SHARE * log for log in _logs(placed, declared, row.only(kept), len(kept))]


def _through(row: _Row, kept: Sequence[int], err: Astray) -> float:
    """The same for a set that is even, its readings taken through a gain."""
    readings, scale = row.at_gain(err.gain, err.spread)
    half = SHARE * _even(replace(row, readings=readings).only(kept)) if kept else 0.0
    return _even(readings) - half + scale * (1.0 - SHARE * len(kept) / len(readings.places))


def _even(readings: Readings) -> float:
    """The logarithm of the density of the readings in an even set."""
    return log_likelihoods(readings, {})[EVEN]


def _dead(row: _Row, kept: Sequence[int], gain: float) -> float:
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


def _instrument(row: _Row) -> str | None:
    """The instrument that all readings were taken with, if it is one alone."""
    used = [{name for name, power in f.read_with if power == 1} for f in row.findings if f is not None]
    shared = set.intersection(*used)
    return shared.pop() if len(shared) == 1 and all(len(names) == 1 for names in used) else None


def _logs(
    placed: PlacedIndication, declared: OverBands, readings: Readings, count: int | None = None
) -> list[float]:
    """The logarithm of the density of the readings in each state; `count` of them say anything."""
    shapes = {state: Shape(shape.kind, shape.size) for state, shape in declared.shapes.items()}
    found: Mapping[str, float] = log_likelihoods(readings, shapes)
    silent = len(readings.places) - (len(readings.places) if count is None else count)
    # a state that has no shape may show anything; what says nothing says it of that state too
    anything = -(len(readings.places) - silent) * math.log(_ANYWHERE)
    anything -= silent * math.log(_NOT_READ * math.sqrt(2.0 * math.pi))
    states = placed.indication.states
    return [found[EVEN], *(found.get(state.id, anything) for state in states[1:])]


def _scaled(logs: Sequence[float]) -> tuple[float, ...]:
    top = max(logs)
    return tuple(math.exp(log - top) for log in logs)


def _row(
    assembly: Assembly, case: Case, placed: PlacedIndication, findings: Sequence[Finding]
) -> _Row | None:
    """The readings of the set as it is now, of the mode in which most bands were read; of each band the last."""
    declared = placed.indication.over_bands
    name = resolve(assembly.rig.stages[placed.stage], declared.quantity) if declared is not None else None
    bands = assembly.rig.bands
    by_mode: dict[str, dict[str, Finding]] = {}
    for finding in findings:
        observation = finding.observation
        band = observation.band or case.band
        if finding.name != name or band not in bands or not _usable(finding, len(case.work)):
            continue
        row = by_mode.setdefault(observation.mode or case.mode, {})
        if not (observation.warmth == "cold" and band in row and row[band].observation.warmth != "cold"):
            row[band] = finding
    found = max(by_mode.values(), key=len, default={})
    if declared is None or name is None or len(found) < 2:
        return None
    return _as_row(assembly, declared, assembly.indications[name].indication.tolerance, found)


def _usable(finding: Finding, done: int) -> bool:
    """Whether a finding is a reading of the set as it is now, against what a good set shows."""
    period = finding.observation.period
    return finding.path is not None and bool(finding.path.expected) and (period is None or period >= done)


def _as_row(assembly: Assembly, declared: OverBands, tolerance: float, found: Mapping[str, Finding]) -> _Row:
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
    return _Row(tuple(found.get(band) for band in bands), readings)
