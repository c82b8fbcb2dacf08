"""Which findings count: one witness for one thing that was seen, and none of what no longer holds."""

from __future__ import annotations

from dataclasses import replace

from diagnose.evidence.sharing import shared_out
from diagnose.model.assembly import Assembly, resolve
from diagnose.model.case import Case
from diagnose.model.knowledge import Indication
from diagnose.model.periods import Periods
from diagnose.model.result import Finding


def what_counts(assembly: Assembly, case: Case, periods: Periods, findings: list[Finding]) -> list[Finding]:
    """The findings in their order, those that do not count marked as such, each with the reason."""
    findings = _still_known(periods, findings)
    findings = _by_period(assembly, case, periods, findings)
    return _what_changed(periods, findings)


def _still_known(periods: Periods, findings: list[Finding]) -> list[Finding]:
    """Readings from before work of which no part is named, and the like, speak of a set no longer known."""
    return [
        _uncounted(f, "taken before work that was done since")
        if f.counted and periods.period(f.observation.period) < periods.first
        else f
        for f in findings
    ]


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
        judged = _of_one_time(assembly, case, [findings[number] for number in beside])
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


def _of_one_time(assembly: Assembly, case: Case, findings: list[Finding]) -> list[Finding]:
    """The findings of one time with those that do not count marked as such."""
    findings = _one_per_indication(findings)
    findings = _judgeable(assembly, case, findings)
    findings = _not_twice(assembly, findings)
    return shared_out(assembly, case, findings)


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
