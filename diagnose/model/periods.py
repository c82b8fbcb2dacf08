"""Time as the work on a set cuts it: which parts and indications each piece of work may have changed.

Period 0 lies before all work, period k after k pieces of it. A part is another one after it was worked on, and so is
whatever it leads to; everything else stays as it was, and an observation of it is as good before as after. Each such
change gives the next **copy** of a part or indication, counted from 0.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation, Work

MOST = 2  # pieces of work on one part that are told apart


@dataclass(frozen=True)
class Periods:
    """The periods of one case. `touched`: for each name the pieces of work, from 0, that it may differ after.

    `count`: pieces of work; `touched` lists those from period `first` on. Observations made before period `first` speak of no set that is still known: work was
    done since of which no part is named, or on one part too often.
    """

    count: int = 0
    first: int = 0
    same: tuple[int, ...] = (0,)  # for each period the last one in which the set is still the same
    touched: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    before: Mapping[str, int] = field(default_factory=dict)  # pieces of work on each part before `first`
    # of a part and a piece of work, from 0: the causes that it was the remedy of, where that is said
    meant: Mapping[tuple[str, int], tuple[str, ...]] = field(default_factory=dict)

    def period(self, given: int | None) -> int:
        """The last period in which the set is as it was when an observation was made, after all work if it says nothing."""
        return self.count if given is None else self.same[min(max(given, 0), self.count)]

    def copy(self, name: str, period: int) -> int:
        """Which copy of a part or indication there is in a period."""
        return bisect_left(self.touched.get(name, ()), period)

    def after(self, name: str, work: int) -> int:
        """The copy of a part that a piece of work, counted from 0, left; 0 if that is not told apart."""
        works = self.touched.get(name, ())
        return works.index(work) + 1 if work in works else 0

    def last(self, name: str) -> int:
        """The copy that there is now."""
        return len(self.touched.get(name, ()))

    def began(self, name: str, copy: int) -> int:
        """The period in which a copy came to be."""
        return self.touched[name][copy - 1] + 1 if copy else self.first

    def home(self, name: str, period: int) -> int:
        """The last period in which the copy of that period is still there."""
        works = self.touched.get(name, ())
        copy = bisect_left(works, period)
        return works[copy] if copy < len(works) else self.count


def changes_the_set(work: Work) -> bool:
    """Whether work may have changed the set: not where it touched nothing, or only answers a stop order and no part."""
    return bool(work.parts) or (work.changed and not work.answers)


def is_now(case: Case, observation: Observation) -> bool:
    """Whether it was observed after all work that may have changed the set."""
    return settled(case, observation.period) == len(case.work)


def settled(case: Case, period: int | None) -> int:
    """The last period in which the set is as it was in that one; None: after all work."""
    count = len(case.work)
    last = count if period is None else min(max(period, 0), count)
    while last < count and not changes_the_set(case.work[last]):
        last += 1
    return last


def periods_of(assembly: Assembly, case: Case, since: int = 0) -> Periods:
    """The periods of a case on its rig; nothing is told apart before period `since`."""
    count = len(case.work)
    first = since
    touched: dict[str, list[int]] = {}
    done: dict[str, list[int]] = {}
    meant: dict[tuple[str, int], tuple[str, ...]] = {}
    for number, work in enumerate(case.work):
        parts = [part for part in work.parts if part in assembly.parts]
        if not parts and not work.answers and work.changed:  # what only answers a stop order changes nothing
            first = max(first, number + 1)
        for name in parts:
            done.setdefault(name, []).append(number)
            causes = tuple(cause for cause in work.cures if cause.rpartition(".")[0] == name)
            if causes:
                meant[name, number] = causes
        for name in (*parts, *_led_to(assembly, parts)):
            touched.setdefault(name, []).append(number)
    for works in done.values():
        if len(works) > MOST:  # of a part worked on again and again only the last times are told apart
            first = max(first, works[-MOST - 1] + 1)
    late = {name: tuple(n for n in works if n >= first) for name, works in touched.items()}
    early = {name: sum(n < first for n in works) for name, works in done.items()}
    return Periods(
        count,
        first,
        tuple(settled(case, period) for period in range(count + 1)),
        {name: works for name, works in late.items() if works},
        {name: number for name, number in early.items() if number},
        meant,
    )


def _led_to(assembly: Assembly, parts: Iterable[str]) -> frozenset[str]:
    """All indications that these parts can show in. What one of them ruined stays ruined and is not among it."""
    seen: set[str] = set()
    waiting = list(parts)
    while waiting:
        for child in assembly.shows_in.get(waiting.pop(), ()):
            if child not in seen:
                seen.add(child)
                waiting.append(child)
    return frozenset(seen)
