"""All observations of a case, turned into findings: at most one counted finding per indication and meter."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from diagnose.evidence.counting import what_counts
from diagnose.evidence.finding import finding_of
from diagnose.evidence.made import made_observations
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case
from diagnose.model.periods import Periods, periods_of
from diagnose.model.result import Finding


@dataclass(frozen=True)
class Findings:
    """Every finding in the order of the case; of each indication those that count, and the first of them.

    Several of one indication count only if they were read with different instruments. `counted` and
    `witnesses` speak of the set as it is now; `earlier` of what was there before work that may have changed
    it: the same by name and copy (see `Periods`). Nothing that was observed before period `since` counts.
    """

    all: tuple[Finding, ...]
    counted: Mapping[str, Finding]
    witnesses: Mapping[str, tuple[Finding, ...]]
    periods: Periods = field(default_factory=Periods)
    earlier: Mapping[tuple[str, int], tuple[Finding, ...]] = field(default_factory=dict)
    since: int = 0

    def abnormal(self) -> tuple[Finding, ...]:
        """Counted findings of the set as it is whose most likely state is not the good one."""
        return tuple(
            f for counted in self.witnesses.values() for f in counted if f.abnormal and self.stands(f)
        )

    def stands(self, finding: Finding) -> bool:
        """Whether a finding of the set as it is still holds: no work was done since on what it was read with."""
        period = self.periods.period(finding.observation.period)
        used = (name for name, _ in finding.read_with)
        return all(self.periods.copy(name, period) == self.periods.last(name) for name in used)

    @cached_property
    def as_it_is(self) -> Mapping[str, Finding]:
        """What counts and still stands: of each indication what its readings that stand say together."""
        standing = {name: list(filter(self.stands, found)) for name, found in self.witnesses.items()}
        return {name: _together(found) for name, found in standing.items() if found}

    @property
    def set_aside(self) -> dict[str, Finding]:
        """The last finding of each indication of which nothing counts any more, from before `since`."""
        known = {*self.counted, *(name for name, _ in self.earlier)}
        return {
            f.name: f
            for f in self.all
            if f.state and f.name not in known and self.periods.period(f.observation.period) < self.since
        }

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

    So too what was read with something that was worked on since, and what was set aside. Nothing that cannot be taken on this bench, nor
    what can only be judged while something else is bad: whether a spare tube helps is not tried on a set that is
    well.
    """
    before = [
        (name, found[0]) for (name, copy), found in findings.earlier.items() if findings.latest(name, copy)
    ]
    before = [(name, finding) for name, finding in before if name not in findings.counted]
    before += [(name, found) for name, found in findings.counted.items() if name not in findings.as_it_is]
    before += list(findings.set_aside.items())
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
    findings = [finding_of(assembly, case, assembly.indications[o.name], o) for o in known]
    made = made_observations(assembly, case, findings)
    findings += [finding_of(assembly, case, assembly.indications[o.name], o) for o in made]
    findings = what_counts(assembly, case, periods, findings)
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
    return Findings(tuple(findings), counted, witnesses, periods, earlier, since)


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
