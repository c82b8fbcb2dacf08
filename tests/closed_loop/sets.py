"""Simulated sets: which causes a rig can have, a set that has one, and the two facts its owner comes with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final
from zlib import crc32

import numpy as np

from diagnose.inference.rig_network import skeleton
from diagnose.model.assembly import Assembly, PlacedCheck
from diagnose.model.knowledge import Bench
from tests.closed_loop.answering import Answering
from tests.closed_loop.perturbed import perturbed
from tests.closed_loop.world import Draws, World

FACTS: Final = 2  # what is known before the first question
DRAWS: Final = 60  # sets that are drawn until one shows as much


@dataclass(frozen=True, eq=False)
class SimulatedSet:
    """A set with known faults, and the abnormal things that the interview starts from; `seed` is its own."""

    causes: tuple[str, ...]
    answering: Answering
    facts: tuple[str, ...]
    seed: int
    draws: int  # how many sets were drawn until this one


def causes_of(assembly: Assembly) -> tuple[str, ...]:
    """Every cause of a rig that has a remedy of its own: all but the unnamed ones."""
    return tuple(
        id
        for id, placed, mode in assembly.causes()
        if not placed.part.unnamed and placed.remedy(mode) is not None
    )


def pairs_of(assembly: Assembly, count: int, seed: int) -> tuple[tuple[str, str], ...]:
    """So many pairs of causes of different parts, drawn alike from all causes."""
    causes = causes_of(assembly)
    rng = np.random.default_rng([seed, crc32(assembly.rig.id.encode())])
    found: dict[tuple[str, str], None] = {}
    while len(found) < count:
        one, other = (causes[int(number)] for number in rng.choice(len(causes), 2, replace=False))
        if assembly.cause(one)[0].id != assembly.cause(other)[0].id:
            found[one, other] = None
    return tuple(found)


def simulated(assembly: Assembly, causes: Sequence[str], seed: int) -> SimulatedSet | None:
    """A set that has exactly these causes and shows at least so many signs that facts can be told of it, of two
    causes one of each.

    Each set comes from a perturbed book of its own. One sign is taken where none of the sets drawn shows more;
    None where no set shows anything.
    """
    own = crc32(f"{seed} {assembly.rig.id} {' '.join(causes)}".encode())
    other = perturbed(assembly, own)
    bones = skeleton.__wrapped__(other)  # not kept: no other set is drawn from this book
    rng = np.random.default_rng(own)
    bad = dict(_bad(assembly, causes))
    best: SimulatedSet | None = None
    for number in range(1, DRAWS + 1):
        answering = Answering(other, World(bones, Draws.made(bones.network, rng), bad), own)
        facts = _facts(assembly, answering, causes, rng)
        if len(facts) > (len(best.facts) if best is not None else 0):
            best = SimulatedSet(tuple(causes), answering, facts, own, number)
        if len(facts) == FACTS:
            break
    return best


def _bad(assembly: Assembly, causes: Iterable[str]) -> Iterable[tuple[str, int]]:
    for cause in causes:
        placed, mode = assembly.cause(cause)
        yield placed.id, 1 + placed.part.modes.index(mode)


def signs(assembly: Assembly, answering: Answering) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Signs that the faults of a set make: those that its owner notices, and the others, the least telling first.

    What it would show without the faults too is no sign of them: stray signs, that nothing in the book explains.
    """
    good = answering
    for part in answering.world.bad:
        good = good.repaired(part)
    outside: dict[str, bool] = {}
    for check in assembly.checks.values():
        seen = _from_outside(assembly.book.bench, check)
        for name in check.reveals:
            outside[name] = outside.get(name, False) or seen
    found = [n for n in outside if answering.shown(n) and answering.shown(n) != good.shown(n)]
    told = _causes_behind(assembly)
    noticed = tuple(name for name in found if outside[name])
    others = sorted((name for name in found if not outside[name]), key=lambda name: (-told[name], name))
    return noticed, tuple(others)


def _from_outside(bench: Bench, check: PlacedCheck) -> bool:
    """Whether a check needs no instrument of the bench, and no set-up that asks for caution but power on."""
    instrument = bench.instruments.get(check.check.instrument)
    if instrument is None or not instrument.always or check.check.swaps:
        return False
    for group, wanted in check.check.setup.items():
        states = bench.setups[group].states
        powers = any(state.live for state in states.values())
        if wanted != bench.setups[group].first and states[wanted].cautions and not powers:
            return False
    return True


@lru_cache(maxsize=8)
def _causes_behind(assembly: Assembly) -> Mapping[str, int]:
    """How many parts can show in each indication: the more, the less it tells."""
    count = dict.fromkeys(assembly.indications, 0)
    for part in assembly.parts:
        reached: set[str] = set()
        waiting = [part]
        while waiting:
            fresh = [name for name in assembly.shows_in.get(waiting.pop(), ()) if name not in reached]
            reached.update(fresh)
            waiting += fresh
        for name in reached:
            count[name] += 1
    return count


def shown_by(assembly: Assembly, answering: Answering, cause: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The signs, as by `signs`, that one of the faults of a set makes by itself and that are seen beside the others."""
    own = assembly.cause(cause)[0].id
    alone = answering
    for part in answering.world.bad:
        alone = alone if part == own else alone.repaired(part)
    noticed, others = signs(assembly, alone)
    good = alone.repaired(own)

    def seen(name: str) -> bool:
        return bool(answering.shown(name)) and answering.shown(name) != good.shown(name)

    return tuple(filter(seen, noticed)), tuple(filter(seen, others))


def _facts(
    assembly: Assembly, answering: Answering, causes: Sequence[str], rng: np.random.Generator
) -> tuple[str, ...]:
    """Up to two signs, drawn from those that an owner notices; where these do not reach, the least telling others.

    Of two faults one sign each, if each shows one.
    """
    if len(causes) == 1:
        return _drawn(*signs(assembly, answering), FACTS, rng)
    found: tuple[str, ...] = ()
    for cause in causes:
        noticed, others = shown_by(assembly, answering, cause)
        left = [tuple(name for name in names if name not in found) for names in (noticed, others)]
        found += _drawn(left[0], left[1], 1, rng)
    return found


def _drawn(
    noticed: Sequence[str], others: Sequence[str], count: int, rng: np.random.Generator
) -> tuple[str, ...]:
    many = min(count, len(noticed))
    chosen = tuple(noticed[int(n)] for n in rng.choice(len(noticed), many, replace=False)) if many else ()
    return chosen + tuple(others[: count - many])
