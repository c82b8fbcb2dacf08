"""The rule checker: every check in a visible list, and what they find in a book."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from diagnose.model.knowledge import Book
from diagnose.problems import ERROR, NOTE, Problem, in_order
from diagnose.review import arrows, figures, reach
from diagnose.review.survey import Check, survey

CHECKS: Final[tuple[Check, ...]] = (
    reach.hidden_causes,
    reach.unexplained_indications,
    reach.unrevealed_indications,
    reach.empty_checks,
    reach.causes_without_remedy,
    reach.rules_without_place,
    arrows.contradictions,
    arrows.doubled_rules,
    arrows.short_cuts,
    arrows.missing_degrees,
    arrows.repeated_sentences,
    figures.broken_budgets,
    figures.missing_chart_rows,
)


@dataclass(frozen=True)
class Review:
    """What the checks found, how much the book holds, and the prior budget of its rigs."""

    problems: tuple[Problem, ...]
    counts: Mapping[str, int]
    budgets: tuple[figures.BudgetLine, ...]


def review(book: Book) -> Review:
    """All checks over one book; problems in file order."""
    surveyed = survey(book)
    found = [problem for check in CHECKS for problem in check(surveyed)]
    return Review(in_order(found), counts(book), figures.budget_table(surveyed))


def shop_first(
    problems: Iterable[Problem], shop: str, without: Collection[Problem] = (), *, whole: bool = False
) -> tuple[Problem, ...]:
    """What is said of the shop's own files, then of the built-in ones.

    Of the latter, unless the `whole` is wanted, only errors and what wants a look and is not said `without`
    the shop: the shop has brought it about.
    """
    own: list[Problem] = []
    others: list[Problem] = []
    known = frozenset(without)
    for problem in problems:
        if problem.place.file.startswith(f"{shop}/"):
            own.append(problem)
        elif whole or problem.level == ERROR or (problem.level != NOTE and problem not in known):
            others.append(problem)
    return (*own, *others)


def counts(book: Book) -> dict[str, int]:
    """How many entries of each sort the book holds."""
    kinds = book.kinds.values()
    return {
        "kinds of stage": len(book.kinds),
        "parts": sum(len(kind.parts) for kind in kinds),
        "causes": sum(len(part.modes) for kind in kinds for part in kind.parts.values()),
        "indications": sum(len(kind.indications) for kind in kinds),
        "checks": sum(len(kind.checks) for kind in kinds),
        "rules": sum(len(kind.rules) for kind in kinds),
        "stop orders": sum(
            len(kind.stop_orders) + sum(bool(i.stop) for i in kind.indications.values()) for kind in kinds
        ),
        "rigs": len(book.rigs),
        "stages on rigs": sum(len(rig.stages) for rig in book.rigs.values()),
        "tubes": len(book.tubes),
    }
