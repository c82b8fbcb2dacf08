"""Brute force over everything that can happen to a small set through time, in exact fractions.

Written from the meaning of work and time alone; it shares no code with the program. A world says what became of
every part, and what every cause and every indication drew. Only signs that are seen or not are reckoned with: an
indication is there if anything that acts at the time has pushed it.

* A part is good or bad; after each piece of work on it a bad one is good with the chance that the remedy works, and a
  good one bad with the chance that work does harm.
* A stretch of time through which a part is bad without a break is one fault. What it draws on a sign it draws once.
* A fault that lasts from beginning to end acts together with the leaks, in the standing set. Faults that lasted
  another time act apart from it, those of the same time together. A sign draws on the next sign once in the standing
  set and once in each such time.
* A sign is seen in a period if it is there in the standing set or in a time that the period belongs to.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

Times = tuple[int, int]


@dataclass(frozen=True)
class Small:
    """A set of parts and signs. `pushes`: from a part or sign to a sign, with its chance; signs in order."""

    prior: Mapping[str, Fraction]
    works: Mapping[str, Fraction]
    harm: Fraction
    leak: Mapping[str, Fraction]
    pushes: Mapping[tuple[str, str], Fraction]
    work: Sequence[str]  # the part worked on, one after another


def lives_of(small: Small, part: str) -> dict[tuple[bool, ...], Fraction]:
    """Whether the part is bad in each period, with the chance of that."""
    found = {(True,): small.prior[part], (False,): 1 - small.prior[part]}
    for worked_on in small.work:
        after: dict[tuple[bool, ...], Fraction] = {}
        for life, chance in found.items():
            bad = life[-1]
            if worked_on != part:
                stays_bad = Fraction(1 if bad else 0)
            else:
                stays_bad = 1 - small.works[part] if bad else small.harm
            after[*life, True] = chance * stays_bad
            after[*life, False] = chance * (1 - stays_bad)
        found = {life: chance for life, chance in after.items() if chance}
    return found


def faults(life: Sequence[bool]) -> list[Times]:
    """First period of each fault, and the first after it."""
    found, start = [], None
    for period, bad in enumerate([*life, False]):
        if bad and start is None:
            start = period
        elif not bad and start is not None:
            found.append((start, period))
            start = None
    return found


def evidence(
    small: Small, seen: Mapping[tuple[str, int], bool], bad: Mapping[tuple[str, int], bool] | None = None
) -> Fraction:
    """Chance that the signs are seen, or not, in these periods, and that the parts are bad, or not, in those."""
    parts = list(small.prior)
    total = Fraction(0)
    for each in product(*(lives_of(small, part).items() for part in parts)):
        life = {part: one for part, (one, _) in zip(parts, each, strict=True)}
        if any(life[part][period] != is_bad for (part, period), is_bad in (bad or {}).items()):
            continue
        chance = Fraction(1)
        for _, share in each:
            chance *= share
        total += chance * _seen(small, life, seen)
    return total


def _seen(small: Small, life: Mapping[str, Sequence[bool]], seen: Mapping[tuple[str, int], bool]) -> Fraction:
    """Chance of what was seen, given what became of the parts."""
    whole = (0, len(small.work) + 1)
    times = sorted({whole, *(span for one in life.values() for span in faults(one))})
    chances: dict[Times, dict[frozenset[str], Fraction]] = {
        span: _there(small, life, span, span == whole) for span in times
    }
    total = Fraction(0)
    for each in product(*(chances[span].items() for span in times)):
        there = {span: signs for span, (signs, _) in zip(times, each, strict=True)}
        if all(
            any(sign in there[span] for span in times if span[0] <= period < span[1]) == is_seen
            for (sign, period), is_seen in seen.items()
        ):
            chance = Fraction(1)
            for _, share in each:
                chance *= share
            total += chance
    return total


def _there(
    small: Small, life: Mapping[str, Sequence[bool]], span: Times, standing: bool
) -> dict[frozenset[str], Fraction]:
    """Which signs the faults of one time bring about, with the chance of that."""
    there: dict[frozenset[str], Fraction] = {
        frozenset(part for part in life if span in faults(life[part])): Fraction(1)
    }
    for sign, leak in small.leak.items():
        after: dict[frozenset[str], Fraction] = {}
        for so_far, chance in there.items():
            not_there = 1 - leak if standing else Fraction(1)
            for (source, target), push in small.pushes.items():
                if target == sign and source in so_far:
                    not_there *= 1 - push
            after[so_far] = after.get(so_far, Fraction(0)) + chance * not_there
            more = so_far | {sign}
            after[more] = after.get(more, Fraction(0)) + chance * (1 - not_there)
        there = {signs: chance for signs, chance in after.items() if chance}
    return there
