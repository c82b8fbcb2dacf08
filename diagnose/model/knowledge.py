"""The book: what the rules folders declare, as frozen values.

Names inside a kind of stage are local ("voltage", or "mains.primary_voltage" through a port);
`assembly` expands them over the stages of a rig. Probabilities are plain floats in 0..1,
times are minutes, and every entry carries the place it was read from.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from diagnose.model.measuring import (
    Astray,
    Computed,
    Derived,
    DriftLog,
    Figure,
    Instrument,
    Limit,
    Meter,
    OfPair,
    OverBands,
    PartValue,
    Reference,
)
from diagnose.model.when import When
from diagnose.problems import NOWHERE, Place

Number = float | int


@dataclass(frozen=True)
class Port:
    """A neighbour of a kind of stage, with the names of it that the rules use."""

    id: str
    title: str
    gives: tuple[str, ...]
    optional: bool = False
    place: Place = NOWHERE


@dataclass(frozen=True)
class State:
    """One state of an indication: its side and rank, its leak, and how values spread in it.

    `side` is "" for the good state, else "down", "up" or "over" (masks the others).
    A value's density is uniform over `between` or normal with (mean, standard deviation) `around`;
    both in the units of the indication's scale. Neither for symptoms and patterns.
    """

    id: str
    side: str = ""
    title: str = ""
    leak: float = 0.0
    between: tuple[float, float] | None = None
    around: tuple[float, float] | None = None


@dataclass(frozen=True)
class Need:
    """The indication must be in one of these states for another to be judged."""

    name: str
    states: tuple[str, ...]


@dataclass(frozen=True)
class Indication:
    """A symptom, a pattern, or a quantity graded into states. `states[0]` is the good one.

    Of sort "instrument" it is what a meter of the stage does to all that is read with it: its states are
    those of `measuring.SHOWS`, and `astray` says how far it errs in each.
    """

    id: str
    sort: str  # "quantity", "symptom", "pattern" or "instrument"
    title: str
    ask: str
    states: tuple[State, ...]
    split: tuple[float, float, float] = (0.5, 0.25, 0.25)
    needs: tuple[Need, ...] = ()
    when: When = ()
    words: tuple[str, ...] = ()
    complaints: Mapping[str, tuple[str, ...]] = field(
        default_factory=dict
    )  # by state, how people complain of it
    stop: str = ""
    # quantities only
    unit: str = ""
    condition: str = ""
    scale: str = ""  # "ratio" (to the expected value) or "absolute"
    tolerance: float = 0.0
    follows_mains: float = 0.0  # power of the line voltage
    drops_out_below: float = 0.0  # share of the chart's mains below which it follows the line after all
    reads_within: float = 0.03
    plausible: tuple[float, float] | None = None
    rests_on: tuple[str, ...] = ()
    read_with: tuple[str, ...] = ()  # instruments it is usually read with
    source_resistance: Reference | None = None  # ohms of the circuit at the test point
    computed: tuple[Computed, ...] = ()  # the first that applies
    limit: Limit | None = None
    # patterns and symptoms that readings make
    over_bands: OverBands | None = None
    of_pair: OfPair | None = None
    # instruments
    astray: Mapping[str, Astray] = field(default_factory=dict)
    place: Place = NOWHERE

    def state_index(self, state: str) -> int:
        """Position of a state by its id; KeyError if there is none."""
        for index, candidate in enumerate(self.states):
            if candidate.id == state:
                return index
        raise KeyError(state)


@dataclass(frozen=True)
class Remedy:
    """What puts a cause right. `works` is its chance of success."""

    do: str
    minutes: float
    works: float
    parts: str = ""
    read_again: tuple[str, ...] = ()
    moves: tuple[str, ...] = ()


@dataclass(frozen=True)
class PriorCase:
    """The prior that holds when these facts do; the first that holds wins."""

    when: When
    prior: float


@dataclass(frozen=True)
class Mode:
    """One way a part can be bad: a cause."""

    id: str
    title: str
    prior: float
    history: tuple[PriorCase, ...] = ()
    remedy: Remedy | None = None
    endangers_spare: str = ""
    place: Place = NOWHERE


@dataclass(frozen=True)
class Part:
    """Something that can fail or be out of adjustment; `modes` from mild to severe."""

    id: str
    title: str
    modes: tuple[Mode, ...]
    when: When = ()
    remedy: Remedy | None = None
    first_aid: bool = False
    unnamed: bool = False
    place: Place = NOWHERE


@dataclass(frozen=True)
class Rule:
    """One arrow: of ten sets with `source_name` in `source_state` and nothing else, `chance` show it.

    `damages` marks a rule whose target is a part of the same stage instead of an indication.
    """

    id: str
    from_name: str
    from_state: str
    to_name: str
    to_state: str
    chance: float
    because: str
    source: str
    when: When = ()
    damages: bool = False
    local: bool = False
    place: Place = NOWHERE


@dataclass(frozen=True)
class Check:
    """One thing to do next that reveals indications."""

    id: str
    title: str
    reveals: tuple[str, ...]
    how: str
    instrument: str
    minutes: float
    good: str
    setup: Mapping[str, str] = field(default_factory=dict)
    hazard: str = ""
    when: When = ()
    swaps: str = ""
    proves: str = ""
    place: Place = NOWHERE


@dataclass(frozen=True)
class FarOver:
    """One of these figures, quantities or derived ones of the stage, is so many times its limit or more."""

    of: tuple[str, ...]
    times: float


@dataclass(frozen=True)
class StopOrder:
    """An order to remove power, from observations, facts and a figure far over its limit that all hold."""

    id: str
    text: str
    observed: Mapping[str, str] = field(default_factory=dict)
    facts: When = ()
    far_over: FarOver | None = None
    place: Place = NOWHERE


@dataclass(frozen=True)
class StageKind:
    """A kind of stage with its whole story."""

    id: str
    title: str
    about: str
    features: Mapping[str, tuple[str, ...]]
    ports: Mapping[str, Port]
    indications: Mapping[str, Indication]
    parts: Mapping[str, Part]
    rules: Mapping[str, Rule]
    checks: Mapping[str, Check]
    stop_orders: Mapping[str, StopOrder]
    unnamed_prior: float
    unnamed_pushes: float
    unnamed_only: tuple[str, ...] = ()
    values: Mapping[str, PartValue] = field(default_factory=dict)
    figures: Mapping[str, Figure] = field(default_factory=dict)
    derived: Mapping[str, Derived] = field(default_factory=dict)
    drift_log: DriftLog | None = None
    place: Place = NOWHERE


@dataclass(frozen=True)
class Fact:
    """A fact of a case's history: number, yes_no, choice or set."""

    id: str
    title: str
    ask: str
    kind: str
    values: Mapping[str, str] = field(default_factory=dict)
    unit: str = ""
    most: float | None = None  # a number above it cannot be meant
    place: Place = NOWHERE


