"""One set on the bench: rig, history, readings, symptoms, work. Frozen; a change gives a new case."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from diagnose.problems import NOWHERE, Place, Problem


@dataclass(frozen=True)
class Observation:
    """One reading, graded reading or symptom as the person gave it.

    A measured reading has `value` (in the quantity's own unit); anything else has `state`,
    an indication's state id, or "" for "not known". `within` is a relative standard uncertainty, or None
    for the quantity's usual one.
    """

    name: str
    state: str = ""
    value: float | None = None
    as_written: str = ""
    within: float | None = None
    mode: str = ""
    band: str = ""
    mains: float | None = None  # volts at the set when it was taken
    told_by: str = "bench"
    while_showing: bool | None = None
    place: Place = NOWHERE


@dataclass(frozen=True)
class Work:
    """A piece of work done; `answers` names the stop order it clears."""

    did: str
    answers: str = ""
    place: Place = NOWHERE


@dataclass(frozen=True)
class Case:
    """One set on the bench."""

    id: str
    rig: str
    about: str = ""
    mains: float | None = None
    mode: str = ""
    band: str = ""
    history: Mapping[str, object] = field(default_factory=dict)
    safety: tuple[str, ...] = ()
    bench: Mapping[str, str] = field(default_factory=dict)
    intermittent: bool = False
    observations: tuple[Observation, ...] = ()
    inspected: Mapping[str, str] = field(default_factory=dict)
    work: tuple[Work, ...] = ()
    confirmed: tuple[str, ...] | None = None
    place: Place = NOWHERE
    problems: tuple[Problem, ...] = ()  # what was read around: an unusable reading, an odd magnitude

    def with_observation(self, observation: Observation) -> Case:
        """The same case with one observation more."""
        return replace(self, observations=(*self.observations, observation))
