"""Why one question is asked: what each of its answers would raise and lower, and how likely it is."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from diagnose.diagnosis import diagnose
from diagnose.interview.changes import observed
from diagnose.interview.course import Course
from diagnose.interview.good import expected
from diagnose.interview.reasons import reason_of
from diagnose.interview.same_named import check_title
from diagnose.interview.standing import part_title
from diagnose.interview.steps import CHOSEN, TELL, Step
from diagnose.model.case import Observation
from diagnose.model.result import Diagnosis, RankedPart
from diagnose.render import numbers
from diagnose.render.page import Page, capital, sentence, styled
from diagnose.render.words import Words

MOVES: Final = 0.015  # change of blame from which a part is named
_MOST: Final = 2  # parts that are named on each side
_RARE: Final = 0.005  # chance below which an answer is not listed


@dataclass(frozen=True)
class Weighed:
    """One answer: its state, its chance by what is known (None where that cannot be told), and what it would move."""

    state: str
    chance: float | None
    up: tuple[tuple[RankedPart, float], ...]
    down: tuple[tuple[RankedPart, float], ...]


def weighed(course: Course, name: str) -> tuple[Weighed, ...]:
    """Every answer to a question, the likeliest first; what was answered before since the last work is left aside."""
    case = course.case
    others = tuple(o for o in case.observations if o.name != name or not course.is_now(o))
    base = course.standing
    if len(others) < len(case.observations):
        base = diagnose(course.assembly, replace(case, observations=others), advice=False, details=False)
    found = []
    for state in course.assembly.indications[name].indication.states:
        supposed = observed(replace(case, observations=others), [Observation(name, state=state.id)])
        then = diagnose(course.assembly, supposed, advice=False, details=False)
        moved = _moved(base, then)
        up = tuple(pair for pair in moved if pair[1] > 0)[:_MOST]
        down = tuple(pair for pair in moved if pair[1] < 0)[:_MOST]
        found.append((Weighed(state.id, None, up, down), then))
    comparable = base.comparable and all(then.comparable for _, then in found)
    if not comparable:
        return tuple(one for one, _ in found)
    shares = [10.0 ** (then.log10_evidence - base.log10_evidence) for _, then in found]
    whole = sum(shares) or 1.0
    rows = [replace(one, chance=share / whole) for (one, _), share in zip(found, shares, strict=True)]
    return tuple(sorted(rows, key=lambda row: -(row.chance or 0.0)))


def _moved(base: Diagnosis, then: Diagnosis) -> list[tuple[RankedPart, float]]:
    """The parts whose blame would change, the most changed first."""
    was = {part.id: part for part in base.parts}
    now = {part.id: part for part in then.parts}
    changes = {
        id: (now[id].blame if id in now else 0.0) - (was[id].blame if id in was else 0.0)
        for id in {**was, **now}
    }
    ranked = sorted(changes, key=lambda part: (-abs(changes[part]), part))
    # a part goes up in the way that it would then fail, and down in the way that it fails now
    return [
        (now[id] if changes[id] > 0 else was[id], changes[id]) for id in ranked if abs(changes[id]) >= MOVES
    ]


def question_grounds(page: Page, course: Course, step: Step, name: str, words: Words) -> None:
    """Why a question is asked."""
    page.heading(capital(words.placed(name)))
    if step.purpose not in (TELL, CHOSEN):
        page.say(reason_of(course, step, words), indent=2)
    good = expected(course, name) or words.state(name, words.good[name])
    page.say(f"A good set shows: {sentence(good)}", indent=2)
    rows = weighed(course, name)
    if not any(row.up or row.down for row in rows):
        page.say(
            "Whatever the answer, it moves no part by itself; it is asked since the check shows it with the rest.",
            indent=2,
        )
    else:
        page.say("What each answer would do; chances are of sets that show what is known so far:", indent=2)
        for row in rows:
            if row.chance is None or row.chance >= _RARE:
                chance = "" if row.chance is None else numbers.chance(row.chance)
                said = styled((words.state(name, row.state), "suspect"), f"; {_moves(row)}")
                page.row((chance, said), (-10, page.width - 14))
    if len(step.names) > 1:
        title = check_title(course.assembly, step.id, step.advised.title)
        page.say(
            f"It is one question of the check `{title}`; `grounds check` tells why that is done.", indent=2
        )


def _moves(row: Weighed) -> str:
    """What one answer would raise and lower."""
    sides = (("up", row.up), ("down", row.down))
    told = [f"{side}: {', '.join(_parts(pairs))}" for side, pairs in sides if pairs]
    return "; ".join(told) or "hardly anything moves"


def _parts(pairs: Iterable[tuple[RankedPart, float]]) -> Iterable[str]:
    for part, change in pairs:
        place = "" if part.unnamed else f" ({part.stage_title})"
        yield f"{part_title(part)}{place} {round(100 * change):+d}"