@dataclass(frozen=True)
class SafetyFact:
    """Something to be proven on the bench before live work.

    It is asked of a set whose history meets `when`, but for one whose history meets `unless`: a set of which
    neither is known is not asked for it where there is a `when`.
    """

    id: str
    title: str
    ask: str = ""  # the question to the person, where the title makes none
    when: When = ()
    unless: When = ()
    place: Place = NOWHERE


@dataclass(frozen=True)
class SetupState:
    """One state of a group of the bench's set-up."""

    id: str
    title: str
    minutes: float
    cautions: tuple[str, ...] = ()
    live: bool = False  # the set is powered in this state
    needs: tuple[str, ...] = ()  # safety facts to be proven first
    needs_live: tuple[str, ...] = ()  # the same, when another group is in a live state
    needs_first: tuple[str, ...] = ()  # the same, even before what is done to prove another fact


@dataclass(frozen=True)
class Setup:
    """A group of bench states that exclude each other; `first` is assumed when nothing is said."""

    id: str
    title: str
    first: str
    states: Mapping[str, SetupState]


@dataclass(frozen=True)
class Hazard:
    """A danger that checks name; `needs` lists the safety facts that must be proven first.

    Those in `needs_first` must be proven even before a check that itself proves something.
    """

    id: str
    title: str
    cautions: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    needs_first: tuple[str, ...] = ()


@dataclass(frozen=True)
class Budget:
    """A history with the range in which the expected number of faults of a rig must lie."""

    id: str
    title: str
    history: Mapping[str, object]
    faults: tuple[float, float]
    place: Place = NOWHERE


