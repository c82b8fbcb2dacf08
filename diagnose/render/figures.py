"""Figures worked out from the readings, and what of today is beyond its limit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from rich.text import Text

from diagnose.model.case import Case
from diagnose.model.result import DerivedFigure, Diagnosis, Flag
from diagnose.render import numbers
from diagnose.render.first import View
from diagnose.render.page import Page, capital, listed, sentence, styled
from diagnose.render.words import Words

MOST_ORIGINS = 3  # of an uncertainty that are named


def limits(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """What is beyond a rating or a rule today, whatever the mains; then what is too near to tell."""
    beyond = [flag for flag in diagnosis.flags if not flag.near]
    near = [flag for flag in diagnosis.flags if flag.near]
    for title, flags in (("Beyond its limit today", beyond), ("Close to its limit today", near)):
        if flags:
            page.heading(title)
            for flag in flags:
                _flag(page, flag, diagnosis.case, view)


def _condition(of: DerivedFigure | Flag, case: Case) -> str:
    """The mode and band that something holds for, where they are not the case's own."""
    pairs = ((of.mode, case.mode), (of.band, case.band))
    return ", ".join(word for word, usual in pairs if word and word != usual)


def _flag(page: Page, flag: Flag, case: Case, view: View) -> None:
    where = view.words.stage_of(flag.name) if "." in flag.name else ""
    told = ", ".join(word for word in (where, _condition(flag, case)) if word)
    side = "at most" if flag.side == "most" else "at least"
    said = (
        f"{capital(flag.title)}{f' ({told})' if told else ''}: {numbers.value(flag.value, flag.unit, 4)};"
        f" {side} {numbers.value(flag.limit, flag.unit, 4)}{f', {flag.limit_title}' if flag.limit_title else ''}"
    )
    style, mark = ("unproven", "  ?") if flag.near else ("abnormal", "  !")
    page.say(styled((said, style), "."), first=Text(mark, style=style), indent=4)
    aside = (
        f"Beyond it in {numbers.chance(flag.chance)}, by the uncertainty of the reading." if flag.near else ""
    )
    for text in (flag.text, aside):
        if text:
            page.say(sentence(text), indent=4)


def derived(page: Page, diagnosis: Diagnosis, view: View) -> None:
    """What the readings make together, by stage; with workings the arithmetic and its uncertainty."""
    figures = [
        figure
        for figure in diagnosis.derived
        if view.workings or (figure.value is not None and not figure.quiet)
        if not _repeats(figure)
    ]
    if not figures:
        return
    page.heading("Worked out from the readings (at the mains of today)")
    for stage, group in _by_stage(figures).items():
        page.say(styled((view.words.stage_of(stage), "label")), indent=2)
        for figure in group:
            _figure(page, figure, diagnosis.case, view)


def _repeats(figure: DerivedFigure) -> bool:
    """Whether it is one reading under another name: its arithmetic has nothing on the left that is not on the right."""
    left, _, right = figure.shown.partition(" = ")
    return bool(right) and left == right


def _by_stage(figures: Iterable[DerivedFigure]) -> Mapping[str, list[DerivedFigure]]:
    """The figures of each stage, stages as they first appear."""
    stages: dict[str, list[DerivedFigure]] = {}
    for figure in figures:
        stages.setdefault(figure.stage, []).append(figure)
    return stages


def _figure(page: Page, figure: DerivedFigure, case: Case, view: View) -> None:
    told = _condition(figure, case)
    title = figure.title + (f" ({told})" if told else "")
    if figure.value is None:
        page.say(styled(f"{title}: ", ("none", "quiet")), indent=4)
    else:
        page.row((title, _with_uncertainty(figure)), (max(page.width - 36, 20), 30), indent=4)
    if view.workings:
        if figure.shown:
            page.say(styled((figure.shown, "quiet")), indent=6)
        origins = _budget(figure, view.words)
        if origins:
            page.say(styled((f"uncertain by {listed(origins)}", "quiet")), indent=6)
    for note in figure.notes:
        page.say(styled((view.words.spoken(note), "quiet")), indent=6)


def _with_uncertainty(figure: DerivedFigure) -> str:
    assert figure.value is not None
    if figure.standard <= 0:
        return numbers.value(figure.value, figure.unit)
    value, standard = numbers.uncertain(figure.value, figure.standard)
    unit = numbers.spoken(figure.unit)
    return f"{value} {unit}".rstrip() + f", give or take {standard}"


def _budget(figure: DerivedFigure, words: Words) -> list[str]:
    """What makes most of the uncertainty up, the largest first."""
    parts = sorted(figure.budget, key=lambda item: -abs(item[1]))
    here = f", {words.stage_of(figure.stage)}"  # a part of this very stage
    return [
        f"{words.origin(name.removesuffix(here))} {numbers.value(abs(part), figure.unit, 2)}"
        for name, part in numbers.most_of(parts)[:MOST_ORIGINS]
    ]
