"""Slips in gradings and names of the stage files: line, column, id, text, suggestion."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.files.small import Fault, problems_of

FAULTS = {
    "unknown_grading": Fault(
        "stages/feed.yaml",
        "    grading: level\n",
        "    grading: leval\n",
        (
            "stages/feed.yaml:14:14 error unknown-grading: `leval` is no grading of the bench | did you mean `level`?",
        ),
    ),
    "grading_without_tolerance": Fault(
        "stages/feed.yaml",
        "    tolerance: 10 %\n",
        "",
        (
            "stages/feed.yaml:9:3 error grading: the grading level wants `tolerance`, which is not here | add `tolerance:`",
        ),
    ),
    "grading_without_limit": Fault(
        "stages/feed.yaml",
        "    limit: 5 %\n",
        "",
        (
            "stages/feed.yaml:20:3 error grading: the grading excess wants `limit`, which is not here | add `limit:`",
        ),
    ),
    "window_without_limits": Fault(
        "stages/feed.yaml",
        "    grading: excess\n",
        "    grading: window\n",
        (
            "stages/feed.yaml:20:3 error grading: the grading window wants `limits`, which is not here | add `limits:`",
        ),
    ),
    "limits_backwards": Fault(
        "stages/feed.yaml",
        "    grading: excess\n    limit: 5 %\n",
        "    grading: window\n    limits: [5 %, 2 %]\n",
        ("stages/feed.yaml:26:13 error range: the lower limit is not below the upper limit",),
    ),
    "odd_number_of_a_grading": Fault(
        "bench.yaml",
        "high: {side: up, between: [upper_edge, 2.5], leak: 3 of 1000}",
        "high: {side: up, between: [uper_edge, 2.5], leak: 3 of 1000}",
        (
            "bench.yaml:26:34 error grading: `uper_edge` is no number of a grading | did you mean `upper_edge`?",
        ),
    ),
    "grading_without_good_state": Fault(
        "bench.yaml",
        "normal: {between: [0, limit]}",
        "normal: {side: down, between: [0, limit]}",
        (
            "stages/feed.yaml:20:3 error grading: ripple has 0 states without a side; exactly one is the good one",
        ),
    ),
    "leak_of_unknown_state": Fault(
        "stages/amplifier.yaml",
        "leak: {low: 1 of 100}",
        "leak: {lo: 1 of 100}",
        (
            "stages/amplifier.yaml:16:12 error unknown-state: `lo` is no abnormal state of current | did you mean `low`?",
        ),
    ),
    "duplicate_key": Fault(
        "stages/feed.yaml",
        "  ripple:\n",
        "  voltage:\n",
        (
            "stages/feed.yaml:20:3 error duplicate-key: the key voltage stands here twice (first on line 9) | rename or remove one of them",
            "stages/feed.yaml:78:10 error unknown-name: `ripple` is no indication of the kind feed | known here: voltage, flashes",
        ),
    ),
    "same_id_twice": Fault(
        "stages/feed.yaml",
        "  flashes:\n    title: the tube flashes\n",
        "  ripple:\n    title: the tube flashes\n",
        (
            "stages/feed.yaml:28:3 error duplicate-id: `ripple` is already the name of a quantity | give it another name",
            "stages/feed.yaml:94:15 error unknown-name: `flashes` is no indication of the kind feed | known here: voltage, ripple",
            "stages/feed.yaml:103:16 error unknown-name: `flashes` is no indication of the kind feed | known here: voltage, ripple",
        ),
    ),
    "part_named_like_an_indication": Fault(
        "stages/feed.yaml",
        "  capacitor:\n    title: capacitor\n",
        "  voltage:\n    title: capacitor\n",
        (
            "stages/feed.yaml:51:3 error duplicate-id: `voltage` is already the name of a quantity | give the part another name",
            "stages/feed.yaml:71:12 error unknown-part: `capacitor` is no part of the kind feed; only a part ruins another part | known here: rectifier_tube, voltage",
            "stages/feed.yaml:77:21 error unknown-mode: `low` is no mode of the part voltage | known here: shorted",
        ),
    ),
    "part_named_unnamed": Fault(
        "stages/amplifier.yaml",
        "  valve:\n    title",
        "  unnamed:\n    title",
        (
            "stages/amplifier.yaml:26:3 error duplicate-id: `unnamed` is the name of what the book does not know | give the part another name",
            "stages/amplifier.yaml:35:12 error unknown-name: `valve` is no part and no indication of the kind amplifier | known here: unnamed, current, drive_over_bands, supply.voltage, second.voltage",
        ),
    ),
    "pattern_with_state_normal": Fault(
        "stages/amplifier.yaml",
        "states: {one_band: low on one band, ",
        "states: {normal: fine, ",
        ("stages/amplifier.yaml:24:14 error duplicate-id: the state normal is there already | remove it",),
    ),
    "unknown_source_of_an_arrow": Fault(
        "stages/feed.yaml",
        "from: {rectifier_tube: weak}",
        "from: {rectifier_tub: weak}",
        (
            "stages/feed.yaml:58:12 error unknown-name: `rectifier_tub` is no part and no indication of the kind feed | did you mean `rectifier_tube`?",
        ),
    ),
    "unknown_mode": Fault(
        "stages/feed.yaml",
        "from: {rectifier_tube: weak}",
        "from: {rectifier_tube: week}",
        (
            "stages/feed.yaml:58:28 error unknown-mode: `week` is no mode of the part rectifier_tube | did you mean `weak`?",
        ),
    ),
    "unknown_target": Fault(
        "stages/feed.yaml",
        "to: {voltage: low}",
        "to: {voltge: low}",
        (
            "stages/feed.yaml:59:10 error unknown-name: `voltge` is no indication of the kind feed | did you mean `voltage`?",
        ),
    ),
    "unknown_state": Fault(
        "stages/feed.yaml",
        "to: {voltage: low}",
        "to: {voltage: lo}",
        ("stages/feed.yaml:59:19 error unknown-state: `lo` is no state of voltage | did you mean `low`?",),
    ),
    "good_state_as_target": Fault(
        "stages/feed.yaml",
        "to: {voltage: low}",
        "to: {voltage: normal}",
        (
            "stages/feed.yaml:59:19 error good-state: `normal` is the good state of voltage; rules speak of faults | known here: absent, low, high",
        ),
    ),
    "good_state_as_source": Fault(
        "stages/feed.yaml",
        "from: {voltage: low}",
        "from: {voltage: normal}",
        (
            "stages/feed.yaml:77:21 error good-state: `normal` is the good state of voltage; rules speak of faults | known here: absent, low, high",
        ),
    ),
    "part_as_target": Fault(
        "stages/feed.yaml",
        "to: {voltage: absent}",
        "to: {capacitor: shorted}",
        (
            "stages/feed.yaml:66:10 error rule-ends: `capacitor` is a part | write `damages` for one part that ruins another",
        ),
    ),
    "damage_to_an_indication": Fault(
        "stages/feed.yaml",
        "damages: {rectifier_tube: dead}",
        "damages: {voltage: low}",
        (
            "stages/feed.yaml:72:15 error unknown-part: `voltage` is no part of the kind feed | known here: rectifier_tube, capacitor",
        ),
    ),
    "damage_from_an_indication": Fault(
        "stages/feed.yaml",
        "from: {capacitor: shorted}",
        "from: {voltage: low}",
        (
            "stages/feed.yaml:71:12 error unknown-part: `voltage` is no part of the kind feed; only a part ruins another part | known here: rectifier_tube, capacitor",
        ),
    ),
    "damage_to_unknown_mode": Fault(
        "stages/feed.yaml",
        "damages: {rectifier_tube: dead}",
        "damages: {rectifier_tube: deadd}",
        (
            "stages/feed.yaml:72:31 error unknown-mode: `deadd` is no mode of the part rectifier_tube | did you mean `dead`?",
        ),
    ),
    "both_ends": Fault(
        "stages/feed.yaml",
        "    damages: {rectifier_tube: dead}\n",
        "    damages: {rectifier_tube: dead}\n    to: {voltage: low}\n",
        (
            "stages/feed.yaml:72:5 error rule-ends: the rule shorted-ruins-tube has both `to` and `damages` | write two rules",
        ),
    ),
    "no_end": Fault(
        "stages/feed.yaml",
        "    damages: {rectifier_tube: dead}\n",
        "",
        (
            "stages/feed.yaml:70:3 error rule-ends: the rule shorted-ruins-tube has no `to` | add `to: {indication: state}`",
        ),
    ),
    "unknown_source": Fault(
        "stages/feed.yaml",
        "    source: handbook\n",
        "    source: handbok\n",
        ("stages/feed.yaml:69:13 error unknown-source: `handbok` is no source | did you mean `handbook`?",),
    ),
    "unknown_source_of_a_tube": Fault(
        "tubes.yaml",
        "source: handbook",
        "source: leaflet",
        (
            "tubes.yaml:8:13 error unknown-source: `leaflet` is no source | known here: common practice, from memory, handbook",
        ),
    ),
    "unknown_feature": Fault(
        "stages/feed.yaml",
        "    chance: 8.5 of 10\n    when: {rectifier: tube}\n",
        "    chance: 8.5 of 10\n    when: {rectifer: tube}\n",
        (
            "stages/feed.yaml:61:12 error unknown-feature: `rectifer` is no feature of the kind feed or of a rig | did you mean `rectifier`?",
        ),
    ),
    "unknown_feature_value": Fault(
        "stages/feed.yaml",
        "    chance: 8.5 of 10\n    when: {rectifier: tube}\n",
        "    chance: 8.5 of 10\n    when: {rectifier: [tube, solid]}\n",
        (
            "stages/feed.yaml:61:30 error unknown-value: `solid` is no value of `rectifier` | known here: tube, silicon",
        ),
    ),
    "fact_outside_history": Fault(
        "stages/feed.yaml",
        "    chance: 8.5 of 10\n    when: {rectifier: tube}\n",
        "    chance: 8.5 of 10\n    when: {damp: yes}\n",
        (
            "stages/feed.yaml:61:12 error condition: `damp` is a fact of the case; only the `history` of a prior tests facts | test a feature instead",
        ),
    ),
    "unknown_fact_in_history": Fault(
        "stages/feed.yaml",
        "when: {damp: yes}, prior",
        "when: {dampp: yes}, prior",
        (
            "stages/feed.yaml:46:21 error unknown-feature: `dampp` is no feature of the kind feed or of a rig, and no fact of a history | did you mean `damp`?",
        ),
    ),
    "unknown_fact_value": Fault(
        "stages/feed.yaml",
        "when: {damp: yes}, prior",
        "when: {damp: wet}, prior",
        ("stages/feed.yaml:46:27 error unknown-value: `wet` is no value of `damp` | known here: yes, no",),
    ),
    "number_fact_as_word": Fault(
        "stages/feed.yaml",
        "{years_stored: {at_least: 20}}",
        "{years_stored: many}",
        (
            "stages/feed.yaml:45:35 error condition: `years_stored` is a number | write it like `{at_least: 20}`",
        ),
    ),
    "word_fact_as_number": Fault(
        "stages/feed.yaml",
        "when: {damp: yes}, prior",
        "when: {damp: {at_least: 2}}, prior",
        ("stages/feed.yaml:46:28 error condition: `damp` is no number and has no `at_least`",),
    ),
    "unknown_need": Fault(
        "stages/feed.yaml",
        "needs: {voltage: [low, normal, high]}",
        "needs: {voltag: [low, normal, high]}",
        (
            "stages/feed.yaml:32:13 error unknown-name: `voltag` is no indication of the kind feed | did you mean `voltage`?",
        ),
    ),
    "unknown_state_of_a_need": Fault(
        "stages/feed.yaml",
        "needs: {voltage: [low, normal, high]}",
        "needs: {voltage: [low, ok, high]}",
        (
            "stages/feed.yaml:32:28 error unknown-state: `ok` is no state of voltage | known here: normal, absent, low, high",
        ),
    ),
    "need_of_itself": Fault(
        "stages/feed.yaml",
        "needs: {voltage: [low, normal, high]}",
        "needs: {flashes: no}",
        ("stages/feed.yaml:32:13 error needs-itself: flashes cannot need itself",),
    ),
    "unknown_port": Fault(
        "stages/amplifier.yaml",
        "    from: {supply.voltage: low}\n",
        "    from: {suply.voltage: low}\n",
        (
            "stages/amplifier.yaml:41:12 error unknown-port: `suply` is no port of the kind amplifier | did you mean `supply.voltage`?",
        ),
    ),
    "name_not_given_by_port": Fault(
        "stages/amplifier.yaml",
        "    from: {supply.voltage: low}\n",
        "    from: {supply.ripple: high}\n",
        (
            "stages/amplifier.yaml:41:12 error unknown-name: the port supply does not give `ripple` | known here: voltage",
        ),
    ),
    "unknown_state_through_a_port": Fault(
        "stages/amplifier.yaml",
        "    from: {supply.voltage: low}\n",
        "    from: {supply.voltage: lowish}\n",
        (
            "stages/amplifier.yaml:41:28 error unknown-state: `lowish` is no state of voltage of the kind feed | did you mean `low`?",
        ),
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_said_at_its_place(name: str, tmp_path: Path) -> None:
    """The slip brings about exactly these problems, and no others with them."""
    assert problems_of(FAULTS[name], tmp_path) == FAULTS[name].said
