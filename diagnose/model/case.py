"""One set on the bench: rig, history, readings, symptoms, work. Frozen; a change gives a new case."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.model.measuring import Meter
from diagnose.problems import NOWHERE, Place, Problem


@dataclass(frozen=True)
class Observation:
    """One reading, graded reading or symptom as the person gave it.

    A measured reading has `value` (in the quantity's own unit); anything else has `state`,
    an indication's state id, or "" for "not known". `within` is a relative standard uncertainty, or None
    for that of the meter, else the quantity's usual one. `low` and `high` bound a reading given as a range.
    """

    name: str
    state: str = ""
    value: float | None = None
    low: float | None = None
    high: float | None = None
    as_written: str = ""
    within: float | None = None
    mode: str = ""
    band: str = ""
    mains: float | None = None  # volts at the set when it was taken
    told_by: str = "bench"
    while_showing: bool | None = None
    meter: str = ""  # a meter of the case or shop, or an instrument of the bench or the rig
    range: float | None = None  # full scale in use, in the unit of the meter
    mains_frequency: float | None = None  # hertz
    warmth: str = ""  # "cold" or "warm", where it was said
    minutes: float | None = None  # since switching on
    period: int | None = None  # number of pieces of work done before it; None: after all
    made_of: tuple[str, ...] = ()  # worked out: names of the readings it was made of
    made_by: str = ""  # worked out: how, in words
    read_with: tuple[str, ...] = ()  # worked out: instruments that its readings were made with
    read_powers: tuple[float, ...] = ()  # worked out: power of the gain of each of these in the value
    likelihood: tuple[float, ...] = ()  # worked out for each state, where it is no single value
    through: tuple[float, ...] = ()  # the same of a good state, its instruments reading low, high, not at all
    place: Place = NOWHERE


@dataclass(frozen=True)
class Work:
    """A piece of work done; `answers` names the stop order it clears."""

    did: str
    answers: str = ""
    parts: tuple[str, ...] = ()  # the parts it was done to
    cures: tuple[str, ...] = ()  # the causes whose remedy it was; none: whatever was bad in its parts
    changed: bool = True  # whether it may have changed the set; not where nothing in it was touched
    place: Place = NOWHERE


@dataclass(frozen=True)
class Drift:
    """A drift log: seconds and hertz at the oscillator or the output, with volts and degrees Celsius if taken."""

    stage: str
    times: tuple[float, ...]
    frequencies: tuple[float, ...]
    mains: tuple[float, ...] = ()
    temperatures: tuple[float, ...] = ()
    at_output: bool = False
    band: str = ""
    file: str = ""
    place: Place = NOWHERE


@dataclass(frozen=True)
class Case:
    """One set on the bench.

    `instruments`: those of the bench that are at hand, None where nothing is said, which means all of them.
    `cannot`: ids on the rig of checks and indications that cannot be taken here; `has_none`: of these what the set
    does not have, with the words that said so.
    """

    id: str
    rig: str
    about: str = ""
    mains: float | None = None
    mains_frequency: float | None = None
    mode: str = ""
    band: str = ""
    meters: Mapping[str, Meter] = field(default_factory=dict)
    drift: tuple[Drift, ...] = ()
    instruments: tuple[str, ...] | None = None
    history: Mapping[str, object] = field(default_factory=dict)
    safety: tuple[str, ...] = ()
    bench: Mapping[str, str] = field(default_factory=dict)
    cannot: tuple[str, ...] = ()
    intermittent: bool = False
    observations: tuple[Observation, ...] = ()
    inspected: Mapping[str, str] = field(default_factory=dict)
    work: tuple[Work, ...] = ()
    confirmed: tuple[str, ...] | None = None
    has_none: Mapping[str, str] = field(default_factory=dict)
    place: Place = NOWHERE
    problems: tuple[Problem, ...] = ()  # what was read around: an unusable reading, an odd magnitude
