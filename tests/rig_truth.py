"""A small two-stage set with a bit of everything, and the exact truth about it from the oracle."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

import numpy as np

from diagnose.inference.network import Network
from diagnose.inference.question import Question
from diagnose.model.assembly import Assembly, assemble, at_bench
from tests.oracle import Answer, PlainArrow, PlainEvidence, PlainNetwork, PlainNode, solve
from tests.small_book import RULES, cause, read_small, rig_text, rule

FEED = f"""\
kind: feed
title: supply
about: for tests
unnamed: {{prior: 1 of 100, pushes: 3 of 10}}
quantities:
  voltage: {{title: voltage, ask: what, unit: V, grading: level, tolerance: 10 %}}
parts:
  rectifier: {{title: rectifier, modes: {{weak: {cause("0.08", 5)}, dead: {cause("0.01", 5)}}}}}
  bleeder: {{title: bleeder, modes: {{open: {cause("0.05", 30)}}}}}
rules:
  f1: {rule("rectifier weak", "voltage low", "8 of 10", "one")}
  f2: {rule("rectifier dead", "voltage absent", "9 of 10", "two")}
  f3: {rule("bleeder open", "voltage high", "6 of 10", "three")}
  f4: {{from: {{bleeder: open}}, damages: {{rectifier: weak}}, chance: 2 of 10, because: four, source: common practice}}
checks:
  read: {{title: read the supply, reveals: [voltage], how: read it, instrument: voltmeter, minutes: 3, good: chart,
         setup: {{power: 'off'}}}}
"""

WORK = f"""\
kind: work
title: final
about: for tests
ports: {{feed: {{title: supply, gives: [voltage]}}}}
unnamed: {{prior: 1 of 100, pushes: 3 of 10}}
quantities:
  output: {{title: output, ask: what, unit: W, grading: level, tolerance: 10 %}}
symptoms:
  hum: {{title: hum, ask: is it, leak: 2 of 100, needs: {{output: [low, normal, high]}}}}
parts:
  tube: {{title: tube, modes: {{weak: {cause("0.06", 8)}}}}}
  filter: {{title: filter, modes: {{dry: {cause("0.2", 25)}}}}}
rules:
  w1: {rule("feed.voltage low", "output low", "9 of 10", "five")}
  w2: {rule("feed.voltage absent", "output absent", "9 of 10", "six")}
  w3: {rule("feed.voltage high", "output high", "5 of 10", "seven")}
  w4: {rule("tube weak", "output low", "7 of 10", "eight")}
  w5: {rule("filter dry", "hum yes", "8 of 10", "nine")}
  w6: {rule("filter dry", "output low", "2 of 10", "ten")}
checks:
  listen: {{title: listen for hum, reveals: [hum], how: listen, instrument: receiver, minutes: 2, good: clean,
           setup: {{power: 'off'}}}}
"""

RIG = rig_text(
    "small",
    {"hv": "kind: feed, title: supply", "final": "kind: work, title: final, fed_by: {feed: hv}"},
    {"hv.voltage": "600 V", "final.output": "55 W"},
)

FILES = {"feed.yaml": FEED, "work.yaml": WORK, "small.yaml": RIG}


METERED = f"""\
kind: rail
title: supply
about: for tests
unnamed: {{prior: 0, pushes: 0}}
quantities:
  voltage: {{title: voltage, ask: what, unit: V, grading: level, tolerance: 10 %}}
  tap: {{title: voltage of the tap, ask: what, unit: V, grading: level, tolerance: 10 %}}
parts:
  rectifier: {{title: rectifier, modes: {{weak: {cause("0.08", 5)}}}}}
  dropper: {{title: dropper, modes: {{drifted: {cause("0.1", 15)}}}}}
rules:
  m1: {rule("rectifier weak", "voltage low", "8 of 10", "one")}
  m2: {rule("voltage low", "tap low", "9 of 10", "two")}
  m3: {rule("dropper drifted", "tap low", "6 of 10", "three")}
"""


def metered_assembly(folder: Path) -> Assembly:
    """A rail and its tap on a bench with one meter that may be astray, few enough nodes for the oracle."""
    kind = "    kind: test_meter\n"
    before, named, after = (RULES / "bench.yaml").read_text(encoding="utf-8").partition("\n  voltmeter:\n")
    first, told, rest = after.partition(kind)
    others = [
        text.replace(kind, "").replace("    features: {sort: digital}\n", "") for text in (before, rest)
    ]
    bench = others[0] + named + first + told + others[1]
    rig = rig_text("small", {"hv": "kind: rail, title: supply"}, {"hv.voltage": "600 V", "hv.tap": "300 V"})
    book = read_small(folder, {"bench.yaml": bench, "rail.yaml": METERED, "small.yaml": rig})
    return assemble(book, at_bench(book, book.rigs["small"]))


def plain(network: Network) -> PlainNetwork:
    """The program's network as plain fractions, for the oracle."""
    nodes = tuple(
        PlainNode(
            node.scale.sides,
            node.scale.ranks,
            _row(node.scale.split),
            tuple(sorted(node.scale.mute)),
            _row(node.leak),
            node.is_part,
        )
        for node in network.nodes
    )
    arrows = tuple(
        PlainArrow(a.parent, a.child, tuple(_row(r) for r in a.draws), a.carries_blame)
        for into in network.into
        for a in into
    )
    return PlainNetwork(nodes, arrows)


def truth(
    question: Question,
    also: dict[int, Iterable[float]] | None = None,
    sets: Iterable[frozenset[int]] = (),
) -> Answer:
    """The oracle's answer to a question, with further observations that are no signs."""
    rows = {node: _row(np.asarray(values)) for node, values in question.likelihood.items()}
    rows.update({node: _row(values) for node, values in (also or {}).items()})
    found = solve(plain(question.network), PlainEvidence(rows, question.abnormal), tuple(sets))
    assert found is not None
    return found


def _row(values: Iterable[float]) -> tuple[Fraction, ...]:
    return tuple(Fraction(float(value)) for value in values)
