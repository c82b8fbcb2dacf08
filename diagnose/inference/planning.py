"""In which order a product of tables is summed over its variables: the plan of a contraction.

Orders are greedy (see `orders`); of several the cheaper one is taken.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from diagnose.inference.contraction import Contraction, Joins, TooWide
from diagnose.inference.orders import least_filling_first, smallest_first

_SMALL = 1000  # cells of a product up to which a variable may as well be the next
_MUCH = 1e6  # work from which looking for a second order pays
_VERY_MUCH = 2e7  # work from which looking for more of them pays
_TIMES = 4  # how many more


def plan_contraction(
    scopes: Sequence[tuple[int, ...]],
    sizes: Sequence[int],
    budget: float = float("inf"),
    wanted: Collection[int] | None = None,
    patient: bool = True,
) -> Contraction:
    """Order of elimination for tables over `scopes` (variables of the given sizes).

    `wanted` are the input tables whose derivative will be read; all, if not given. Greedy: first the variables whose
    elimination takes a small table; of the others next the one that joins the least of what was apart; where that means
    much work, or is past the budget, also the one that leaves the smallest table, and the cheapest order is taken. The
    `patient` try again: where both are past the budget with the least joined from the beginning, where it is very much
    work some times a little astray of the order. Raises TooWide when a product would have more than `budget` cells.
    """
    begun = Joins(scopes, sizes, budget)
    for variable in smallest_first(scopes, sizes, most=min(_SMALL, budget)):
        begun.eliminate(variable)
    left = [begun.scopes[table] for table in begun.left()]
    best, wide = _joined(begun.copy(), least_filling_first(left, sizes))
    if _work(best) > _MUCH:
        other, _ = _joined(begun.copy(), smallest_first(left, sizes), _work(best))
        best = other or best
    if best is None and patient:
        best, _ = _joined(Joins(scopes, sizes, budget), least_filling_first(scopes, sizes))
    if best is None:
        raise TooWide(wide)
    for number in range(_TIMES if patient and best.work > _VERY_MUCH else 0):
        other, _ = _joined(begun.copy(), least_filling_first(left, sizes, number), best.work)
        best = other or best
    return best.contraction(range(len(scopes)) if wanted is None else wanted)


def _work(joins: Joins | None) -> float:
    return float("inf") if joins is None else joins.work


def plan_partly(
    scopes: Sequence[tuple[int, ...]], sizes: Sequence[int], kept: Collection[int], most: float
) -> Contraction:
    """As `plan_contraction`, with the variables `kept` left, and all those that take a product of more than `most` cells.

    No derivative can be read. Of the tables left none has a scope within that of another.
    """
    joins = Joins(scopes, sizes, float("inf"))
    for variable in smallest_first(scopes, sizes, kept, most):
        joins.eliminate(variable)
    joins.absorb(most)
    return joins.contraction(())


def _joined(joins: Joins, order: Sequence[int], most: float = float("inf")) -> tuple[Joins | None, float]:
    """The joins with the rest in that order; None where they are not less than `most` work, or a table would
    be wider than the budget, and how wide.
    """
    try:
        for variable in order:
            joins.eliminate(variable)
            if joins.work >= most:
                return None, 0.0
    except TooWide as wide:
        return None, wide.cells
    return joins, 0.0
