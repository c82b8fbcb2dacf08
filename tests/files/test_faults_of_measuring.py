"""Slips in computations, in what several readings say, and in the meters of a stage."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.files.measured import problems_of
from tests.files.small import Fault

FEED, STAGE, PANEL = "stages/feed.yaml", "stages/amplifier.yaml", "stages/panel.yaml"

FAULTS = {
    "method that is not there": Fault(
        FEED, "by: ripple\n", "by: riple\n",
        (
            "stages/feed.yaml:31:11 error unknown-method: `riple` is no method of computing | did you mean"
            " `ripple`?",
        ),
    ),
    "result that is not there": Fault(
        FEED, "gives: ripple_percent", "gives: percent",
        (
            "stages/feed.yaml:32:14 error unknown-result: `percent` is no result of the method ripple | did"
            " you mean `ripple_percent`?",
        ),
    ),
    "result of another dimension": Fault(
        FEED, "gives: ripple_percent", "gives: ripple_frequency",
        (
            "stages/feed.yaml:32:14 error unit: `ripple_frequency` is a frequency, but ripple is a ratio",
        ),
    ),
    "argument that is not there": Fault(
        FEED, "        capacitance: {value", "        capacity: {value",
        (
            "stages/feed.yaml:33:7 error missing-argument: the method ripple wants `capacitance` (first"
            " filter capacitor; each of the two of a doubler) | add it under `from`, a capacitance (F)",
            "stages/feed.yaml:38:9 error unknown-argument: `capacity` is no argument of the method ripple |"
            " did you mean `capacitance`?",
        ),
    ),
    "argument of another dimension": Fault(
        FEED, "current: {amount: 100 mA}", "current: {amount: 100 W}",
        (
            "stages/feed.yaml:37:18 error unit: `100 W` is a power, but a current (A) is wanted",
        ),
    ),
    "word for a figure": Fault(
        FEED, "voltage: voltage\n", "voltage: {feature: circuit}\n",
        (
            "stages/feed.yaml:36:18 error reference: `circuit` is a word, and a figure is wanted",
        ),
    ),
    "figure for a word": Fault(
        FEED, "circuit: {feature: circuit}", "circuit: voltage",
        (
            "stages/feed.yaml:34:18 error reference: `voltage` is no word, and one of centre_tap, bridge,"
            " half_wave, doubler is wanted | write `{feature: name}`",
        ),
    ),
    "word that the method does not know": Fault(
        FEED, "filter: [capacitor_input, choke_input]}", "circuit: [centre_tap, bridge]}",
        (
            "stages/feed.yaml:35:17 error unknown-value: `filter` may be `none`, which is none of"
            " capacitor_input, choke_input | leave it out by `when: {filter: ...}`",
        ),
    ),
    "feature that is not there": Fault(
        FEED, "circuit: {feature: circuit}", "circuit: {feature: circiut}",
        (
            "stages/feed.yaml:34:28 error unknown-feature: `circiut` is no feature of the kind feed or of a"
            " rig | did you mean `circuit`?",
        ),
    ),
    "instrument that is not on the bench": Fault(
        FEED, "read_with: voltmeter", "read_with: volt_meter",
        (
            "stages/feed.yaml:20:16 error unknown-instrument: `volt_meter` is no instrument of the bench |"
            " did you mean `voltmeter`?",
        ),
    ),
    "instrument of a figure": Fault(
        FEED, "read_with: [voltmeter, bridge]", "read_with: [voltmeter, bride]",
        (
            "stages/feed.yaml:49:28 error unknown-instrument: `bride` is no instrument of the bench | did"
            " you mean `bridge`?",
        ),
    ),
    "state of no shape": Fault(
        STAGE, "        one_band: {kind", "        two_bands: {kind",
        (
            "stages/amplifier.yaml:39:9 error unknown-state: `two_bands` is no abnormal state of"
            " drive_over_bands | did you mean `one_band`?",
        ),
    ),
    "good state for a shape": Fault(
        STAGE, "        one_band: {kind", "        normal: {kind",
        (
            "stages/amplifier.yaml:39:9 error unknown-state: `normal` is no abnormal state of"
            " drive_over_bands | known here: one_band, all_bands",
        ),
    ),
    "shape of no kind": Fault(
        STAGE, "{kind: all,", "{kind: every,",
        (
            "stages/amplifier.yaml:40:27 error word: `kind` cannot be `every` | known here: all, falling,"
            " one_band, above",
        ),
    ),
    "size backwards": Fault(
        STAGE, "size: [30 %, 90 %]", "size: [90 %, 30 %]",
        (
            "stages/amplifier.yaml:40:38 error range: the least ratio is not below the greatest",
        ),
    ),
    "bands of no quantity": Fault(
        STAGE, "      quantity: current\n      spread", "      quantity: curent\n      spread",
        (
            "stages/amplifier.yaml:36:17 error unknown-name: `curent` is no quantity, figure or derived"
            " figure of the kind amplifier | did you mean `current`?",
        ),
    ),
    "pair of no state": Fault(
        STAGE, "by: 10 %, rose: yes", "by: 10 %, rose: up",
        (
            "stages/amplifier.yaml:45:67 error unknown-state: `up` is no abnormal state of creeps | known"
            " here: yes",
        ),
    ),
    "pair without meaning": Fault(
        STAGE, "by: 10 %, rose: yes", "by: 10 %",
        (
            "stages/amplifier.yaml:45:5 error missing-key: nothing is said of what a change means | add"
            " `rose:` or `fell:` with a state",
        ),
    ),
    "pair of no sort": Fault(
        STAGE, "pair: cold_warm", "pair: cold_hot",
        (
            "stages/amplifier.yaml:45:40 error word: `pair` cannot be `cold_hot` | known here: cold_warm,"
            " before_after",
        ),
    ),
    "drift figure of no name": Fault(
        STAGE, "warm_up: drift", "warmup: drift",
        (
            "stages/amplifier.yaml:55:21 error unknown-name: `warmup` is no figure of a drift log | did you"
            " mean `warm_up`?",
        ),
    ),
    "drift figure of no quantity": Fault(
        STAGE, "warm_up: drift,", "warm_up: drft,",
        (
            "stages/amplifier.yaml:55:30 error unknown-name: `drft` is no quantity of the kind amplifier |"
            " did you mean `drift`?",
        ),
    ),
    "drift figure of another dimension": Fault(
        STAGE, "warm_up: drift,", "warm_up: current,",
        (
            "stages/amplifier.yaml:55:30 error unit: current is a current, and `warm_up` is not | give it"
            " the unit Hz",
        ),
    ),
    "regulated by nothing": Fault(
        FEED, "drops_out_below: 88 %", "drops_out_below: 88 V",
        (
            "stages/feed.yaml:19:50 error share: `88 V` is no share | write it like `10 %`",
        ),
    ),
    "instrument that reads low and shows more": Fault(
        PANEL, "{shows: 70 %, spread", "{shows: 170 %, spread",
        (
            "stages/panel.yaml:9:18 error range: an instrument that shows 170 % of the truth does not read"
            " low",
        ),
    ),
    "instrument that reads high and shows less": Fault(
        PANEL, "high: {shows: 130 %}", "high: {shows: 30 %}",
        (
            "stages/panel.yaml:10:19 error range: an instrument that shows 30 % of the truth does not read"
            " high",
        ),
    ),
    "instrument that is dead and shows all": Fault(
        PANEL, "high: {shows: 130 %}", "dead: {shows: 1.5}",
        (
            "stages/panel.yaml:10:19 error range: a dead instrument cannot show 150 % of what a good set"
            " shows",
        ),
    ),
    "instrument that shows no share": Fault(
        PANEL, "{shows: 70 %, spread", "{shows: little, spread",
        (
            "stages/panel.yaml:9:18 error share: `little` is no ratio | write it like `80 %`",
        ),
    ),
    "state of an instrument": Fault(
        PANEL, "to: {plate_range: high}", "to: {plate_range: hi}",
        (
            "stages/panel.yaml:20:23 error unknown-state: `hi` is no state of plate_range | known here:"
            " true, low, high, dead",
        ),
    ),
}  # fmt: skip


@pytest.mark.parametrize("fault", FAULTS.values(), ids=FAULTS.keys())
def test_a_slip_in_what_is_measured_is_said_at_its_place(fault: Fault, tmp_path: Path) -> None:
    """Line, column, id, text and suggestion; nothing else is said."""
    assert problems_of(fault, tmp_path) == fault.said
