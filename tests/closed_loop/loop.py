"""One simulated set through the interview, from two facts until it closes, with an account of what that took."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from time import perf_counter
from typing import Final

from diagnose.advice.gates import setup_cost
from diagnose.diagnosis import diagnose
from diagnose.interview.course import NOTHING_MORE, STOPPED, UNSAFE, Course, begin
from diagnose.interview.steps import Step
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Remedy
from diagnose.model.result import RankedCause
from tests.closed_loop.answering import Answering
from tests.closed_loop.sets import SimulatedSet
from tests.closed_loop.ways import way_of

CAP: Final = 60  # checks after which the person gives up
MOST_WRONG: Final = 3  # remedies that were not needed, after which the same
TURNS: Final = 4 * CAP  # no interview can take so many
GAVE_UP: Final = "gave up"
CURED: Final = "cured"
BROKEN_OFF: Final = "broken off"


class TooLong(Exception):
    """An interview computed for longer than anybody waits; raised from outside, at any moment."""


@dataclass
class Account:
    """What one interview took. Minutes are of checks, of changes of the set-up, and of remedies, needed or not.

    `first` and `first_right`: how it closed for the first time, and whether the needed remedy was then the top one;
    `end` and `end_right` the same in the end; `found`: of the causes that the set has, those that were put right.
    `milliseconds`: from each answer to what comes next.
    """

    rig: str
    causes: tuple[str, ...]
    way: str
    facts: tuple[str, ...]
    seed: int
    first: str = ""
    first_right: bool = False
    end: str = ""
    end_right: bool = False
    found: tuple[str, ...] = ()
    proposed: list[str] = field(default_factory=list)
    checks: int = 0
    answers: int = 0
    not_measured: int = 0
    slips: tuple[str, ...] = ()  # what was answered wrongly
    setup_changes: int = 0
    check_minutes: float = 0.0
    setup_minutes: float = 0.0
    remedy_minutes: float = 0.0
    wrong_remedies: int = 0
    stop_orders: int = 0
    exact: bool = True
    left: str = ""  # the part that leads in the end, with its blame, and that of the first that was not found
    milliseconds: list[float] = field(default_factory=list)

    @property
    def minutes(self) -> float:
        """All of them."""
        return self.check_minutes + self.setup_minutes + self.remedy_minutes

    @property
    def cured(self) -> bool:
        """Whether every cause was put right."""
        return set(self.found) == set(self.causes)


class _Interview:
    """One run: the course as it stands, the set as it is, and the account."""

    def __init__(self, assembly: Assembly, subject: SimulatedSet, way: str, cap: int) -> None:
        safety = tuple(assembly.book.bench.safety)
        self.assembly = assembly
        self.answering: Answering = subject.answering
        self.cap = cap
        self.way = way_of(way, assembly, subject.seed)
        self.account = Account(assembly.rig.id, subject.causes, way, subject.facts, subject.seed)
        known = [Observation(name, _state(self.answering, name)) for name in subject.facts]
        case = Case("simulated", assembly.rig.id, safety=safety)
        self.course: Course = begin(assembly.book, case).enter(*known)

    def run(self) -> Account:
        """The whole interview, or what was done of it until it was broken off."""
        try:
            self._whole()
        except TooLong:
            self.account.end, self.account.exact = BROKEN_OFF, False
        return self.account

    def _whole(self) -> None:
        account = self.account
        for _ in range(TURNS):
            self._prove()
            started = perf_counter()
            closing, step = self.way.turn(self.course)
            account.milliseconds.append(1e3 * (perf_counter() - started))
            account.exact = account.exact and self.course.standing.exact
            if step is not None:
                if account.checks >= self.cap:
                    break
                self._ask(step)
            elif closing is None or not self._closed(closing.kind, closing.cause):
                break
        if not account.cured:
            lead = self._lead()
            account.end = account.end or GAVE_UP
            account.end_right = bool(self._needed(lead))
            account.left = self._told_of(lead)
            if not account.first:
                account.first, account.first_right = account.end, account.end_right

    def _prove(self) -> None:
        """Safety is proven at all times: where a check found a proof missing, it is made good and proven again."""
        for fact in self.assembly.book.bench.safety:
            if fact not in self.course.case.safety:
                self.course = self.course.prove(fact)

    def _closed(self, kind: str, cause: RankedCause | None) -> bool:
        """Does what the interview closes with; whether it goes on after that."""
        account = self.account
        if kind == STOPPED:
            for order in self.course.standing.stop_orders:
                self.course = self.course.did("switched off and discharged", (), order.id)
                account.stop_orders += 1
            return True
        if (
            kind == NOTHING_MORE
        ):  # the screen lists remedies by rank then; the first not done yet is the one to try
            cause = self._lead(fresh=True)
        if kind == UNSAFE or cause is None or cause.remedy is None:
            account.end = kind
            return False
        needed = self._needed(cause)
        if not account.first:
            account.first, account.first_right = kind, bool(needed)
        account.proposed.append(cause.id)
        account.remedy_minutes += cause.remedy.minutes
        self.course = self.course.did(cause.remedy.do, [cause.part], cures=[cause.id])
        if needed:
            account.found += needed
            for part in {self.assembly.cause(each)[0].id for each in needed}:
                self.answering = self.answering.repaired(part)
            if account.cured:
                account.end, account.end_right = CURED, True
            return not account.cured
        account.wrong_remedies += 1
        return account.wrong_remedies < MOST_WRONG

    def _ask(self, step: Step) -> None:
        """Does a check: enters what is found, and leaves out what cannot be measured."""
        account, check = self.account, step.placed.check
        period = len(self.course.case.work)
        found: list[Observation] = []
        for name in step.names:
            take = sum(o.name == name and self.course.is_now(o) for o in self.course.case.observations)
            answer = self.answering.answer(step.id, name, period, take)
            if answer is None:
                account.not_measured += 1
                self.course = self.course.cannot(self.course.left_out(step.id, name))
            else:
                found.append(answer)
                if answer.state and answer.state != _state(self.answering, name):
                    account.slips += (name,)
        if step.names and not found:
            return
        minutes, changes, _ = setup_cost(self.assembly.book.bench, self.course.case.bench, check.setup)
        account.checks += 1
        account.answers += len(found)
        account.check_minutes += check.minutes
        account.setup_minutes += minutes
        account.setup_changes += len(changes)
        if not found:
            self.course = self.course.done(step.id)
        for observation in found:  # one after another, as they are answered
            if observation is not found[0]:
                self.course.__dict__["standing"] = diagnose(
                    self.assembly, self.course.case, advice=False, details=False
                )
            self.course = self.course.enter(observation, check=step.id)

    def _lead(self, *, fresh: bool = False) -> RankedCause | None:
        """The first named part to blame, by its likeliest mode; `fresh`: whose remedy was not done yet."""
        parts = (part for part in self.course.standing.parts if part.blame > 0 and not part.unnamed)
        leads = (part.causes[0] for part in parts)
        return next((lead for lead in leads if not fresh or lead.id not in self.account.proposed), None)

    def _needed(self, cause: RankedCause | None) -> tuple[str, ...]:
        """The causes of the set, not put right yet, that the remedy of this cause puts right."""
        if cause is None or cause.remedy is None:
            return ()
        left = [each for each in self.account.causes if each not in self.account.found]
        return tuple(each for each in left if same_remedy(self.assembly, each, cause.part, cause.remedy))

    def _told_of(self, lead: RankedCause | None) -> str:
        blame = {part.id: part.blame for part in self.course.standing.parts}
        missing = next(each for each in self.account.causes if each not in self.account.found)
        part = self.assembly.cause(missing)[0].id
        first = "nothing" if lead is None else f"{lead.id} {lead.blame:.2f}"
        return f"{first}; {part} {blame.get(part, 0.0):.3f}"


def same_remedy(assembly: Assembly, cause: str, part: str, remedy: Remedy) -> bool:
    """Whether a remedy done to a part is what a cause needs: the same words, on that part or in its stage."""
    placed, mode = assembly.cause(cause)
    needed = placed.remedy(mode)
    return needed is not None and needed.do == remedy.do and assembly.parts[part].stage == placed.stage


def interviewed(
    assembly: Assembly, subject: SimulatedSet, ways: Iterable[str], cap: int = CAP
) -> list[Account]:
    """The accounts of one set asked in each of these ways."""
    return [_Interview(assembly, subject, way, cap).run() for way in ways]


def _state(answering: Answering, name: str) -> str:
    shown = answering.shown(name)
    assert shown is not None, name
    return answering.assembly.indications[name].indication.states[shown].id
