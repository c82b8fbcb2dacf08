"""Three ways to choose the next check: as the interview proposes, in the order of the stages, and at random.

All close by the same rule, that of the interview, and all read again what proves a piece of work, or is sooner a slip. The two orders
rank after every check, but whether a check would still pay is worked out only where the answer can matter: once
the leading part has the share from which a remedy is proposed, and at every `LOOK` th check for the rule that nothing
more would tell.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Protocol
from zlib import crc32

import numpy as np

from diagnose.diagnosis import diagnose
from diagnose.interview.course import NOTHING_MORE, Closing, Course
from diagnose.interview.steps import AGAIN, REPAIR, Step
from diagnose.model.assembly import Assembly
from diagnose.model.result import GOOD

ADVISED, BY_STAGE, AT_RANDOM = "advised", "by stage", "at random"
WAYS: Final = (ADVISED, BY_STAGE, AT_RANDOM)
LOOK: Final = 16

Turn = tuple[Closing | None, Step | None]


class Way(Protocol):
    """What comes next: why the interview closes, or the check that is done."""

    def turn(self, course: Course) -> Turn:
        """Exactly one of the two."""
        ...


class Advised:
    """As the interview proposes."""

    def turn(self, course: Course) -> Turn:
        """Its own closing and proposal."""
        return course.closing, course.proposal


@dataclass
class InOrder:
    """Checks in a fixed order, each once, without those of which everything is known by then."""

    order: Sequence[str]
    at: int = 0

    def turn(self, course: Course) -> Turn:
        """The next check in the order, unless the interview closes."""
        quick = diagnose(course.assembly, course.case, advice=False, details=False)
        worth = course.assembly.book.bench.advice["remedy_worth"]
        unsettled = not quick.stop_orders and quick.verdict.word != GOOD
        leads = bool(quick.parts) and quick.parts[0].blame >= worth
        if unsettled and not leads and (self.at + 1) % LOOK:
            course.__dict__["standing"] = (
                quick  # the diagnosis of this case, without advice that nobody asks for
            )
            if course.options and course.options[0].purpose in (AGAIN, REPAIR):
                return None, course.options[0]
        elif course.closing is not None:
            return course.closing, None
        elif course.proposal is not None and course.proposal.purpose in (AGAIN, REPAIR):
            return None, course.proposal
        step = self._next(course)
        return (None, step) if step is not None else (Closing(NOTHING_MORE), None)

    def _next(self, course: Course) -> Step | None:
        possible = {check.id for check in course.possible}
        told = {o.name for o in course.case.observations}
        while self.at < len(self.order):
            check = self.order[self.at]
            self.at += 1
            step = course.step(check)
            if check in possible and set(step.names) - told and any(map(course.judgeable, step.names)):
                return step
        return None


def way_of(word: str, assembly: Assembly, seed: int) -> Way:
    """A way by its name. By stage: the stages of the rig in its order, the checks of each in that of the book."""
    if word == ADVISED:
        return Advised()
    order = tuple(assembly.checks)
    if word == BY_STAGE:
        return InOrder(order)
    mixed = np.random.default_rng([seed, crc32(word.encode())]).permutation(len(order))
    return InOrder(tuple(order[int(number)] for number in mixed))
