"""What the rule checker found, as a page and as data."""

from __future__ import annotations

from typing import Any

from diagnose.problems import Problem
from diagnose.render.json_text import number
from diagnose.render.page import Page, styled
from diagnose.render.problems import problem_list, tally
from diagnose.render.record import SCHEMA, message
from diagnose.review.checks import Review


def review_page(
    page: Page, shown: tuple[Problem, ...], review: Review | None, problems: tuple[Problem, ...]
) -> None:
    """The problems shown in their order, what the book holds, the budgets, and the sum of all problems."""
    wide = Page(10_000)
    problem_list(wide, shown)
    page.lines.extend(wide.lines)
    more = len(problems) - len(shown)
    if more:
        speak = "speaks" if more == 1 else "speak"
        page.say(f"{more} more {speak} of the built-in rules; `--all` tells them.")
    if review is not None:
        page.heading("The book holds")
        for name, count in review.counts.items():
            page.row((str(count), name), (-6, page.width - 10))
        _budgets(page, review)
    page.blank()
    page.say(f"Rules: {tally(problems)}.")


def _budgets(page: Page, review: Review) -> None:
    page.heading("Faults expected in a set, before anything is seen")
    widths = (22, 24, -7, 18)
    for line in review.budgets:
        lowest, highest = line.budget.faults
        allowed = f"of {lowest:g} to {highest:g}"
        verdict = styled(allowed, ("" if line.kept else "  out of range", "error"))
        page.row((line.rig, line.budget.title, f"{line.faults:.2f}", verdict), widths)


def review_record(problems: tuple[Problem, ...], review: Review | None) -> dict[str, Any]:
    """The same as data."""
    return {
        "schema": SCHEMA,
        "usable": review is not None,
        "problems": [message(problem) for problem in problems],
        "counts": dict(review.counts) if review is not None else {},
        "budgets": [
            {
                "rig": line.rig,
                "history": line.budget.id,
                "faults": number(line.faults),
                "lowest": line.budget.faults[0],
                "highest": line.budget.faults[1],
                "kept": line.kept,
            }
            for line in (review.budgets if review is not None else ())
        ],
    }
