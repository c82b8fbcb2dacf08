"""The full names that exist on one rig: what a case may speak of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.files.frozen import Frozen
from diagnose.model.assembly import UNNAMED, resolve
from diagnose.model.conditions import features_of, holds
from diagnose.model.knowledge import Book, Indication, Rig, Stage
from diagnose.model.measuring import Derived, Figure

GOOD = "good"


@dataclass(frozen=True)
class RigNames:
    """Indications, figures, the modes of every part, stop orders and checks of a rig, by full name."""

    indications: Mapping[str, Indication]
    modes: Mapping[str, tuple[str, ...]]
    stops: tuple[str, ...]
    absent: Mapping[str, str]  # what the kind of stage has and this rig's features exclude: why
    figures: Mapping[str, Figure]
    derived: Mapping[str, tuple[str, ...]]  # what is worked out from readings: the names it is made of
    checks: tuple[str, ...] = ()

    def readable(self) -> tuple[str, ...]:
        """Everything that a reading may name."""
        return (*self.indications, *self.figures)

    def instruments(self) -> tuple[str, ...]:
        """The meters of the rig that readings are made with."""
        return tuple(name for name, found in self.indications.items() if found.sort == "instrument")

    def causes(self) -> tuple[str, ...]:
        """Every cause: stage, part and mode."""
        return tuple(f"{part}.{mode}" for part, modes in self.modes.items() for mode in modes)


def names_on(book: Book, rig: Rig) -> RigNames:
    """The names of a rig, with its features taken into account."""
    indications: dict[str, Indication] = {}
    modes: dict[str, tuple[str, ...]] = {}
    stops: list[str] = []
    absent: dict[str, str] = {}
    figures: dict[str, Figure] = {}
    derived: dict[str, tuple[str, ...]] = {}
    checks: list[str] = []
    for stage in rig.stages.values():
        kind = book.kinds[stage.kind]
        features = features_of(rig, stage)
        for indication in kind.indications.values():
            name = f"{stage.id}.{indication.id}"
            if holds(indication.when, features):
                indications[name] = indication
                stops.extend([name] if indication.stop else [])
            else:
                absent[name] = _needed(indication)
        figures.update((f"{stage.id}.{figure.id}", figure) for figure in kind.figures.values())
        for worked in kind.derived.values():
            if holds(worked.when, features):
                derived[f"{stage.id}.{worked.id}"] = _made_of(worked, stage)
        for part in kind.parts.values():
            if holds(part.when, features):
                modes[f"{stage.id}.{part.id}"] = tuple(mode.id for mode in part.modes)
        if kind.unnamed_prior > 0:
            modes[f"{stage.id}.{UNNAMED}"] = ("present",)
        stops.extend(f"{stage.id}.{order}" for order in kind.stop_orders)
        checks.extend(f"{stage.id}.{c.id}" for c in kind.checks.values() if holds(c.when, features))
    return RigNames(
        Frozen(indications),
        Frozen(modes),
        tuple(stops),
        Frozen(absent),
        Frozen(figures),
        Frozen(derived),
        tuple(checks),
    )


def _made_of(worked: Derived, stage: Stage) -> tuple[str, ...]:
    """The full names of what a derived figure is worked out from."""
    names = (resolve(stage, reference.quantity) for reference in worked.inputs.values() if reference.quantity)
    return tuple(name for name in names if name is not None)


def _needed(indication: Indication) -> str:
    """What a rig needs to have the indication, in words."""
    return " and ".join(f"{test.name}: {' or '.join(test.any_of) or 'other'}" for test in indication.when)
