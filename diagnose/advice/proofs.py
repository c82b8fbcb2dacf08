"""The checks that prove what withheld ones wait for: which can be done now, and which wait themselves."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from diagnose.advice.gates import at_hand, limits_current, missing_proofs, proof_of, why_withheld
from diagnose.model.assembly import Assembly, PlacedCheck
from diagnose.model.case import Case
from diagnose.model.result import Withheld


@dataclass(frozen=True)
class Proofs:
    """`possible`: the checks that may be done now, what brings the set up on limited current last; `waiting`: the others."""

    possible: tuple[PlacedCheck, ...]
    waiting: tuple[Withheld, ...]

    def told_with(self, withheld: tuple[Withheld, ...], most: int) -> tuple[Withheld, ...]:
        """At most so many withheld checks, and those that prove something among them."""
        told = {held.check for held in withheld}
        waiting = tuple(held for held in self.waiting if held.check not in told)[: max(most - 1, 0)]
        return (*withheld[: most - len(waiting)], *waiting)


def proofs_towards(assembly: Assembly, case: Case, needs: Iterable[str]) -> Proofs:
    """One check for each of these safety facts, and for those that such a check waits for in turn."""
    bench, pool = assembly.book.bench, at_hand(assembly, case)
    queue = list(dict.fromkeys(needs))
    possible: list[PlacedCheck] = []
    waiting: list[Withheld] = []
    for need in queue:  # grows while it is gone through
        proof = proof_of(bench, pool, need)
        if proof is None:
            waiting.extend(_not_at_hand(assembly, case, need))
            continue
        missing = missing_proofs(bench, case, proof)
        if missing:
            waiting.append(Withheld(proof.id, proof.check.title, why_withheld(assembly, case, proof)))
            queue.extend(fact for fact in missing if fact not in queue)
        else:
            possible.append(proof)
    possible.sort(key=lambda check: limits_current(bench, check))
    return Proofs(tuple(possible), tuple(waiting))


def _not_at_hand(assembly: Assembly, case: Case, need: str) -> Iterable[Withheld]:
    """What would prove a fact, where only its instrument is wanting."""
    bench = assembly.book.bench
    left = (c for c in assembly.checks.values() if c.id not in case.cannot)
    proof = proof_of(bench, left, need)
    instrument = bench.instruments.get(proof.check.instrument) if proof is not None else None
    if proof is not None and instrument is not None:
        yield Withheld(proof.id, proof.check.title, f"not at hand: {instrument.title}")
