"""Which instruments are taken as true, where readings hang on so many that the network is too wide with all in doubt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from diagnose.inference.contraction import TooWide
from diagnose.inference.instruments import Readings
from diagnose.inference.layout import DEFAULT_BUDGET, Impossible
from diagnose.inference.question import Question, placed, too_wide
from diagnose.inference.solve import log_evidence

BOUNDED = 2e7  # cells of one product of tables over all the worlds that are bounded at once
ROUGHLY = 0.1  # accuracy of bounds, which are told by their orders of magnitude
LEFT_OUT = 1e-7  # share of the evidence up to which an instrument that is astray may be left out
WIDE = 3e6  # cells of one product of tables from which it pays to look for instruments that are true
SHARED_BY = 4  # readings on one instrument from which it makes a network wide
MOST_JOINT = 2  # such instruments that are looked at together


def with_dials(question: Question, readings: Readings) -> Question:
    """The question with a dial for every reading; where that is too wide, with some instruments taken as true."""
    return none_trusted(question, readings) or some_trusted(question, readings)


def none_trusted(question: Question, readings: Readings) -> Question | None:
    """The question with a dial for every reading; None where that is too wide."""
    whole = placed(question, readings, ())
    return None if too_wide(whole, WIDE) else whole


def some_trusted(question: Question, readings: Readings) -> Question:
    """The question with those instruments taken as true that the readings prove to be so; then, the least doubtful
    first, others that several readings hang on; in the end all.
    """
    several = [node for node, count in readings.used.items() if count > 1]
    shared = [node for node in several if readings.used[node] >= SHARED_BY]
    shared = sorted(shared, key=lambda node: -readings.used[node])[:MOST_JOINT]
    shares = _shares_astray(question, readings, shared)
    trusted = [node for node in shared if shares[node] <= LEFT_OUT]
    fewer = placed(question, readings, trusted, sum(shares[node] for node in trusted))
    if not too_wide(fewer, DEFAULT_BUDGET):
        return fewer
    others = [node for node in several if node not in shares]
    for first in range(0, len(others), MOST_JOINT):
        shares |= _shares_astray(question, readings, others[first : first + MOST_JOINT])
    for node in sorted(several, key=lambda node: shares[node]):
        if node in trusted:
            continue
        trusted.append(node)
        fewer = placed(question, readings, trusted, sum(shares[node] for node in trusted))
        if not too_wide(fewer, DEFAULT_BUDGET):
            return fewer
    return placed(question, readings, tuple(readings.used), np.inf)


def _shares_astray(question: Question, readings: Readings, suspects: Sequence[int]) -> dict[int, float]:
    """For each suspected instrument a bound on the evidence of all worlds in which it is astray, relative to
    that of the world in which all are true; infinite where that cannot be told.
    """
    nothing = dict.fromkeys(suspects, np.inf)
    if not suspects:
        return nothing
    worlds, rows = readings.bounds(question.network, suspects)
    asked = replace(question, likelihood={**question.likelihood, **rows})
    try:
        structure = asked.structure(marks=False, budget=BOUNDED / len(worlds))
        log = log_evidence(structure, asked.likelihood, accuracy=ROUGHLY)
    except (TooWide, Impossible):
        return nothing
    if np.isneginf(log[0]):
        return nothing
    shares = np.exp(np.minimum(log - log[0], 700.0))
    return {
        node: float(sum(share for share, world in zip(shares[1:], worlds[1:], strict=True) if world[place]))
        for place, node in enumerate(suspects)
    }
