"""The report: the first screen, then the details."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from diagnose.model.result import Diagnosis
from diagnose.render import details, figures, next_checks
from diagnose.render.first import View, first_screen
from diagnose.render.page import Page
from diagnose.render.readings import readings

Section = Callable[[Page, Diagnosis, View], None]


def _readings(page: Page, diagnosis: Diagnosis, view: View) -> None:
    readings(page, diagnosis, view.words, workings=view.workings)


SECTIONS: Final[tuple[Section, ...]] = (
    figures.limits,
    _readings,
    figures.derived,
    details.work,
    next_checks.next_checks,
    next_checks.withheld,
    details.unproven,
    details.remedies,
    details.also_due,
    details.explanations,
    details.conflict,
    details.messages,
    details.local_rules,
)


def report(diagnosis: Diagnosis, view: View, width: int) -> Page:
    """The whole report of one case."""
    page = Page(width)
    first_screen(page, diagnosis, view)
    for section in SECTIONS:
        section(page, diagnosis, view)
    return page
