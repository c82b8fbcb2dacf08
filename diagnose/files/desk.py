"""What is needed to judge what a case says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from diagnose.files.faults import Faults
from diagnose.files.rig_names import RigNames
from diagnose.model.knowledge import Bench, Rig
from diagnose.model.measuring import Meter


@dataclass(frozen=True)
class Desk:
    """A rig with its names, the bench, the meters of shop and case, and how many pieces of work were done."""

    rig: Rig
    names: RigNames
    bench: Bench
    faults: Faults
    meters: Mapping[str, Meter] = field(default_factory=dict)
    works: int = 0

    @cached_property
    def instruments(self) -> Mapping[str, None]:
        """Everything that a reading can be made with."""
        own = (name for name in self.names.instruments() if name.partition(".")[0] in self.rig.stages)
        return dict.fromkeys((*self.meters, *self.bench.instruments, *own))

    def meter(self, name: str) -> Meter | None:
        """The meter behind the name of an instrument, where one is described."""
        instrument = self.bench.instruments.get(name)
        return self.meters.get(name) or (instrument.meter if instrument is not None else None)
