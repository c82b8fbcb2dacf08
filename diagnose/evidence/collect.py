"""All observations of a case, turned into findings: at most one counted finding per indication and meter."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from diagnose.evidence.bands import shared_out
from diagnose.evidence.expected import Expectation, expectation
from diagnose.evidence.figures import ohms_of
from diagnose.evidence.grade import (
    density,
    good_limits,
    likelihoods,
    report_likelihoods,
    softened,
    with_tolerance,
)
from diagnose.evidence.made import made_observations
from diagnose.evidence.path import path_of
from diagnose.evidence.read_with import instruments_of
from diagnose.model.assembly import Assembly, PlacedIndication, resolve
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Indication, State
from diagnose.model.periods import Periods, periods_of
from diagnose.model.result import Finding, Measured, Path

_UNDECIDED = 0.9  # likelihood of the good state from which a reading is none of a fault


@dataclass(frozen=True)
class Findings:
    """Every finding in the order of the case; of each indication those that count, and the first of them.

    Several of one indication count only if they were read with different instruments. `counted` and
    `witnesses` speak of the set as it is now; `earlier` of what was there before work that may have changed
    it: the same by name and copy (see `Periods`).
    """

    all: tuple[Finding, ...]
    counted: Mapping[str, Finding]
    witnesses: Mapping[str, tuple[Finding, ...]]
    periods: Periods = field(default_factory=Periods)
    earlier: Mapping[tuple[str, int], tuple[Finding, ...]] = field(default_factory=dict)

    def abnormal(self) -> tuple[Finding, ...]:
        """Counted findings of the set as it is whose most likely state is not the good one."""
        return tuple(
            f for counted in self.witnesses.values() for f in counted if f.abnormal and self.stands(f)
        )

    def stands(self, finding: Finding) -> bool:
        """Whether a finding of the set as it is would be read again: no work was done since on what it was read with."""
        period = self.periods.period(finding.observation.period)
        used = (name for name, _ in finding.read_with)
        return all(self.periods.copy(name, period) == self.periods.last(name) for name in used)

    @cached_property
    def as_it_is(self) -> Mapping[str, Finding]:
        """What counts and still stands, of each indication the first."""
        return {name: finding for name, finding in self.counted.items() if self.stands(finding)}

    def of_copy(self, name: str, copy: int) -> Finding:
        """The finding that counts of a copy of an indication. KeyError if there is none."""
        return self.counted[name] if copy == self.periods.last(name) else self.earlier[name, copy][0]

    def latest(self, name: str, copy: int) -> bool:
        """Whether no later copy of an indication was observed: a sign seen in it still stands."""
        if name in self.counted:
            return copy == self.periods.last(name)
        return copy == max(c for other, c in self.earlier if other == name)


def to_see_again(assembly: Assembly, case: Case, findings: Findings) -> tuple[Finding, ...]:
    """What was abnormal before work that may have cured it, and was not looked at since.

    So too what was read with something that was worked on since. Nothing that cannot be taken on this bench, nor
    what can only be judged while something else is bad: whether a spare tube helps is not tried on a set that is
    well.
    """
    before = [
        (name, found[0]) for (name, copy), found in findings.earlier.items() if findings.latest(name, copy)
    ]
    before = [(name, finding) for name, finding in before if name not in findings.counted]
    before += [(name, found) for name, found in findings.counted.items() if name not in findings.as_it_is]
    found = []
    for name, finding in before:
        if not finding.abnormal:
            continue
        needs = assembly.indications[name].needs
        only_bad = any(assembly.indications[need].indication.states[0].id not in met for need, met in needs)
        if not only_bad and name not in case.cannot:
            found.append(finding)
    return tuple(found)


def collect(assembly: Assembly, case: Case, since: int = 0) -> Findings:
    """Findings of a case, those from before period `since` not counted.

    The order in which observations were entered matters only for repeats.
    """
    periods = periods_of(assembly, case, since)
    known = [o for o in case.observations if o.name in assembly.indications]
    findings = [_finding(assembly, case, assembly.indications[o.name], o) for o in known]
    made = made_observations(assembly, case, findings)
    findings += [_finding(assembly, case, assembly.indications[o.name], o) for o in made]
    findings = _still_known(periods, findings)
    findings = _by_period(assembly, case, periods, findings)
    findings = _what_changed(periods, findings)
    witnesses: dict[str, tuple[Finding, ...]] = {}
    earlier: dict[tuple[str, int], tuple[Finding, ...]] = {}
    for finding in findings:
        if not finding.counted:
            continue
        name = finding.name
        copy = periods.copy(name, periods.period(finding.observation.period))
        if copy == periods.last(name):
            witnesses[name] = (*witnesses.get(name, ()), finding)
        else:
            earlier[name, copy] = (*earlier.get((name, copy), ()), finding)
    counted = {name: _together(found) for name, found in witnesses.items()}
    return Findings(tuple(findings), counted, witnesses, periods, earlier)


def _by_period(assembly: Assembly, case: Case, periods: Periods, findings: list[Finding]) -> list[Finding]:
    """What counts of the findings, judged beside the others that speak of the same time.

    What no work between two periods can have changed is the same in both.
    """
    times = [periods.period(f.observation.period) for f in findings]
    homes = [periods.home(f.name, time) for f, time in zip(findings, times, strict=True)]
    result = list(findings)
    for period in sorted(set(homes) | {periods.count}):
        beside = [
            number
            for number, finding in enumerate(findings)
            if periods.copy(finding.name, times[number]) == periods.copy(finding.name, period)
        ]
        judged = _what_counts(assembly, case, [findings[number] for number in beside])
        for number, finding in zip(beside, judged, strict=True):
            if homes[number] == period:
                result[number] = finding
    return result


def _what_changed(periods: Periods, findings: list[Finding]) -> list[Finding]:
    """Of what was good before work and is good after it, the later counts: it is one witness."""
    copies = [periods.copy(f.name, periods.period(f.observation.period)) for f in findings]
    last: dict[str, dict[int, str]] = {}
    for finding, copy in zip(findings, copies, strict=True):
        if finding.counted:
            last.setdefault(finding.name, {})[copy] = finding.state
    result = []
    for finding, copy in zip(findings, copies, strict=True):
        later = [each for each in last.get(finding.name, ()) if each > copy]
        good = not finding.abnormal and later and last[finding.name][min(later)] == finding.state
        if finding.counted and good:
            result.append(_uncounted(finding, "read again after the work, and still good"))
        else:
            result.append(finding)
    return result


def _what_counts(assembly: Assembly, case: Case, findings: list[Finding]) -> list[Finding]:
    """The findings of one time with those that do not count marked as such."""
    findings = _one_per_indication(findings)
    findings = _judgeable(assembly, case, findings)
    findings = _not_twice(assembly, findings)
    return shared_out(assembly, case, findings)


def _finding(assembly: Assembly, case: Case, placed: PlacedIndication, observation: Observation) -> Finding:
    states = tuple(state.id for state in placed.indication.states)
    right = assembly.book.bench.reports[observation.told_by]
    blank = Finding(
        observation=observation,
        name=placed.id,
        title=placed.indication.title,
        states=states,
        likelihood=(1.0,) * len(states),
        state="",
        abnormal=False,
        counted=False,
        unit=placed.indication.unit,
        right=right,
        graded=placed.indication.states,
        notes=(observation.made_by,) if observation.made_by else (),
    )
    if observation.likelihood:
        return _by_likelihood(blank, observation.likelihood)
    if observation.value is not None:
        return _measured(assembly, case, placed, blank)
    if not observation.state:
        return replace(blank, notes=("not known",))
    said = placed.indication.state_index(observation.state)
    notes = blank.notes if right >= 1 else (*blank.notes, f"told by {observation.told_by}")
    read_with = _read_with(assembly, case, placed, observation) if placed.indication.unit else ()
    return replace(
        blank,
        likelihood=report_likelihoods(len(states), said, right),
        state=observation.state,
        abnormal=said != 0,
        counted=True,
        notes=notes,
        read_with=read_with,
    )


def _by_likelihood(blank: Finding, given: Sequence[float]) -> Finding:
    """A finding whose likelihood was worked out from several readings."""
    top = max(given)
    values = tuple(value / top for value in given)
    best = max(range(len(values)), key=values.__getitem__)
    if values[0] >= _UNDECIDED:
        best = 0
    blank = replace(blank, likelihood=values, state=blank.states[best], abnormal=best != 0, counted=True)
    observation = blank.observation
    if not observation.through:
        return blank
    low, high, dead = observation.through
    read_with = tuple(zip(observation.read_with, observation.read_powers, strict=True))
    return replace(blank, read_with=read_with, through=(low, high, dead))


def _measured(assembly: Assembly, case: Case, placed: PlacedIndication, blank: Finding) -> Finding:
    indication, observation = placed.indication, blank.observation
    expected: Expectation | None = None
    if indication.scale == "ratio":
        expected = expectation(assembly, case, observation)
    source = ohms_of(assembly, placed.stage, indication.source_resistance)
    path = path_of(assembly, case, placed, observation, expected, source)
    notes = _path_notes(path, indication.unit)
    path = replace(path, notes=notes) if notes else path
    known: dict[str, Any] = {
        "path": path,
        "at_chart": path.at_chart,
        "read_with": _read_with(assembly, case, placed, observation),
        "notes": (*blank.notes, *notes),
    }
    states: Sequence[State] = indication.states
    unit_size = 1.0
    if indication.scale == "ratio":
        if expected is None or not path.expected:
            unknown = "nothing is known of what a good set shows"
            return replace(blank, **{**known, "notes": (*blank.notes, *notes, unknown)})
        unit_size = path.expected
        if expected.tolerance is not None:
            states = with_tolerance(states, indication.tolerance, expected.tolerance)
    value = path.at_chart / unit_size
    limits = good_limits(states)
    limit = path.limit / unit_size
    spread = math.sqrt(max((path.spread * value) ** 2 - limit**2 / 3.0, 0.0))  # all but the meter
    if spread <= 0:
        spread = 1e-3 * (limits[1] if limits else 1.0)
    values = softened(likelihoods(states, value, spread, limit), blank.right)
    best = max(range(len(values)), key=values.__getitem__)
    if values[0] >= _UNDECIDED:
        best = 0
    return replace(
        blank,
        **known,
        likelihood=values,
        state=states[best].id,
        abnormal=best != 0,
        counted=True,
        expected=path.expected,
        limits=(limits[0] * unit_size, limits[1] * unit_size) if limits else None,
        graded=tuple(states),
        measured=Measured(
            value, spread, max(density(state, value, spread, limit) for state in states), limit
        ),
    )


def _read_with(
    assembly: Assembly, case: Case, placed: PlacedIndication, observation: Observation
) -> tuple[tuple[str, float], ...]:
    """Instruments on the rig between the quantity and the reading, with the power of their gain in it.

    The reading of the mains takes part in all that is corrected by it.
    """
    bench, indication = assembly.book.bench, placed.indication
    if observation.made_of:
        found = dict(zip(observation.read_with, observation.read_powers, strict=True))
    else:
        names = instruments_of(assembly, case, observation, indication.read_with, indication.unit)
        found = dict.fromkeys(names, 1.0)
    mains = observation.mains if observation.mains is not None else case.mains
    line = assembly.instrument(bench.mains_meter) if bench.mains_meter else None
    if mains is not None and indication.follows_mains and line is not None:
        found[line] = found.get(line, 0.0) - indication.follows_mains
    return tuple((name, power) for name, power in found.items() if power)


def _path_notes(path: Path, unit: str) -> tuple[str, ...]:
    notes: list[str] = []
    unit = f" {unit}" if unit and unit != "dimensionless" else ""
    if path.corrected != path.as_read:
        why = f"without the load of the {path.meter}"
        if path.marked_ohms:
            why = f"on {path.source_ohms:g} ohm: the {path.meter} is marked for {path.marked_ohms:g} ohm"
        notes.append(f"{path.corrected:.4g}{unit} {why}")
    if path.at_chart != path.corrected and path.mains is not None:
        notes.append(
            f"read at {path.mains:g} V of mains: {path.at_chart:.4g}{unit} at the chart's {path.chart_mains:g} V"
        )
    if path.expected_by.startswith("computed") and path.expected is not None:
        notes.append(
            f"a good set shows about {path.expected:.4g}{unit}, {path.expected_by},"
            f" to {100 * path.expected_within:.2g} %"
        )
    return tuple(notes)


def _together(findings: Sequence[Finding]) -> Finding:
    """What several readings of one indication, made with different instruments, say together."""
    first = findings[0]
    if len(findings) == 1:
        return first
    product = [math.prod(f.likelihood[i] for f in findings) for i in range(len(first.states))]
    top = max(product)
    if top <= 0:  # they exclude each other: the inference says so
        return first
    values = tuple(value / top for value in product)
    best = max(range(len(values)), key=values.__getitem__)
    return replace(first, likelihood=values, state=first.states[best], abnormal=best != 0)


def _still_known(periods: Periods, findings: list[Finding]) -> list[Finding]:
    """Readings from before work of which no part is named, and the like, speak of a set no longer known."""
    return [
        _uncounted(f, "taken before work that was done since")
        if f.counted and periods.period(f.observation.period) < periods.first
        else f
        for f in findings
    ]


def _one_per_indication(findings: list[Finding]) -> list[Finding]:
    """Only one reading of an indication counts for each instrument.

    Of repeats under one condition the last, a warm one before a cold one; over several bands or modes the one
    furthest from good, because they are one sign and not one witness each.
    """
    chosen: dict[tuple[str, tuple[str, ...]], int] = {}
    for position, finding in enumerate(findings):
        if not finding.counted:
            continue
        key = (finding.name, tuple(name for name, power in finding.read_with if power == 1))
        if key not in chosen:
            chosen[key] = position
            continue
        other = findings[chosen[key]]
        if (other.observation.warmth == "cold") != (finding.observation.warmth == "cold"):
            replaces = other.observation.warmth == "cold"
        else:
            replaces = _condition(other) == _condition(finding) or finding.likelihood[0] < other.likelihood[0]
        if replaces:
            chosen[key] = position
    kept = set(chosen.values())
    return [
        finding
        if not finding.counted or position in kept
        else _uncounted(finding, "another reading of the same counts")
        for position, finding in enumerate(findings)
    ]


def _condition(finding: Finding) -> tuple[str, str]:
    return (finding.observation.mode, finding.observation.band)


def _judgeable(assembly: Assembly, case: Case, findings: list[Finding]) -> list[Finding]:
    """Leave out what cannot be judged because something it needs was found missing."""
    counted = {f.name: f for f in findings if f.counted}
    unjudged: dict[str, str] = {}
    for name in assembly.order:
        if name not in counted:
            continue
        finding = counted[name]
        for target, met in assembly.indications[name].needs:
            known = counted.get(target)
            if known is not None and target not in unjudged and known.state not in met:
                unjudged[name] = f"cannot be judged: {known.title} is {known.state}"
        passing = case.intermittent and not finding.abnormal
        if passing and not finding.observation.while_showing:
            unjudged.setdefault(name, "good, but not taken while the intermittent fault showed")
    return [_uncounted(f, unjudged[f.name]) if f.counted and f.name in unjudged else f for f in findings]


def _not_twice(assembly: Assembly, findings: list[Finding]) -> list[Finding]:
    """A quantity worked out from others is not counted when all of those are."""
    counted = {f.name for f in findings if f.counted}
    result = []
    for finding in findings:
        placed = assembly.indications[finding.name]
        stage = assembly.rig.stages[placed.stage]
        rests: list[str | None] = [resolve(stage, name) for name in placed.indication.rests_on]
        if finding.observation.made_of and not _of_one(placed.indication):
            rests = list(finding.observation.made_of)
        if finding.counted and rests and all(name in counted and name != finding.name for name in rests):
            titles = ", ".join(assembly.indications[str(name)].indication.title for name in rests)
            result.append(_uncounted(finding, f"rests on {titles}"))
        else:
            result.append(finding)
    return result


def _of_one(indication: Indication) -> bool:
    """Whether it is made of several readings of one quantity, of which one counts by itself."""
    return indication.of_pair is not None or indication.over_bands is not None


def _uncounted(finding: Finding, because: str) -> Finding:
    return replace(finding, counted=False, notes=(*finding.notes, f"not counted: {because}"))
