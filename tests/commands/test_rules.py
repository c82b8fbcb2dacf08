"""`diagnose rules` and `diagnose rigs`: what the book says, on the screen and as JSON."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.commands.bench import SHOP
from tests.commands.conftest import Call


def test_kinds_and_rigs_are_listed_with_the_local_ones(call: Call) -> None:
    assert "signal lantern" in call("rules", "list").out
    out = call("rigs", "list").out
    assert "Marker lantern (local)" in out
    assert max(len(line) for line in out.splitlines()) <= 80


def test_a_kind_lists_its_entries(call: Call) -> None:
    out = call("rules", "list", "lantern").out
    assert "low-volts-dim" in out
    assert "voltage low gives dim yes, 9 of 10" in out
    assert "lamp: blackened or shorted at its socket" in out


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("lantern", "A lamp on a cell, for tests."),
        ("lantern/black-glass-dims", "Because: Metal on the glass swallows the light."),
        ("lantern.lamp", "Remedy: Fit a new lamp. 3 min, cures it in 98 of 100."),
        ("lantern.lamp.shorted", "shorted at its socket  lamp.shorted"),
        ("lantern.voltage", "What does the cell read with the lamp on?"),
        ("lantern.hot_cell", "Stop order: Take the lamp off the cell"),
        ("lantern.read_cell", "Clip the voltmeter on the cell"),
    ],
)
def test_any_entry_can_be_shown_in_full(call: Call, name: str, said: str) -> None:
    ran = call("rules", "show", name)
    assert ran.status == 0
    assert said.replace("  ", " ") in " ".join(ran.out.split())


def test_an_entry_says_where_it_is_written(call: Call) -> None:
    lines = (SHOP / "stages/lantern.yaml").read_text(encoding="utf-8").splitlines()
    number = 1 + lines.index("  low-volts-dim:")
    assert f"lantern.yaml:{number}:3" in "".join(call("rules", "show", "lantern/low-volts-dim").out.split())


def test_a_misspelt_name_gets_the_nearest(call: Call) -> None:
    assert "did you mean `lantern/low-volts-dim`" in call("rules", "show", "lantern/low-volt-dims").err
    assert "did you mean `lantern`" in call("rules", "list", "lantren").err
    assert "did you mean `marker`" in call("rigs", "show", "markre").err


def test_a_rig_shows_its_stages_and_chart(call: Call) -> None:
    out = call("rigs", "show", "marker").out
    assert "light.voltage" in out
    assert "1.5 V" in out
    made = json.loads(call("rigs", "show", "marker", "--format", "json").out)
    assert made["chart"][0]["value"] == 1.5
    assert made["chart"][0]["unit"] == "V"


def test_lists_come_as_json_too(call: Call) -> None:
    kinds = json.loads(call("rules", "list", "lantern", "--format", "json").out)
    assert {rule["id"] for rule in kinds[0]["rules"]} >= {"lantern/low-volts-dim", "lantern/short-heats-cell"}
    assert "marker" in {rig["rig"] for rig in json.loads(call("rigs", "list", "--format", "json").out)}


def test_the_check_reads_afresh_and_tells_counts_and_budgets(call: Call) -> None:
    """The small rig is far healthier than any budget, so the checker must say so."""
    ran = call("rules", "check")
    assert ran.status == 0  # a rig of the shop's own
    assert "warning: 0.03 faults are expected in marker" in ran.out
    assert "kinds of stage" in ran.out
    assert "out of range" in " ".join(ran.out.split())
    made = json.loads(call("rules", "check", "--format", "json").out)
    line = next(line for line in made["budgets"] if line["rig"] == "marker")
    assert line["kept"] is False
    # priors 2 of 100 + 1 of 100 + 1 of 1000 + 2 of 1000 for the unnamed part
    assert line["faults"] == pytest.approx(0.02 + 0.01 + 0.001 + 0.002)


def test_the_check_tells_what_the_shop_brings_and_counts_the_rest(call: Call) -> None:
    """Its own files come first; what is said of the built-in rules without it is told only on request."""

    def told(*options: str) -> tuple[list[str], str]:
        ran = call("rules", "check", *options)
        listed = ran.out.partition("The book holds")[0].splitlines()
        assert ran.out.splitlines()[-1].startswith("Rules: ")
        return [line for line in listed if line], ran.out.splitlines()[-1]

    (*own, rest), tally = told()
    assert len(own) == 2  # the lantern is far healthier than either budget
    assert all(line.startswith(f"{SHOP}/rigs/marker.yaml:2:1: warning: 0.0") for line in own)
    everything, whole_tally = told("--all")
    assert everything[:2] == own
    assert not any(line.startswith(str(SHOP)) for line in everything[2:])
    assert rest == f"{len(everything) - 2} more speak of the built-in rules; `--all` tells them."
    assert tally == whole_tally


def test_what_a_shop_does_to_the_built_in_rules_is_told(call: Call, tmp_path: Path) -> None:
    """A withdrawn rule leaves a built-in cause that nothing reveals: that error is the shop's doing."""
    kind = "keying"
    book = json.loads(call("rules", "list", kind, "--format", "json").out)[0]
    part, _, mode = book["parts"][0].partition(".")
    gone = [r["id"].partition("/")[2] for r in book["rules"] if (r["from"], r["from_state"]) == (part, mode)]
    (tmp_path / "mine.yaml").write_text(
        f"kind: {kind}\nwithdraw: {{rules: [{', '.join(gone)}]}}\n", encoding="utf-8"
    )
    ran = call("rules", "check", "--shop", tmp_path)
    assert ran.status == 1
    assert f"error: no indication can reveal {part}.{mode}" in ran.out


