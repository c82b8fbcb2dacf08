"""The book on the screen: kinds of stage, lists of entries, and rigs."""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.model.knowledge import (
    Book,
    Check,
    Indication,
    Part,
    Rig,
    Rule,
    Source,
    StageKind,
    State,
    Tube,
)
from diagnose.render import numbers
from diagnose.render.page import Page, listed, styled

Entry = StageKind | Rule | Part | Indication | Check | Tube | Source


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
    _lines(page, "Checks", ((check.id, check_line(check)) for check in kind.checks.values()))
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
    states = listed((state_title(state) for state in indication.states), "or")
    return f"{indication.title}: {states}"


def state_title(state: State) -> str:
    """A state in words."""
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


def check_line(check: Check) -> str:
    """A check with its minutes."""
    return f"{check.title}, {numbers.minutes(check.minutes)}"


def source_line(source: Source) -> str:
    """A source with the place in it."""
    return f"{source.title}, {source.section}" if source.section else source.title


def sort_of(entry: Entry) -> str:
    """What sort of entry it is, in a word."""
    if isinstance(entry, Indication):
        return entry.sort
    return {StageKind: "kind", Rule: "rule", Part: "part", Check: "check", Tube: "tube"}.get(
        type(entry), "source"
    )


def entry_line(entry: Entry) -> str:
    """Any entry in a line."""
    if isinstance(entry, Rule):
        return rule_line(entry)
    if isinstance(entry, Part):
        return part_line(entry)
    if isinstance(entry, Indication):
        return indication_line(entry)
    if isinstance(entry, Check):
        return check_line(entry)
    if isinstance(entry, Tube):
        return entry.kind
    return entry.title if isinstance(entry, StageKind) else source_line(entry)


def found_page(page: Page, found: Iterable[tuple[str, Entry]]) -> None:
    """Entries by the names under which they can be shown, sorted by what they are."""
    by_sort: dict[str, list[tuple[str, str]]] = {}
    for name, entry in found:
        by_sort.setdefault(sort_of(entry), []).append((name, entry_line(entry)))
    if not by_sort:
        page.say("Nothing has all of these words.")
    for sort, lines in by_sort.items():
        page.heading(f"{sort[:1].upper()}{sort[1:]}")
        for name, line in lines:
            page.row((name, line), (38, page.width - 42))


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
    if rig.place.file:
        page.say(styled(("written at ", "quiet"), (str(rig.place), "label")), indent=2)


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
