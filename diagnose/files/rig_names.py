"""The full names that exist on one rig: what a case may speak of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.files.frozen import Frozen
from diagnose.model.assembly import UNNAMED
from diagnose.model.conditions import features_of, holds
from diagnose.model.knowledge import Book, Indication, Rig

GOOD = "good"


@dataclass(frozen=True)
class RigNames:
    """Indications, the modes of every part, and the stop orders of a rig, by full name."""

    indications: Mapping[str, Indication]
    modes: Mapping[str, tuple[str, ...]]
    stops: tuple[str, ...]
    absent: Mapping[str, str]  # what the kind of stage has and this rig's features exclude: why

    def causes(self) -> tuple[str, ...]:
        """Every cause: stage, part and mode."""
        return tuple(f"{part}.{mode}" for part, modes in self.modes.items() for mode in modes)


def names_on(book: Book, rig: Rig) -> RigNames:
    """The names of a rig, with its features taken into account."""
    indications: dict[str, Indication] = {}
    modes: dict[str, tuple[str, ...]] = {}
    stops: list[str] = []
    absent: dict[str, str] = {}
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
        for part in kind.parts.values():
            if holds(part.when, features):
                modes[f"{stage.id}.{part.id}"] = tuple(mode.id for mode in part.modes)
        if kind.unnamed_prior > 0:
            modes[f"{stage.id}.{UNNAMED}"] = ("present",)
        stops.extend(f"{stage.id}.{order}" for order in kind.stop_orders)
    return RigNames(Frozen(indications), Frozen(modes), tuple(stops), Frozen(absent))


def _needed(indication: Indication) -> str:
    """What a rig needs to have the indication, in words."""
    return " and ".join(f"{test.name}: {' or '.join(test.any_of) or 'other'}" for test in indication.when)