@dataclass(frozen=True)
class Bench:
    """What holds for the whole bench."""

    facts: Mapping[str, Fact]
    safety_facts: Mapping[str, SafetyFact]
    setups: Mapping[str, Setup]
    hazards: Mapping[str, Hazard]
    instruments: Mapping[str, Instrument]
    reports: Mapping[str, float]
    budgets: Mapping[str, Budget]
    advice: Mapping[str, float] = field(default_factory=dict)  # minutes and chances by name
    mains_meter: str = ""  # the instrument that the line voltage is read with
    shop_talk: Mapping[str, str] = field(default_factory=dict)  # what work is told in, in the book's words

    @property
    def safety(self) -> Mapping[str, str]:
        """The titles of the safety facts."""
        return {id: fact.title for id, fact in self.safety_facts.items()}


@dataclass(frozen=True)
class Source:
    """A published source that rules name by its id."""

    id: str
    title: str
    section: str = ""
    url: str = ""


@dataclass(frozen=True)
class Tube:
    """Ratings and typical figures of one tube type, as written (text with units).

    `characteristics` are the figures that make the law of the tube: amplification factors, perveance, shares.
    """

    id: str
    kind: str
    heater: Mapping[str, str]
    ratings: Mapping[str, str]
    typical: Mapping[str, Mapping[str, str]]
    source: str
    notes: str = ""
    place: Place = NOWHERE
    characteristics: Mapping[str, str] = field(default_factory=dict)

    def block(self, name: str) -> Mapping[str, str]:
        """The figures of one block: heater, ratings, characteristics, or a working point; none where it has no such."""
        own = {"heater": self.heater, "ratings": self.ratings, "characteristics": self.characteristics}
        return own.get(name) or self.typical.get(name, {})


@dataclass(frozen=True)
class ChartRow:
    """What a good set of this rig shows for one quantity, in the quantity's own unit."""

    quantity: str
    value: float
    mode: str = ""
    band: str = ""
    tolerance: float | None = None
    note: str = ""
    meter: str = ""  # the meter of the rig's `chart_meters` it was made with
    place: Place = NOWHERE


@dataclass(frozen=True)
class Stage:
    """A stage of a rig: its kind, its features and the stages that feed it."""

    id: str
    kind: str
    title: str
    features: Mapping[str, str]
    fed_by: Mapping[str, str]
    tubes: tuple[str, ...] = ()
    values: Mapping[str, Reference] = field(
        default_factory=dict
    )  # of its parts, as amounts in the kind's unit
    place: Place = NOWHERE


@dataclass(frozen=True)
class Socket:
    """A socket of the rig: its tube's stage, and the quantity that each pin shows."""

    id: str
    stage: str
    tube: str
    pins: Mapping[str, str]
    place: Place = NOWHERE


@dataclass(frozen=True)
class Rig:
    """One type of transmitter, its stages in the order of the chains."""

    id: str
    title: str
    about: str
    features: Mapping[str, tuple[str, ...]]
    mains_voltage: float  # volts
    mains_frequency: float  # hertz
    bands: tuple[str, ...]
    stages: Mapping[str, Stage]
    chart: tuple[ChartRow, ...]
    local: bool = False
    place: Place = NOWHERE
    proof: tuple[str, ...] = ()  # indications that must be read good before the set is called good
    read_with: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # instruments by quantity
    chart_meters: Mapping[str, Meter] = field(default_factory=dict)
    chart_meter: str = ""  # the one that rows without a meter of their own were made with
    multiplication: Mapping[str, float] = field(default_factory=dict)  # oscillator to output, by band
    sockets: Mapping[str, Socket] = field(default_factory=dict)


@dataclass(frozen=True)
class Book:
    """Everything that the rules folders declare, checked."""

    bench: Bench
    kinds: Mapping[str, StageKind]
    rigs: Mapping[str, Rig]
    tubes: Mapping[str, Tube]
    sources: Mapping[str, Source]
    digest: str = ""  # of the content of all its files
    shop: str = ""  # the shop folder laid over it, if any
    withdrawn: tuple[str, ...] = ()  # ids of built-in entries the shop withdrew
    meters: Mapping[str, Meter] = field(default_factory=dict)  # of the shop, by id
