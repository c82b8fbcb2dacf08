"""How a reading became evidence: each step from the dial to the likelihoods, with its arithmetic."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.model.result import Finding, Path
from diagnose.render import numbers
from diagnose.render.page import Page, listed, styled
from diagnose.render.words import Words

INDENT = 6
LABEL = 20  # columns in which a step is named
WORTH_NAMING = 0.0005  # share of a value below which an uncertainty is not worth a word


def workings(page: Page, finding: Finding, words: Words) -> None:
    """The steps of one reading, one a line, then its uncertainty and the likelihood of each state."""
    path = finding.path
    if path is not None:
        for label, text in _steps(path, finding):
            cells = (styled((label, "quiet")), styled((text, "quiet")))
            page.row(cells, (LABEL, max(page.width - INDENT - LABEL - 2, 20)), indent=INDENT)
        if path.budget:
            page.say(styled((_uncertainty(path), "quiet")), indent=INDENT)
    through = [words.instrument(name) for name, _ in finding.read_with]
    if through:
        page.say(styled((f"hangs on {listed(through)}", "quiet")), indent=INDENT)
    shares = ", ".join(
        f"{words.state(finding.name, state)} {_likelihood(value)}"
        for state, value in zip(finding.states, finding.likelihood, strict=True)
    )
    page.say(styled((f"likelihood: {shares}", "quiet")), indent=INDENT)


def _steps(path: Path, finding: Finding) -> Iterator[tuple[str, str]]:
    unit = finding.unit
    read = numbers.value(path.as_read, unit, 4)
    yield "as read", f"{read} with the {path.meter}" if path.meter else read
    if path.corrected != path.as_read:
        yield (
            "without the meter",
            f"{numbers.value(path.corrected, unit, 4)} ({_ohms(path.meter_ohms)} of the meter across a source of"
            f" {_ohms(path.source_ohms)})",
        )
    if path.mains is not None and path.at_chart != path.corrected:
        follows = "in proportion" if path.follows == 1 else f"to the power {path.follows:g}"
        yield (
            "at the chart's mains",
            f"{numbers.value(path.at_chart, unit, 4)} (read at {path.mains:g} V, chart at {path.chart_mains:g} V;"
            f" it follows {follows})",
        )
    if path.expected is not None:
        text = f"{numbers.value(path.expected, unit, 4)}, {path.expected_by}"
        if path.expected_within:
            text += f", to {numbers.digits(100 * path.expected_within, 2)} %"
        if path.expected_raw is not None and path.expected_raw != path.expected:
            text += f" ({numbers.value(path.expected_raw, unit, 4)} with the meter of the chart)"
        yield "a good set", text
    if finding.limits is not None:
        yield "taken as good", numbers.span(*finding.limits, unit)


def _uncertainty(path: Path) -> str:
    """All together, and what makes it up, the largest first."""
    parts = sorted(path.budget, key=lambda item: -item[1])
    named = [f"{name} {_percent(share)}" for name, share in parts if share >= WORTH_NAMING]
    together = f"uncertainty {_percent(path.spread)} of the value"
    if len(named) == 1:
        return f"{together}: {named[0].rpartition(' ')[0].rpartition(' ')[0]}"
    return f"{together}: {', '.join(named)}" if named else together


def _percent(share: float) -> str:
    return f"{numbers.digits(100 * share, 2)} %"


def _ohms(ohms: float) -> str:
    for size, unit in ((1e6, "Mohm"), (1e3, "kohm")):
        if ohms >= size:
            return numbers.value(ohms / size, unit)
    return numbers.value(ohms, "ohm")


def _likelihood(value: float) -> str:
    if 0 < value < 0.001:
        return "<0.001"
    return numbers.digits(value, 2)
