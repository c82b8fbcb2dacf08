"""What the book says of measuring: instruments, figures worked out from others, and limits of today.

Amounts are in the unit that stands beside them; uncertainties are relative and standard (one deviation).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.model.when import When
from diagnose.problems import NOWHERE, Place

TRUE, LOW, HIGH, DEAD = "true", "low", "high", "dead"  # what an instrument may show, in this order
SHOWS = (TRUE, LOW, HIGH, DEAD)
MOST, LEAST = "most", "least"  # the sides of a limit


@dataclass(frozen=True)
class Meter:
    """One meter on the bench: whose readings it gives, how it loads and how well it reads.

    `instrument` is the bench's word for its sort. `ohms_per_volt` loads by the range in use,
    `input_resistance` (ohm) by itself. `of_full_scale`, `of_reading`: limits of error as shares, `digits`
    counts of `resolution`, both in `unit`; limits are taken as half the width of a uniform spread (GUM 4.3.7).
    `impedance` (ohm): the line for which a wattmeter that reads its volts is marked in watts.
    """

    id: str
    title: str
    instrument: str
    unit: str = ""
    ranges: tuple[float, ...] = ()  # full scale, in `unit`
    ohms_per_volt: float = 0.0
    input_resistance: float = 0.0
    impedance: float = 0.0
    of_full_scale: float = 0.0
    of_reading: float = 0.0
    digits: float = 0.0
    resolution: float = 0.0
    place: Place = NOWHERE


@dataclass(frozen=True)
class Astray:
    """How an instrument errs in one of its modes: it shows `gain` times the truth, give or take `spread`.

    A dead one shows up to `gain` times what a good set would.
    """

    gain: float
    spread: float = 0.0


@dataclass(frozen=True)
class Instrument:
    """A sort of instrument of the bench. `kind` is the kind of stage whose parts can make it lie, if any.

    `meter` describes the usual one; `reads` lists the units of the quantities it is taken for by default.
    `always`: it is at hand whatever a case says, as one's own eyes are. `limits_current`: the set is brought
    up on it with little current or little voltage, so that a short does no more harm.
    """

    id: str
    title: str
    kind: str = ""
    features: Mapping[str, str] = field(default_factory=dict)
    reads: tuple[str, ...] = ()
    meter: Meter | None = None
    always: bool = False
    limits_current: bool = False


@dataclass(frozen=True)
class Reference:
    """Where a figure comes from. Exactly one of the names is set; `other` is used where that is unknown.

    `quantity`: a quantity, figure or derived figure, local or through a port. `value`: a value of the
    stage's parts on the rig. `tube`: a figure of one of the stage's tubes, as `block.name`; `which` of them,
    counted from 1, or from the end by -1. `rig`: `mains_voltage`, `mains_frequency`, `multiplication`.
    `feature`: a word. `amount`: itself, in `unit`.
    """

    quantity: str = ""
    value: str = ""
    tube: str = ""
    which: int = 1
    rig: str = ""
    feature: str = ""
    amount: float | None = None
    unit: str = ""
    expected: bool = False  # of a quantity what a good set shows, not what was read
    other: Reference | None = None
    within: float | None = None  # relative standard uncertainty of the figure
    place: Place = NOWHERE


@dataclass(frozen=True)
class Limit:
    """What a figure may be as it is today, whatever the mains: a rating, or a rule of the trade.

    `in_mode`: what it is in some modes instead, where that is known.
    """

    most: Reference | None = None
    least: Reference | None = None
    says: str = ""  # what follows from being beyond it
    source: str = ""
    in_mode: Mapping[str, Limit] = field(default_factory=dict)
    place: Place = NOWHERE

    def at(self, mode: str) -> Limit:
        """The limit that holds in a mode; of one that is not known, what is said of none in particular."""
        return self.in_mode.get(mode, self)


@dataclass(frozen=True)
class Answer:
    """A sign that a figure answers by its limit: the indication is in `state` where it is beyond one of `sides`."""

    indication: str
    state: str
    sides: tuple[str, ...]


@dataclass(frozen=True)
class PartValue:
    """A value of a part that a rig may state for a stage of this kind."""

    id: str
    title: str
    unit: str
    within: float = 0.0  # relative standard uncertainty, where the rig states none
    place: Place = NOWHERE


@dataclass(frozen=True)
class Figure:
    """Something read at the bench that is not judged by itself, only used to work out others."""

    id: str
    title: str
    ask: str
    unit: str
    reads_within: float = 0.03
    read_with: tuple[str, ...] = ()
    condition: str = ""
    words: tuple[str, ...] = ()
    place: Place = NOWHERE


@dataclass(frozen=True)
class Derived:
    """A figure worked out by a formula from others. `gives` names the quantity that it is a reading of.

    `answers`: the signs that its limit decides. It is worked out in these modes only, if any are named;
    a `quiet` one is a step on the way to others, which a short report leaves out.
    """

    id: str
    title: str
    unit: str
    formula: str
    inputs: Mapping[str, Reference]
    when: When = ()  # tests of the stage's features, as in rules
    gives: str = ""
    answers: tuple[Answer, ...] = ()
    limit: Limit | None = None
    in_mode: tuple[str, ...] = ()
    quiet: bool = False
    source: str = ""
    place: Place = NOWHERE


@dataclass(frozen=True)
class Computed:
    """How the expected value of a quantity follows from the rig's parts where its chart has no row."""

    method: str
    result: str
    inputs: Mapping[str, Reference]
    when: When = ()
    place: Place = NOWHERE


@dataclass(frozen=True)
class Shape:
    """One state of a pattern over the bands, and how large it usually is.

    `kind`: "all", "falling", "one_band" or "above". `size`: the least and the greatest ratio to the
    expected value where it shows.
    """

    kind: str
    size: tuple[float, float]


@dataclass(frozen=True)
class OverBands:
    """A pattern that readings of one quantity over the bands make; `shapes` by state of the pattern."""

    quantity: str
    shapes: Mapping[str, Shape]
    spread: float = 0.05  # relative deviation from band to band in a good set


@dataclass(frozen=True)
class OfPair:
    """An indication that two readings of one quantity make: `pair` is "cold_warm" or "before_after".

    A ratio above 1 + `by` is the state `rose`, below 1 - `by` the state `fell`; "" where it is none.
    """

    quantity: str
    pair: str
    by: float
    rose: str = ""
    fell: str = ""


@dataclass(frozen=True)
class DriftLog:
    """Which quantities the fit of a drift log gives: figure of the fit to local name."""

    gives: Mapping[str, str]
    multiplied: bool = True
