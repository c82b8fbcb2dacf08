"""What a diagnosis delivers, as frozen values; screens and the JSON record are built from these.

Probabilities are floats in 0..1, times are minutes, information is in bits.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Remedy
from diagnose.problems import Problem

STOP = "stop"
FAULT = "fault indicated"
GOOD = "good"
OPEN = "not enough known"
UNLISTED = "not in this book"


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


@dataclass(frozen=True)
class RankedCause:
    """One cause with what is believed of it. `title` reads on its own: part, then mode."""

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
    local_rules: tuple[str, ...] = ()
    messages: tuple[Problem, ...] = field(default=())
    intervals: tuple[tuple[str, float, float], ...] = ()  # cause id, lowest and highest blame
