"""Where an interview stands: the case, its diagnosis, and what is to be done next. Frozen; an entry gives a new one.

Everything that is known stands in the case. Knows no terminal and no file: a session or a simulation drives it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Final

from diagnose.advice.gates import is_live
from diagnose.files.read_case import assembly_of
from diagnose.interview import changes
from diagnose.interview.situation import Situation
from diagnose.interview.steps import (
    AGAIN,
    PROOF,
    REPAIR,
    Step,
    advised_step,
    chosen_step,
    looking_again,
    proof_of_work,
    showing,
)
from diagnose.interview.unlikely import times_told, unlikely
from diagnose.model.case import Case, Observation, Work
from diagnose.model.knowledge import Book
from diagnose.model.result import GOOD, Diagnosis, RankedCause

STOPPED: Final = "stop order"
REMEDY: Final = "remedy"
PROVEN: Final = "proven good"
UNSAFE: Final = "not safe yet"
NOTHING_MORE: Final = "nothing more would tell"


@dataclass(frozen=True)
class Closing:
    """Why nothing more is asked. `cause` is the one whose remedy is worth doing."""

    kind: str
    cause: RankedCause | None = None
    because: str = ""


@dataclass(frozen=True, eq=False)
class Course(Situation):
    """One case with its diagnosis; `earlier` is the diagnosis before the last entry, if there was one.

    `carried`: what was found before that entry and is to be looked at once more, with the chance that it had.
    """

    earlier: Diagnosis | None = None
    carried: Mapping[Observation, float] = field(default_factory=dict)

    # what a person enters

    def enter(self, *observations: Observation, check: str = "") -> Course:
        """With observations of now. What a check found leaves the bench as the check wants it, and may prove it safe."""
        case = changes.observed(self.case, observations)
        if check:
            placed = self.assembly.checks[check]
            told_of = {name: self.assembly.indications[name].indication for name in placed.reveals}
            case = changes.concluded(changes.set_up(case, placed), placed, told_of)
        return self._with(case)

    def done(self, check: str) -> Course:
        """With a check done that only proves something, and found it as in a good set."""
        placed = self.assembly.checks[check]
        return self._with(changes.proven(changes.set_up(self.case, placed), placed.check.proves))

    def did(
        self,
        work: str,
        parts: Sequence[str] = (),
        answers: str = "",
        cures: Sequence[str] = (),
        *,
        changed: bool = True,
    ) -> Course:
        """With a piece of work, if that is known with the causes whose remedy it was, and the order that it answers.

        `changed`: False where it touched no part, so that all that was read before is still so.
        """
        new = Work(work, answers, tuple(dict.fromkeys(parts)), tuple(cures), changed or bool(parts))
        return self._with(changes.worked_on(self.case, new, self.assembly.book.bench))

    def cannot(self, name: str) -> Course:
        """Without a check, or without one thing that checks reveal: it cannot be taken on this bench."""
        return self._with(changes.left_out(self.case, name))

    def has_none(self, name: str, said: str) -> Course:
        """Without a check or one thing that checks reveal, since this set has none of it, in these words."""
        return self._with(changes.without(self.case, name, said))

    def prove(self, fact: str, *, proven: bool = True) -> Course:
        """With a safety fact proven, or no longer so."""
        return self._with(changes.proven(self.case, fact, so=proven))

    def confirm(self, cause: str) -> Course:
        """With a cause noted as the one that was found; it is for the record, and nothing follows from it."""
        return Course(self.assembly, changes.confirmed(self.case, cause), self.earlier, self.doubted)

    def under(self, *, mode: str = "", band: str = "", mains: float | None = None) -> Course:
        """With another usual mode, band or line voltage; what was read so far keeps those it was read under."""
        return self._with(changes.under(self.case, mode=mode, band=band, mains=mains))

    def told(self, fact: str, value: object) -> Course:
        """With a fact of the set's history."""
        return self._with(changes.told(self.case, fact, value))

    def amended(self, **fields: object) -> Course:
        """With other values in plain fields of the case."""
        return self._with(replace(self.case, **fields))  # type: ignore[arg-type]

    def strike(self, number: int) -> Course:
        """Without entry `number` of the record; raises NoSuchEntryError."""
        return self._with(changes.struck(self.case, number))

    def amend(self, number: int, new: Observation | str) -> Course:
        """With another observation (of the same time), or other words for a piece of work, in entry `number`."""
        return self._with(changes.amended(self.case, number, new))

    def anew(self, case: Case) -> Course:
        """The course of a case that was changed elsewhere."""
        assembly = assembly_of(self.assembly.book, case.rig, tuple(case.meters.values()))
        if "standing" in self.__dict__:
            return Course(assembly, case, self.standing, self.doubted)
        return Course(assembly, case, self.earlier, self.carried)

    def _with(self, case: Case) -> Course:
        """The course of another case; an entry that was not judged yet is judged before another comes on top of it."""
        pending = self.earlier is not None and len(self.case.observations) > len(
            self.earlier.case.observations
        )
        more = len(case.observations) > len(self.case.observations) or case.work != self.case.work
        if "standing" in self.__dict__ or (pending and more):
            return Course(self.assembly, case, self.standing, self.doubted)
        return Course(self.assembly, case, self.earlier, self.carried)

    # what to do next

    @cached_property
    def options(self) -> tuple[Step, ...]:
        """What may be done now, the proposal first."""
        if self.standing.stop_orders:
            return ()
        advice = self.standing.advice
        advised = [advised_step(self, check) for check in advice.next] if advice is not None else []
        if self.under_order:
            bench = self.assembly.book.bench
            advised.sort(key=lambda step: is_live(bench, step.placed))
        steps = [
            *looking_again(self, self.to_look_at, self.possible),
            *showing(self, self.to_prove, REPAIR),
        ]
        if self.cured:
            steps += showing(self, self.proof_missing, PROOF)
        steps += advised
        useful = [step for step in steps if step.names or step.advised.proves]
        if not useful:  # nothing cold tells more: what may be a slip is looked at with power, if all that asks for is proven
            useful = [*looking_again(self, self.to_look_at, self.safe)]
        first: dict[str, Step] = {}
        for step in useful:
            first.setdefault(step.id, step)
        return tuple(first.values())

    @property
    def proposal(self) -> Step | None:
        """What to do next; None where the interview closes."""
        return None if self.closing is not None else self.options[0]

    @cached_property
    def closing(self) -> Closing | None:
        """Why nothing more is asked, or None."""
        standing = self.standing
        if standing.stop_orders:
            return Closing(STOPPED)
        first = self.options[0].purpose if self.options else ""
        if first in (AGAIN, REPAIR) or (self.options and self.cured and self.proof_missing):
            return None
        if standing.verdict.word == GOOD:
            return Closing(PROVEN)
        advice = standing.advice
        if advice is not None and advice.remedy is not None:
            return Closing(REMEDY, advice.remedy, advice.remedy_reason)
        if self.options:
            return None
        if advice is not None and advice.withheld:
            return Closing(UNSAFE, because=advice.withheld[0].because)
        return Closing(NOTHING_MORE)

    def step(self, check: str) -> Step:
        """A check as the person's own choice; KeyError for one this rig does not have."""
        return chosen_step(self, check)

    @cached_property
    def to_prove(self) -> tuple[str, ...]:
        """What is still to be read to see whether the last work was the cure."""
        return proof_of_work(self)

    @property
    def cured(self) -> bool:
        """Whether work was done, all that showed the trouble was looked at again, and nothing is wrong any more."""
        looked = any(
            f.name in self.found and self.is_now(self.found[f.name].observation) for f in self.before
        )
        return looked and not (self.to_prove or self.unseen or self.abnormal)

    @cached_property
    def doubted(self) -> Mapping[Observation, float]:
        """What is sooner a slip, and was answered only once, with the chance that it had."""
        found = dict(self.carried)
        if self.earlier is not None:
            looked_at = {observation.name for observation in self.carried}
            found.update(unlikely(self.assembly, self.earlier, self.standing, looked_at))
        standing = {finding.observation: finding for finding in self.found.values()}
        return {
            o: chance
            for o, chance in found.items()
            if o in standing
            and o.name not in self.case.cannot
            and times_told(self.standing, standing[o]) == 1
        }

    @property
    def to_look_at(self) -> Mapping[str, float]:
        """The same by name: what is to be looked at once more."""
        return {observation.name: chance for observation, chance in self.doubted.items()}


def begin(book: Book, case: Case) -> Course:
    """The course of a case of a rig in the book."""
    return Course(assembly_of(book, case.rig, tuple(case.meters.values())), case)
