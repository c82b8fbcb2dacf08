"""What the observations before and after say of the work done: whether it cured anything, part by part."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.evidence.collect import Findings
from diagnose.inference.answer import Answer
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case
from diagnose.model.lives import Life
from diagnose.model.result import Repair


def repairs(assembly: Assembly, case: Case, findings: Findings, posterior: Answer) -> tuple[Repair, ...]:
    """One entry for each part of each piece of work that is told apart."""
    bones, states = posterior.question.bones, posterior.solution.states
    found = []
    for number, work in enumerate(case.work):
        for part in dict.fromkeys(work.parts):
            copy = findings.periods.after(part, number)
            if part in bones.lives and copy:
                chances = states[bones.life_of[part]][0].tolist()
                lives = list(zip(bones.lives[part], chances, strict=False))
                found.append(_repair(assembly, number, work.did, part, lives, copy))
    return tuple(found)


def _repair(
    assembly: Assembly, number: int, did: str, part: str, lives: list[tuple[Life, float]], copy: int
) -> Repair:
    placed = assembly.parts[part]
    modes = [
        (sum(_of(lives, copy - 1, state)), mode) for state, mode in enumerate(placed.part.modes, start=1)
    ]
    chance, mode = max(modes, key=lambda item: item[0])
    return Repair(
        work=number + 1,
        did=did,
        part=part,
        title=placed.part.title,
        stage_title=assembly.rig.stages[placed.stage].title,
        bad_before=min(1.0, sum(share for share, _ in modes)),
        cause=placed.cause_id(mode),
        cause_title=mode.title,
        cause_chance=min(1.0, chance),
        bad_after=min(1.0, sum(share for life, share in lives if life[copy])),
    )


def _of(lives: list[tuple[Life, float]], copy: int, state: int) -> Iterator[float]:
    """The chances of the lives in which the part was in that state."""
    return (share for life, share in lives if life[copy] == state)
