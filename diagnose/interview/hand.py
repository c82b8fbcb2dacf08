"""The check in hand: which it is, what of it is being asked, and whether anything of it is still open."""

from __future__ import annotations

from dataclasses import dataclass, field

from diagnose.advice.gates import missing_proofs
from diagnose.interview.answers import no_answer, understood
from diagnose.interview.course import PROVEN, Course
from diagnose.interview.meant import READ, UNCLEAR, UNKNOWN, Meant
from diagnose.interview.spoken import folded
from diagnose.interview.steps import AGAIN, CHOSEN, Step, set_up_again


@dataclass
class Hand:
    """A check that is being done, or none."""

    step: Step | None = None
    name: str = ""  # what is being asked of it
    answered: set[str] = field(default_factory=set)  # of what it asks for
    interrupted: set[str] = field(default_factory=set)  # for what a check was broken off, to look once more
    put_by: Step | None = None  # that check

    def take(self, step: Step) -> None:
        """Makes a check the one that is asked for."""
        self.step = step
        self.name = step.names[0] if step.names else ""
        self.answered.clear()

    def drop(self) -> None:
        """Puts the check away."""
        self.step, self.name = None, ""

    @property
    def begun(self) -> bool:
        """Whether something of it was answered already."""
        return self.step is not None and bool(self.step.names) and self.name != self.step.names[0]

    def meant(self, line: str, course: Course) -> Meant | None:
        """What a line means as the answer to what is asked; None where nothing is."""
        if self.step is None:
            return None
        if self.name:
            return understood(line, self.name, course.assembly, course.case)
        word = folded(line)
        if word in ("y", "yes"):
            return Meant(READ)
        if word in ("n", "no"):  # not done, or done and something was wrong: neither leaves it out
            return Meant(UNKNOWN)
        unclear = Meant(UNCLEAR, because=f"`{line}` is neither yes nor no", hint="answer y or n")
        return no_answer(line) or unclear

    def check_of(self, name: str, course: Course) -> str:
        """The check that something told out of order was found by: this one, or the only one that shows it; else ""."""
        if self.step is not None and name in self.step.placed.reveals:
            return self.step.id
        return course.only_check(name)

    def settle(self, course: Course) -> None:
        """Goes on to what is still open: of this check, else of what the course proposes.

        What is to be looked at once more comes at once, before the rest of a check, which is gone on with after it.
        """
        if course.standing.stop_orders or (self.step is not None and not self._goes_on(self.step, course)):
            self.drop()
        if course.closing is not None and course.closing.kind == PROVEN:
            self.put_by = None
            if self.step is not None and self.step.purpose not in (AGAIN, CHOSEN):
                self.drop()  # the set is good: what else the check asks for tells nothing
        proposal = course.proposal
        if proposal is not None and proposal.purpose == AGAIN and proposal.names[0] not in self.interrupted:
            self.interrupted.add(proposal.names[0])
            if self.step is not None and self.step.purpose != AGAIN:
                self.put_by = self.step
            self.take(proposal)
        if self.step is None and self.put_by is not None and not course.standing.stop_orders:
            self.step, self.name, self.put_by = self.put_by, "", None
            if self.step is not None and not self._goes_on(self.step, course):
                self.drop()
        if self.step is None and proposal is not None:
            self.take(proposal)
        if self.step is not None:
            self.step = set_up_again(course, self.step)

    def _goes_on(self, step: Step, course: Course) -> bool:
        """Whether something of a check is still open; the next question of it is chosen.

        What is no longer proven ends it, begun or not.
        """
        if missing_proofs(course.assembly.book.bench, course.case, step.placed):
            return False
        if not step.names:
            proves = step.advised.proves != "" and step.placed.check.proves not in course.case.safety
            return proves and step.id not in course.case.cannot
        asked = step.names[step.names.index(self.name) :] if self.name in step.names else step.names
        done = course.known | set(course.case.cannot)
        again = step.purpose in (AGAIN, CHOSEN) and self.name in asked and self.name not in self.answered
        left = [n for n in asked if (n not in done or (again and n == self.name)) and course.judgeable(n)]
        self.name = left[0] if left else ""
        return bool(left)
