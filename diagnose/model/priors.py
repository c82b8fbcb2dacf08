"""How probable each cause is before anything was observed, by the history of the set."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.model.assembly import PlacedPart
from diagnose.model.conditions import holds
from diagnose.model.knowledge import Mode


def part_prior(placed: PlacedPart, facts: Mapping[str, object]) -> tuple[float, ...]:
    """Prior of the good state, then of each mode.

    Modes exclude each other; where their lines of history together pass certainty, each keeps its share.
    """
    known = {**placed.features, **facts}
    priors = [_prior(mode, known) for mode in placed.part.modes]
    total = sum(priors)
    if total >= 1.0:
        # the loader refuses this for base priors; histories may meet in ways nobody wrote down
        priors = [prior * 0.99 / total for prior in priors]
        total = 0.99
    return (1.0 - total, *priors)


def _prior(mode: Mode, known: Mapping[str, object]) -> float:
    """Prior of one mode: the first line of its history that holds, else its base prior."""
    for line in mode.history:
        if holds(line.when, known):
            return line.prior
    return mode.prior


def expected_faults(parts: Mapping[str, PlacedPart], facts: Mapping[str, object]) -> float:
    """Expected number of faults of a set with this history, ruin of one part by another left aside."""
    return sum(1.0 - part_prior(placed, facts)[0] for placed in parts.values())
