"""All observations of a case, turned into findings: at most one counted finding per indication."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from diagnose.evidence.expected import at_chart_mains, chart_row, mains_widening
from diagnose.evidence.grade import (
    good_limits,
    likelihoods,
    report_likelihoods,
    softened,
    with_tolerance,
)
from diagnose.model.assembly import Assembly, PlacedIndication, resolve
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import State
from diagnose.model.result import Finding


@dataclass(frozen=True)
class Findings:
    """Every finding in the order of the case, and the counted one of each indication."""

    all: tuple[Finding, ...]
    counted: Mapping[str, Finding]

    def abnormal(self) -> tuple[Finding, ...]:
        """Counted findings whose most likely state is not the good one."""
        return tuple(f for f in self.counted.values() if f.abnormal)


def collect(assembly: Assembly, case: Case) -> Findings:
    """Findings of a case. The order in which observations were entered matters only for repeats."""
    findings = [
        _finding(assembly, case, assembly.indications[observation.name], observation)
        for observation in case.observations
        if observation.name in assembly.indications
    ]
    findings = _one_per_indication(findings)
    findings = _judgeable(assembly, case, findings)
    findings = _not_twice(assembly, findings)
    return Findings(tuple(findings), {f.name: f for f in findings if f.counted})


def _finding(assembly: Assembly, case: Case, placed: PlacedIndication, observation: Observation) -> Finding:
    states = tuple(state.id for state in placed.indication.states)
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
    )
    right = assembly.book.bench.reports.get(observation.told_by, 1.0)
    if observation.value is not None:
        return _measured(assembly, case, placed, blank, right)
    if not observation.state:
        return replace(blank, notes=("not known",))
    said = placed.indication.state_index(observation.state)
    notes = () if right >= 1 else (f"told by {observation.told_by}",)
    return replace(
        blank,
        likelihood=report_likelihoods(len(states), said, right),
        state=observation.state,
        abnormal=said != 0,
        counted=True,
        notes=notes,
    )


def _measured(
    assembly: Assembly, case: Case, placed: PlacedIndication, blank: Finding, right: float
) -> Finding:
    indication, observation = placed.indication, blank.observation
    assert observation.value is not None
    within = observation.within if observation.within is not None else indication.reads_within
    mains = observation.mains if observation.mains is not None else case.mains
    chart_mains = assembly.rig.mains_voltage
    at_chart = at_chart_mains(observation.value, mains, chart_mains, indication.follows_mains)
    notes: list[str] = []
    if at_chart != observation.value and mains is not None:
        notes.append(f"read at {mains:g} V of mains, chart at {chart_mains:g} V")
    states: Sequence[State] = indication.states
    expected: float | None = None
    unit_size = 1.0
    if indication.scale == "ratio":
        row = chart_row(assembly.rig.chart, observation, case)
        if row is None or row.value == 0:
            return replace(blank, at_chart=at_chart, notes=("the chart has no value for it",))
        expected = unit_size = row.value
        if row.tolerance is not None:
            states = with_tolerance(states, indication.tolerance, row.tolerance)
    value = at_chart / unit_size
    spread = within * abs(value)
    spread = (spread**2 + (mains_widening(mains, chart_mains, indication.follows_mains) * value) ** 2) ** 0.5
    limits = good_limits(states)
    if spread <= 0:
        spread = 1e-3 * (limits[1] if limits else 1.0)
    values = softened(likelihoods(states, value, spread), right)
    best = max(range(len(values)), key=values.__getitem__)
    return replace(
        blank,
        likelihood=values,
        state=states[best].id,
        abnormal=best != 0,
        counted=True,
        expected=expected,
        at_chart=at_chart,
        limits=(limits[0] * unit_size, limits[1] * unit_size) if limits else None,
        notes=tuple(notes),
    )


def _one_per_indication(findings: list[Finding]) -> list[Finding]:
    """Only one reading of an indication counts.

    Of repeats under one condition the last; over several bands or modes the one furthest from good, because
    they are one sign and not one witness each.
    """
    chosen: dict[str, int] = {}
    for position, finding in enumerate(findings):
        if not finding.counted:
            continue
        if finding.name not in chosen:
            chosen[finding.name] = position
            continue
        other = findings[chosen[finding.name]]
        if _condition(other) == _condition(finding) or finding.likelihood[0] < other.likelihood[0]:
            chosen[finding.name] = position
    return [
        finding
        if not finding.counted or chosen[finding.name] == position
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
        rests = [resolve(stage, name) for name in placed.indication.rests_on]
        if finding.counted and rests and all(name in counted for name in rests):
            titles = ", ".join(assembly.indications[str(name)].indication.title for name in rests)
            result.append(_uncounted(finding, f"rests on {titles}"))
        else:
            result.append(finding)
    return result


def _uncounted(finding: Finding, because: str) -> Finding:
    return replace(finding, counted=False, notes=(*finding.notes, f"not counted: {because}"))
