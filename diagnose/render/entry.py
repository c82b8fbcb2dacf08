"""One entry of the book in full: a rule, a part, an indication, a check, a tube, a source."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields

from diagnose.model.knowledge import (
    Check,
    Indication,
    Part,
    Remedy,
    Rule,
    Source,
    StageKind,
    Tube,
)
from diagnose.model.when import Test
from diagnose.problems import Place
from diagnose.render import numbers
from diagnose.render.book import Entry, kind_page, rule_line, source_line, state_title
from diagnose.render.page import Page, listed, sentence, styled


def entry_page(page: Page, entry: Entry, sources: Mapping[str, Source]) -> None:
    """One entry of the book in full; `sources` by their ids."""
    if isinstance(entry, StageKind):
        kind_page(page, entry)
    elif isinstance(entry, Rule):
        _rule(page, entry, sources)
    elif isinstance(entry, Part):
        _part(page, entry)
    elif isinstance(entry, Indication):
        _indication(page, entry)
    elif isinstance(entry, Check):
        _check(page, entry)
    elif isinstance(entry, Tube):
        _tube(page, entry, sources)
    else:
        _source(page, entry)


def place_line(page: Page, place: Place, indent: int = 2) -> None:
    """Where it is written, if it is in a file."""
    if place.file:
        page.say(styled(("written at ", "quiet"), (str(place), "label")), indent=indent)


def _rests_on(page: Page, id: str, sources: Mapping[str, Source]) -> None:
    """The source by its title, with its id behind; what is no publication stays as it is."""
    source = sources.get(id)
    page.say(f"Source: {id if source is None else f'{source_line(source)} ({id})'}", indent=2)


def _rule(page: Page, rule: Rule, sources: Mapping[str, Source]) -> None:
    page.say(styled((rule.id, "heading"), (" (local rule)", "local") if rule.local else ""))
    page.say(f"{sentence(rule_line(rule))}", indent=2)
    page.say(f"Because: {sentence(rule.because)}", indent=2)
    if rule.when:
        page.say(f"Only when {_when(rule.when)}.", indent=2)
    _rests_on(page, rule.source, sources)
    place_line(page, rule.place)


def _part(page: Page, part: Part) -> None:
    page.say(styled((part.title, "heading"), (f"  {part.id}", "quiet")))
    if part.when:
        page.say(f"Only when {_when(part.when)}.", indent=2)
    _remedy(page, part.remedy, 2)
    place_line(page, part.place)
    for mode in part.modes:
        page.blank()
        page.say(styled((mode.title, "suspect"), (f"  {part.id}.{mode.id}", "quiet")), indent=2)
        for case in mode.history:
            page.say(f"{numbers.rate(case.prior)} when {_when(case.when)}", indent=4)
        otherwise = " otherwise" if mode.history else ""
        page.say(f"{numbers.rate(mode.prior)}{otherwise}, before anything is seen", indent=4)
        _remedy(page, mode.remedy, 4)
        if mode.endangers_spare:
            page.say(f"Before a good one goes in: {sentence(mode.endangers_spare)}", indent=4)
        place_line(page, mode.place, 4)


def _remedy(page: Page, remedy: Remedy | None, indent: int) -> None:
    if remedy is None:
        return
    parts = f" Parts: {remedy.parts}." if remedy.parts else ""
    page.say(
        f"Remedy: {sentence(remedy.do)} {numbers.minutes(remedy.minutes)}, cures it in "
        f"{numbers.rate(remedy.works)}.{parts}",
        indent=indent,
    )
    for line in remedy.moves:
        page.say(f"It also moves: {line}.", indent=indent)


def _indication(page: Page, indication: Indication) -> None:
    page.say(styled((indication.title, "heading"), (f"  {indication.id}, {indication.sort}", "quiet")))
    page.say(indication.ask, indent=2)
    if indication.words:
        page.say(f"Also called: {', '.join(indication.words)}.", indent=2)
    if indication.unit:
        page.say(f"Unit {indication.unit}; {indication.condition or 'no condition stated'}.", indent=2)
    for need in indication.needs:
        page.say(f"Cannot be judged unless {need.name} is {listed(need.states, 'or')}.", indent=2)
    for state in indication.states:
        leak = f"; from nothing known in {numbers.rate(state.leak)}" if state.leak else ""
        page.say(f"{state_title(state)}{f', {state.side}' if state.side else ''}{leak}", indent=4)
    if indication.stop:
        page.say(styled((f"Stop order: {indication.stop}", "stop")), indent=2)
    place_line(page, indication.place)


def _check(page: Page, check: Check) -> None:
    page.say(styled((check.title, "heading"), (f"  {check.id}", "quiet")))
    page.say(f"{sentence(numbers.minutes(check.minutes))} Shows {listed(check.reveals)}.", indent=2)
    page.say(check.how, indent=2)
    page.say(f"A good set: {check.good}", indent=2)
    if check.hazard:
        page.say(styled((f"Hazard: {check.hazard.replace('_', ' ')}", "caution")), indent=2)
    if check.setup:
        page.say(f"Set-up: {listed(f'{group} {state}' for group, state in check.setup.items())}", indent=2)
    place_line(page, check.place)


def _tube(page: Page, tube: Tube, sources: Mapping[str, Source]) -> None:
    page.say(styled((tube.id, "heading"), (f"  {tube.kind}", "quiet")))
    for block, figures in _blocks(tube):
        said = ", ".join(f"{name.replace('_', ' ')} {figure}" for name, figure in figures.items())
        page.row((block.replace("_", " "), said), (16, page.width - 20))
    if tube.notes:
        page.say(sentence(tube.notes), indent=2)
    _rests_on(page, tube.source, sources)
    place_line(page, tube.place)


def _blocks(tube: Tube) -> Iterator[tuple[str, Mapping[str, str]]]:
    """All blocks of figures of a tube, the usual working points by their service."""
    for field in fields(tube):
        block = getattr(tube, field.name)
        if field.name == "typical":
            yield from block.items()
        elif isinstance(block, Mapping) and block:
            yield field.name, block


def _source(page: Page, source: Source) -> None:
    page.say(styled((source.title, "heading"), (f"  {source.id}", "quiet")))
    for line in (source.section, source.url):
        page.say(line, indent=2)


def _when(when: tuple[Test, ...]) -> str:
    return listed(_test(test) for test in when)


def _test(test: Test) -> str:
    name = test.name.replace("_", " ")
    said = []
    if test.any_of:
        said.append(f"{name} is {listed(test.any_of, 'or')}")
    if test.none_of:
        said.append(f"{name} is not {listed(test.none_of, 'or')}")
    if test.at_least is not None:
        said.append(f"{name} is at least {test.at_least:g}")
    if test.below is not None:
        said.append(f"{name} is below {test.below:g}")
    return listed(said)
