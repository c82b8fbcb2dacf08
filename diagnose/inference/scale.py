"""The states of a node and how pushes on it combine (noisy-MAX per direction).

A state lies on one of three sides: DOWN, UP or OVER; state 0 is the good one. Each present cause
draws one state, or nothing. On each side the highest rank drawn wins, and anything OVER masks DOWN and
UP. A node pushed both down and up ends in the good, the down or the up state by its split.

Literature: F. J. Diez and M. J. Druzdzel, "Canonical probabilistic models for knowledge
engineering" (2006), section 4 (noisy MAX); D. Heckerman and J. S. Breese, "Causal independence for
probability assessment and inference using Bayesian networks" (1996).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

GOOD, DOWN, UP, OVER = 0, 1, 2, 3

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Scale:
    """The states of a node: side and rank (from 1, mild to severe) of each; state 0 has side GOOD.

    `split` gives the chances of good, down and up when pushed both ways. `mute` names states that are
    no sign of a fault though they lie on a side ("cannot be judged"): no blame passes through them.
    """

    sides: tuple[int, ...]
    ranks: tuple[int, ...]
    split: tuple[float, float, float] = (0.5, 0.25, 0.25)
    mute: frozenset[int] = frozenset()

    def __post_init__(self) -> None:
        if not self.sides or self.sides[0] != GOOD or GOOD in self.sides[1:]:
            raise ValueError("state 0, and only state 0, is the good one")
        if len(self.sides) != len(self.ranks):
            raise ValueError("every state needs a side and a rank")
        places = list(zip(self.sides[1:], self.ranks[1:], strict=True))
        if len(set(places)) < len(places) or any(rank < 1 for _, rank in places):
            raise ValueError("ranks count from 1 and differ on each side")
        if not (abs(sum(self.split) - 1.0) <= 1e-12 and min(self.split) >= 0):
            raise ValueError("the split must be three chances that add up to one")
        if not self.mute <= frozenset(range(1, self.size)):
            raise ValueError("only a state other than the good one can be mute")

    @cached_property
    def size(self) -> int:
        """Number of states."""
        return len(self.sides)
