"""What a reference says of a rig that nobody has read anything of: parts, tubes, the rig itself, plain amounts.

A figure comes with its unit and its uncertainty. The source of the uncertainty is the part or the tube, so that
two figures that rest on the same part are correlated as they are in the set.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from diagnose.model.assembly import Assembly, resolve
from diagnose.model.conditions import features_of
from diagnose.model.knowledge import Stage, Tube
from diagnose.model.measuring import Reference
from diagnose.uncertain import Uncertain, measured
from diagnose.units import UnitError, factor, split_quantity


@dataclass(frozen=True)
class Stated:
    """A figure in its unit. `said` is False where nothing was said of how far it is known."""

    amount: Uncertain
    unit: str
    said: bool = True

    def into(self, unit: str) -> Uncertain | None:
        """The amount in another unit; None where that is of another dimension."""
        return converted(self.amount, self.unit, unit)


def converted(amount: Uncertain, unit: str, into: str) -> Uncertain | None:
    """An amount in another unit, its uncertainty with it; None where that is of another dimension."""
    if unit == into:
        return amount
    try:
        (mine, own), (theirs, wanted) = factor(unit), factor(into)
    except UnitError:
        return None
    return amount * (own / wanted) if mine == theirs else None


def one_after_another(reference: Reference) -> Iterator[Reference]:
    """A reference, and what stands in its place where it is not known."""
    at: Reference | None = reference
    while at is not None:
        yield at
        at = at.other


def stated(
    assembly: Assembly, stage: Stage, reference: Reference, band: str = "", frequency: float | None = None
) -> Stated | None:
    """The figure of a part, a tube, the rig, or an amount; None for a quantity or a word, or if it is not known.

    `band` picks the multiplication; `frequency` (Hz) is that of today's mains, where it is known.
    """
    if reference.amount is not None:
        return _with(
            reference.amount, reference.unit, reference.within, f"{reference.amount:g} {reference.unit}"
        )
    if reference.value:
        return _value(assembly, stage, reference)
    if reference.tube:
        return _tube(assembly, stage, reference)
    if reference.rig:
        return _rig(assembly, reference, band, frequency)
    return None


def word_of(assembly: Assembly, stage: Stage, reference: Reference) -> str | None:
    """The word of a feature of the stage or its rig; None where there is none, or more than one."""
    found = features_of(assembly.rig, stage).get(reference.feature) if reference.feature else None
    return found if isinstance(found, str) else None


def title_of(assembly: Assembly, stage: Stage, reference: Reference) -> str:
    """What a reference is, for the person."""
    if reference.amount is not None:
        return ""
    if reference.value:
        return assembly.book.kinds[stage.kind].values[reference.value].title
    if reference.tube:
        block, _, name = reference.tube.rpartition(".")
        return f"{name.replace('_', ' ')} of the {_type(stage, reference.which)} ({block.replace('_', ' ')})"
    placed = (
        assembly.indications.get(resolve(stage, reference.quantity) or "") if reference.quantity else None
    )
    if placed is not None:
        return placed.indication.title
    return (reference.rig or reference.feature or reference.quantity).replace("_", " ")


def tube_figure(tube: Tube, name: str) -> tuple[float, str] | None:
    """A figure of a tube, `block.name`, with its unit; None where its row does not have it."""
    block, _, figure = name.rpartition(".")
    written = tube.block(block).get(figure)
    return _quantity(written) if written is not None else None


@lru_cache(maxsize=1024)
def _quantity(written: str) -> tuple[float, str] | None:
    try:
        number, unit = split_quantity(written)
        factor(unit)
    except UnitError:
        return None
    return number, unit


def _with(value: float, unit: str, within: float | None, source: str) -> Stated:
    """A figure whose uncertainty, relative, has one source."""
    return Stated(measured(value, abs(value) * (within or 0.0), source), unit, within is not None)


def _value(assembly: Assembly, stage: Stage, reference: Reference) -> Stated | None:
    """A value of a part as the rig states it, in the unit that the kind of stage gives it."""
    part = assembly.book.kinds[stage.kind].values.get(reference.value)
    own = stage.values.get(reference.value)
    if part is None or own is None or own.amount is None:
        return None
    within = next((w for w in (reference.within, own.within, part.within or None) if w is not None), None)
    found = _with(own.amount, own.unit or part.unit, within, f"{part.title}, {stage.title}")
    amount = found.into(part.unit)
    return None if amount is None else Stated(amount, part.unit, found.said)


def _tube(assembly: Assembly, stage: Stage, reference: Reference) -> Stated | None:
    tube = assembly.book.tubes.get(_type(stage, reference.which))
    found = tube_figure(tube, reference.tube) if tube is not None else None
    if tube is None or found is None:
        return None
    return _with(*found, reference.within, f"{reference.tube} of the {tube.id}")


def _type(stage: Stage, which: int) -> str:
    """The tube of a stage, counted from 1, or from the end by -1; "" where it has none there."""
    position = which - 1 if which > 0 else len(stage.tubes) + which
    return stage.tubes[position] if 0 <= position < len(stage.tubes) else ""


def _rig(assembly: Assembly, reference: Reference, band: str, frequency: float | None) -> Stated | None:
    rig, within = assembly.rig, reference.within
    known: dict[str, tuple[float | None, str]] = {
        "mains_voltage": (rig.mains_voltage, "V"),
        "mains_frequency": (frequency or rig.mains_frequency, "Hz"),
        "multiplication": (multiplication(assembly, band), ""),
    }
    value, unit = known.get(reference.rig, (None, ""))
    return None if value is None else _with(value, unit, within, reference.rig.replace("_", " "))


def multiplication(assembly: Assembly, band: str) -> float | None:
    """From the oscillator to the output on a band; without a band only where it is the same on all; else None."""
    factors = assembly.rig.multiplication
    if band:
        return factors.get(band)
    return next(iter(factors.values())) if len(set(factors.values())) == 1 else None
