"""The readings as understood: value, what a good set shows, state, and whether it counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from itertools import groupby

from rich.text import Text

from diagnose.model.case import Case
from diagnose.model.result import Diagnosis, Finding
from diagnose.render import numbers
from diagnose.render.page import Page, capital, styled
from diagnose.render.words import Words
from diagnose.render.workings import workings as show_workings

COLUMNS_FROM = 72  # width of the page
OFTEN = 3  # readings from which a remark is made once for all of them


def readings(page: Page, diagnosis: Diagnosis, words: Words, *, workings: bool) -> None:
    """All readings and symptoms by stage; an asterisk marks what a good set would not show."""
    findings = diagnosis.findings
    if findings:
        marked = any(finding.abnormal and finding.counted for finding in findings)
        page.heading("Readings as understood" + (" (* not as in a good set)" if marked else ""))
        shared = _shared_notes(findings)
        for note, times in shared.items():
            page.say(styled((f"{capital(note)}: {times} of these.", "quiet")), indent=2)
        for stage, group in groupby(by_stage(findings), key=_stage):
            page.say(styled((words.stage_of(stage), "label")), indent=2)
            for finding in group:
                _entry(page, finding, diagnosis.case, words, shared)
                if workings:
                    show_workings(page, finding, words)
    if diagnosis.case.inspected:
        page.heading("Parts examined")
        for part, found in diagnosis.case.inspected.items():
            page.say(f"{words.part(part)}: {words.condition(part, found)}", indent=4)


def _shared_notes(findings: Iterable[Finding]) -> dict[str, int]:
    """Remarks that many counted readings share, with how many."""
    counted = Counter(note for finding in findings if finding.counted for note in finding.notes)
    return {note: times for note, times in counted.items() if times >= OFTEN}


def by_stage(findings: Iterable[Finding]) -> list[Finding]:
    """The findings with those of one stage together, stages as they first appear."""
    stages: dict[str, list[Finding]] = {}
    for finding in findings:
        stages.setdefault(_stage(finding), []).append(finding)
    return [finding for group in stages.values() for finding in group]


def _stage(finding: Finding) -> str:
    return finding.name.partition(".")[0]


def _entry(page: Page, finding: Finding, case: Case, words: Words, shared: Mapping[str, int]) -> None:
    """A measured value in columns, anything else as title and answer; then the remarks on it."""
    title = _title(finding, case)
    first = Text("  * ", style="abnormal") if finding.abnormal and finding.counted else ""
    if finding.observation.value is None:
        answer = words.state(finding.name, finding.observation.state)
        style = "abnormal" if first else ""
        aside = "" if finding.counted else " (not counted)"
        page.say(styled(f"{title}: ", (answer, style), (aside, "quiet")), first=first, indent=4)
    else:
        _measured(page, (title, _as_read(finding), _good(finding, words)), _judged(finding, words), first)
    for note in finding.notes:
        if note not in shared:
            page.say(styled((note.removeprefix("not counted: "), "quiet")), indent=6)


def _measured(page: Page, cells: tuple[str, str, str], judged: Text, first: str | Text) -> None:
    """Title, value, what a good set shows and the judgement: in columns where there is room for them."""
    title, read, good = cells
    if page.width >= COLUMNS_FROM:
        page.row((title, read, good, judged), (page.width - 55, 12, 22, 11), first=first, indent=4)
    else:
        expected = f"; a good set {good}" if good else ""
        page.say(styled(f"{title}: {read}{expected}: ", judged), first=first, indent=4)


def _title(finding: Finding, case: Case) -> str:
    """The quantity, with the mode and band of the reading where they are not the case's own."""
    observation = finding.observation
    told = [
        word
        for word, usual in ((observation.mode, case.mode), (observation.band, case.band))
        if word and word != usual
    ]
    return finding.title + (f" ({', '.join(told)})" if told else "")


def _as_read(finding: Finding) -> str:
    observation = finding.observation
    if observation.value is None or observation.as_written:
        return observation.as_written
    return numbers.value(observation.value, finding.unit)


def _good(finding: Finding, words: Words) -> str:
    """What a good set shows: the chart's value with its limits, or the limits."""
    if finding.limits is None:
        return "" if finding.expected is None else numbers.value(finding.expected, finding.unit)
    low, high = finding.limits
    if finding.expected is not None:
        good = numbers.value(finding.expected, finding.unit)
        return f"{good} ({numbers.digits(low)} to {numbers.digits(high)})"
    sides = words.sides.get(finding.name, frozenset({"down", "up"}))
    if "up" not in sides:
        return f"{numbers.value(low, finding.unit)} or more"
    if "down" not in sides or low == 0:
        return f"up to {numbers.value(high, finding.unit)}"
    return numbers.span(low, high, finding.unit)


def _judged(finding: Finding, words: Words) -> Text:
    if not finding.counted:
        return styled(("not counted", "quiet"))
    style = "abnormal" if finding.abnormal else "good"
    return styled((words.state(finding.name, finding.state), style))
