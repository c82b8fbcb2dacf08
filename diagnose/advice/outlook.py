"""What each outcome of a check would do: its probability and the blame of every part after it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from diagnose.inference.contraction import TooWide
from diagnose.inference.question import CLOSE_ENOUGH, Question
from diagnose.inference.scale import Array
from diagnose.inference.solve import solve
from diagnose.model.assembly import Assembly, PlacedCheck

MOST_OUTCOMES = 8
BUDGET = 5e5  # cells of one product of tables: a check beyond is judged by less, or later
LARGE_BUDGET = 2e7  # the same, where nothing could be judged within the small one
WORTH_JUDGING = 0.005  # difference in reach below which a check tells nothing


@dataclass(frozen=True, eq=False)
class Outlook:
    """The outcomes of one check. `states`: per outcome the (indication, state) pairs.

    `chance`: shape (O,), probability of each outcome given what is known. `blame`: shape (O, R), blame
    of each part of `parts` for what was observed so far, given the outcome.
    """

    check: PlacedCheck
    parts: tuple[int, ...]
    states: tuple[tuple[tuple[str, str], ...], ...]
    chance: Array
    blame: Array

    def joint(self) -> Array:
        """Chance of each outcome with each part's remedy being needed, shape (O, R), adding up to 1."""
        values = self.chance[:, np.newaxis] * self.blame
        total = values.sum()
        scaled: Array = values / total if total > 0 else values
        return scaled


def outlook(
    assembly: Assembly,
    question: Question,
    check: PlacedCheck,
    parts: Sequence[int],
    names: Sequence[str] | None = None,
    budget: float = BUDGET,
) -> Outlook | None:
    """The outlook of a check over the indications that are not yet known; None if there are none.

    A check that reveals more than MOST_OUTCOMES joint outcomes is judged by those of its indications that
    tell most, in the order of `names`. None also where the enlarged network is too wide to solve.
    """
    names = _open_names(assembly, question, check.reveals if names is None else names)
    if not names:
        return None
    choices = [_outcome_states(assembly, name) for name in names]
    outcomes = list(product(*choices))
    likelihood = dict(question.likelihood)
    bones = question.bones
    opened: dict[int, tuple[int, ...]] = {}
    for position, name in enumerate(names):
        node = bones.index[name]
        size = bones.network.nodes[node].scale.size
        rows = np.zeros((len(outcomes), size))
        placed = assembly.indications[name]
        ids = [state.id for state in placed.indication.states]
        for row, outcome in enumerate(outcomes):
            rows[row, ids.index(outcome[position])] = 1.0
            if placed.needs and outcome[position] == ids[0]:
                rows[row, -1] = 1.0  # what cannot show itself looks good
        likelihood[node] = rows
        opened[node] = tuple(np.flatnonzero(rows.max(0) > 0).tolist())
    try:
        structure = question.structure(opened=opened, marks=parts, budget=budget)
        solution = solve(structure, likelihood, accuracy=CLOSE_ENOUGH)
    except TooWide:
        return None
    log = solution.log_evidence
    possible = np.isfinite(log)
    chance = np.where(possible, np.exp(log - log[possible].max()), 0.0)
    chance = chance / chance.sum()
    blame = np.zeros((len(outcomes), len(parts)))
    for column, part in enumerate(parts):
        if part in solution.blame:
            blame[:, column] = np.nan_to_num(solution.blame[part].sum(1))
    states = tuple(tuple(zip(names, outcome, strict=True)) for outcome in outcomes)
    return Outlook(check, tuple(parts), states, chance, blame)


def _open_names(assembly: Assembly, question: Question, revealed: Sequence[str]) -> list[str]:
    names: list[str] = []
    size = 1
    for name in revealed:
        if question.observed(question.bones.index[name]):
            continue
        states = len(assembly.indications[name].indication.states)
        if size * states > MOST_OUTCOMES:
            continue
        size *= states
        names.append(name)
    return names


def _outcome_states(assembly: Assembly, name: str) -> list[str]:
    return [state.id for state in assembly.indications[name].indication.states]


def reach(assembly: Assembly, question: Question, part: int) -> dict[int, float]:
    """How strongly a part can show at each indication: best product of chances along the arrows."""
    found = {part: 1.0}
    network = question.network
    for node in range(part + 1, len(network.nodes)):
        best = 0.0
        for arrow in network.into[node]:
            if arrow.parent in found and arrow.carries_blame:
                chance = 1.0 - float(arrow.draws[1:, 0].min())
                best = max(best, found[arrow.parent] * chance)
        if best > 0.01:
            found[node] = best
    return found


@dataclass(frozen=True)
class Prospect:
    """A check worth judging, with what it reveals that could tell the suspects apart, best first."""

    check: PlacedCheck
    names: tuple[str, ...]
    score: float


def promising(
    assembly: Assembly,
    question: Question,
    checks: Iterable[PlacedCheck],
    blame: Sequence[tuple[int, float]],
    most: int,
) -> list[Prospect]:
    """The checks that could best tell the blamed parts apart, by how differently these reach what they show.

    A screening only: what it lets through is then judged exactly, by the two indications that tell most.
    """
    reaches = [(weight, reach(assembly, question, part)) for part, weight in blame]
    total = sum(weight for weight, _ in reaches) or 1.0
    found = []
    for check in checks:
        scores = []
        for name in check.reveals:
            node = question.bones.index[name]
            if question.observed(node):
                continue
            shows = [(weight / total, reached.get(node, 0.0)) for weight, reached in reaches]
            mean = sum(weight * value for weight, value in shows)
            score = sum(weight * abs(value - mean) for weight, value in shows)
            if score > WORTH_JUDGING:
                scores.append((-score, name))
        if scores:
            scores.sort()
            names = tuple(name for _, name in scores[:2])
            found.append(Prospect(check, names, -scores[0][0]))
    found.sort(key=lambda p: (-p.score, p.check.check.minutes, p.check.id))
    return found[:most]
