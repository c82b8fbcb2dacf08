"""What is beyond a rating or a rule of the trade today, whatever the mains; and the mains itself.

A figure y with a limit L is beyond it with the chance Phi((y - L) / u), u the standard uncertainty of their
difference; what both rest on cancels in it (JCGM 100:2008, 5.2.2).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from statistics import NormalDist
from typing import Final

from diagnose.evidence.condition import At
from diagnose.evidence.derived import Workings
from diagnose.evidence.path import MAINS_WITHIN
from diagnose.evidence.references import converted, one_after_another, title_of
from diagnose.evidence.worked_out import Had
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case
from diagnose.model.knowledge import Stage
from diagnose.model.measuring import LEAST, MOST, Limit
from diagnose.model.result import Finding, Flag
from diagnose.uncertain import Uncertain, measured

MAINS = "mains"
CAUTION = "mains_caution"  # the figure of the bench: share of the nominal line voltage
_STANDARD: Final = NormalDist()


def flags(workings: Workings, findings: Sequence[Finding]) -> tuple[Flag, ...]:
    """What is beyond a limit, or too near to tell: the line, then readings, then what was worked out of them."""
    return (
        *_mains(workings.assembly, workings.case),
        *_readings(workings),
        *_made(workings, findings),
        *_worked_out(workings),
    )


def _mains(assembly: Assembly, case: Case) -> Iterator[Flag]:
    """The line voltage against that of the rig."""
    share, nominal = assembly.book.bench.advice.get(CAUTION), assembly.rig.mains_voltage
    if share is None or case.mains is None or nominal <= 0:
        return
    line = measured(case.mains, MAINS_WITHIN * case.mains, MAINS)
    for side, word, sign in ((MOST, "above", 1.0), (LEAST, "below", -1.0)):
        limit = Uncertain((1.0 + sign * share) * nominal)
        title = f"{100.0 * share:.3g} % {word} the {nominal:g} V that this set is made for"
        text = "heaters, ratings and wear follow the line as it is"
        flag = _flag(MAINS, "line voltage", Had(line, "V"), limit, title, side, text)
        if flag is not None:
            yield flag


def _readings(workings: Workings) -> Iterator[Flag]:
    """Quantities as they were read, without the load of the meter."""
    rig = workings.assembly.rig
    for placed in workings.layout.limited:
        indication, stage = placed.indication, rig.stages[placed.stage]
        for had in workings.readings(placed.id):
            yield from _against(workings, stage, placed.id, indication.title, had, indication.limit)


def _made(workings: Workings, findings: Iterable[Finding]) -> Iterator[Flag]:
    """Quantities that were read through something else, such as a drift log."""
    for finding in findings:
        observation, placed = finding.observation, workings.assembly.indications[finding.name]
        limit = placed.indication.limit
        if limit is None or not observation.made_of or observation.value is None:
            continue
        within = (observation.within or 0.0) * abs(observation.value)
        amount = measured(observation.value, within, finding.name)
        had = Had(amount, placed.indication.unit, observation.mode, observation.band)
        stage = workings.assembly.rig.stages[placed.stage]
        yield from _against(workings, stage, placed.id, finding.title, had, limit)


def _worked_out(workings: Workings) -> Iterator[Flag]:
    """Derived figures."""
    for found in workings.results:
        if found.had is not None:
            derived, stage = found.placed.derived, found.placed.stage
            yield from _against(workings, stage, found.placed.id, derived.title, found.had, derived.limit)


def _against(
    workings: Workings, stage: Stage, name: str, title: str, had: Had, limit: Limit | None
) -> Iterator[Flag]:
    """A figure against the most and the least it may be."""
    if limit is None:
        return
    here = limit.at(had.mode)
    for side, amount, said in sides_of(workings, stage, had, here):
        flag = _flag(name, title, had, amount, said, side, here.says, here.source)
        if flag is not None:
            yield flag


def sides_of(
    workings: Workings, stage: Stage, had: Had, limit: Limit
) -> Iterator[tuple[str, Uncertain, str]]:
    """The sides of a limit that are known: which, its amount in the unit of the figure, and what it is."""
    for side, reference in ((MOST, limit.most), (LEAST, limit.least)):
        for at in one_after_another(reference) if reference is not None else ():
            found = workings.just(stage, at, At(had.mode, had.band, workings.case.mains))
            amount = converted(found.amount, found.unit, had.unit) if found is not None else None
            if amount is not None:
                yield side, amount, title_of(workings.assembly, stage, at)
                break


def chance_beyond(amount: Uncertain, limit: Uncertain, side: str) -> float:
    """The chance that a figure is beyond a limit on one side; where nothing is uncertain, none or all of it.

    Both in one unit; `side` is MOST or LEAST.
    """
    beyond = amount - limit if side == MOST else limit - amount
    if beyond.standard == 0.0:
        return float(beyond.value > 0.0)
    return _STANDARD.cdf(beyond.value / beyond.standard)


def _flag(
    name: str,
    title: str,
    had: Had,
    limit: Uncertain,
    limit_title: str,
    side: str,
    text: str,
    source: str = "",
) -> Flag | None:
    """The flag of a figure that is beyond its limit, or within its standard uncertainty of it."""
    beyond = had.amount - limit if side == MOST else limit - had.amount
    near = beyond.value <= 0.0
    if near and (beyond.standard == 0.0 or beyond.value < -beyond.standard):
        return None
    chance = chance_beyond(had.amount, limit, side)
    return Flag(
        name=name,
        title=title,
        value=had.amount.value,
        unit=had.unit,
        limit=limit.value,
        limit_title=limit_title,
        side=side,
        chance=chance,
        near=near,
        text=text,
        source=source,
        mode=had.mode,
        band=had.band,
    )
