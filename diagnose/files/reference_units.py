"""The units in which the figures that references name are had, over all kinds of stage and tubes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from diagnose.files.faults import Faults
from diagnose.files.read_references import RIG_UNITS
from diagnose.files.values import NO_UNIT
from diagnose.model.knowledge import StageKind, Tube
from diagnose.model.measuring import Reference
from diagnose.units import UnitError, dimension, split_quantity


@dataclass(frozen=True)
class ReferenceUnits:
    """What is needed to tell the unit of a reference; `bound` are the kinds that stand at a port of a kind."""

    kinds: Mapping[str, StageKind]
    bound: Mapping[tuple[str, str], tuple[str, ...]]
    tubes: Mapping[str, Tube]
    faults: Faults

    def of(self, reference: Reference, kind: str) -> tuple[str, ...]:
        """The units that a reference may come in; none where they cannot be told."""
        if reference.amount is not None:
            return (reference.unit,)
        if reference.value:
            return (self.kinds[kind].values[reference.value].unit,)
        if reference.rig:
            return (RIG_UNITS[reference.rig],)
        if reference.tube:
            unit = _unit_of_tubes(reference.tube, self.tubes)
            if unit is None:
                said = f"no tube of the book has the figure `{reference.tube}`"
                self.faults.unknown(
                    reference.place, "unknown-figure", said, reference.tube, _tube_figures(self.tubes)
                )
            return () if unit is None else (unit,)
        return tuple(dict.fromkeys(self._units_of_name(reference, kind)))

    def _units_of_name(self, reference: Reference, kind: str) -> Iterator[str]:
        """The units of a quantity, figure or derived figure: through a port, in all kinds bound to it."""
        port, dot, given = reference.quantity.partition(".")
        if not dot:
            unit = _unit_of_name(self.kinds[kind], reference.quantity)
            yield from () if unit is None else (unit,)
            return
        for other in self.bound.get((kind, port), ()):
            unit = _unit_of_name(self.kinds[other], given)
            if unit is not None:
                yield unit
            elif given in self.kinds[other].indications:
                sort = self.kinds[other].indications[given].sort
                said = f"`{reference.quantity}` is a {sort} of the kind {other}, and no figure"
                self.faults.error(reference.place, "reference", said)

    def check(self, reference: Reference, kind: str, unit: str) -> None:
        """The reference, and what is used in its place, is of the dimension of `unit`."""
        if reference.feature:
            said = f"`{reference.feature}` is a word, and a figure is wanted"
            self.faults.error(reference.place, "reference", said)
        for found in () if reference.feature else self.of(reference, kind):
            self.check_dimension(reference, found, unit)
        if reference.other is not None:
            self.check(reference.other, kind, unit)

    def check_dimension(self, reference: Reference, found: str, unit: str) -> bool:
        """Whether a unit in which the reference may come is of the dimension of `unit`; a problem where not."""
        try:
            if same_dimension(found, unit):
                return True
        except UnitError as no_unit:
            self.faults.error(reference.place, "unit", str(no_unit))
            return False
        wanted = f"{dimension(unit)} ({unit})" if unit else dimension(unit)
        name = named(reference)
        said = f"`{name}` is {dimension(found)}, but {wanted} is wanted"
        self.faults.error(reference.place, "unit", said)
        return False


def same_dimension(found: str, wanted: str) -> bool:
    """Whether two units are of one dimension; of a unit that is none, nothing more is said."""
    return NO_UNIT in (found, wanted) or dimension(found) == dimension(wanted)


def named(reference: Reference) -> str:
    """A reference as the person wrote it."""
    if reference.amount is not None:
        return f"{reference.amount:g} {reference.unit}".strip()
    return reference.quantity or reference.value or reference.tube or reference.rig or reference.feature


def _unit_of_tubes(figure: str, tubes: Mapping[str, Tube]) -> str | None:
    """The unit in which the tubes of the book state a figure, `block.name`; None if none of them does."""
    block, _, name = figure.partition(".")
    for tube in tubes.values():
        written = tube.block(block).get(name)
        if written is not None:
            try:
                return split_quantity(written)[1]
            except UnitError:
                continue
    return None


def _unit_of_name(kind: StageKind, name: str) -> str | None:
    """The unit of a quantity, figure or derived figure of a kind; None for anything else."""
    indication = kind.indications.get(name)
    if indication is not None and indication.sort == "quantity":
        return indication.unit
    if name in kind.figures:
        return kind.figures[name].unit
    return kind.derived[name].unit if name in kind.derived else None


def _tube_figures(tubes: Mapping[str, Tube]) -> list[str]:
    found: dict[str, None] = {}
    for tube in tubes.values():
        for block in ("heater", "ratings", "characteristics", *tube.typical):
            found.update((f"{block}.{name}", None) for name in tube.block(block))
    return list(found)
