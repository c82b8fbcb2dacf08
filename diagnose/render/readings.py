"""The readings as understood: value, what a good set shows, state, and whether it counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from itertools import groupby

from rich.text import Text

from diagnose.model.case import Case
from diagnose.model.periods import is_now
from diagnose.model.result import Diagnosis, Finding
from diagnose.render import numbers
from diagnose.render.page import Page, capital, styled
from diagnose.render.words import Words
from diagnose.render.workings import LEGEND, read_with
from diagnose.render.workings import workings as show_workings

Line = tuple[float, float]  # volts of mains: as they were, and of the chart

COLUMNS_FROM = 72  # width of the page
NOT_COUNTED = "not counted: "
OFTEN = 3  # readings from which a remark is made once for all of them


def readings(page: Page, diagnosis: Diagnosis, words: Words, *, workings: bool) -> None:
    """All readings and symptoms by stage; an asterisk marks what a good set would not show."""
    findings, case = diagnosis.findings, diagnosis.case
    if findings:
        marked = any(finding.abnormal and finding.counted for finding in findings)
        page.heading("Readings as understood" + (" (* not as in a good set)" if marked else ""))
        shared, line = _shared_notes(findings), _line(findings)
        _said_once(page, findings, shared, line, workings=workings)
        for stage, group in groupby(by_stage(findings), key=_stage):
            page.say(styled((words.stage_of(stage), "label")), indent=2)
            for finding in group:
                told = (*shared, *_told(finding, line, workings=workings))
                _entry(page, finding, case, words, told, line)
                if workings:
                    show_workings(page, finding, words)
        if workings:
            read_with(page, findings, words)
    if case.inspected:
        page.heading("Parts examined")
        for part, found in case.inspected.items():
            page.say(f"{words.part(part)}: {words.condition(part, found)}", indent=4)


def _said_once(
    page: Page, findings: Sequence[Finding], shared: Mapping[str, int], line: Line | None, *, workings: bool
) -> None:
    """What holds for many readings, and how to read the workings."""
    said = [f"{capital(note)}: {times} of these." for note, times in shared.items()]
    if line is not None:
        said.append(
            f"Read at {line[0]:g} V of mains; in brackets as it would be at the chart's {line[1]:g} V."
        )
    if workings and any(finding.path is not None for finding in findings):
        said.append(LEGEND)
    for text in said:
        page.say(styled((text, "quiet")), indent=2)


def _shared_notes(findings: Iterable[Finding]) -> dict[str, int]:
    """Remarks that many readings share, with how many: of those that do not count only why not."""
    counted = Counter(
        note
        for finding in findings
        for note in finding.notes
        if (finding.counted or note.startswith(NOT_COUNTED))
        and (finding.path is None or note not in finding.path.notes)
    )
    return {note: times for note, times in counted.items() if times >= OFTEN}


def _line(findings: Iterable[Finding]) -> Line | None:
    """The mains at which several readings were taken that were carried to those of the chart."""
    lines = Counter(line for finding in findings if (line := _carried_from(finding)) is not None)
    line, times = lines.most_common(1)[0] if lines else (None, 0)
    return line if times >= OFTEN else None


def _carried_from(finding: Finding) -> Line | None:
    path = finding.path
    if path is None or path.mains is None or path.at_chart == path.corrected:
        return None
    return path.mains, path.chart_mains


def _told(finding: Finding, line: Line | None, *, workings: bool) -> tuple[str, ...]:
    """Remarks on a reading that its own line or its workings say better."""
    path = finding.path
    if path is None:
        return ()
    return path.notes if workings or (_in_brackets(finding, line) and len(path.notes) == 1) else ()


def _in_brackets(finding: Finding, line: Line | None) -> bool:
    return line is not None and _carried_from(finding) == line


def by_stage(findings: Iterable[Finding]) -> list[Finding]:
    """The findings with those of one stage together, stages as they first appear."""
    stages: dict[str, list[Finding]] = {}
    for finding in findings:
        stages.setdefault(_stage(finding), []).append(finding)
    return [finding for group in stages.values() for finding in group]


def _stage(finding: Finding) -> str:
    return finding.name.partition(".")[0]


def _entry(
    page: Page, finding: Finding, case: Case, words: Words, told: Collection[str], line: Line | None
) -> None:
    """A measured value in columns, anything else as title and answer; then the remarks that are not yet told."""
    title = _title(finding, case)
    first = Text("  * ", style="abnormal") if finding.abnormal and finding.counted else ""
    answer = ""
    if finding.observation.value is None:
        answer = words.state(finding.name, finding.state)
        style = "abnormal" if first else ""
        aside = "" if finding.counted else " (not counted)"
        page.say(styled(f"{title}: ", (answer, style), (aside, "quiet")), first=first, indent=4)
    else:
        _measured(
            page, (title, _as_read(finding, line), _good(finding, words)), _judged(finding, words), first
        )
    for note in finding.notes:
        why = note.removeprefix(NOT_COUNTED)
        if note not in told and why != answer:
            page.say(styled((why, "quiet")), indent=6)


def _measured(page: Page, cells: tuple[str, str, str], judged: Text, first: str | Text) -> None:
    """Title, value, what a good set shows and the judgement: in columns where there is room for them."""
    title, read, good = cells
    if page.width >= COLUMNS_FROM:
        page.row((title, read, good, judged), (page.width - 55, 13, 21, 11), first=first, indent=4)
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
    if observation.period is not None and not is_now(case, observation):
        told.append(f"before work {observation.period + 1}")
    return finding.title + (f" ({', '.join(told)})" if told else "")


def _as_read(finding: Finding, line: Line | None) -> str:
    """What the person wrote; in brackets the same at the mains of the chart, where that is said of many."""
    observation = finding.observation
    written = observation.as_written
    if observation.value is not None and not written:
        written = numbers.value(observation.value, finding.unit)
    if finding.at_chart is None or not _in_brackets(finding, line):
        return written
    return f"{written} ({numbers.digits(finding.at_chart)})"


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
