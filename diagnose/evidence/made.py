"""Observations that readings make together: derived figures and signs, patterns over bands, pairs, drift logs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from diagnose.evidence.amounts import as_told
from diagnose.evidence.answers import answers
from diagnose.evidence.as_observation import as_observation
from diagnose.evidence.bands import over_bands
from diagnose.evidence.derived import Workings
from diagnose.evidence.drift_logs import drift_readings, fitted
from diagnose.evidence.pairs import of_pair
from diagnose.evidence.references import converted
from diagnose.evidence.worked_out import WorkedOut
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from diagnose.model.result import Finding
from diagnose.uncertain import Uncertain


def made_observations(assembly: Assembly, case: Case, findings: Sequence[Finding]) -> tuple[Observation, ...]:
    """What the readings of a case make together, as observations of the rig's indications.

    `findings` are those of the case's own observations, none of them left out yet.
    """
    workings = Workings(assembly, case, findings)
    return (
        *_given(workings, findings),
        *answers(workings),
        *_patterns(workings, findings),
        *_from_logs(workings),
    )


def _given(workings: Workings, findings: Sequence[Finding]) -> Iterator[Observation]:
    """Quantities that follow from what was read; of several ways the surest.

    One that was read itself follows a second time where figures say so that other instruments were read for.
    """
    for quantity, givers in workings.layout.giving.items():
        surest: dict[tuple[str, str], tuple[WorkedOut, Uncertain]] = {}
        unit = workings.assembly.indications[quantity].indication.unit
        read = [f for f in findings if f.name == quantity and (f.observation.state or f.path is not None)]
        for found in (each for giver in givers for each in workings.worked_out(giver)):
            key = (found.mode, found.band)
            if found.had is None:
                continue
            if workings.was_read(quantity, *key) and not _second_way(workings, found, read):
                continue
            amount = converted(found.had.amount, found.had.unit, unit)
            if amount is not None and (key not in surest or amount.relative < surest[key][1].relative):
                surest[key] = (found, amount)
        for found, amount in surest.values():
            yield _as_reading(workings, found, amount)


def _second_way(workings: Workings, found: WorkedOut, read: Sequence[Finding]) -> bool:
    """Whether a derived figure is a witness beside the readings of its quantity.

    It is where no instrument of it stands behind them, and where it rests on more than what counts itself.
    """
    if all(name in workings.assembly.indications for name in found.names):
        return False
    own = set(found.powers())
    return bool(own) and all(
        f.path is not None and f.read_with and own.isdisjoint(dict(f.read_with)) for f in read
    )


def _as_reading(workings: Workings, found: WorkedOut, amount: Uncertain) -> Observation:
    """A derived figure as a reading of the quantity that it gives; `amount` in the unit of that."""
    value, within = as_told(amount.value, amount.standard)
    mains = next(iter(workings.mains_of(found.used)), None)
    made = as_observation(workings, found, found.placed.gives, found.shown)
    return replace(made, value=value, within=within, mains=mains)


def _patterns(workings: Workings, findings: Sequence[Finding]) -> Iterator[Observation]:
    """Patterns and symptoms that several readings of one quantity make; they take the place of an answer."""
    assembly, case = workings.assembly, workings.case
    for placed in workings.layout.of_pair:
        found = of_pair(assembly, case, placed, findings)
        if found is not None:
            yield _instead(case, found)
    for placed in workings.layout.over_bands:
        found = over_bands(assembly, case, placed, findings)
        if found is not None:
            yield _instead(case, found)


def _instead(case: Case, made: Observation) -> Observation:
    """The made observation so that it takes the place of what the person answered, if he did."""
    answered = [o for o in case.observations if o.name == made.name and (o.state or o.value is not None)]
    if not answered:
        return made
    said = f"{made.made_by}; answered too"
    return replace(made, mode=answered[-1].mode, band=answered[-1].band, made_by=said)


def _from_logs(workings: Workings) -> Iterator[Observation]:
    """Readings out of drift logs, of what was not read itself."""
    if not workings.case.drift:
        return
    for reading in drift_readings(workings.assembly, fitted(workings.assembly, workings.case)):
        if not workings.was_read(reading.name, reading.mode, reading.band):
            yield reading
