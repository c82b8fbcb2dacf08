"""Slips in references, formulas, figures and limits of the stage files."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.files.measured import problems_of
from tests.files.small import Fault

FEED, STAGE = "stages/feed.yaml", "stages/amplifier.yaml"
FORMULA = "formula: volts * (current - screen)"

FAULTS = {
    "formula that does not end": Fault(
        STAGE, FORMULA, "formula: volts * (current -",
        (
            "stages/amplifier.yaml:50:32 error formula: the formula ends where a value is wanted",
        ),
    ),
    "formula in quotes": Fault(
        STAGE, FORMULA, "formula: 'volts * * current'",
        (
            "stages/amplifier.yaml:50:23 error formula: `*` stands where a value is wanted",
        ),
    ),
    "formula of another dimension": Fault(
        STAGE, FORMULA, "formula: volts / (current - screen)",
        (
            "stages/amplifier.yaml:50:14 error formula: the formula gives a resistance, but a power (W) is"
            " wanted | with volts in V, current in mA, screen in mA",
        ),
    ),
    "volts and amperes added": Fault(
        STAGE, FORMULA, "formula: volts * (current - volts * screen)",
        (
            "stages/amplifier.yaml:50:31 error formula: `current` is a current, but `volts * screen` is a"
            " power: they cannot be subtracted | current is in mA, volts is in V, screen is in mA",
        ),
    ),
    "name that is not there": Fault(
        STAGE, FORMULA, "formula: volt * (current - screen)",
        (
            "stages/amplifier.yaml:50:14 error formula: `volt` is not known here | did you mean volts?",
        ),
    ),
    "code in a formula": Fault(
        STAGE, FORMULA, "formula: __import__(1)",
        (
            "stages/amplifier.yaml:50:14 error formula: `__import__` is no name | names are written with"
            " small letters, digits and underscores, a letter first",
        ),
    ),
    "power without end": Fault(
        STAGE, FORMULA, "formula: 9^9^9^9 * volts * (current - screen)",
        (
            "stages/amplifier.yaml:50:17 error formula: `9^9^9` is too large to compute",
        ),
    ),
    "input that is not used": Fault(
        STAGE, FORMULA, "formula: volts * current",
        (
            "stages/amplifier.yaml:51:61 warning unused: the formula of input does not use `screen` |"
            " remove it",
        ),
    ),
    "input that is not there": Fault(
        STAGE, "current: current, screen", "current: curent, screen",
        (
            "stages/amplifier.yaml:51:44 error unknown-name: `curent` is no quantity, figure or derived"
            " figure of the kind amplifier | did you mean `current`?",
        ),
    ),
    "input that is a symptom": Fault(
        STAGE, "current: current, screen", "current: creeps, screen",
        (
            "stages/amplifier.yaml:51:44 error reference: `creeps` is a symptom, not a quantity, figure or"
            " derived figure",
        ),
    ),
    "input that the port does not give": Fault(
        STAGE, "{volts: supply.voltage, current", "{volts: supply.ripple, current",
        (
            "stages/amplifier.yaml:51:19 error unknown-name: the port supply does not give `ripple` | known"
            " here: voltage, envelope_max",
        ),
    ),
    "input of a port that is not there": Fault(
        STAGE, "{volts: supply.voltage, current", "{volts: suply.voltage, current",
        (
            "stages/amplifier.yaml:51:19 error unknown-port: `suply` is no port of the kind amplifier | did"
            " you mean `supply.voltage`?",
        ),
    ),
    "input that is a word": Fault(
        STAGE, "screen: {amount: 5 mA}", "screen: {feature: tube}",
        (
            "stages/amplifier.yaml:51:61 error reference: `tube` is a word, and a formula wants figures",
        ),
    ),
    "amount as a name": Fault(
        STAGE, "screen: {amount: 5 mA}", "screen: 5 mA",
        (
            "stages/amplifier.yaml:51:61 error reference: `5 mA` is no name of a quantity, figure or"
            " derived figure | write `{amount: 5 mA}`",
        ),
    ),
    "amount of no unit": Fault(
        STAGE, "screen: {amount: 5 mA}", "screen: {amount: 5 mX}",
        (
            "stages/amplifier.yaml:51:70 error unit: `mX` is no unit that is known here",
        ),
    ),
    "value as a name": Fault(
        FEED, "top: envelope_max,", "top: dropper,",
        (
            "stages/feed.yaml:58:17 error unknown-name: `dropper` is no quantity, figure or derived figure"
            " of the kind feed | write `{value: dropper}`",
        ),
    ),
    "feature as a name": Fault(
        FEED, "top: envelope_max,", "top: circuit,",
        (
            "stages/feed.yaml:58:17 error unknown-name: `circuit` is no quantity, figure or derived figure"
            " of the kind feed | write `{feature: circuit}`",
        ),
    ),
    "two sources of one figure": Fault(
        STAGE, "screen: {amount: 5 mA}", "screen: {amount: 5 mA, rig: multiplication}",
        (
            "stages/amplifier.yaml:51:53 error reference: a reference has one of quantity, value, tube,"
            " rig, feature, amount, and this has `rig` and `amount`",
        ),
    ),
    "no source of a figure": Fault(
        STAGE, "screen: {amount: 5 mA}", "screen: {within: 5 %}",
        (
            "stages/amplifier.yaml:51:53 error reference: a reference has one of quantity, value, tube,"
            " rig, feature, amount, and this has none",
        ),
    ),
    "expected of an amount": Fault(
        STAGE, "screen: {amount: 5 mA}", "screen: {amount: 5 mA, expected: yes}",
        (
            "stages/amplifier.yaml:51:76 error reference: `expected` is said of a quantity only, and this"
            " names `amount`",
        ),
    ),
    "which of a quantity": Fault(
        STAGE, "{quantity: supply.voltage, expected: yes}", "{quantity: supply.voltage, which: 2}",
        (
            "stages/amplifier.yaml:25:47 error reference: `which` is said of a tube only, and this names"
            " `quantity`",
        ),
    ),
    "tube number nought": Fault(
        STAGE, "which: -1", "which: 0",
        (
            "stages/amplifier.yaml:26:52 error reference: tubes are counted from 1, or from the end by -1",
        ),
    ),
    "figure that no tube has": Fault(
        STAGE, "{tube: ratings.plate_input,", "{tube: ratings.plate_inputs,",
        (
            "stages/amplifier.yaml:52:19 error unknown-figure: no tube of the book has the figure"
            " `ratings.plate_inputs` | did you mean `ratings.plate_input`?",
        ),
    ),
    "figure of a tube without its block": Fault(
        STAGE, "{tube: ratings.plate_input,", "{tube: plate_input,",
        (
            "stages/amplifier.yaml:52:26 error reference: `plate_input` is no figure of a tube | write it"
            " like `ratings.plate_dissipation`",
        ),
    ),
    "limit of another dimension": Fault(
        FEED, "{most: {tube: ratings.plate_voltage}", "{most: {tube: ratings.plate_input}",
        (
            "stages/feed.yaml:22:19 error unit: `ratings.plate_input` is a power, but a voltage (V) is"
            " wanted",
        ),
    ),
    "limit without an end": Fault(
        FEED, "limit: {most: {amount: 100 %}, says", "limit: {says",
        (
            "stages/feed.yaml:61:5 error missing-key: a limit has `most`, `least` or both, and this has"
            " none | add `most:` or `least:`",
        ),
    ),
    "limit for an edge": Fault(
        FEED, "limit: 5 %", "limit: {most: {amount: 5 %}}",
        (
            "stages/feed.yaml:24:3 error grading: the grading excess wants `limit`, and here it is no edge"
            " | add `limit:`",
        ),
    ),
    "limit of no source": Fault(
        FEED, "says: the tube arcs, source: handbook", "says: the tube arcs, source: hanbook",
        (
            "stages/feed.yaml:22:79 error unknown-source: `hanbook` is no source | did you mean `handbook`?",
        ),
    ),
    "resistance that is a power": Fault(
        FEED, "or: {amount: 47 K}", "or: {amount: 47 W}",
        (
            "stages/feed.yaml:21:45 error unit: `47 W` is a power, but a resistance (ohm) is wanted",
        ),
    ),
    "value that is not declared": Fault(
        FEED, "source_resistance: {value: dropper,", "source_resistance: {value: droper,",
        (
            "stages/feed.yaml:21:32 error unknown-value: `droper` is no value that the kind feed declares |"
            " did you mean `dropper`?",
        ),
    ),
    "figure that the rig does not have": Fault(
        FEED, "{rig: mains_frequency}", "{rig: mains_freq}",
        (
            "stages/feed.yaml:39:32 error reference: `mains_freq` is no figure of a rig | did you mean"
            " `mains_frequency`?",
        ),
    ),
    "derived figure called like a quantity": Fault(
        FEED, "  modulation:\n", "  voltage:\n",
        (
            "stages/feed.yaml:54:3 error duplicate-id: `voltage` is already the name of a quantity | give"
            " it another name",
        ),
    ),
    "figure called like a symptom": Fault(
        FEED, "envelope_min: {title", "flashes: {title",
        (
            "stages/feed.yaml:52:3 error duplicate-id: `flashes` is already the name of a symptom | give it"
            " another name",
            "stages/feed.yaml:58:39 error unknown-name: `envelope_min` is no quantity, figure or derived"
            " figure of the kind feed | did you mean `envelope_max`?",
        ),
    ),
    "figure given to another dimension": Fault(
        FEED, "gives: ripple\n    limit", "gives: voltage\n    limit",
        (
            "stages/feed.yaml:60:12 error unit: voltage is a voltage, and this figure is a ratio",
        ),
    ),
    "figure given to nothing": Fault(
        FEED, "gives: ripple\n    limit", "gives: riple\n    limit",
        (
            "stages/feed.yaml:60:12 error unknown-name: `riple` is no quantity, symptom or pattern of the kind feed | did you"
            " mean `ripple`?",
        ),
    ),
    "figure of itself": Fault(
        STAGE, "from: {once: input}", "from: {once: peak}",
        (
            "stages/amplifier.yaml:54:3 error cycle: a figure is worked out from itself: peak from peak",
        ),
    ),
    "figure of the quantity that it gives": Fault(
        FEED, "top: envelope_max,", "top: ripple,",
        (
            "stages/feed.yaml:54:3 error cycle: a figure is worked out from itself: modulation from ripple"
            " from modulation",
            "stages/feed.yaml:57:19 error formula: `top` is a plain number, but `bottom` is a voltage: they"
            " cannot be subtracted | top is in percent, bottom is in V",
        ),
    ),
    "quantity computed from itself": Fault(
        FEED, "voltage: voltage\n", "voltage: {value: turns, or: {quantity: ripple}}\n",
        (
            "stages/feed.yaml:31:7 error cycle: a quantity is computed from itself: ripple from ripple",
            "stages/feed.yaml:36:18 error unit: `turns` is a ratio, but a voltage (V) is wanted",
            "stages/feed.yaml:36:37 error unit: `ripple` is a ratio, but a voltage (V) is wanted",
        ),
    ),
    "limit in a mode that no rig has": Fault(
        STAGE, "or: {amount: 30 W}}}", "or: {amount: 30 W}}, in_mode: {fone: {most: {amount: 20 W}}}}",
        (
            "stages/amplifier.yaml:52:78 error unknown-mode: `fone` is no mode of any rig | did you mean `phone`?",
        ),
    ),
    "limit in a mode without a side": Fault(
        STAGE, "or: {amount: 30 W}}}", "or: {amount: 30 W}}, in_mode: {phone: {says: too much}}}",
        (
            "stages/amplifier.yaml:52:78 error missing-key: a limit has `most`, `least` or both, and this has none"
            " | add `most:` or `least:`",
        ),
    ),
    "limit in a mode of another dimension": Fault(
        STAGE, "or: {amount: 30 W}}}", "or: {amount: 30 W}}, in_mode: {phone: {most: {amount: 20 V}}}}",
        (
            "stages/amplifier.yaml:52:92 error unit: `20 V` is a voltage, but a power (W) is wanted",
        ),
    ),
    "figure in a mode that no rig has": Fault(
        STAGE, "title: power put in", "title: power put in\n    in_mode: [cw, phon]",
        (
            "stages/amplifier.yaml:49:19 error unknown-mode: `phon` is no mode of any rig | did you mean `phone`?",
        ),
    ),
    "sign without a limit": Fault(
        STAGE, "formula: 2 * once,", "formula: 2 * once, gives: creeps,",
        (
            "stages/amplifier.yaml:54:69 error missing-key: a sign is answered by a limit | add `limit:`",
        ),
    ),
    "sign on a side that the limit does not have": Fault(
        STAGE, FORMULA, FORMULA + "\n    gives: {least: creeps}",
        (
            "stages/amplifier.yaml:51:20 error missing-key: a sign is answered by the limit, which has no `least`"
            " | add `least:` to the limit",
        ),
    ),
    "sign that is not there": Fault(
        STAGE, FORMULA, FORMULA + "\n    gives: {most: creep}",
        (
            "stages/amplifier.yaml:51:19 error unknown-name: `creep` is no symptom or pattern of the kind amplifier"
            " | did you mean `creeps`?",
        ),
    ),
    "state that the sign does not have": Fault(
        STAGE, FORMULA, FORMULA + "\n    gives: {most: {creeps: no}}",
        (
            "stages/amplifier.yaml:51:28 error unknown-state: `no` is no bad state of creeps | known here: yes",
        ),
    ),
    "unit of a value": Fault(
        FEED, "unit: kohm", "unit: kohn",
        (
            "stages/feed.yaml:9:45 error unit: `kohn` is no unit that is known here | write a unit like V,"
            " mA or percent",
        ),
    ),
    "formula over several lines": Fault(
        STAGE, FORMULA, "formula: >\n      volts *\n      (current - * screen)",
        (
            "stages/amplifier.yaml:50:14 error formula: `*` stands where a value is wanted",
        ),
    ),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS.keys())
def test_a_slip_in_a_figure_is_said_at_its_place(fault: Fault, tmp_path: Path) -> None:
    """Line, column, id, text and suggestion; nothing else is said."""
    assert problems_of(fault, tmp_path) == fault.said
