"""How a part may have fared through the work done to it: its states one after another, with their chances.

A fault stays unless the remedy that was tried works; a good part takes harm from work with a small chance, and then
shows its modes as often as they come about otherwise. A remedy that fails leaves the fault that there was.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

Life: TypeAlias = tuple[int, ...]  # state of the part in each of its copies; 0 is good


def lives(prior: Sequence[float], works: Sequence[Sequence[float]], harm: float) -> dict[Life, float]:
    """Every life that can be, with its chance; the good one comes first.

    prior: (S,), chance of each state before all work. works: (W, S), for each piece of work how often it cures
    each mode (of the good state: not used). harm: chance that work leaves a good part bad.
    """
    found: dict[Life, float] = {(s,): chance for s, chance in enumerate(prior) if chance > 0 or not s}
    for cures in works:
        found = _after_work(found, cures, harmed(prior, harm))
    return found


def ruined(chances: Sequence[Sequence[float]], works: Sequence[Sequence[float]]) -> dict[Life, float]:
    """The same for a part that is ruined by another, and for no other reason.

    chances: (1 + W, S), chance that each state is brought about in each copy, the good one for none: what ruined
    a part ruins the new one too, as long as it is there.
    """
    found: dict[Life, float] = {(s,): c for s, c in enumerate(chances[0]) if c > 0 or not s}
    for cures, afresh in zip(works, chances[1:], strict=True):
        found = _after_work(found, cures, afresh)
    return found


def harmed(prior: Sequence[float], harm: float) -> list[float]:
    """Chance of each state that work leaves a good part in, shape (S,)."""
    bad = sum(prior[1:])
    if not bad > 0:
        return [1.0, *(0.0 for _ in prior[1:])]
    return [1.0 - harm, *(harm * chance / bad for chance in prior[1:])]


def _after_work(
    so_far: dict[Life, float], works: Sequence[float], afresh: Sequence[float]
) -> dict[Life, float]:
    """The lives with one copy more. `afresh`: what becomes of a good part."""
    found: dict[Life, float] = {}
    for life, chance in so_far.items():
        state = life[-1]
        if state:
            next_ones = {state: 1.0 - works[state], 0: works[state]}
        else:
            next_ones = {s: c for s, c in enumerate(afresh) if c > 0 or not s}
        for after, share in next_ones.items():
            if share > 0 or (not any(life) and not after):
                found[*life, after] = chance * share
    return found


def spell(life: Life, copy: int) -> tuple[int, int]:
    """First and last copy through which the fault of a copy lasts. The part must be bad in it."""
    first = last = copy
    while first and life[first - 1] == life[copy]:
        first -= 1
    while last + 1 < len(life) and life[last + 1] == life[copy]:
        last += 1
    return first, last
