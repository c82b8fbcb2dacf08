"""Expected minutes to a working set, and what an observation takes off them.

The needed remedy is a random quantity: a blamed part drawn with a chance in proportion to its blame
(in a world with two blamed parts either may be drawn). Remedies are tried in the order that is best
when one of them is needed, by chance of cure per minute, each followed by a test; what no remedy cures costs
a search. Source of the ordering: D. Heckerman, J. S. Breese and K. Rommelse, "Decision-theoretic
troubleshooting", Comm. ACM 38 (1995), equation 1 and section 2.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from diagnose.inference.scale import Array


@dataclass(frozen=True, eq=False)
class Remedies:
    """One remedy per part, arrays of shape (R,): minutes with the test after it, and chance of cure.

    A part without a remedy of its own (an unnamed one) has chance 0: only the search finds it.
    """

    minutes: Array
    works: Array
    search_minutes: float


def expected_minutes(remedies: Remedies, weights: Array) -> Array:
    """Expected minutes to a working set, shape (B,).

    `weights`: shape (B, R), chance that each part's remedy is the needed one; rows add up to 1.
    """
    gain = weights * remedies.works
    rate = gain / remedies.minutes
    order = np.argsort(-rate, axis=1, kind="stable")
    gain = np.take_along_axis(gain, order, axis=1)
    minutes = remedies.minutes[order]
    not_yet = 1.0 - np.cumsum(gain, axis=1)
    before = np.concatenate([np.ones((weights.shape[0], 1)), not_yet[:, :-1]], axis=1)
    spent = np.cumsum(minutes * before, axis=1)
    # after any number of remedies one may turn to the search; the best moment is taken
    stop_after = spent + remedies.search_minutes * np.maximum(not_yet, 0.0)
    best: Array = np.minimum(remedies.search_minutes, stop_after.min(axis=1))
    return best


def minutes_saved(remedies: Remedies, joint: Array) -> float:
    """Expected minutes that an observation takes off, before its own minutes.

    `joint`: shape (O, R), chance of each outcome together with each part's remedy being the needed one.
    """
    total = joint.sum()
    if not total > 0:
        return 0.0
    joint = joint / total
    now = expected_minutes(remedies, joint.sum(0, keepdims=True))[0]
    chances = joint.sum(1)
    seen = joint[chances > 0] / chances[chances > 0, np.newaxis]
    later = float(chances[chances > 0] @ expected_minutes(remedies, seen))
    return float(now - later)


def gain_bits(joint: Array) -> float:
    """Mutual information between the outcome and the needed remedy, in bits; `joint` as above."""
    total = joint.sum()
    if not total > 0:
        return 0.0
    joint = joint / total
    independent = np.outer(joint.sum(1), joint.sum(0))
    positive = joint > 0
    bits = float(np.sum(joint[positive] * np.log2(joint[positive] / independent[positive])))
    return max(bits, 0.0)
