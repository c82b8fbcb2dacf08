"""The book on the screen: kinds of stage, single entries, rigs, and what the rule checker found."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Final

from diagnose.model.knowledge import (
    Book,
    Check,
    Indication,
    Part,
    Remedy,
    Rig,
    Rule,
    StageKind,
    State,
    Test,
)
from diagnose.problems import Place
from diagnose.render import numbers
from diagnose.render.page import Page, listed, sentence, styled

Entry = StageKind | Rule | Part | Indication | Check


def kinds_page(page: Page, book: Book) -> None:
    """All kinds of stage with how much is known of each."""
    widths = (20, page.width - 52, -6, -6, -6, -6)
    page.row(
        [styled((word, "heading")) for word in ("kind", "stage", "parts", "signs", "checks", "rules")],
        widths,
        indent=0,
    )
    for kind in book.kinds.values():
        known = (kind.parts, kind.indications, kind.checks, kind.rules)
        page.row((kind.id, kind.title, *(str(len(entries)) for entries in known)), widths, indent=0)


def kind_page(page: Page, kind: StageKind) -> None:
    """One kind of stage: every entry on a line, by its name."""
    page.say(styled((kind.title, "heading")))
    page.say(kind.about)
    for port in kind.ports.values():
        needed = ", optional" if port.optional else ""
        page.say(f"fed by {port.title} ({port.id}{needed}): {listed(port.gives)}")
    _lines(page, "Parts", ((part.id, part_line(part)) for part in kind.parts.values()))
    _lines(page, "Signs and readings", ((i.id, indication_line(i)) for i in kind.indications.values()))
    _lines(page, "Checks", ((c.id, f"{c.title}, {numbers.minutes(c.minutes)}") for c in kind.checks.values()))
    _lines(page, "Rules", ((rule_name(rule), rule_line(rule)) for rule in kind.rules.values()))


def _lines(page: Page, title: str, lines: Iterable[tuple[str, str]]) -> None:
    page.heading(title)
    for name, text in lines:
        page.row((name, text), (30, page.width - 34))


def part_line(part: Part) -> str:
    """A part with its modes."""
    return f"{part.title}: {listed((mode.title for mode in part.modes), 'or')}"


def indication_line(indication: Indication) -> str:
    """An indication with its states."""
    states = listed((_state(state) for state in indication.states), "or")
    return f"{indication.title}: {states}"


def _state(state: State) -> str:
    return state.title or state.id.replace("_", " ")


def rule_name(rule: Rule) -> str:
    """A rule's name within its kind."""
    return rule.id.rpartition("/")[2]


def rule_line(rule: Rule) -> str:
    """A rule in a line: what, to what, how often."""
    ruins = "ruins" if rule.damages else "gives"
    start = f"{rule.from_name} {rule.from_state}".replace("_", " ")
    end = f"{rule.to_name} {rule.to_state}".replace("_", " ")
    return f"{start} {ruins} {end}, {numbers.rate(rule.chance)}"


def entry_page(page: Page, entry: Entry) -> None:
    """One entry of the book in full."""
    for sort, show in _SHOWN.items():
        if isinstance(entry, sort):
            show(page, entry)
            return


def _place(page: Page, place: Place) -> None:
    if place.file:
        page.say(styled(("written at ", "quiet"), (str(place), "label")), indent=2)


def _rule(page: Page, rule: Rule) -> None:
    page.say(styled((rule.id, "heading"), (" (local rule)", "local") if rule.local else ""))
    page.say(f"{sentence(rule_line(rule))}", indent=2)
    page.say(f"Because: {sentence(rule.because)}", indent=2)
    if rule.when:
        page.say(f"Only when {_when(rule.when)}.", indent=2)
    page.say(f"Source: {rule.source}", indent=2)
    _place(page, rule.place)


