"""Simulated sets: which causes a rig can have, a set that has one, and the two facts its owner comes with."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final
from zlib import crc32

import numpy as np

from diagnose.inference.rig_network import skeleton
from diagnose.model.assembly import Assembly
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
    """A set that has exactly these causes and shows at least so many signs that facts can be told of it.

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
        facts = _facts(answering, rng)
        if len(facts) > (len(best.facts) if best is not None else 0):
            best = SimulatedSet(tuple(causes), answering, facts, own, number)
        if len(facts) == FACTS:
            break
    return best


def _bad(assembly: Assembly, causes: Iterable[str]) -> Iterable[tuple[str, int]]:
    for cause in causes:
        placed, mode = assembly.cause(cause)
        yield placed.id, 1 + placed.part.modes.index(mode)


def signs(answering: Answering) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Signs that the faults of a set make: those noticed without instruments of the bench, and those of any check.

    What it would show without the faults too is no sign of them: stray signs, that nothing in the book explains.
    """
    assembly, good = answering.assembly, answering
    for part in answering.world.bad:
        good = good.repaired(part)
    instruments = assembly.book.bench.instruments
    at_once: dict[str, bool] = {}
    for check in assembly.checks.values():
        instrument = instruments.get(check.check.instrument)
        easy = instrument is not None and instrument.always and not check.check.swaps
        for name in check.reveals:
            at_once[name] = at_once.get(name, False) or easy
    abnormal = [n for n in at_once if answering.shown(n) and answering.shown(n) != good.shown(n)]
    return tuple(name for name in abnormal if at_once[name]), tuple(abnormal)


def _facts(answering: Answering, rng: np.random.Generator) -> tuple[str, ...]:
    """Up to two signs, drawn from those that are noticed without instruments as far as there are such."""
    noticed, every = signs(answering)
    chosen = _some(rng, noticed, FACTS)
    rest = tuple(name for name in every if name not in noticed)
    return chosen + _some(rng, rest, FACTS - len(chosen))


def _some(rng: np.random.Generator, names: Sequence[str], count: int) -> tuple[str, ...]:
    many = min(count, len(names))
    return tuple(names[int(n)] for n in rng.choice(len(names), many, replace=False)) if many else ()
