"""A small rules folder of an invented kind, with one fault put in where a test wants it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import NamedTuple

from diagnose.files.read_book import load_book
from diagnose.model.knowledge import Book
from diagnose.problems import Problem, errors

BENCH = """\
facts:
  years_stored: {title: years stored, ask: 'How many years?', kind: number, unit: year}
  damp: {title: stored damp, ask: 'Was it damp?', kind: yes_no}
  worked_on_by: {title: last worked on, ask: 'By whom?', kind: choice, values: [nobody, owner]}
  work: {title: work done, ask: 'What was done?', kind: set, values: {wiring: wires moved, tubes: new}}
safety:
  bleeder_proven: {title: bleeder proven}
setups:
  power:
    title: power
    first: 'off'
    states:
      'off': {title: off, minutes: 2, cautions: [Pull the plug.]}
      'on': {title: on, minutes: 1, live: yes}
hazards:
  live: {title: live, needs: [bleeder_proven], cautions: [One hand.]}
instruments:
  meter: {title: a meter}
gradings:
  level:
    scale: ratio
    states:
      absent: {side: over, between: [0, 0.05], leak: 1 of 1000}
      low: {side: down, between: [0.05, lower_edge], leak: 4 of 1000}
      normal: {around: 1, spread: half_tolerance}
      high: {side: up, between: [upper_edge, 2.5], leak: 3 of 1000}
  excess:
    scale: absolute
    states:
      normal: {between: [0, limit]}
      high: {side: up, between: [limit, 10 limit], leak: 5 of 1000}
  window:
    scale: absolute
    states:
      low: {side: down, between: [0, lower_limit], leak: 5 of 1000}
      normal: {between: [lower_limit, upper_limit]}
      high: {side: up, between: [upper_limit, 3 upper_limit], leak: 5 of 1000}
reports:
  bench: 98 of 100
  owner: 80 of 100
budgets:
  stored:
    title: from storage
    history: {years_stored: 25, damp: no}
    faults: [0.1, 5]
"""

SOURCES = """\
sources:
  handbook: {title: a handbook, section: chapter 3, url: 'https://example.org'}
"""

TUBES = """\
tubes:
  6E5:
    kind: triode
    heater: {volts: 6.3 V, amps: 0.3 A}
    ratings: {plate_voltage: 250 V}
    typical:
      audio: {plate_voltage: 200 V}
    source: handbook
"""

FEED = """\
kind: feed
title: feed
about: >
  What the rest hangs on.
features:
  rectifier: [tube, silicon]
unnamed: {prior: 4 of 1000, pushes: 3 of 10, only: [voltage]}
quantities:
  voltage:
    title: voltage under load
    ask: What does it read?
    unit: V
    condition: loaded
    grading: level
    tolerance: 10 %
    follows_mains: 1
    reads_within: 2 %
    plausible: [0, 3000]
    words: [B plus]
  ripple:
    title: ripple
    ask: How much ripple?
    unit: percent
    condition: loaded
    grading: excess
    limit: 5 %
symptoms:
  flashes:
    title: the tube flashes
    ask: Does it flash?
    when: {rectifier: tube}
    needs: {voltage: [low, normal, high]}
    stop: Remove power now.
parts:
  rectifier_tube:
    title: rectifier tube
    when: {rectifier: tube}
    first_aid: yes
    remedy: {do: fit a good one, minutes: 5, parts: one tube, works: 97 of 100, read_again: [voltage]}
    modes:
      weak:
        title: weak
        prior: 5 of 100
        history:
          - {when: {years_stored: {at_least: 20}}, prior: 8 of 100}
          - {when: {damp: yes}, prior: 6 of 100}
      dead:
        title: dead
        prior: 1 of 100
        endangers_spare: the short kills the next one too
  capacitor:
    title: capacitor
    remedy: {do: fit a new one, minutes: 25}
    modes:
      shorted: {title: shorted, prior: 1 of 100}
rules:
  weak-sags:
    from: {rectifier_tube: weak}
    to: {voltage: low}
    chance: 8.5 of 10
    when: {rectifier: tube}
    because: a tired cathode gives less current
    source: common practice
  dead-gives-nothing:
    from: {rectifier_tube: dead}
    to: {voltage: absent}
    chance: 9 of 10
    because: without emission nothing flows
    source: handbook
  shorted-ruins-tube:
    from: {capacitor: shorted}
    damages: {rectifier_tube: dead}
    chance: 3 of 10
    because: the cathode is stripped by the short
    source: from memory
  low-ripples:
    from: {voltage: low}
    to: {ripple: high}
    chance: 0.2
    because: the same load on less filter
    source: common practice
checks:
  read_it:
    title: read the voltage
    reveals: [voltage]
    how: Clip on, switch on, read.
    instrument: meter
    minutes: 3
    setup: {power: on}
    hazard: live
    good: 400 V
  swap_tube:
    title: try another tube
    reveals: [flashes]
    how: Put in another tube.
    instrument: meter
    minutes: 5
    good: no flash
    swaps: rectifier_tube
    proves: bleeder_proven