def _part(page: Page, part: Part) -> None:
    page.say(styled((part.title, "heading"), (f"  {part.id}", "quiet")))
    if part.when:
        page.say(f"Only when {_when(part.when)}.", indent=2)
    _remedy(page, part.remedy, 2)
    _place(page, part.place)
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
        if mode.place.file:
            page.say(styled(("written at ", "quiet"), (str(mode.place), "label")), indent=4)


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
    if indication.unit:
        page.say(f"Unit {indication.unit}; {indication.condition or 'no condition stated'}.", indent=2)
    for need in indication.needs:
        page.say(f"Cannot be judged unless {need.name} is {listed(need.states, 'or')}.", indent=2)
    for state in indication.states:
        leak = f"; from nothing known in {numbers.rate(state.leak)}" if state.leak else ""
        page.say(f"{_state(state)}{f', {state.side}' if state.side else ''}{leak}", indent=4)
    if indication.stop:
        page.say(styled((f"Stop order: {indication.stop}", "stop")), indent=2)
    _place(page, indication.place)


def _check(page: Page, check: Check) -> None:
    page.say(styled((check.title, "heading"), (f"  {check.id}", "quiet")))
    page.say(f"{sentence(numbers.minutes(check.minutes))} Shows {listed(check.reveals)}.", indent=2)
    page.say(check.how, indent=2)
    page.say(f"A good set: {check.good}", indent=2)
    if check.hazard:
        page.say(styled((f"Hazard: {check.hazard.replace('_', ' ')}", "caution")), indent=2)
    if check.setup:
        page.say(f"Set-up: {listed(f'{group} {state}' for group, state in check.setup.items())}", indent=2)
    _place(page, check.place)


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


_SHOWN: Final[Mapping[type, Callable[..., None]]] = {
    StageKind: kind_page,
    Rule: _rule,
    Part: _part,
    Indication: _indication,
    Check: _check,
}


def rigs_page(page: Page, book: Book) -> None:
    """All rigs, one a line."""
    for rig in book.rigs.values():
        local = (" (local)", "local") if rig.local else ""
        page.row(
            (rig.id, styled(rig.title, local), numbers.count(len(rig.stages), "stage")),
            (22, page.width - 37, -11),
            indent=0,
        )


def rig_page(page: Page, book: Book, rig: Rig) -> None:
    """One rig: what it is, its chains, tubes and chart."""
    page.say(styled((rig.title, "heading")))
    page.say(rig.about)
    page.blank()
    page.say(f"Mains {numbers.value(rig.mains_voltage, 'V')}, {numbers.value(rig.mains_frequency, 'Hz')}.")
    if rig.bands:
        page.say(f"Bands: {', '.join(rig.bands)}.")
    page.heading("Stages, and what feeds them")
    for stage in rig.stages.values():
        feeders = ", ".join(dict.fromkeys(stage.fed_by.values()))
        tubes = f" [{', '.join(stage.tubes)}]" if stage.tubes else ""
        page.row(
            (stage.id, f"{stage.title}{tubes}", stage.kind, feeders),
            (14, page.width // 2 - 16, 18, page.width - page.width // 2 - 22),
        )
    page.blank()
    page.say(
        "The third column is the kind of stage. `diagnose rules show KIND` lists what can be read and seen "
        "there; in a case file write STAGE.NAME."
    )
    _chart(page, book, rig)
    if rig.proof:
        page.heading("Read good, these prove the set")
        for name in rig.proof:
            page.row((name, _title_of(book, rig, name)), (31, page.width - 35))
    _place(page, rig.place)


def _chart(page: Page, book: Book, rig: Rig) -> None:
    if not rig.chart:
        return
    page.heading("What a good set shows")
    for row in rig.chart:
        condition = ", ".join(word for word in (row.mode, row.band) if word)
        page.row(
            (row.quantity, numbers.value(row.value, unit_of(book, rig, row.quantity)), condition, row.note),
            (31, -9, 10, page.width - 58),
        )


def _title_of(book: Book, rig: Rig, name: str) -> str:
    stage, _, local = name.partition(".")
    indication = book.kinds[rig.stages[stage].kind].indications.get(local) if stage in rig.stages else None
    return indication.title if indication is not None else ""


def unit_of(book: Book, rig: Rig, quantity: str) -> str:
    """Unit of a quantity on a rig; "" where the rig has no such quantity."""
    stage, _, name = quantity.partition(".")
    if stage not in rig.stages:
        return ""
    indication = book.kinds[rig.stages[stage].kind].indications.get(name)
    return indication.unit if indication is not None else ""
