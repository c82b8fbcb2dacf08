"""A small rules folder of invented kinds with all that a book may say of measuring."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from diagnose.files.read_book import load_book
from diagnose.model.knowledge import Book
from diagnose.problems import errors
from tests.files.small import SOURCES, Fault, said, swapped, write

BENCH = """\
safety:
  bleeder_proven: {title: bleeder proven}
instruments:
  voltmeter:
    title: a voltmeter
    kind: gauge
    features: {sort: digits}
    reads: [V, mA]
    meter: {unit: V, ranges: [10, 50, 250, 1000 V], input_resistance: 10 Mohm, accuracy: {of_reading: 1 %}}
  bridge: {title: a bridge}
mains_meter: voltmeter
gradings:
  level:
    scale: ratio
    states:
      low: {side: down, between: [0.05, lower_edge], leak: 4 of 1000}
      normal: {around: 1, spread: half_tolerance}
      high: {side: up, between: [upper_edge, 2.5], leak: 3 of 1000}
  excess:
    scale: absolute
    states:
      normal: {between: [0, limit]}
      high: {side: up, between: [limit, 10 limit], leak: 5 of 1000}
reports:
  bench: 1
  owner: 80 of 100
"""

TUBES = """\
tubes:
  6E5:
    kind: triode
    heater: {volts: 6.3 V, amps: 0.3 A, ohms: 21 ohm}
    ratings: {plate_voltage: 0.25 kV, plate_input: 25 W}
    typical:
      audio: {plate_voltage: 200 V}
    source: handbook
"""

GAUGE = """\
kind: gauge
title: test meter
about: what it shows
features:
  sort: [needle, digits]
instruments:
  shown: {title: what it shows}
parts:
  battery:
    title: battery
    modes:
      flat: {title: flat, prior: 3 of 1000}
"""

PANEL = """\
kind: panel
title: panel meter
about: one meter for all
instruments:
  plate_range:
    title: plate current range
    words: [plate meter]
    leak: {low: 2 of 1000}
    low: {shows: 70 %, spread: 8 %}
    high: {shows: 130 %}
  grid_range: {title: grid current range, when: {modes: phone}}
parts:
  shunt:
    title: meter shunt
    modes:
      open: {title: open, prior: 3 of 1000}
rules:
  open-shunt-reads-high:
    from: {shunt: open}
    to: {plate_range: high}
    chance: 9 of 10
    because: all of the current goes through the movement
    source: common practice
"""

FEED = """\
kind: feed
title: feed
about: what the rest hangs on
features:
  rectifier: [tube, silicon]
  circuit: [centre_tap, bridge]
  filter: [capacitor_input, choke_input, none]
values:
  dropper: {title: dropping resistor, unit: kohm, within: 10 %}
  turns: {title: turns of the winding, unit: ''}
  first_capacitor: {title: first capacitor of the filter, unit: uF}
quantities:
  voltage:
    title: voltage under load
    ask: What does it read?
    unit: V
    grading: level
    tolerance: 10 %
    follows_mains: {power: 0.5, drops_out_below: 88 %}
    read_with: voltmeter
    source_resistance: {value: dropper, or: {amount: 47 K}}
    limit: {most: {tube: ratings.plate_voltage}, says: the tube arcs, source: handbook}
    plausible: [0, 3000]
  ripple:
    title: ripple
    ask: How much?
    unit: percent
    grading: excess
    limit: 5 %
    computed:
      by: ripple
      gives: ripple_percent
      from:
        circuit: {feature: circuit}
        filter: {feature: filter}
        voltage: voltage
        current: {amount: 100 mA}
        capacitance: {value: first_capacitor, or: {amount: 4 mfd}}
        mains_frequency: {rig: mains_frequency}
      when: {filter: [capacitor_input, choke_input]}
symptoms:
  flashes: {title: the tube flashes, ask: Does it flash?, when: {rectifier: tube}}
figures:
  envelope_max:
    title: top of the envelope
    ask: How high is the top?
    unit: V
    reads_within: 5 %
    read_with: [voltmeter, bridge]
    condition: loaded
    words: [crest]
  envelope_min: {title: bottom of the envelope, ask: How low?, unit: V}
derived:
  modulation:
    title: modulation
    unit: percent
    formula: (top - bottom) / (top + bottom)
    from: {top: envelope_max, bottom: envelope_min}
    when: {rectifier: tube}
    gives: ripple
    limit: {most: {amount: 100 %}, says: it splatters, source: from memory}
    source: handbook
parts:
  rectifier_tube:
    title: rectifier tube
    modes:
      weak: {title: weak, prior: 5 of 100}
"""

STAGE = """\
kind: amplifier
title: amplifier
about: the stage that gives power
features:
  tube: [beam, triode]
ports:
  supply: {title: the feed, gives: [voltage, envelope_max]}
  second: {title: another feed, gives: [voltage], optional: yes}
