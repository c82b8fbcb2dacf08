"""Checks as steps of an interview: what each is asked for, and those that look again, prove work, or prove the set."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from diagnose.advice.gates import is_dangerous, setup_cost
from diagnose.advice.next_steps import described
from diagnose.interview.situation import Situation
from diagnose.model.assembly import PlacedCheck
from diagnose.model.result import NextCheck

TELL: Final = "tell"  # it tells suspects apart
SAFETY: Final = "safety"  # live checks ask for what it proves
AGAIN: Final = "again"  # whether what was found is so, or a slip
REPAIR: Final = "repair"  # whether the work cured it
PROOF: Final = "proof"  # what the set is proven good by
CHOSEN: Final = "chosen"  # the person asked for it


@dataclass(frozen=True)
class Step:
    """One thing to do next: a check, with what it is to be asked for.

    Without names it is done for what it proves, and only asked whether it was as in a good set.
    """

    placed: PlacedCheck
    advised: NextCheck
    names: tuple[str, ...]
    purpose: str

    @property
    def id(self) -> str:
        """Of the check on the rig."""
        return self.placed.id


def advised_step(now: Situation, advised: NextCheck) -> Step:
    """A check of the advice."""
    placed = now.assembly.checks[advised.check]
    purpose = TELL
    if advised.gain_bits <= 0:
        purpose = SAFETY if advised.proves else PROOF
    return Step(placed, advised, now.still_open(placed), purpose)


def chosen_step(now: Situation, check: str) -> Step:
    """A check as the person's own choice; KeyError for one this rig does not have."""
    placed = now.assembly.checks[check]
    step = Step(placed, described(now.assembly, now.case, placed), now.still_open(placed), CHOSEN)
    return step if step.names else replace(step, names=now.there(placed))


def set_up_again(now: Situation, step: Step) -> Step:
    """A step from the bench as it is now, which something entered meanwhile may have changed; itself if nothing has."""
    needed = described(now.assembly, now.case, step.placed)
    if not needed.setup_changes:
        return step
    advised = replace(
        step.advised,
        setup_minutes=needed.setup_minutes,
        setup_changes=needed.setup_changes,
        cautions=needed.cautions,
    )
    return replace(step, advised=advised)


def is_set_up(now: Situation, step: Step) -> bool:
    """Whether the bench stands as a step wants it."""
    return not setup_cost(now.assembly.book.bench, now.case.bench, step.placed.check.setup)[1]


def looking_again(now: Situation, names: Iterable[str], checks: Sequence[PlacedCheck]) -> Iterator[Step]:
    """Of these checks those that show what is to be looked at again, each what is done soonest from the bench as it is."""
    for name in names:
        fitting = [check for check in checks if name in check.reveals]
        if fitting:
            best = _soonest(now, fitting)
            yield Step(best, described(now.assembly, now.case, best), (name,), AGAIN)


def showing(now: Situation, names: Iterable[str], purpose: str) -> Iterator[Step]:
    """The checks that show these names, first what is done soonest from the bench as it is."""
    wanted = [name for name in names if name not in now.known and now.judgeable(name)]
    while wanted:
        fitting = [c for c in now.possible if any(name in c.reveals for name in wanted)]
        if not fitting:
            return
        best = _soonest(now, fitting)
        shown = tuple(name for name in wanted if name in best.reveals)
        yield Step(best, described(now.assembly, now.case, best), shown, purpose)
        wanted = [name for name in wanted if name not in shown]


def proof_of_work(now: Situation) -> tuple[str, ...]:
    """What is still to be read to see whether the last work was the cure.

    That is what the remedies of the work say to read again, and the signs that it may have cured. Nobody is sent
    to a live high-voltage rail for a proof alone: what only such a check shows is left out.
    """
    if now.last_change is None:
        return ()
    names: list[str] = []
    for part in now.last_change.parts:
        lead = next((cause for cause in now.standing.causes if cause.part == part), None)
        if lead is not None and lead.remedy is not None:
            names += [name for name in lead.remedy.read_again if _shown_without_danger(now, name)]
    wanted = (n for n in dict.fromkeys((*names, *now.standing.see_again)) if n in now.assembly.indications)
    return tuple(name for name in wanted if name not in now.known and _can_take(now, name))


def _shown_without_danger(now: Situation, name: str) -> bool:
    bench = now.assembly.book.bench
    return any(name in check.reveals and not is_dangerous(bench, check) for check in now.possible)


def _can_take(now: Situation, name: str) -> bool:
    return now.judgeable(name) and any(name in check.reveals for check in now.possible)


def _soonest(now: Situation, checks: Iterable[PlacedCheck]) -> PlacedCheck:
    """The check that takes the fewest minutes, those of the set-up included."""
    bench = now.assembly.book.bench

    def minutes(check: PlacedCheck) -> float:
        return check.check.minutes + setup_cost(bench, now.case.bench, check.check.setup)[0]

    return min(checks, key=lambda check: (minutes(check), check.id))
