"""What each outcome of a check would do: its probability and the blame of every part after it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np

from diagnose.advice.prospects import Prospect
from diagnose.inference.contraction import TooWide
from diagnose.inference.layout import Impossible, Layout
from diagnose.inference.question import Question
from diagnose.inference.scale import Array
from diagnose.inference.shared import Shared
from diagnose.model.assembly import Assembly, PlacedCheck

MOST_OUTCOMES = 8
BUDGET = 5e5  # cells of one product of tables: a check beyond is judged by less, or later
LARGE_BUDGET = 5e6  # the same, where nothing could be judged within the small one
MOST_WORK = 1e8  # work of all variants of all checks together that are judged at once
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
    """The outlooks of many checks on one question, kept."""

    def __init__(self, assembly: Assembly, question: Question, parts: Sequence[int]) -> None:
        self.assembly, self.question, self.parts = assembly, question, tuple(parts)
        self._found: dict[tuple[str, ...], Outlook] = {}
        self._shared: Shared | None = None

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
        views: list[Outlook | None] = [None] * len(prospects)
        if not self.narrow(budget):  # with something opened it seldom becomes narrower
            return views
        for most in (None, 1) if fewer else (None,):
            wanted = {
                place: tuple(_open_names(self.assembly, self.question, prospect.names[:most]))
                for place, prospect in enumerate(prospects)
                if views[place] is None
            }
            checks: dict[tuple[str, ...], PlacedCheck] = {}  # what several show is looked at once
            for place, names in wanted.items():
                if names and names not in self._found:
                    checks.setdefault(names, prospects[place].check)
            opened = [_open(self.assembly, self.question, check, names) for names, check in checks.items()]
            for each in opened:
                work -= self._look(each, self._sharing(opened), budget, work)
            for place, names in wanted.items():
                views[place] = self._found.get(names)
        return views

    def narrow(self, budget: float) -> bool:
        """Whether the question with nothing opened is possible, and within the budget."""
        if self.question.fits(budget):
            return True
        try:
            self._alone.planned(budget)
        except (TooWide, Impossible):
            return False
        return True

    @cached_property
    def _alone(self) -> Layout:
        return self.question.layout(marks=self.parts, read=self.parts)

    def _sharing(self, opened: Sequence[_Open]) -> Shared:
        """The structures of these, which are kept for what opens no other nodes."""
        nodes = {node for each in opened for node in each.rows}
        if self._shared is None or not nodes <= self._shared.opened:
            support = {node: range(self._states(node)) for node in nodes}
            layout = self.question.layout(marks=self.parts, read=self.parts, opened=support)
            self._shared = Shared(layout, self.question.likelihood, nodes, LARGE_BUDGET)
        return self._shared

    def _states(self, node: int) -> int:
        return self.question.network.nodes[node].scale.size

    def _look(self, opened: _Open, shared: Shared, budget: float, most: float) -> float:
        """Finds an outlook, if that is not more than so much work; the work done."""
        structure = shared.structure(opened.rows)
        if structure is None or structure.contraction.cells > budget:
            return 0.0
        work = len(opened.outcomes) * structure.contraction.work
        if work > most:
            return 0.0
        solution = shared.solve(structure, opened.rows, ACCURATE)
        own = np.broadcast_to(solution.log_evidence, (len(opened.outcomes),))
        possible = np.isfinite(own)
        if solution.error > TOO_ROUGH or not possible.any():  # what was observed contradicts itself
            return work
        chance = np.where(possible, np.exp(own - own[possible].max()), 0.0)
        blame = np.zeros((len(own), len(self.parts)))
        for column, part in enumerate(self.parts):
            if part in solution.blame:
                blame[:, column] = np.nan_to_num(solution.blame[part].sum(1))
        states = tuple(tuple(zip(opened.names, outcome, strict=True)) for outcome in opened.outcomes)
        self._found[opened.names] = Outlook(opened.check, self.parts, states, chance / chance.sum(), blame)
        return work


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
