"""Signs that worked-out figures answer: yes where the figure is beyond its limit.

With the chance c that a figure is beyond the limit, by the uncertainty of both, the likelihood of the state that
the sign is in then is c, that of every other 1 - c: half and half on the limit itself says nothing. The limit of
a sign is a rule of thumb, so no figure, however sure, settles the sign in more than TELLS of cases.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from diagnose.evidence.as_observation import as_observation
from diagnose.evidence.derived import Workings
from diagnose.evidence.dial import gain_of
from diagnose.evidence.grade import softened
from diagnose.evidence.limits import chance_beyond, sides_of
from diagnose.evidence.worked_out import Had, WorkedOut
from diagnose.model.assembly import Assembly
from diagnose.model.case import Observation
from diagnose.model.measuring import DEAD, HIGH, LOW, Answer
from diagnose.uncertain import Uncertain

TELLS = 0.98  # how often a sign is what its figure says
Sides = Sequence[tuple[str, Uncertain]]


def answers(workings: Workings) -> Iterator[Observation]:
    """What figures say of signs that were not answered themselves; of several figures the one that is surest."""
    for sign, givers in workings.layout.answering.items():
        surest: dict[tuple[str, str], tuple[float, Observation]] = {}
        for name, answer in givers:
            for found in workings.worked_out(name):
                key = (found.mode, found.band)
                made = None if workings.was_read(sign, *key) else _answer(workings, found, answer)
                if made is not None and (key not in surest or made[0] > surest[key][0]):
                    surest[key] = made
        for _, observation in surest.values():
            yield observation


def _answer(workings: Workings, found: WorkedOut, answer: Answer) -> tuple[float, Observation] | None:
    """What one figure says, and how sure it is from 0 to 1; None without a figure or a limit."""
    derived, had = found.placed.derived, found.had
    if had is None or derived.limit is None:
        return None
    limit = derived.limit.at(had.mode)
    sides = [
        (side, amount)
        for side, amount, _ in sides_of(workings, found.placed.stage, had, limit)
        if side in answer.sides
    ]
    if not sides:
        return None
    chance = _beyond(had.amount, sides)
    made = as_observation(workings, found, answer.indication, _shown(found))
    right = TELLS * workings.assembly.book.bench.reports[made.told_by]
    states = workings.assembly.indications[answer.indication].indication.states
    told = [chance if state.id == answer.state else 1.0 - chance for state in states]
    top = max(told)
    powers = found.powers()
    shown = _through(workings.assembly, had, sides, powers)
    likelihood = softened([value / top for value in told], right)
    through = softened([value / top for value in shown], right) if powers else ()
    return abs(2.0 * chance - 1.0), replace(made, likelihood=likelihood, through=through)


def _shown(found: WorkedOut) -> str:
    """The arithmetic; of a figure that is another one under its own name, that of the other."""
    left, _, right = found.shown.partition(" = ")
    behind = [had.from_figures for had in found.inputs.values() if had.from_figures is not None]
    return behind[0].shown if left == right and behind else found.shown


def _beyond(amount: Uncertain, sides: Sides) -> float:
    """The chance that a figure is beyond one of its sides."""
    return min(sum(chance_beyond(amount, limit, side) for side, limit in sides), 1.0)


def _through(assembly: Assembly, had: Had, sides: Sides, powers: Mapping[str, float]) -> tuple[float, ...]:
    """The likelihood of a good set whose figure came out too low, too high, or as next to nothing."""
    shown = []
    for way in (LOW, HIGH):
        gains = [gain_of(assembly, name, power, way)[0] for name, power in powers.items()]
        true = [had.amount * (1.0 / gain) for gain in gains if gain > 0.0]
        shown.append(sum(1.0 - _beyond(amount, sides) for amount in true) / max(len(true), 1))
    upto = max(
        (
            assembly.indications[name].indication.astray[DEAD].gain
            for name, power in powers.items()
            if power > 0
        ),
        default=0.0,
    )
    nothing = upto * max(abs(limit.value) for _, limit in sides)
    shown.append(float(upto > 0.0 and abs(had.amount.value) <= nothing))
    return tuple(shown)
