"""Slips in shape, frequencies and units of the rule files: line, column, id, text, suggestion."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.files.small import Fault, problems_of

FAULTS = {
    "unknown_key": Fault(
        "stages/feed.yaml",
        "    tolerance: 10 %\n",
        "    tolerence: 10 %\n",
        (
            "stages/feed.yaml:9:3 error grading: the grading level wants `tolerance`, which is not here | add `tolerance:`",
            "stages/feed.yaml:15:5 error unknown-key: `tolerence` is no key of a quantity | did you mean `tolerance`?",
        ),
    ),
    "unknown_key_in_rule": Fault(
        "stages/feed.yaml",
        "    chance: 8.5 of 10\n",
        "    chance: 8.5 of 10\n    becuase: twice\n",
        ("stages/feed.yaml:61:5 error unknown-key: `becuase` is no key of a rule | known here: damages",),
    ),
    "missing_because": Fault(
        "stages/feed.yaml",
        "    because: a tired cathode gives less current\n",
        "",
        (
            "stages/feed.yaml:57:3 error missing-key: a rule wants `because`, which is not here | add `because:` (The reason, in one or two sentences of its own)",
        ),
    ),
    "missing_unit": Fault(
        "stages/amplifier.yaml",
        "    unit: mA\n",
        "",
        (
            "stages/amplifier.yaml:9:3 error missing-key: a quantity wants `unit`, which is not here | add `unit:` (The unit in which it is given by default; it fixes the dimension)",
        ),
    ),
    "missing_title_of_kind": Fault(
        "stages/feed.yaml",
        "title: feed\n",
        "",
        (
            "stages/feed.yaml:1:1 error missing-key: a kind of stage wants `title`, which is not here | add `title:`",
        ),
    ),
    "list_for_mapping": Fault(
        "stages/feed.yaml",
        "stop_orders:\n  flash-when-damp:\n    observed: {flashes: yes}\n    facts: {damp: yes}\n    text: Switch off and dry it first.\n",
        "stop_orders: [flash]\n",
        ("stages/feed.yaml:101:1 error type: `stop_orders` should be a mapping, not a list",),
    ),
    "number_for_text": Fault(
        "stages/feed.yaml",
        "title: feed\n",
        "title: 6146\n",
        (
            'stages/feed.yaml:2:1 error type: `title` should be a text, not the number `6146` | put it in quotes: "6146"',
        ),
    ),
    "text_for_number": Fault(
        "stages/feed.yaml",
        "    minutes: 3\n",
        "    minutes: three\n",
        ("stages/feed.yaml:88:5 error type: `minutes` should be a number, not the text `three`",),
    ),
    "minutes_not_above_zero": Fault(
        "stages/feed.yaml",
        "    minutes: 3\n",
        "    minutes: 0\n",
        ("stages/feed.yaml:88:14 error range: `minutes` should be more than 0, not 0",),
    ),
    "empty_value": Fault(
        "stages/feed.yaml",
        "    ask: What does it read?\n",
        "    ask:\n",
        ("stages/feed.yaml:11:5 error type: `ask` is empty; it should be a text",),
    ),
    "text_broken_by_comma": Fault(
        "stages/amplifier.yaml",
        "remedy: {do: fit a new one, minutes: 10}",
        "remedy: {do: fit a new one, or an old one, minutes: 10}",
        (
            "stages/amplifier.yaml:32:37 error unknown-key: `or an old one` is no key of a remedy | put a text that holds a comma in quotes",
        ),
    ),
    "not_a_flag": Fault(
        "stages/feed.yaml",
        "    first_aid: yes\n",
        "    first_aid: maybe\n",
        ("stages/feed.yaml:38:16 error word: `first_aid` cannot be `maybe` | known here: yes, no",),
    ),
    "bad_id": Fault(
        "stages/feed.yaml",
        "  ripple:\n",
        "  Ripple Voltage:\n",
        (
            "stages/feed.yaml:20:3 error id: `Ripple Voltage` is no id | use lower case letters, digits and underscores",
            "stages/feed.yaml:78:10 error unknown-name: `ripple` is no indication of the kind feed | did you mean `Ripple Voltage`?",
        ),
    ),
    "two_sources_of_an_arrow": Fault(
        "stages/feed.yaml",
        "from: {rectifier_tube: dead}",
        "from: {rectifier_tube: dead, capacitor: shorted}",
        ("stages/feed.yaml:65:5 error count: `from` has 2 entries, more than 1",),
    ),
    "no_modes": Fault(
        "stages/feed.yaml",
        "    modes:\n      shorted: {title: shorted, prior: 1 of 100}\n",
        "    modes: {}\n",
        ("stages/feed.yaml:54:5 error count: `modes` is empty",),
    ),
    "empty_condition": Fault(
        "stages/amplifier.yaml",
        "    when: {modes: phone}\n",
        "    when: {modes: {nott: phone}}\n",
        ("stages/amplifier.yaml:50:20 error unknown-key: `nott` is no key of a test | did you mean `not`?",),
    ),
    "bound_without_number": Fault(
        "stages/feed.yaml",
        "{at_least: 20}",
        "{at_least: long}",
        ("stages/feed.yaml:45:36 error type: `at_least` should be a number, not the text `long`",),
    ),
    "frequency_in_words": Fault(
        "stages/feed.yaml",
        "    chance: 8.5 of 10\n",
        "    chance: often\n",
        (
            "stages/feed.yaml:60:13 error frequency: `often` is no frequency | write `8 of 10`, `3 of 1000` or a decimal from 0 to 1",
        ),
    ),
    "frequency_above_one": Fault(
        "stages/feed.yaml",
        "    chance: 8.5 of 10\n",
        "    chance: 11 of 10\n",
        (
            "stages/feed.yaml:60:13 error frequency: `11 of 10` is not between none and all of them | write `8 of 10`, `3 of 1000` or a decimal from 0 to 1",
        ),
    ),
    "prior_below_zero": Fault(
        "stages/feed.yaml",
        "        prior: 5 of 100\n",
        "        prior: -0.1\n",
        (
            "stages/feed.yaml:43:16 error frequency: `-0.1` is not between none and all of them | write `8 of 10`, `3 of 1000` or a decimal from 0 to 1",
        ),
    ),
    "tolerance_without_percent": Fault(
        "stages/feed.yaml",
        "    tolerance: 10 %\n",
        "    tolerance: 10\n",
        ("stages/feed.yaml:15:16 error share: `10` is no share between 0 and 100 % | write it like `10 %`",),
    ),
    "tolerance_in_words": Fault(
        "stages/feed.yaml",
        "    tolerance: 10 %\n",
        "    tolerance: narrow\n",
        ("stages/feed.yaml:15:16 error share: `narrow` is no share | write it like `10 %`",),
    ),
    "prior_sum": Fault(
        "stages/feed.yaml",
        "        prior: 5 of 100\n",
        "        prior: 9.95 of 10\n",
        (
            "stages/feed.yaml:35:3 error prior-sum: the priors of the part rectifier_tube add up to 1.005, more than 1",
        ),
    ),
    "prior_sum_of_histories": Fault(
        "stages/feed.yaml",
        "prior: 8 of 100}",
        "prior: 9.95 of 10}",
        (
            "stages/feed.yaml:35:3 warning prior-sum: the highest priors of the part rectifier_tube add up to 1.005, more than 1 | look at its `history`",
        ),
    ),
    "chance_sum": Fault(
        "stages/feed.yaml",
        "    because: without emission nothing flows\n    source: handbook\n",
        "    because: without emission nothing flows\n    source: handbook\n  dead-lowers:\n    from: {rectifier_tube: dead}\n    to: {voltage: low}\n    chance: 2 of 10\n    because: some still leaks\n    source: common practice\n",
        (
            "stages/feed.yaml:70:3 error chance-sum: the chances from rectifier_tube: dead to voltage add up to 1.1, more than 1",
        ),
    ),
    "split": Fault(
        "stages/feed.yaml",
        "    limit: 5 %\n",
        "    limit: 5 %\n    split: [0.5, 0.5, 0.5]\n",
        (
            "stages/feed.yaml:27:12 error split: the split adds up to 1.5, not to 1 | write it like `[0.5, 0.25, 0.25]`",
        ),
    ),
    "limit_of_another_dimension": Fault(
        "stages/feed.yaml",
        "    limit: 5 %\n",
        "    limit: 5 V\n",
        (
            "stages/feed.yaml:26:12 error unit: `5 V` is a voltage, but a ratio (percent) is wanted | write it like `12.5 percent`",
        ),
    ),
    "unknown_unit": Fault(
        "stages/feed.yaml",
        "    unit: V\n",
        "    unit: volz\n",
        (
            "stages/feed.yaml:12:11 error unit: `volz` is no unit that is known here | write a unit like V, mA or percent",
        ),
    ),
    "plausible_backwards": Fault(
        "stages/feed.yaml",
        "[0, 3000]",
        "[3 kV, 0 V]",
        ("stages/feed.yaml:18:16 error range: the plausible range of voltage runs backwards",),
    ),
    "chart_of_another_dimension": Fault(
        "rigs/finch.yaml",
        "value: 0.6 kV",
        "value: 600 mA",
        (
            "rigs/finch.yaml:12:35 error unit: `600 mA` is a current, but a voltage (V) is wanted | write it like `12.5 V`",
        ),
    ),
    "mains_of_another_dimension": Fault(
        "rigs/finch.yaml",
        "voltage: 117 V",
        "voltage: 117 Hz",
        (
            "rigs/finch.yaml:5:18 error unit: `117 Hz` is a frequency, but a voltage (V) is wanted | write it like `12.5 V`",
        ),
    ),
    "chart_tolerance": Fault(
        "rigs/finch.yaml",
        "tolerance: 5 %",
        "tolerance: 5 mA",
        ("rigs/finch.yaml:13:81 error share: `5 mA` is no share | write it like `10 %`",),
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_said_at_its_place(name: str, tmp_path: Path) -> None:
    """The slip brings about exactly these problems, and no others with them."""
    assert problems_of(FAULTS[name], tmp_path) == FAULTS[name].said
