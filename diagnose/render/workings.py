"""How a reading became evidence: its arithmetic from the dial to the chart, its uncertainty, what it fits.

Only what the line of the reading does not show already; what all readings share is said once.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isclose

from diagnose.model.result import Finding, Path
from diagnose.render import numbers
from diagnose.render.page import Page, listed, styled
from diagnose.render.words import Words

INDENT = 6
WORTH_NAMING = 0.001  # share of a reading from which the load of the meter is worth a line
POSSIBLE = 0.001  # likelihood below which a state is not named
BY_CHART = "the chart"

LEGEND = (
    "Below each: from the dial to the chart; the standard uncertainty with its largest origins; the likelihood "
    "of each state, the likeliest being 1. Where none is given, all others are below 0.001."
)


def workings(page: Page, finding: Finding, words: Words) -> None:
    """The steps of one reading, one a line, then its uncertainty and the likelihood of each state."""
    path = finding.path
    if path is not None:
        for text in _steps(path, finding.unit):
            page.say(styled((text, "quiet")), indent=INDENT)
        if path.budget and finding.counted and path.at_chart != 0.0:
            page.say(styled((_uncertainty(path, finding.unit), "quiet")), indent=INDENT)
    fits = _likelihoods(finding, words)
    if fits:
        page.say(styled((fits, "quiet")), indent=INDENT)


def read_with(page: Page, findings: Sequence[Finding], words: Words) -> None:
    """By instrument what hangs on it, and how many readings it only corrects."""
    read: dict[str, dict[str, None]] = {}
    corrected: dict[str, int] = {}
    own: dict[str, str] = {}  # titles of meters that the person described
    titles = [title for _, title in dict.fromkeys((finding.name, finding.title) for finding in findings)]
    for finding in findings:
        alike = titles.count(finding.title) > 1
        title = f"{finding.title} ({words.stage_of(finding.name)})" if alike else finding.title
        for name, power in finding.read_with:
            if finding.path is not None and name.partition(".")[0] == finding.observation.meter:
                own[name] = finding.path.meter
            if power > 0:
                read.setdefault(name, {})[title] = None
            else:
                corrected[name] = corrected.get(name, 0) + 1
    if not read and not corrected:
        return
    page.heading("What they were read with (each instrument is a suspect too)")
    for name in dict.fromkeys((*read, *corrected)):
        hangs = [listed(read[name])] if name in read else []
        if name in corrected:
            hangs.append(f"the mains for {numbers.count(corrected[name], 'reading')}")
        page.say(
            styled((own.get(name) or words.instrument(name), "label"), ": " + "; ".join(hangs)),
            first="  -",
            indent=4,
        )


def _steps(path: Path, unit: str) -> Iterator[str]:
    read, there, carried = (
        numbers.value(value, unit, 4) for value in (path.as_read, path.corrected, path.at_chart)
    )
    if not isclose(path.corrected, path.as_read, rel_tol=WORTH_NAMING):
        meter, source = ohms(path.meter_ohms), ohms(path.source_ohms)
        if path.marked_ohms:
            marked = ohms(path.marked_ohms)
            yield f"{read} x {marked} / {source} = {there} on {source}: the {path.meter} is marked for {marked}"
        else:
            yield f"{read} x ({source} + {meter}) / {meter} = {there} without the load of the {path.meter}"
    elif path.meter and not any(path.meter in name for name, _ in path.budget):
        yield f"read with the {path.meter}"
    if path.mains is not None and path.at_chart != path.corrected:
        yield _carried(path, there, carried)
    if path.expected is not None and path.expected_by != BY_CHART:
        within = f", known to {_percent(path.expected_within)}" if path.expected_within else ""
        yield f"a good set {numbers.value(path.expected, unit, 4)}{within}, {path.expected_by}"
    raw = path.expected_raw
    if (
        path.expected is not None
        and raw is not None
        and not isclose(path.expected, raw, rel_tol=WORTH_NAMING)
    ):
        good, shown = numbers.value(path.expected, unit, 4), numbers.value(raw, unit, 4)
        yield f"a good set {good}, which the meter that the chart was made with shows as {shown}"


def _carried(path: Path, there: str, carried: str) -> str:
    """The arithmetic from the mains of today to those of the chart."""
    assert path.mains is not None
    to = f"{carried} at the chart's mains"
    if isclose(path.corrected, path.at_chart * (path.mains / path.chart_mains) ** path.follows, rel_tol=1e-6):
        ratio = f"{path.chart_mains:g}/{path.mains:g}"
        return f"{there} x {ratio if path.follows == 1 else f'({ratio})^{path.follows:g}'} = {to}"
    return f"{there} is {to}: at {path.mains:g} V of mains its regulation has dropped out"


def _uncertainty(path: Path, unit: str) -> str:
    """All together, and what makes most of it up, the largest first."""
    parts = sorted(path.budget, key=lambda item: -item[1])
    named = [f"{name} {_percent(share)}" for name, share in numbers.most_of(parts)]
    if len(path.budget) == 1:
        named = [path.budget[0][0]]
    size = numbers.value(path.spread * abs(path.at_chart), unit, 2)
    relative = f" ({_percent(path.spread)})" if unit != "percent" and path.spread < 1.0 else ""
    return f"give or take {size}{relative}: {', '.join(named)}"


def _likelihoods(finding: Finding, words: Words) -> str:
    """The states that are possible, the likeliest first; nothing where only one is, or nothing counts."""
    possible = [
        (state, value)
        for state, value in zip(finding.states, finding.likelihood, strict=True)
        if value >= POSSIBLE
    ]
    if len(possible) < 2 or not finding.counted:
        return ""
    possible.sort(key=lambda item: -item[1])
    shown = [f"{words.state(finding.name, state)} {numbers.digits(value, 2)}" for state, value in possible]
    return f"likelihood: {', '.join(shown)}"


def _percent(share: float) -> str:
    return f"{numbers.digits(100 * share, 2)} %"


def ohms(resistance: float) -> str:
    """A resistance in the largest unit that it has one of: `47 kohm`."""
    for size, unit in ((1e6, "Mohm"), (1e3, "kohm")):
        if resistance >= size:
            return numbers.value(resistance / size, unit)
    return numbers.value(resistance, "ohm")
