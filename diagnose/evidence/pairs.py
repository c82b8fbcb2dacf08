"""What two readings of one quantity say together: cold and warm, before some work and after it.

The ratio r of the later to the earlier, both at the mains of the chart, has the standard uncertainty u that is left
when what both share (one meter) has cancelled. The likelihood of a state is the integral of N(r; v, u) p(v | state) dv:
true ratios spread as those of good sets do about 1, half the threshold being one deviation, and evenly beyond
the threshold where something rose or fell.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from diagnose.evidence import amounts
from diagnose.evidence.grade import density, softened
from diagnose.model.assembly import Assembly, PlacedIndication, resolve
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Indication, State
from diagnose.model.measuring import OfPair
from diagnose.model.periods import is_now, settled
from diagnose.model.result import Finding
from diagnose.uncertain import Uncertain

COLD_WARM, BEFORE_AFTER = "cold_warm", "before_after"
_MOST: Final = 2.5  # the greatest ratio that is reckoned with, as in the grading of a level
_STEADY: Final = 1e-3  # the least uncertainty of a ratio: no set stands stiller


def of_pair(
    assembly: Assembly, case: Case, placed: PlacedIndication, findings: Sequence[Finding]
) -> Observation | None:
    """What the pairs of readings of a case say of an indication; None where there is no pair.

    Of several conditions the pair that is furthest from no change counts: it is one sign.
    """
    pair = placed.indication.of_pair
    name = resolve(assembly.rig.stages[placed.stage], pair.quantity) if pair is not None else None
    if pair is None or name is None or name not in assembly.indications:
        return None
    readings = [f for f in findings if f.name == name and f.path is not None]
    chosen: Observation | None = None
    for first, second in _pairs(case, readings, pair.pair):
        found = _judged(placed, first, second)
        if found is not None and (chosen is None or found.likelihood[0] < chosen.likelihood[0]):
            chosen = found
    return chosen


def _pairs(case: Case, readings: Sequence[Finding], sort: str) -> Iterator[tuple[Finding, Finding]]:
    """The readings to be compared, the earlier first: one pair for each condition."""
    conditions: dict[tuple[str, str], list[Finding]] = {}
    for finding in readings:
        observation = finding.observation
        key = (observation.mode or case.mode, observation.band or case.band)
        conditions.setdefault(key, []).append(finding)
    compare = _cold_warm if sort == COLD_WARM else _before_after
    for alike in conditions.values():
        pair = compare(case, alike)
        if pair is not None:
            yield pair


def _cold_warm(case: Case, readings: Sequence[Finding]) -> tuple[Finding, Finding] | None:
    """The last cold and the last warm reading of the set as it is now."""
    now = [f for f in readings if is_now(case, f.observation)]
    cold = [f for f in now if f.observation.warmth == "cold"]
    warm = [f for f in now if f.observation.warmth == "warm"]
    return (cold[-1], warm[-1]) if cold and warm else None


def _before_after(case: Case, readings: Sequence[Finding]) -> tuple[Finding, Finding] | None:
    """The last reading, and the last one before the work that came before it and may have changed the set."""
    last = max(settled(case, f.observation.period) for f in readings)
    after = [f for f in readings if settled(case, f.observation.period) == last][-1]
    before = [f for f in readings if settled(case, f.observation.period) < last and not _differ(f, after)]
    if not before:
        return None
    latest = max(settled(case, f.observation.period) for f in before)
    return [f for f in before if settled(case, f.observation.period) == latest][-1], after


def _differ(one: Finding, other: Finding) -> bool:
    """Whether one was read cold and the other warm."""
    return bool(
        one.observation.warmth
        and other.observation.warmth
        and one.observation.warmth != other.observation.warmth
    )


def _judged(placed: PlacedIndication, first: Finding, second: Finding) -> Observation | None:
    pair = placed.indication.of_pair
    if pair is None or first.path is None or second.path is None:
        return None
    before = amounts.at_chart(first.name, first.observation, first.path)
    after = amounts.at_chart(second.name, second.observation, second.path)
    if before.value == 0.0 or after.value / before.value < 0.0:
        return None
    ratio = after / before
    words = ("cold", "warm") if pair.pair == COLD_WARM else ("before", "after")
    shown = f"{before.value:.4g} {first.unit} {words[0]}, {after.value:.4g} {first.unit} {words[1]}"
    found = pair_likelihood(placed.indication, pair, ratio)
    top = max(found)
    return Observation(
        placed.id,
        likelihood=softened([value / top for value in found], min(first.right, second.right)),
        made_of=(first.name,),
        made_by=f"worked out: {shown}, {100.0 * (ratio.value - 1.0):+.1f} %",
        told_by=min(first, second, key=lambda f: f.right).observation.told_by,
        period=second.observation.period,
        place=second.observation.place,
    )


def pair_likelihood(indication: Indication, pair: OfPair, ratio: Uncertain) -> tuple[float, ...]:
    """The likelihood of each state of an indication for a ratio of two readings.

    A change that the indication has no state for is no change to it. What is neither a rise nor a fall is excluded
    by none.
    """
    value, spread = ratio.value, max(ratio.standard, _STEADY)
    if not pair.rose:
        value = min(value, 1.0)
    if not pair.fell:
        value = max(value, 1.0)
    good = State("", around=(1.0, 0.5 * pair.by))
    rose = State(pair.rose, between=(1.0 + pair.by, max(_MOST, 1.0 + 2.0 * pair.by)))
    fell = State(pair.fell, between=(0.0, 1.0 - pair.by))
    elsewhere = State("", between=(0.0, _MOST))
    found = [density(good, value, spread)]
    for state in indication.states[1:]:
        spreads = [known for known in (rose, fell) if known.id == state.id] or [elsewhere]
        found.append(sum(density(known, value, spread) for known in spreads) / len(spreads))
    if max(found) > 0.0:
        return tuple(found)
    # beyond all that is reckoned with
    top = pair.rose if value > 1.0 else pair.fell
    return tuple(1.0 if state.id == top else 0.0 for state in indication.states)
