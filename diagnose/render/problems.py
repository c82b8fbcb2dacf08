"""Problems as lines: the place first, then what is wrong, then what to do."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from rich.text import Text

from diagnose.problems import ERROR, NOTE, WARNING, Problem
from diagnose.render.numbers import count
from diagnose.render.page import Page, listed, styled


def problem_text(problem: Problem) -> Text:
    """One problem on one line."""
    place = f"{problem.place}: " if problem.place.file else ""
    hint = f" ({problem.suggestion})" if problem.suggestion else ""
    return styled((place, "label"), (problem.level, problem.level), f": {problem.text}{hint}")


def problem_list(page: Page, problems: Iterable[Problem]) -> None:
    """Problems one below the other, further lines indented."""
    for problem in problems:
        page.say(problem_text(problem), first="", indent=0)


def tally(problems: Iterable[Problem]) -> str:
    """`2 errors and 1 warning`; "no problems" for none."""
    found = Counter(problem.level for problem in problems)
    said = [count(found[level], level) for level in (ERROR, WARNING, NOTE) if found[level]]
    return listed(said) or "no problems"