def test_tubes_and_sources_can_be_shown(call: Call) -> None:
    """A tube with its figures and what they rest on; a source with its title, section and address."""
    tube = " ".join(call("rules", "show", "6X9Y").out.split())
    for said in (
        "6X9Y triode",
        "heater volts 6.3 V, amps 0.3 A",
        "ratings plate voltage 300 V",
        "class a plate current 9 mA",
        "Runs hot.",
        "Source: our data book, lamps (data_book)",
    ):
        assert said in tube
    assert "tubes.yaml:2:3" in tube.replace(" ", "")
    source = " ".join(call("rules", "show", "data_book").out.split())
    assert source == "our data book data_book lamps https://example.org/data"
    assert "did you mean `6X9Y`" in call("rules", "show", "6X9").err


def test_a_rule_names_its_source_by_title(call: Call) -> None:
    assert (
        "Source: our data book, lamps (data_book)\n" in call("rules", "show", "lantern/black-glass-dims").out
    )
    assert "Source: common practice\n" in call("rules", "show", "lantern/low-volts-dim").out


FOUND = [
    (
        ["lantern", "--find", "dim lamp"],
        ["lantern.dim", "lantern.look_at_lamp", "lantern/black-glass-dims", "lantern/low-volts-dim"],
    ),
    (["lantern", "--find", "GLIMMER"], ["lantern.dim"]),
    (["lantern", "--find", "shorted socket"], ["lantern.lamp"]),
    (["--find", "data book lamps"], ["data_book"]),
    (["--find", "6x9"], ["6X9Y"]),
    (["lantern", "--find", "nothing of the sort"], []),
]


@pytest.mark.parametrize(("words", "names"), FOUND)
def test_entries_are_found_by_their_words(call: Call, words: list[str], names: list[str]) -> None:
    """All of the words, in any order and case, in an entry's name, title, reason or other words of the trade."""
    made = json.loads(call("rules", "list", *words, "--format", "json").out)
    assert sorted(entry["name"] for entry in made) == names
    ran = call("rules", "list", *words)
    assert ran.status == 0
    for name in names:
        assert f"  {name} " in ran.out
        assert call("rules", "show", name).status == 0
    if not names:
        assert ran.out == "Nothing has all of these words.\n"


def test_what_an_indication_is_called_elsewhere_is_shown(call: Call) -> None:
    assert "Also called: glimmers, weak light." in call("rules", "show", "lantern.dim").out


def test_the_check_of_unusable_rules_still_lists_all_problems(call: Call, tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_text("kind: lantern\n  title: x\n", encoding="utf-8")
    (tmp_path / "b.yaml").write_text("nothing: here\n", encoding="utf-8")
    ran = call("rules", "check", "--shop", tmp_path)
    assert ran.status == 1
    assert "a.yaml:" in ran.out
    assert "b.yaml:" in ran.out
    assert "The book holds" not in ran.out