quantities:
  current:
    title: plate current
    ask: What does it draw?
    unit: mA
    grading: level
    tolerance: 20 %
    read_with: [voltmeter, bridge]
    computed:
      - by: bleeder
        gives: current
        from: {voltage: supply.voltage, bleeder_ohms: {amount: 2 kohm}, capacitance: {amount: 8 mfd}}
        when: {tube: beam}
      - by: bleeder
        gives: current
        from:
          voltage: {quantity: supply.voltage, expected: yes}
          bleeder_ohms: {tube: heater.ohms, which: -1, within: 20 %}
          capacitance: {amount: 8 mfd}
  drift: {title: drift, ask: How far?, unit: Hz, grading: excess, limit: 500 Hz}
  line_drift: {title: drift with the line, ask: How far?, unit: Hz/V, grading: excess, limit: 20 Hz/V}
patterns:
  drive_over_bands:
    title: drive over the bands
    ask: How is the drive?
    states: {one_band: low on one band, all_bands: low on all}
    over_bands:
      quantity: current
      spread: 4 %
      shapes:
        one_band: {kind: one_band, size: [0, 0.85]}
        all_bands: {kind: all, size: [30 %, 90 %]}
symptoms:
  creeps:
    title: the current creeps
    ask: Does it creep?
    of_pair: {quantity: current, pair: cold_warm, by: 10 %, rose: yes}
derived:
  input:
    title: power put in
    unit: W
    formula: volts * (current - screen)
    from: {volts: supply.voltage, current: current, screen: {amount: 5 mA}}
    limit: {most: {tube: ratings.plate_input, or: {amount: 30 W}}}
    source: common practice
  peak: {title: twice the power, unit: W, formula: 2 * once, from: {once: input}, source: common practice}
drift_log: {gives: {warm_up: drift, per_volt: line_drift}, multiplied: no}
parts:
  valve:
    title: amplifier tube
    modes:
      weak: {title: weak, prior: 2 of 100, remedy: {do: fit a new one, minutes: 10}}
"""

RIG = """\
rig: finch
title: Finch
about: a small set
features: {modes: [cw, phone]}
mains: {voltage: 117 V, frequency: 60 Hz}
bands: [80m, 40m, 20m]
stages:
  hv: {kind: feed, title: high voltage, tubes: [6E5], values: {dropper: 25 K}}
  lv:
    kind: feed
    title: low voltage
    features: {rectifier: silicon}
    values: {dropper: {amount: 0.1 Mohm, within: 20 %}, turns: 3}
  final: {kind: amplifier, title: final, fed_by: {supply: hv}}
  panel: {kind: panel, title: panel meter}
chart:
  - {quantity: hv.voltage, value: 600 V, mode: cw, meter: probe}
  - {quantity: hv.voltage, value: 560 V, mode: phone}
  - {quantity: final.current, value: 100 mA}
chart_meters:
  old_set: {title: meter of the maker, instrument: voltmeter, ohms_per_volt: 1000, ranges: 250 V}
  probe: {instrument: voltmeter, input_resistance: 20 Mohm, unit: kV}
chart_meter: old_set
read_with: {final.current: panel.plate_range, hv.envelope_max: [bridge, voltmeter]}
multiplication: {80m: 1, 40m: 2}
sockets:
  V1: {stage: hv, tube: 6E5, pins: {1: hv.voltage, 3: hv.envelope_max}}
  V2: {stage: final, pins: {cap: final.current}}
"""

METERS = """\
meters:
  vom:
    title: an old meter
    instrument: voltmeter
    unit: V
    ranges: [2.5, 10, 50, 250, 1000 V]
    ohms_per_volt: 20 kohm/V
    accuracy: {of_full_scale: 3 %}
  counter: {instrument: bridge, unit: kHz, accuracy: {of_reading: 0.01 %, digits: 1}, resolution: 1 Hz}
"""

FILES: Mapping[str, str] = {
    "bench.yaml": BENCH,
    "sources.yaml": SOURCES,
    "tubes.yaml": TUBES,
    "stages/amplifier.yaml": STAGE,
    "stages/feed.yaml": FEED,
    "stages/gauge.yaml": GAUGE,
    "stages/panel.yaml": PANEL,
    "rigs/finch.yaml": RIG,
}


ALL: Mapping[str, str] = {**FILES, "meters.yaml": METERS}


def book_in(folder: Path, changed: Mapping[str, str] | None = None) -> Book:
    """The book, which must be without problems."""
    book, problems = load_book(write(folder / "rules", {**ALL, **(changed or {})}))
    assert said(problems) == []
    assert book is not None
    return book


def problems_of(fault: Fault, folder: Path) -> tuple[str, ...]:
    """What is said of the book with a slip; a book comes out only where there is no error."""
    changed = {fault.file: swapped(ALL[fault.file], fault.old, fault.new)}
    book, problems = load_book(write(folder / "rules", {**ALL, **changed}))
    assert (book is None) == bool(errors(problems))
    return tuple(line.removeprefix("rules/") for line in said(problems))
