"""Figures worked out from the readings, and what of today is beyond its limit."""

from __future__ import annotations

from itertools import groupby

from diagnose.model.result import DerivedFigure, Diagnosis, Flag
from diagnose.render import numbers
from diagnose.render.first import View
from diagnose.render.page import Page, capital, sentence, styled

MOST_OF_BUDGET = 4  # origins of an uncertainty that are named


def limits(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """What is beyond a rating or a rule today, whatever the mains; then what is too near to tell."""
    beyond = [flag for flag in diagnosis.flags if not flag.near]
    near = [flag for flag in diagnosis.flags if flag.near]
    for title, flags in (("Beyond its limit today", beyond), ("At its limit", near)):
        if flags:
            page.heading(title)
            for flag in flags:
                _flag(page, flag, view)


def _flag(page: Page, flag: Flag, view: View) -> None:
    where = view.words.stage_of(flag.name.partition(".")[0]) if "." in flag.name else ""
    title = f"{capital(flag.title)} ({where})" if where else capital(flag.title)
    told = ", ".join(word for word in (flag.mode, flag.band) if word)
    side = "at most" if flag.side == "most" else "at least"
    said = (
        f"{title}{f' ({told})' if told else ''}: {numbers.value(flag.value, flag.unit)}, {side}"
        f" {numbers.value(flag.limit, flag.unit)} ({flag.limit_title})"
    )
    style = "unproven" if flag.near else "abnormal"
    page.say(styled((said, style), "."), first=styled("  ! " if not flag.near else "  ? "), indent=4)
    aside = (
        f"Beyond it in {numbers.chance(flag.chance)}, by the uncertainty of the reading." if flag.near else ""
    )
    for text in (flag.text, aside):
        if text:
            page.say(sentence(text), indent=4)


def derived(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """What the readings make together, by stage; with workings the arithmetic and its uncertainty."""
    figures = [figure for figure in diagnosis.derived if figure.value is not None or view.workings]
    if not figures:
        return
    page.heading("Worked out from the readings (at the mains of today)")
    for stage, group in groupby(sorted(figures, key=lambda f: f.stage), key=lambda f: f.stage):
        page.say(styled((view.words.stage_of(stage), "label")), indent=2)
        for figure in group:
            _figure(page, figure, view)


def _figure(page: Page, figure: DerivedFigure, view: View) -> None:
    told = ", ".join(word for word in (figure.mode, figure.band) if word)
    title = figure.title + (f" ({told})" if told else "")
    if figure.value is None:
        page.say(styled(f"{title}: ", ("none", "quiet")), indent=4)
    else:
        page.row((title, _with_uncertainty(figure)), (max(page.width - 40, 20), 30), indent=4)
    if view.workings:
        if figure.shown:
            page.say(styled((figure.shown, "quiet")), indent=6)
        if figure.budget:
            page.say(styled((_budget(figure), "quiet")), indent=6)
    for note in figure.notes:
        page.say(styled((note, "quiet")), indent=6)


def _with_uncertainty(figure: DerivedFigure) -> str:
    assert figure.value is not None
    value = numbers.value(figure.value, figure.unit)
    if figure.standard <= 0:
        return value
    return f"{value}, give or take {numbers.digits(figure.standard, 1)}"


def _budget(figure: DerivedFigure) -> str:
    named = [f"{name} {numbers.value(part, figure.unit, 2)}" for name, part in figure.budget[:MOST_OF_BUDGET]]
    return f"uncertainty from {', '.join(named)}"
