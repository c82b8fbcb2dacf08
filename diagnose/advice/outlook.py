"""What each outcome of a check would do: its probability and the blame of every part after it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from diagnose.advice.prospects import Prospect
from diagnose.inference.contraction import TooWide
from diagnose.inference.question import Question
from diagnose.inference.scale import Array
from diagnose.inference.solve import solve
from diagnose.inference.structure import Impossible, Layout, Structure
from diagnose.model.assembly import Assembly, PlacedCheck

MOST_OUTCOMES = 8
BUDGET = 5e5  # cells of one product of tables: a check beyond is judged by less, or later
LARGE_BUDGET = 5e6  # the same, where nothing could be judged within the small one
MOST_WORK = 1e8  # work of all variants of all checks together that are judged at once
LITTLE = 2e7  # work of all variants together past which checks are better looked at by fewer
FEW = 3  # checks that are looked at together where all of them together make it too wide
TOO_ROUGH = 0.01  # error from which an outlook is of no use
ACCURATE = 1e-4  # error that rounding may leave in the chance and the blame of an outcome


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
    revealed = tuple(check.reveals if names is None else names)
    return Outlooks(assembly, question, parts).of([Prospect(check, revealed, 0.0)], budget, fewer=False)[0]


@dataclass(frozen=True, eq=False)
class _Open:
    """Indications that are opened together, with the joint outcomes that are told apart.

    `rows`: by node the likelihood of its states in each outcome, shape (O, S).
    """

    check: PlacedCheck
    names: tuple[str, ...]
    outcomes: tuple[tuple[str, ...], ...]
    rows: Mapping[int, Array]


class Outlooks:
    """The outlooks of many checks on one question, kept; as many at once as make it not much wider."""

    def __init__(self, assembly: Assembly, question: Question, parts: Sequence[int]) -> None:
        self.assembly, self.question, self.parts = assembly, question, tuple(parts)
        self._left = float("inf")  # work that may still be done
        self._found: dict[tuple[str, ...], Outlook] = {}
        self._layouts: dict[tuple[tuple[str, ...], ...], Layout] = {}

    def of(
        self,
        prospects: Sequence[Prospect],
        budget: float,
        *,
        fewer: bool = True,
        work: float = float("inf"),
    ) -> list[Outlook | None]:
        """The outlook of each prospect, over all that it names; with `fewer` over the first alone where that is wide.

        None where it is too wide, or past the `work` that all together may cost; the first come first.
        """
        self._left = work
        views: list[Outlook | None] = [None] * len(prospects)
        for most in (None, 1) if fewer else (None,):
            wanted = {
                place: tuple(_open_names(self.assembly, self.question, prospect.names[:most]))
                for place, prospect in enumerate(prospects)
                if views[place] is None
            }
            checks = {names: prospects[place].check for place, names in wanted.items() if names}
            new = [
                _open(self.assembly, self.question, check, names)
                for names, check in checks.items()
                if names not in self._found
            ]
            if new:
                self._look(new, budget)
            for place, names in wanted.items():
                views[place] = self._found.get(names)
        return views

    def width(self, budget: float) -> float:
        """Work of the question with nothing opened; infinite where it is too wide for the budget, or impossible."""
        try:
            return self._layout(()).planned(budget).contraction.work
        except (TooWide, Impossible):
            return float("inf")

    def _look(self, opened: Sequence[_Open], budget: float) -> None:
        """Finds the outlooks of these that can be solved within the budget; of the others none.

        What is too wide with nothing opened is so with several at once; with one it seldom becomes narrower.
        """
        alone = self.width(budget)
        for size in dict.fromkeys((len(opened), (len(opened) + 1) // 2, FEW, 1)):
            left = [each for each in opened if each.names not in self._found]
            for first in range(0, len(left), size):
                self._together(left[first : first + size], budget, alone)

    def _together(self, opened: Sequence[_Open], budget: float, alone: float) -> None:
        """Finds the outlooks of these at once, if that is worth while. `alone`: work with nothing opened."""
        variants = sum(len(each.outcomes) for each in opened)
        many = len(opened) > 1
        if variants * alone > min(self._left, LITTLE if many else np.inf) and (many or np.isfinite(alone)):
            return
        try:
            within = min(budget, MOST_OUTCOMES * budget / variants) if many else budget
            structure = self._layout(opened).planned(within)
        except (TooWide, Impossible):
            return
        work = variants * structure.contraction.work
        if work <= min(self._left, LITTLE if many else np.inf):
            self._left -= work
            self._solve(structure, opened)

    def _layout(self, opened: Sequence[_Open]) -> Layout:
        key = tuple(each.names for each in opened)
        if key not in self._layouts:
            rows = {node: values for each in opened for node, values in each.rows.items()}
            if len(opened) == 1:
                support = {node: np.flatnonzero(values.max(0) > 0).tolist() for node, values in rows.items()}
            else:  # of what the others open nothing is said
                support = {node: list(range(self._states(node))) for node in rows}
            self._layouts[key] = self.question.layout(marks=self.parts, read=self.parts, opened=support)
        return self._layouts[key]

    def _states(self, node: int) -> int:
        return self.question.network.nodes[node].scale.size

    def _solve(self, structure: Structure, opened: Sequence[_Open]) -> None:
        upto = np.cumsum([0, *(len(each.outcomes) for each in opened)]).tolist()
        given, likelihood = self.question.likelihood, dict(self.question.likelihood)
        for node in {node for each in opened for node in each.rows}:
            known = given.get(node, np.ones(self._states(node)))
            likelihood[node] = np.tile(known, (upto[-1], 1))
        for first, each in zip(upto, opened, strict=False):
            for node, rows in each.rows.items():
                likelihood[node][first : first + len(rows)] = rows
        solution = solve(structure, likelihood, accuracy=ACCURATE)
        if solution.error > TOO_ROUGH:
            return
        log = np.broadcast_to(solution.log_evidence, (upto[-1],))
        blame = np.zeros((upto[-1], len(self.parts)))
        for column, part in enumerate(self.parts):
            if part in solution.blame:
                blame[:, column] = np.nan_to_num(solution.blame[part].sum(1))
        for first, last, each in zip(upto, upto[1:], opened, strict=False):
            own = log[first:last]
            possible = np.isfinite(own)
            if not possible.any():  # what was observed contradicts itself
                continue
            chance = np.where(possible, np.exp(own - own[possible].max()), 0.0)
            states = tuple(tuple(zip(each.names, outcome, strict=True)) for outcome in each.outcomes)
            self._found[each.names] = Outlook(
                each.check, self.parts, states, chance / chance.sum(), blame[first:last]
            )


def _open(assembly: Assembly, question: Question, check: PlacedCheck, names: tuple[str, ...]) -> _Open:
    outcomes = tuple(product(*(_outcome_states(assembly, name) for name in names)))
    found: dict[int, Array] = {}
    for position, name in enumerate(names):
        node = question.bones.index[name]
        rows = np.zeros((len(outcomes), question.bones.network.nodes[node].scale.size))
        placed = assembly.indications[name]
        ids = [state.id for state in placed.indication.states]
        for row, outcome in enumerate(outcomes):
            rows[row, ids.index(outcome[position])] = 1.0
            if placed.needs and outcome[position] == ids[0]:
                rows[row, -1] = 1.0  # what cannot show itself looks good
        found[node] = rows
    return _Open(check, names, outcomes, found)


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
