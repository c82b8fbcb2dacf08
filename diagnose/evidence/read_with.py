"""The instruments that stand between a quantity and its reading."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.evidence.meters import meter_of
from diagnose.model.assembly import Assembly, PlacedIndication
from diagnose.model.case import Case, Observation


def instruments_of(
    assembly: Assembly, case: Case, observation: Observation, usual: Sequence[str], unit: str
) -> tuple[str, ...]:
    """What the instruments of a reading show, as indications of the rig; those that cannot lie are left out.

    The one that the reading names, else the rig's for this quantity, else the `usual` ones, else the bench's
    for the unit.
    """
    bench, rig = assembly.book.bench, assembly.rig
    names: Sequence[str] = rig.read_with.get(observation.name) or usual
    if not names:
        names = [instrument.id for instrument in bench.instruments.values() if unit in instrument.reads][:1]
    if observation.meter:
        meter = meter_of(assembly.book, rig, case, observation)
        named = observation.meter if meter is None else meter.id
        names = (named,) if assembly.instrument(named) is not None else names
    found = (assembly.instrument(name) for name in names)
    return tuple(dict.fromkeys(name for name in found if name is not None))


def powers_of(
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