stop_orders:
  flash-when-damp:
    observed: {flashes: yes}
    facts: {damp: yes}
    text: Switch off and dry it first.
"""

STAGE = """\
kind: amplifier
title: amplifier
about: the stage that gives power
ports:
  supply: {title: the feed, gives: [voltage]}
  second: {title: another feed, gives: [voltage], optional: yes}
unnamed: {prior: 2 of 1000, pushes: 2 of 10}
quantities:
  current:
    title: plate current
    ask: What does it draw?
    unit: mA
    condition: loaded
    grading: level
    tolerance: 20 %
    leak: {low: 1 of 100}
    needs: {supply.voltage: [low, normal, high]}
    states:
      unsteady: {side: over, leak: 2 of 1000}
patterns:
  drive_over_bands:
    title: drive over the bands
    ask: How is the drive?
    states: {one_band: low on one band, all_bands: low on all}
parts:
  valve:
    title: amplifier tube
    modes:
      weak:
        title: weak
        prior: 2 of 100
        remedy: {do: fit a new one, minutes: 10}
rules:
  weak-draws-little:
    from: {valve: weak}
    to: {current: low}
    chance: 7 of 10
    because: low emission limits the current
    source: common practice
  low-supply-draws-little:
    from: {supply.voltage: low}
    to: {current: low}
    chance: 8 of 10
    because: less voltage drives less current
    source: common practice
  phone-draws-more:
    from: {supply.voltage: high}
    to: {current: high}
    chance: 5 of 10
    when: {modes: phone}
    because: peaks pull the mean up
    source: common practice
checks:
  read_current:
    title: read the current
    reveals: [current, supply.voltage]
    how: Look at the meter.
    instrument: meter
    minutes: 1
    good: 100 mA
"""

RIG = """\
rig: finch
title: Finch
about: a small set
features: {modes: [cw, phone]}
mains: {voltage: 117 V, frequency: 60 Hz}
bands: [80m, 40m]
stages:
  hv: {kind: feed, title: high voltage, tubes: [6E5]}
  lv: {kind: feed, title: low voltage, features: {rectifier: silicon}}
  final: {kind: amplifier, title: final, fed_by: {supply: hv}}
chart:
  - {quantity: hv.voltage, value: 0.6 kV, mode: cw}
  - {quantity: final.current, value: 100 mA, mode: phone, band: 40m, tolerance: 5 %, note: dipped}
proof: [hv.voltage, final.current]
"""

FILES: Mapping[str, str] = {
    "bench.yaml": BENCH,
    "sources.yaml": SOURCES,
    "tubes.yaml": TUBES,
    "stages/amplifier.yaml": STAGE,
    "stages/feed.yaml": FEED,
    "rigs/finch.yaml": RIG,
}

CASE = """\
case: first
rig: finch
about: weak
mains: 110 V
mode: cw
band: 40m
history: {years_stored: 30, damp: no, worked_on_by: owner, work: [wiring]}
safety: [bleeder_proven]
bench: {power: on}
intermittent: no
readings:
  hv.voltage: 0.58 kV
  hv.ripple: {value: 3 %, within: 5 %, mode: phone, band: 80m, mains: 100 V, told_by: owner}
  final.current: low
symptoms:
  hv.flashes: no
inspected:
  hv.rectifier_tube: good
work:
  - {did: dried it, answers: hv.flash-when-damp}
confirmed: [final.valve.weak]
"""


def write(folder: Path, files: Mapping[str, str]) -> Path:
    """The folder with these files in it."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def rules(folder: Path, changed: Mapping[str, str] | None = None) -> Path:
    """The small rules folder, with some files changed or added."""
    return write(folder / "rules", {**FILES, **(changed or {})})


def good_book(folder: Path, changed: Mapping[str, str] | None = None) -> Book:
    """The small book, which must be without problems."""
    book, problems = load_book(rules(folder, changed))
    assert problems == ()
    assert book is not None
    return book


def swapped(text: str, old: str, new: str) -> str:
    """The text with its one `old` replaced."""
    assert text.count(old) == 1, (text.count(old), old)
    return text.replace(old, new)


def said(problems: Iterable[Problem]) -> list[str]:
    """Problems as lines: place, level, id, text, suggestion."""
    return [
        f"{p.place} {p.level} {p.id}: {p.text}" + (f" | {p.suggestion}" if p.suggestion else "")
        for p in problems
    ]


class Fault(NamedTuple):
    """One slip in one file of the small book, and all that is said of it."""

    file: str
    old: str
    new: str
    said: tuple[str, ...]


def problems_of(fault: Fault, folder: Path) -> tuple[str, ...]:
    """What is said of a small book with the slip; a book comes out only where there is no error."""
    changed = {fault.file: swapped(FILES[fault.file], fault.old, fault.new)}
    book, problems = load_book(rules(folder, changed))
    assert (book is None) == bool(errors(problems))
    return tuple(line.removeprefix("rules/") for line in said(problems))
