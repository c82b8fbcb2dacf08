"""Slips in checks, the bench, rigs and across files: line, column, id, text, suggestion."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.files.small import Fault, problems_of

FAULTS = {
    "unknown_name_revealed": Fault(
        "stages/amplifier.yaml",
        "reveals: [current, supply.voltage]",
        "reveals: [curent, supply.voltage]",
        (
            "stages/amplifier.yaml:56:15 error unknown-name: `curent` is no indication of the kind amplifier | did you mean `current`?",
        ),
    ),
    "unknown_instrument": Fault(
        "stages/amplifier.yaml",
        "    instrument: meter\n",
        "    instrument: meters\n",
        (
            "stages/amplifier.yaml:58:17 error unknown-instrument: `meters` is no instrument of the bench | did you mean `meter`?",
        ),
    ),
    "unknown_hazard": Fault(
        "stages/feed.yaml",
        "    hazard: live\n",
        "    hazard: life\n",
        (
            "stages/feed.yaml:90:13 error unknown-hazard: `life` is no hazard of the bench | did you mean `live`?",
        ),
    ),
    "unknown_setup": Fault(
        "stages/feed.yaml",
        "setup: {power: on}",
        "setup: {powr: on}",
        (
            "stages/feed.yaml:89:13 error unknown-setup: `powr` is no set-up of the bench | did you mean `power`?",
        ),
    ),
    "unknown_setup_state": Fault(
        "stages/feed.yaml",
        "setup: {power: on}",
        "setup: {power: half}",
        (
            "stages/feed.yaml:89:20 error unknown-setup: `half` is no state of the set-up power | known here: off, on",
        ),
    ),
    "unknown_part_swapped": Fault(
        "stages/feed.yaml",
        "swaps: rectifier_tube",
        "swaps: tube",
        (
            "stages/feed.yaml:99:12 error unknown-swaps: `tube` is no part of the kind feed | known here: rectifier_tube, capacitor",
        ),
    ),
    "unknown_safety_fact": Fault(
        "stages/feed.yaml",
        "proves: bleeder_proven",
        "proves: bleeder",
        (
            "stages/feed.yaml:100:13 error unknown-proves: `bleeder` is no safety fact of the bench | did you mean `bleeder_proven`?",
        ),
    ),
    "unknown_read_again": Fault(
        "stages/feed.yaml",
        "read_again: [voltage]",
        "read_again: [voltages]",
        (
            "stages/feed.yaml:39:94 error unknown-name: `voltages` is no indication of the kind feed | did you mean `voltage`?",
        ),
    ),
    "unknown_unnamed_reach": Fault(
        "stages/feed.yaml",
        "only: [voltage]",
        "only: [volts]",
        (
            "stages/feed.yaml:7:53 error unknown-name: `volts` is no indication of the kind feed | did you mean `voltage`?",
        ),
    ),
    "unknown_observed": Fault(
        "stages/feed.yaml",
        "observed: {flashes: yes}",
        "observed: {flash: yes}",
        (
            "stages/feed.yaml:103:16 error unknown-name: `flash` is no indication of the kind feed | did you mean `flashes`?",
        ),
    ),
    "unknown_fact_of_a_stop_order": Fault(
        "stages/feed.yaml",
        "    facts: {damp: yes}\n",
        "    facts: {rectifier: tube}\n",
        (
            "stages/feed.yaml:104:13 error unknown-fact: `rectifier` is no fact of a history | known here: years_stored, damp, worked_on_by, work",
        ),
    ),
    "stop_order_of_nothing": Fault(
        "stages/feed.yaml",
        "    observed: {flashes: yes}\n    facts: {damp: yes}\n",
        "",
        (
            "stages/feed.yaml:102:3 error stop-order: nothing brings the stop order flash-when-damp about | add `observed:`, `facts:` or `far_over:`",
        ),
    ),
    "far_over_of_nothing_known": Fault(
        "stages/feed.yaml",
        "    observed: {flashes: yes}\n    facts: {damp: yes}\n",
        "    far_over: {of: [voltag], times: 2}\n",
        (
            "stages/feed.yaml:103:21 error unknown-name: `voltag` is no quantity or derived figure of the kind feed | did you mean `voltage`?",
        ),
    ),
    "far_over_without_a_limit": Fault(
        "stages/feed.yaml",
        "    observed: {flashes: yes}\n    facts: {damp: yes}\n",
        "    far_over: {of: [voltage], times: 2}\n",
        (
            "stages/feed.yaml:103:21 error stop-order: `voltage` has no limit with a `most` that it could be far over | name a figure that has one",
        ),
    ),
    "far_over_below_once": Fault(
        "stages/feed.yaml",
        "    observed: {flashes: yes}\n    facts: {damp: yes}\n",
        "    far_over: {of: [voltage], times: 0.5}\n",
        (
            "stages/feed.yaml:103:21 error stop-order: `voltage` has no limit with a `most` that it could be far over | name a figure that has one",
            "stages/feed.yaml:103:38 error range: `times` should be at least 1, not 0.5",
        ),
    ),
    "spare_without_words": Fault(
        "stages/feed.yaml",
        "endangers_spare: the short kills the next one too",
        "endangers_spare: yes",
        (
            "stages/feed.yaml:50:26 error shape: `endangers_spare` says what happens to the spare | write the warning",
        ),
    ),
    "unknown_safety_of_a_hazard": Fault(
        "bench.yaml",
        "needs: [bleeder_proven]",
        "needs: [bleeder_prove]",
        (
            "bench.yaml:16:31 error unknown-safety: `bleeder_prove` is no safety fact of the bench | did you mean `bleeder_proven`?",
        ),
    ),
    "unknown_fact_of_a_safety_fact": Fault(
        "bench.yaml",
        "  bleeder_proven: {title: bleeder proven}\n",
        "  bleeder_proven: {title: bleeder proven, when: {years_store: {at_least: 5}}}\n",
        (
            "bench.yaml:7:50 error unknown-fact: `years_store` is no fact of a history | did you mean `years_stored`?",
        ),
    ),
    "unknown_fact_of_an_exception": Fault(
        "bench.yaml",
        "  bleeder_proven: {title: bleeder proven}\n",
        "  bleeder_proven: {title: bleeder proven, when: {damp: yes}, unless: {dam: yes}}\n",
        ("bench.yaml:7:71 error unknown-fact: `dam` is no fact of a history | did you mean `damp`?",),
    ),
    "word_for_a_number_of_a_safety_fact": Fault(
        "bench.yaml",
        "  bleeder_proven: {title: bleeder proven}\n",
        "  bleeder_proven: {title: bleeder proven, when: {years_stored: many}}\n",
        ("bench.yaml:7:64 error condition: `years_stored` is a number | write it like `{at_least: 20}`",),
    ),
    "unknown_word_of_a_safety_fact": Fault(
        "bench.yaml",
        "  bleeder_proven: {title: bleeder proven}\n",
        "  bleeder_proven: {title: bleeder proven, when: {worked_on_by: oner}}\n",
        (
            "bench.yaml:7:64 error unknown-value: `oner` is no value of `worked_on_by` | did you mean `owner`?",
        ),
    ),
    "range_of_a_word_of_a_safety_fact": Fault(
        "bench.yaml",
        "  bleeder_proven: {title: bleeder proven}\n",
        "  bleeder_proven: {title: bleeder proven, when: {damp: {at_least: 5}}}\n",
        ("bench.yaml:7:57 error condition: `damp` is no number and has no `at_least`",),
    ),
    "exception_without_condition": Fault(
        "bench.yaml",
        "  bleeder_proven: {title: bleeder proven}\n",
        "  bleeder_proven: {title: bleeder proven, unless: {damp: yes}}\n",
        (
            "bench.yaml:7:43 error missing-key: `unless` says when bleeder_proven is not asked for after all, and it is asked for always | add `when:`",
        ),
    ),
    "unknown_safety_that_comes_first": Fault(
        "bench.yaml",
        "needs: [bleeder_proven]",
        "needs_first: [bleeder_prove]",
        (
            "bench.yaml:16:37 error unknown-safety: `bleeder_prove` is no safety fact of the bench | did you mean `bleeder_proven`?",
        ),
    ),
    "unknown_safety_that_comes_first_of_a_state": Fault(
        "bench.yaml",
        "minutes: 1, live: yes}",
        "minutes: 1, live: yes, needs_first: [bleeder]}",
        (
            "bench.yaml:14:62 error unknown-safety: `bleeder` is no safety fact of the bench | did you mean `bleeder_proven`?",
        ),
    ),
    "unknown_first_state": Fault(
        "bench.yaml",
        "    first: 'off'\n",
        "    first: of\n",
        ("bench.yaml:11:12 error unknown-setup: `of` is no state of the set-up power | did you mean `off`?",),
    ),
    "budget_backwards": Fault(
        "bench.yaml",
        "faults: [0.1, 5]",
        "faults: [5, 0.1]",
        (
            "bench.yaml:45:13 error range: the range of the budget stored runs backwards | write it like `[0.2, 0.5]`",
        ),
    ),
    "budget_of_unknown_fact": Fault(
        "bench.yaml",
        "history: {years_stored: 25,",
        "history: {years_stred: 25,",
        (
            "bench.yaml:44:15 error unknown-fact: `years_stred` is no fact of a history | did you mean `years_stored`?",
        ),
    ),
    "unknown_kind_of_fact": Fault(
        "bench.yaml",
        "kind: yes_no",
        "kind: yesno",
        ("bench.yaml:3:57 error word: `kind` cannot be `yesno` | did you mean `yes_no`?",),
    ),
    "unknown_kind": Fault(
        "rigs/finch.yaml",
        "lv: {kind: feed",
        "lv: {kind: fed",
        ("rigs/finch.yaml:9:14 error unknown-kind: `fed` is no kind of stage | did you mean `feed`?",),
    ),
    "unknown_tube": Fault(
        "rigs/finch.yaml",
        "tubes: [6E5]",
        "tubes: [6E55]",
        (
            "rigs/finch.yaml:8:49 error unknown-tube: `6E55` is no tube type that the book knows | did you mean `6E5`?",
        ),
    ),
    "unknown_feature_of_a_stage": Fault(
        "rigs/finch.yaml",
        "features: {rectifier: silicon}",
        "features: {rectify: silicon}",
        (
            "rigs/finch.yaml:9:51 error unknown-feature: `rectify` is no feature of the kind feed | did you mean `rectifier`?",
        ),
    ),
    "unknown_feature_value_of_a_stage": Fault(
        "rigs/finch.yaml",
        "features: {rectifier: silicon}",
        "features: {rectifier: silicone}",
        (
            "rigs/finch.yaml:9:62 error unknown-value: `silicone` is no value of the feature rectifier | did you mean `silicon`?",
        ),
    ),
    "unknown_port_bound": Fault(
        "rigs/finch.yaml",
        "fed_by: {supply: hv}",
        "fed_by: {supply: hv, feeder: lv}",
        (
            "rigs/finch.yaml:10:63 error unknown-port: `feeder` is no port of the kind amplifier | known here: supply, second",
        ),
    ),
    "unknown_stage_bound": Fault(
        "rigs/finch.yaml",
        "fed_by: {supply: hv}",
        "fed_by: {supply: hw}",
        (
            "rigs/finch.yaml:10:59 error unknown-stage: `hw` is no stage of this rig | known here: hv, lv, final",
        ),
    ),
    "unbound_port": Fault(
        "rigs/finch.yaml",
        ", fed_by: {supply: hv}",
        "",
        (
            "rigs/finch.yaml:10:3 error unbound-port: nothing feeds the port supply of the stage final | add `fed_by: {supply: ...}` (the feed)",
        ),
    ),
    "port_without_what_it_gives": Fault(
        "rigs/finch.yaml",
        "fed_by: {supply: hv}",
        "fed_by: {supply: hv, second: driver}}\n  driver: {kind: amplifier, title: driver, fed_by: {supply: lv}",
        (
            "rigs/finch.yaml:10:71 error port-gives: the stage driver of the kind amplifier offers no `voltage`, which the port second of the kind amplifier uses | known here: current, drive_over_bands",
        ),
    ),
    "stage_feeding_itself": Fault(
        "rigs/finch.yaml",
        "fed_by: {supply: hv}",
        "fed_by: {supply: hv, second: final}",
        ("rigs/finch.yaml:10:71 error cycle: the stage final feeds itself",),
    ),
    "stages_in_a_circle": Fault(
        "rigs/finch.yaml",
        "fed_by: {supply: hv}",
        "fed_by: {supply: driver}}\n  driver: {kind: amplifier, title: driver, fed_by: {supply: final}",
        (
            "rigs/finch.yaml:10:59 error cycle: stages feed each other in a circle: final from driver from final",
            "rigs/finch.yaml:10:59 error port-gives: the stage driver of the kind amplifier offers no `voltage`, which the port supply of the kind amplifier uses | known here: current, drive_over_bands",
            "rigs/finch.yaml:11:61 error port-gives: the stage final of the kind amplifier offers no `voltage`, which the port supply of the kind amplifier uses | known here: current, drive_over_bands",
        ),
    ),
    "unknown_stage_in_chart": Fault(
        "rigs/finch.yaml",
        "quantity: hv.voltage",
        "quantity: hvv.voltage",
        (
            "rigs/finch.yaml:12:16 error unknown-quantity: `hvv.voltage` is no quantity: this rig has no stage `hvv` | did you mean `hv`?",
        ),
    ),
    "unknown_quantity_in_chart": Fault(
        "rigs/finch.yaml",
        "quantity: hv.voltage",
        "quantity: hv.voltag",
        (
            "rigs/finch.yaml:12:16 error unknown-quantity: `hv.voltag` is no quantity of the kind feed | did you mean `hv.voltage`?",
        ),
    ),
    "symptom_in_chart": Fault(
        "rigs/finch.yaml",
        "quantity: hv.voltage",
        "quantity: hv.flashes",
        (
            "rigs/finch.yaml:12:16 error unknown-quantity: `hv.flashes` is no quantity of the kind feed | did you mean `hv.voltage`?",
        ),
    ),
    "unknown_mode_in_chart": Fault(
        "rigs/finch.yaml",
        "mode: cw}",
        "mode: cww}",
        ("rigs/finch.yaml:12:49 error unknown-mode: `cww` is no mode of this rig | did you mean `cw`?",),
    ),
    "unknown_proof": Fault(
        "rigs/finch.yaml",
        "proof: [hv.voltage,",
        "proof: [hv.volt,",
        (
            "rigs/finch.yaml:14:9 error unknown-indication: `hv.volt` is no indication of this rig | did you mean `hv.voltage`?",
        ),
    ),
    "unknown_band_in_chart": Fault(
        "rigs/finch.yaml",
        "band: 40m",
        "band: 30m",
        ("rigs/finch.yaml:13:65 error unknown-band: `30m` is no band of this rig | known here: 80m, 40m",),
    ),
    "circle_of_arrows": Fault(
        "stages/feed.yaml",
        "checks:\n",
        "  ripple-lowers:\n    from: {ripple: high}\n    to: {voltage: low}\n    chance: 0.1\n    because: it eats the mean\n    source: from memory\nchecks:\n",
        (
            "stages/feed.yaml:82:3 error cycle: arrows run in a circle on the rig finch: hv.voltage to hv.ripple to hv.voltage | they are made by feed/low-ripples, feed/ripple-lowers",
        ),
    ),
    "circle_of_damage": Fault(
        "stages/feed.yaml",
        "checks:\n",
        "  dead-ruins:\n    from: {rectifier_tube: dead}\n    damages: {capacitor: shorted}\n    chance: 0.1\n    because: the plate shorts to the filter\n    source: from memory\nchecks:\n",
        (
            "stages/feed.yaml:82:3 error cycle: arrows run in a circle on the rig finch: hv.capacitor to hv.rectifier_tube to hv.capacitor | they are made by feed/shorted-ruins-tube, feed/dead-ruins",
        ),
    ),
    "circle_of_needs": Fault(
        "stages/feed.yaml",
        "    limit: 5 %\n",
        "    limit: 5 %\n  purity:\n    title: purity\n    ask: How pure?\n    unit: percent\n    grading: excess\n    limit: 5 %\n    needs: {ripple: normal}\n    leak: 1 of 1000\n  second:\n    title: second\n    ask: Second?\n    unit: percent\n    grading: excess\n    limit: 5 %\n    needs: {purity: normal, third: normal}\n  third:\n    title: third\n    ask: Third?\n    unit: percent\n    grading: excess\n    limit: 5 %\n    needs: {second: normal}\n",
        (
            "stages/feed.yaml:35:3 error cycle: arrows run in a circle on the rig finch: hv.second to hv.third to hv.second | they are made by the needs of feed/third, the needs of feed/second",
        ),
    ),
    "arrow_to_itself": Fault(
        "stages/feed.yaml",
        "to: {ripple: high}",
        "to: {voltage: absent}",
        ("stages/feed.yaml:76:3 error cycle: the rule low-ripples goes from voltage to itself",),
    ),
    "same_reason": Fault(
        "stages/feed.yaml",
        "because: the same load on less filter",
        "because: without emission nothing flows",
        (
            "stages/feed.yaml:76:3 warning same-reason: the rule feed/low-ripples gives the same reason as feed/dead-gives-nothing | give each rule its own reason",
        ),
    ),
    "file_that_is_a_list": Fault(
        "rigs/finch.yaml",
        "rig: finch\n",
        "- finch\n",
        (
            "rigs/finch.yaml:2:1 error yaml: this is not well-formed YAML: did not find expected '-' indicator",
        ),
    ),
    "file_of_no_sort": Fault(
        "tubes.yaml",
        "tubes:\n",
        "valves:\n",
        (
            "tubes.yaml:1:1 error unknown-file: nothing at the top of this file says what it is | start it with one of: kind, rig, tubes, sources, meters, facts, safety, setups, hazards, instruments, gradings, reports, budgets, advice, shop_talk",
        ),
    ),
    "empty_bench_section": Fault(
        "bench.yaml",
        "reports:\n  bench: 98 of 100\n  owner: 80 of 100\n",
        "reports:\n",
        ("bench.yaml:38:1 error type: `reports` is empty; it should be a mapping",),
    ),
    "unknown_section": Fault(
        "bench.yaml",
        "reports:\n",
        "report:\n",
        (
            "bench.yaml:38:1 error unknown-key: `report` is no key of the bench file | did you mean `reports`?",
        ),
    ),
    "unnamed_without_pushes": Fault(
        "stages/amplifier.yaml",
        ", pushes: 2 of 10",
        "",
        (
            "stages/amplifier.yaml:7:1 error missing-key: the unnamed fault wants `pushes`, which is not here | add `pushes:` (Total chance of showing at each indication)",
        ),
    ),
    "rig_without_stages": Fault(
        "rigs/finch.yaml",
        "stages:\n  hv: {kind: feed, title: high voltage, tubes: [6E5]}\n  lv: {kind: feed, title: low voltage, features: {rectifier: silicon}}\n  final: {kind: amplifier, title: final, fed_by: {supply: hv}}\nchart:\n  - {quantity: hv.voltage, value: 0.6 kV, mode: cw}\n  - {quantity: final.current, value: 100 mA, mode: phone, band: 40m, tolerance: 5 %, note: dipped}\nproof: [hv.voltage, final.current]\n",
        "",
        ("rigs/finch.yaml:1:1 error missing-key: a rig wants `stages`, which is not here | add `stages:`",),
    ),
    "empty_id": Fault(
        "rigs/finch.yaml",
        "rig: finch",
        "rig: ''",
        ("rigs/finch.yaml:1:6 error id: `` is no id | use lower case letters, digits and underscores",),
    ),
    "nested_list": Fault(
        "stages/feed.yaml",
        "rectifier: [tube, silicon]",
        "rectifier: [[tube], silicon]",
        (
            "stages/feed.yaml:6:15 error type: `rectifier` should be a word, not a list",
            "stages/feed.yaml:31:23 error unknown-value: `tube` is no value of `rectifier` | known here: silicon",
            "stages/feed.yaml:37:23 error unknown-value: `tube` is no value of `rectifier` | known here: silicon",
            "stages/feed.yaml:61:23 error unknown-value: `tube` is no value of `rectifier` | known here: silicon",
        ),
    ),
    "unknown_value_of_a_rigs_feature": Fault(
        "stages/amplifier.yaml",
        "when: {modes: phone}",
        "when: {modes: fone}",
        (
            "stages/amplifier.yaml:50:19 error unknown-value: `fone` is no value of `modes` | did you mean `phone`?",
        ),
    ),
    "chart_row_twice": Fault(
        "rigs/finch.yaml",
        "mode: cw}\n",
        "mode: cw}\n  - {quantity: hv.voltage, value: 610 V, mode: cw}\n",
        (
            "rigs/finch.yaml:13:5 error duplicate-row: the chart has a row for this already (line 12) | give one of them another mode or band, or remove it",
        ),
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_said_at_its_place(name: str, tmp_path: Path) -> None:
    """The slip brings about exactly these problems, and no others with them."""
    assert problems_of(FAULTS[name], tmp_path) == FAULTS[name].said
