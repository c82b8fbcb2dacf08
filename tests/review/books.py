"""Tiny books with one thing wrong in each, and the rule checker's findings on them."""

from __future__ import annotations

import re
from pathlib import Path

from diagnose.problems import Problem
from diagnose.review.survey import Check, survey
from tests.small_book import read_small

# One stage in which all is as it should be; each test changes a word or a line of it.
STAGE = """\
kind: lantern
title: lantern
about: A lamp on a cell.
features: {lamp: [bulb, arc]}
quantities:
  voltage: {title: cell voltage, ask: What does it read?, unit: V, grading: level, tolerance: 10 %}
symptoms:
  dim: {title: lamp is dim, ask: Is it dim?, leak: 1 of 1000}
  hot: {title: cell is hot, ask: Is it hot?, leak: 1 of 1000}
parts:
  cell:
    title: cell
    remedy: {do: fit a fresh cell, minutes: 2, works: 98 of 100}
    modes:
      flat: {title: flat, prior: 1 of 10}
      gassing: {title: gassing, prior: 1 of 10}
rules:
  flat-sags:
    {from: {cell: flat}, to: {voltage: low}, chance: 9 of 10, because: nothing left in it, source: common practice}
  low-dims:
    {from: {voltage: low}, to: {dim: yes}, chance: 9 of 10, because: light falls fast, source: common practice}
  gassing-heats:
    {from: {cell: gassing}, to: {hot: yes}, chance: 8 of 10, because: it boils inside, source: from memory}
checks:
  read: {title: read the cell, reveals: [voltage], how: Read it., instrument: voltmeter, minutes: 2, good: full}
  look: {title: look and feel, reveals: [dim, hot], how: Look., instrument: eyes, minutes: 1, good: bright}
"""
RIG = """\
rig: marker
title: Marker
about: For tests.
features: {modes: [cw]}
mains: {voltage: 117 V, frequency: 60 Hz}
bands: [80m]
stages:
  light: {kind: lantern, title: light}
chart:
  - {quantity: light.voltage, value: 1.5 V}
"""


def without(text: str, start: str) -> str:
    """The text without the entry whose first line starts so, up to the next line no deeper than it."""
    lines = text.splitlines(keepends=True)
    first = next(n for n, line in enumerate(lines) if line.strip().startswith(start))
    depth = len(lines[first]) - len(lines[first].lstrip())
    last = first + 1
    while last < len(lines) and len(lines[last]) - len(lines[last].lstrip()) > depth:
        last += 1
    return "".join(lines[:first] + lines[last:])


def after(text: str, section: str, added: str) -> str:
    """The text with lines added at the head of a section."""
    assert f"{section}:\n" in text
    return text.replace(f"{section}:\n", f"{section}:\n{added}", 1)


def rule(id: str, source: str, target: str, chance: str, because: str = "", more: str = "") -> str:
    """A rule on one line; source and target like `cell flat`."""
    (a, b), (c, d) = source.split(), target.split()
    reason = because or f"the reason of {id}"
    return (
        f"  {id}: {{from: {{{a}: {b}}}, to: {{{c}: {d}}}, chance: {chance}, "
        f"because: {reason}, source: common practice{more}}}\n"
    )


def found(check: Check, folder: Path, stage: str = STAGE, rig: str = RIG) -> list[Problem]:
    """What one check finds in the book of one stage and one rig."""
    return list(check(survey(read_small(folder, {"lantern.yaml": stage, "marker.yaml": rig}))))


def told(problem: Problem) -> tuple[str, int, str, str]:
    """File, line, id and text of a problem."""
    return Path(problem.place.file).name, problem.place.line, problem.id, problem.text


def line_of(text: str, start: str) -> int:
    """The number of the line that starts so, blanks aside."""
    return next(n for n, line in enumerate(text.splitlines(), 1) if re.match(rf"\s*{re.escape(start)}", line))
