"""A question to the network: its evidence, and the questions that are made of it by doubting or trusting something."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from diagnose.evidence.collect import Findings
from diagnose.inference.contraction import TooWide
from diagnose.inference.instruments import Readings
from diagnose.inference.layout import DEFAULT_BUDGET, Impossible, Layout
from diagnose.inference.network import Network
from diagnose.inference.rig_network import Skeleton
from diagnose.inference.scale import Array
from diagnose.inference.structure import Structure
from diagnose.model.result import Finding

DOUBTED = 0.98  # how often an observation is right when some of them contradict each other
AS_GOOD = 0.1  # likelihood of the good state, of the greatest, from which an observation is hardened to it
CLOSE_ENOUGH = 1e-6  # estimated error from rounding up to which a posterior is called exact
ROUNDED = 0.1  # error from rounding, of what is left out anyhow, up to which it adds nothing
MOST_ROUNDED = 1e-3  # the same at the most: figures are told in hundredths


@dataclass(frozen=True, eq=False)
class Question:
    """A network with its evidence. `likelihood` by node index; `abnormal` nodes are signs of a fault.

    What was read with instruments that may be astray is evidence on a dial: a node of its own, whose
    quantity is in `dials`. `assumed` nodes are instruments whose likelihood is no observation of theirs.
    `left_out` bounds the share of the evidence in which instruments that were taken as true are not.
    `read`: what it was made of, the question without what was read with instruments, and these readings.
    """

    bones: Skeleton
    network: Network
    likelihood: Mapping[int, Array]
    abnormal: frozenset[int]
    dials: Mapping[int, int] = field(default_factory=dict)
    assumed: frozenset[int] = frozenset()
    left_out: float = 0.0
    read: tuple[Question, Readings] | None = None

    def name_of(self, node: int) -> str:
        """The id on the rig of a node, of a dial that of its quantity."""
        return self.bones.names[self.dials.get(node, node)]

    def finding_of(self, node: int, findings: Findings) -> Finding:
        """The finding behind an observed node, be it of the set as it is or of one before work."""
        at = self.dials.get(node, node)
        name = self.bones.names[at]
        return findings.of_copy(name, self.bones.copy_of.get(at, findings.periods.last(name)))

    def observed(self, node: int) -> bool:
        """Whether anything was observed of a node, be it through a dial."""
        return node in self.observations or node in self._read

    @property
    def accuracy(self) -> float:
        """The error from rounding that does no harm: where something is left out, more than otherwise."""
        return min(MOST_ROUNDED, max(CLOSE_ENOUGH, ROUNDED * self.left_out))

    @cached_property
    def observations(self) -> tuple[int, ...]:
        """The nodes that something was observed of, dials instead of what was read on them."""
        return tuple(node for node in sorted(self.likelihood) if node not in self.assumed)

    @cached_property
    def _read(self) -> frozenset[int]:
        return frozenset(self.dials.values())

    def support(self) -> dict[int, tuple[int, ...]]:
        """States of each observed node that the observation leaves possible."""
        return {
            node: tuple(np.flatnonzero(np.atleast_2d(values).max(0) > 0).tolist())
            for node, values in self.likelihood.items()
        }

    def structure(
        self,
        asked: Collection[int] = (),
        *,
        marks: bool | Collection[int] = True,
        opened: Mapping[int, Collection[int]] | None = None,
        budget: float = DEFAULT_BUDGET,
    ) -> Structure:
        """The layout of this question, in an order within the budget; see `layout`.

        With nothing said, that in which the lives of the parts worked on can be read too.
        """
        if not asked and marks is True and not opened:
            return self._layout.planned(budget)
        return self.layout(asked, marks=marks, opened=opened).planned(budget)

    def fits(self, budget: float) -> bool:
        """Whether the structure was planned already, and has no product of more cells than the budget."""
        found = self._layout.found if "_layout" in self.__dict__ else None
        return found is not None and found.contraction.cells <= budget

    def layout(
        self,
        asked: Collection[int] = (),
        *,
        marks: bool | Collection[int] = True,
        read: Collection[int] | None = None,
        opened: Mapping[int, Collection[int]] | None = None,
    ) -> Layout:
        """The layout of this question without an order; `opened` widens the support of some nodes (variants)."""
        support: dict[int, Collection[int]] = dict(self.support())
        support.update(opened or {})
        return Layout(self.network, support, self.abnormal, asked, marks, read)

    @cached_property
    def _layout(self) -> Layout:
        # what became of the parts worked on is read with all else, at no cost
        return self.layout(tuple(self.bones.life_of.values()))

    def without(self, node: int) -> Question:
        """The same question with one observation left out."""
        kept = {n: values for n, values in self.likelihood.items() if n != node}
        return replace(self, likelihood=kept, abnormal=self.abnormal - {node}, read=None)

    def hardened(self) -> Question:
        """The same question with every observation taken as its most likely state, all instruments true.

        Good sets are common: what may well be good is taken as good, and what says nothing convicts nobody.
        """
        hard = {}
        for node in self.observations:
            values = self.likelihood[node]
            states = self.network.nodes[self.dials.get(node, node)].scale.size
            sure = np.zeros_like(values)
            best = int(values[:states].argmax())
            sure[0 if values[0] >= AS_GOOD * values[best] else best] = 1.0
            hard[node] = sure
        return replace(self, likelihood={**self.likelihood, **hard}, read=None)

    def doubted(self) -> Question:
        """The same question with every observation right in DOUBTED of cases, and saying nothing else."""
        soft = {}
        for node in self.observations:
            values = self.likelihood[node]
            soft[node] = DOUBTED * values / values.max() + (1.0 - DOUBTED)
        return replace(self, likelihood={**self.likelihood, **soft}, read=None)

    def trusting(self, doubtful: Collection[int]) -> Question:
        """The same question with all instruments true but these: narrower, where readings hang on many.

        What is left out by that is not told of it. Itself where nothing was read with an instrument, or was changed.
        """
        if self.read is None:
            return self
        asked, readings = self.read
        return placed(asked, readings, [node for node in readings.used if node not in doubtful])

    def certain_only(self) -> Question:
        """The same question without the observations that leave more than one state possible."""
        kept = {n: v for n, v in self.likelihood.items() if n in self.assumed or np.count_nonzero(v) == 1}
        return replace(self, likelihood=kept, abnormal=self.abnormal & frozenset(kept), read=None)


def placed(
    question: Question, readings: Readings, trusted: Collection[int], left_out: float = 0.0
) -> Question:
    """The question with a dial for every reading that hangs on an instrument not trusted.

    `left_out`: bound of the share of the evidence in which those trusted are astray.
    """
    dials = readings.placed(question.network, trusted)
    return replace(
        question,
        network=dials.network,
        likelihood={**question.likelihood, **dials.likelihood, **dials.assumed},
        abnormal=question.abnormal | dials.abnormal,
        dials=dials.of,
        assumed=question.assumed | frozenset(dials.assumed),
        left_out=question.left_out + left_out,
        read=(question, readings),
    )


def too_wide(question: Question, budget: float) -> bool:
    """Whether a table would have more cells than the budget."""
    try:
        question.structure(budget=budget)
    except TooWide:
        return True
    except Impossible:  # said when it is solved
        return False
    return False
