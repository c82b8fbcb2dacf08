"""What readings on a rig of the book make: worked-out figures, and what of them is beyond a limit."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.evidence.derived import Workings
from diagnose.evidence.limits import flags
from diagnose.model.result import Flag
from tests.outside.bench import bench

Readings = Mapping[str, str]


def workings(rig: str, readings: Readings, mode: str = "cw") -> Workings:
    """What can be worked out from these readings on a rig of the book."""
    found = bench(rig)
    return Workings(found.assembly, found.case({"mode": mode, "mains": "117 V", "readings": dict(readings)}))


def worked_out(rig: str, name: str, readings: Readings, mode: str = "cw") -> float:
    """A derived figure, in its unit; exactly one must follow."""
    (only,) = workings(rig, readings, mode).worked_out(name)
    value = only.figure.value
    assert value is not None, only.figure.notes
    return value


def beyond(rig: str, readings: Readings, mode: str = "cw") -> dict[str, Flag]:
    """By name what is beyond a limit, without what is only near it."""
    return {flag.name: flag for flag in flags(workings(rig, readings, mode), ()) if not flag.near}
