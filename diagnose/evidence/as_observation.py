"""A derived figure as an observation: when it holds, what it was made of, and who told that."""

from __future__ import annotations

from diagnose.evidence.derived import Workings
from diagnose.evidence.worked_out import WorkedOut
from diagnose.model.case import Observation


def as_observation(workings: Workings, found: WorkedOut, name: str, shown: str) -> Observation:
    """What a figure says of the indication `name` (id on the rig), still without a value or a likelihood.

    `shown` is the arithmetic that is told of it.
    """
    powers = found.powers()
    first = workings.case.observations[min(found.used)]
    return Observation(
        name,
        mode=found.mode,
        band=found.band,
        told_by=workings.told_by(found.used),
        while_showing=first.while_showing,
        made_of=found.names,
        made_by=f"worked out: {shown}",
        read_with=tuple(powers),
        read_powers=tuple(powers.values()),
        place=first.place,
    )
