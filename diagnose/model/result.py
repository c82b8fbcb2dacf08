"""What a diagnosis delivers, as frozen values; screens and the JSON record are built from these.

Probabilities are floats in 0..1, times are minutes, information is in bits.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Remedy, State
from diagnose.problems import Problem

STOP = "stop"
FAULT = "fault indicated"
GOOD = "good"
OPEN = "not enough known"
UNLISTED = "not in this book"


@dataclass(frozen=True)
class Measured:
    """A measured value on the scale of its indication's states, with its standard uncertainty.

    `limit`: how far the meter may be off beside that, anywhere in it alike. `typical`: density of the likeliest
    state at it, for readings that are believed only in part.
    """

    value: float
    spread: float
    typical: float
    limit: float = 0.0


@dataclass(frozen=True)
class Path:
    """From the dial to what is judged: a reading at each step, all in the unit of the quantity.

    `corrected` for the meter's load on the circuit, `at_chart` carried to the mains of the chart. `expected`
    is what a good set shows there (`expected_raw`: with the meter of the chart), known within
    `expected_within`; `expected_by` says how. `budget`: relative standard uncertainties by what they come from.
    `limit`: how far the meter may be off by its stated accuracy, carried to the chart as the reading is.
    """

    as_read: float
    corrected: float
    at_chart: float
    meter: str = ""
    meter_ohms: float = 0.0
    marked_ohms: float = 0.0  # the line that a wattmeter is marked for, where its reading was put right by it
    source_ohms: float = 0.0
    mains: float | None = None
    chart_mains: float = 0.0
    follows: float = 0.0
    expected: float | None = None
    expected_raw: float | None = None
    expected_by: str = ""
    expected_within: float = 0.0
    budget: tuple[tuple[str, float], ...] = ()
    spread: float = 0.0  # relative, all of the budget together
    limit: float = 0.0
    notes: tuple[str, ...] = ()  # the same in words, as they stand among those of the finding


@dataclass(frozen=True)
class Finding:
    """One observation turned into evidence on one indication of the rig.

    `likelihood` belongs to `states` and is scaled to a maximum of 1. `at_chart` is the value carried to the
    mains of the chart, `expected` what a good set shows; both in `unit`, None for what is not measured.
    A finding that is not `counted` says why in `notes`.
    """

    observation: Observation
    name: str
    title: str
    states: tuple[str, ...]
    likelihood: tuple[float, ...]
    state: str  # the most likely state, "" when not known
    abnormal: bool
    counted: bool
    unit: str = ""
    expected: float | None = None
    at_chart: float | None = None
    limits: tuple[float, float] | None = None  # of the good state, in the unit
    notes: tuple[str, ...] = ()
    right: float = 1.0  # how often a report of this kind is right
    graded: tuple[State, ...] = ()  # the states with the spreads that were used
    measured: Measured | None = None
    path: Path | None = None
    read_with: tuple[tuple[str, float], ...] = ()  # instruments, with the power of their gain in the value
    weight: float = 1.0  # power of its likelihood that counts; the rest counts in a pattern it is part of
    # of a pattern that readings make: likelihood of good ones through an instrument that reads low, high, not at all
    through: tuple[float, float, float] | None = None

    @property
    def side(self) -> str:
        """The side of the most likely state: "", "down", "up" or "over"."""
        return next((state.side for state in self.graded if state.id == self.state), "")


@dataclass(frozen=True)
class DerivedFigure:
    """A figure worked out from readings of today, at the mains they were taken at.

    `value` and its standard uncertainty are in `unit`; `value` is None where there is none for these readings,
    and `notes` say why. `budget`: standard uncertainties in `unit` by their sources, the largest first. `shown`
    is the arithmetic with its figures, `inputs` what it was worked out from (ids on the rig), `gives` the quantity
    that it is a reading of. A `quiet` one is a step on the way to others.
    """

    id: str
    title: str
    stage: str
    unit: str
    value: float | None = None
    standard: float = 0.0
    mode: str = ""
    band: str = ""
    budget: tuple[tuple[str, float], ...] = ()
    shown: str = ""
    inputs: tuple[str, ...] = ()
    gives: str = ""
    source: str = ""  # of the formula
    notes: tuple[str, ...] = ()
    quiet: bool = False


@dataclass(frozen=True)
class Flag:
    """A figure of today that is beyond what it may be, or so near that the reading cannot tell.

    `value` and `limit` in `unit`; `side` is "most" or "least". `chance`: that the figure is beyond the limit,
    by the uncertainties of both. `near`: it is not read beyond, but within its standard uncertainty of the limit.
    """

    name: str  # id on the rig of the quantity or derived figure; "mains" for the line voltage
    title: str
    value: float
    unit: str
    limit: float
    limit_title: str
    side: str
    chance: float
    near: bool
    text: str = ""  # what follows from being beyond it
    source: str = ""
    mode: str = ""
    band: str = ""


@dataclass(frozen=True)
class RankedCause:
    """One cause with what is believed of it. `title` reads on its own: part, then mode.

    What its remedy says to read again are ids on the rig.
    """

    id: str
    part: str
    title: str
    part_title: str
    mode_title: str
    stage: str
    stage_title: str
    probability: float
    blame: float
    prior: float
    remedy: Remedy | None
    local: bool = False
    unnamed: bool = False
    first_aid: bool = False


@dataclass(frozen=True)
class RankedPart:
    """A part with its modes, by blame."""

    id: str
    title: str
    stage: str
    stage_title: str
    probability: float
    blame: float
    causes: tuple[RankedCause, ...]
    unnamed: bool = False


@dataclass(frozen=True)
class Ranking:
    """Parts and causes by blame, and the causes that are probably there but blameless."""

    parts: tuple[RankedPart, ...]
    causes: tuple[RankedCause, ...]
    also_due: tuple[RankedCause, ...]


@dataclass(frozen=True)
class Explanation:
    """The probability that exactly these parts take part in what was observed as abnormal."""

    parts: tuple[str, ...]
    causes: tuple[str, ...]
    probability: float


@dataclass(frozen=True)
class Outcome:
    """One thing a check may show: the states found, how likely that is, and who would lead then."""

    states: tuple[tuple[str, str], ...]  # (indication id, state id)
    text: str
    probability: float
    leader: str  # part id
    leader_title: str
    leader_blame: float


@dataclass(frozen=True)
class NextCheck:
    """A check worth doing now."""

    check: str
    title: str
    how: str
    instrument: str
    good: str
    minutes: float
    setup_minutes: float
    setup_changes: tuple[str, ...]
    minutes_saved: float
    gain_bits: float
    hazard: str
    separates: tuple[str, ...]  # part ids whose blame it would move most
    cautions: tuple[str, ...]
    outcomes: tuple[Outcome, ...]
    swap_warning: str = ""
    proves: str = ""  # the safety fact that it establishes, in words


@dataclass(frozen=True)
class Withheld:
    """A check that would tell something but is not safe yet."""

    check: str
    title: str
    because: str


@dataclass(frozen=True)
class StandingOrder:
    """A stop order in force, and the observations that gave it."""

    id: str
    text: str
    because: tuple[str, ...]


@dataclass(frozen=True)
class Advice:
    """What to do next. `remedy` is set when putting the leading part right beats every check."""

    next: tuple[NextCheck, ...] = ()
    withheld: tuple[Withheld, ...] = ()
    remedy: RankedCause | None = None
    remedy_reason: str = ""
    minutes_expected: float = 0.0
    first_aid: tuple[RankedCause, ...] = ()


@dataclass(frozen=True)
class Repair:
    """What all observations, before and after, say of one piece of work on one part.

    `bad_before`: chance that the part was bad when it was worked on, `cause` the likeliest way and its chance.
    `bad_after`: that it was bad after the work, in the same way or through it.
    """

    work: int  # number of the piece of work, from 1
    did: str
    part: str
    title: str
    stage_title: str
    bad_before: float
    cause: str  # its id on the rig
    cause_title: str  # the mode alone
    cause_chance: float
    bad_after: float


@dataclass(frozen=True)
class Conflict:
    """How well the observations go together: tail probability, and the least believable one."""

    tail: float | None  # None where it was not asked for
    least_believable: str = ""
    text: str = ""


@dataclass(frozen=True)
class Verdict:
    """The answer in a word and a sentence."""

    word: str
    text: str


@dataclass(frozen=True)
class Diagnosis:
    """All that is known after one case file. `exact` is False only where a budget forced bounds."""

    case: Case
    rig_title: str
    verdict: Verdict
    exact: bool
    stop_orders: tuple[StandingOrder, ...]
    findings: tuple[Finding, ...]
    parts: tuple[RankedPart, ...]  # by blame
    causes: tuple[RankedCause, ...]  # by blame
    also_due: tuple[RankedCause, ...]  # probably bad, but blameless
    explanations: tuple[Explanation, ...]
    unexplained: float
    unexplained_stages: tuple[tuple[str, float], ...]
    conflict: Conflict
    log10_evidence: float
    advice: Advice | None = None
    local_rules: tuple[str, ...] = ()  # ids of the shop's rules that took part, amended ones included
    withdrawn_rules: tuple[str, ...] = ()  # ids of what the shop took out of this rig's kinds of stage
    messages: tuple[Problem, ...] = field(default=())
    intervals: tuple[tuple[str, float, float], ...] = ()  # cause id, lowest and highest blame
    derived: tuple[DerivedFigure, ...] = ()  # worked out from the readings
    repairs: tuple[Repair, ...] = ()  # the work done, part by part
    see_again: tuple[str, ...] = ()  # signs that the work may have cured, ids on the rig: not looked at since
    flags: tuple[Flag, ...] = ()  # what is beyond a rating or a rule of the trade today
    set_aside: int = (
        0  # pieces of work before which nothing counts: it cannot be together with what was found since
    )
    since: int = 0  # period from which work is told apart, and what was observed counts
    contradiction: bool = False  # the observations exclude each other, and are believed in most cases only
    comparable: bool = True  # whether the evidence is, to a tenth, the chance of what was observed
    unproven: tuple[str, ...] = ()  # safety facts that this set asks for and that are not proven on the bench
    left_out: float = 0.0  # bound of the share of the evidence in which instruments taken as true are astray
