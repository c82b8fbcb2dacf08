"""The order of the checks that are picked: by what they save, with set-up changes paid once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.advice.gates import after, is_dangerous, is_live, setup_cost
from diagnose.advice.judging import Judged
from diagnose.model.assembly import Assembly


def in_order(
    assembly: Assembly, bench_now: Mapping[str, str], judged: Sequence[Judged], most: int
) -> list[Judged]:
    """Pick by net minutes, each pick from the set-up the one before left; cold before live where it can answer."""
    bench = assembly.book.bench
    left = list(judged)
    picked: list[Judged] = []
    now: Mapping[str, str] = dict(bench_now)

    def way_back(j: Judged) -> float:
        """Minutes to come back to the set-up that is left, if something is still to be done in it."""
        then = after(now, j.placed.check.setup)
        if any(j is not other and here(other) for other in left) and not here(j):
            return setup_cost(bench, then, now)[0]
        return 0.0

    def here(j: Judged) -> bool:
        return not setup_cost(bench, now, j.placed.check.setup)[1]

    def worth(j: Judged) -> tuple[bool, float]:
        """Minutes it saves on the whole; of checks that save none what they tell for each of their minutes."""
        cost = j.placed.check.minutes + setup_cost(bench, now, j.placed.check.setup)[0] + way_back(j)
        pays = j.saved > cost
        return pays, j.saved - cost if pays else j.bits / cost

    def order(j: Judged) -> tuple[bool, float, float, str]:
        return (*worth(j), j.bits, j.placed.id)

    while left and len(picked) < most:
        best = max(left, key=order)
        if is_dangerous(bench, best.placed) and not here(best):  # power up already is not taken down for it
            cold = [
                j for j in left if not is_live(bench, j.placed) and j.bits >= 0.5 * best.bits and j.bits > 0
            ]
            if cold:
                best = max(cold, key=order)
        left.remove(best)
        picked.append(best)
        now = after(now, best.placed.check.setup)
    return picked
