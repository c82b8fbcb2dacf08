"""A case file as a case of a rig, and what is read around when something in it cannot be used."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import pytest

from diagnose.files.read_book import load_book
from diagnose.files.read_case import assembly_of, read_case
from diagnose.model.case import Case, Observation, Work
from diagnose.model.knowledge import Book
from diagnose.problems import Place
from tests.files.small import CASE, rules, said, swapped


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """The small book."""
    read, _ = load_book(rules(tmp_path_factory.mktemp("case")))
    assert read is not None
    return read


def case_in(folder: Path, text: str, book: Book) -> tuple[Case | None, list[str]]:
    """The case in a text, and what is said of it."""
    path = folder / "case.yaml"
    path.write_text(text, encoding="utf-8")
    case, problems = read_case(path, book, "c.yaml")
    if case is not None:
        assert case.problems == problems
    return case, said(problems)


def good_case(folder: Path, text: str, book: Book) -> Case:
    """The same, which must be without problems."""
    case, lines = case_in(folder, text, book)
    assert lines == []
    assert case is not None
    return case


def test_a_whole_case(tmp_path: Path, book: Book) -> None:
    """Everything a case may say."""
    case = good_case(tmp_path, CASE, book)
    assert (case.id, case.rig, case.about) == ("first", "finch", "weak")
    assert (case.mains, case.mode, case.band, case.intermittent) == (110, "cw", "40m", False)
    assert case.history == {"years_stored": 30, "damp": "no", "worked_on_by": "owner", "work": ("wiring",)}
    assert case.safety == ("bleeder_proven",)
    assert case.bench == {"power": "on"}
    assert case.observations == (
        Observation("hv.voltage", value=580.0, as_written="0.58 kV", place=Place("c.yaml", 12, 3)),
        Observation(
            "hv.ripple", value=3.0, as_written="3 %", within=0.05, mode="phone", band="80m", mains=100.0,
            told_by="owner", place=Place("c.yaml", 13, 3),
        ),
        Observation("final.current", state="low", as_written="low", place=Place("c.yaml", 14, 3)),
        Observation("hv.flashes", state="no", as_written="no", place=Place("c.yaml", 16, 3)),
    )  # fmt: skip
    assert case.inspected == {"hv.rectifier_tube": "good"}
    assert case.work == (Work("dried it", "hv.flash-when-damp", place=Place("c.yaml", 20, 5)),)
    assert case.confirmed == ("final.valve.weak",)


def test_a_bare_case(tmp_path: Path, book: Book) -> None:
    """Only a rig: the name comes from the file, and nothing is known."""
    case = good_case(tmp_path, "rig: finch\n", book)
    assert case == Case("c", "finch", place=Place("c.yaml", 1, 1))


def test_empty_sections_say_nothing(tmp_path: Path, book: Book) -> None:
    """An interview writes its headings before the answers."""
    text = "rig: finch\nreadings:\nsymptoms:\ninspected:\nwork:\nsafety:\nhistory: {damp: , years_stored: not known}\n"
    case = good_case(tmp_path, text, book)
    assert case == Case("c", "finch", place=Place("c.yaml", 1, 1))


VALUES = [
    ("145 V", 145.0, "", None),
    ("145", 145.0, "", None),
    ("1.45e2", 145.0, "", None),
    ("about 145 V", 145.0, "", 0.10),
    ("~145", 145.0, "", 0.10),
    ("About 0.145 kV", 145.0, "", 0.10),
    ("low", None, "low", None),
    ("High", None, "high", None),
    ("not known", None, "", None),
    ("", None, "", None),
    ("{value: about 145 V, within: 1 %}", 145.0, "", 0.01),
    ("{value: absent}", None, "absent", None),
]


@pytest.mark.parametrize(("written", "value", "state", "within"), VALUES)
def test_ways_of_writing_a_reading(
    written: str, value: float | None, state: str, within: float | None, tmp_path: Path, book: Book
) -> None:
    """With and without a unit, about, in words, not known."""
    case = good_case(tmp_path, f"rig: finch\nreadings:\n  hv.voltage: {written}\n", book)
    (seen,) = case.observations
    assert (seen.value, seen.state, seen.within) == (value, state, within)


ANSWERS = [
    ("yes", "yes", None, "bench"),
    ("no", "no", None, "bench"),
    ("true", "yes", None, "bench"),
    ("not known", "", None, "bench"),
    ("", "", None, "bench"),
    ("{answer: yes, told_by: owner, while_showing: yes}", "yes", True, "owner"),
    ("{answer: no, while_showing: no}", "no", False, "bench"),
]


@pytest.mark.parametrize(("written", "state", "showing", "told_by"), ANSWERS)
def test_ways_of_answering(
    written: str, state: str, showing: bool | None, told_by: str, tmp_path: Path, book: Book
) -> None:
    """A word, a truth value, nothing, or an entry."""
    case = good_case(tmp_path, f"rig: finch\nsymptoms:\n  hv.flashes: {written}\n", book)
    (seen,) = case.observations
    assert (seen.state, seen.while_showing, seen.told_by) == (state, showing, told_by)


def test_readings_as_a_list(tmp_path: Path, book: Book) -> None:
    """One quantity several times, each with its circumstances."""
    text = (
        "rig: finch\nreadings:\n"
        "  - {quantity: hv.voltage, value: 580 V, mode: cw}\n"
        "  - {quantity: hv.voltage, value: 560 V, mode: phone, band: 80m, mains: 110 V, within: 2 %, told_by: owner}\n"
        "  - {quantity: final.drive_over_bands, value: one_band, while_showing: yes}\n"
    )
    case = good_case(tmp_path, text, book)
    first, second, third = case.observations
    assert (first.name, first.value, first.mode, first.place.line) == ("hv.voltage", 580, "cw", 3)
    assert (second.mode, second.band, second.mains, second.within) == ("phone", "80m", 110, 0.02)
    assert (third.state, third.while_showing) == ("one_band", True)


def test_patterns_may_stand_with_the_symptoms(tmp_path: Path, book: Book) -> None:
    """What is seen over the bands is no number."""
    case = good_case(tmp_path, "rig: finch\nsymptoms: {final.drive_over_bands: all_bands}\n", book)
    assert case.observations[0].state == "all_bands"


def test_confirmed_nothing_is_an_answer(tmp_path: Path, book: Book) -> None:
    """An empty list means a good set; no list means nobody knows yet. The unnamed fault has a name too."""
    assert good_case(tmp_path, "rig: finch\nconfirmed: []\n", book).confirmed == ()
    assert good_case(tmp_path, "rig: finch\n", book).confirmed is None
    assert good_case(tmp_path, "rig: finch\nconfirmed: hv.unnamed.present\n", book).confirmed == (
        "hv.unnamed.present",
    )


def test_a_stop_order_of_a_symptom_can_be_answered(tmp_path: Path, book: Book) -> None:
    """Work answers the order by the symptom's own name; plain texts are work as well."""
    text = "rig: finch\nwork:\n  - {did: new tube, answers: hv.flashes}\n  - cleaned it\n"
    case = good_case(tmp_path, text, book)
    assert [(work.did, work.answers) for work in case.work] == [
        ("new tube", "hv.flashes"),
        ("cleaned it", ""),
    ]


class Slip(NamedTuple):
    """One slip in the good case, what is said, and how many observations are left."""

    old: str
    new: str
    said: tuple[str, ...]
    left: int = 4


SLIPS = {
    "wrong dimension": Slip(
        "hv.voltage: 0.58 kV", "hv.voltage: 580 mA",
        ("c.yaml:12:15 error unit: hv.voltage: `580 mA` is a current, but a voltage (V) is wanted | write it like `12.5 V`",),
        3,
    ),
    "unknown unit": Slip(
        "hv.voltage: 0.58 kV", "hv.voltage: 580 volz",
        ("c.yaml:12:15 error unit: hv.voltage: `volz` is no unit that is known here",),
        3,
    ),
    "unknown state": Slip(
        "final.current: low", "final.current: lo",
        ("c.yaml:14:18 error unknown-state: `lo` is no state of final.current | did you mean `low`?",),
        3,
    ),
    "a word that is no state": Slip(
        "final.current: low", "final.current: feeble",
        (
            "c.yaml:14:18 error unknown-state: `feeble` is no state of final.current"
            " | write a value like `12.5 mA` or one of: normal, unsteady, absent, low, high, not known",
        ),
        3,
    ),
    "unknown quantity": Slip(
        "hv.voltage: 0.58 kV", "hv.volts: 0.58 kV",
        ("c.yaml:12:3 error unknown-name: `hv.volts` is no quantity or symptom of the rig finch | did you mean `hv.voltage`?",),
        3,
    ),
    "unknown stage": Slip(
        "final.current: low", "finl.current: low",
        ("c.yaml:14:3 error unknown-name: `finl.current` is no quantity or symptom of the rig finch | did you mean `final.current`?",),
        3,
    ),
    "not on this rig": Slip(
        "hv.flashes: no", "lv.flashes: no",
        ("c.yaml:16:3 error not-on-this-rig: this rig has no `lv.flashes` | that is found only with rectifier: tube",),
        3,
    ),
    "odd answer": Slip(
        "hv.flashes: no", "hv.flashes: sometimes",
        ("c.yaml:16:15 error unknown-state: `sometimes` is no state of hv.flashes | known here: no, yes, not known",),
        3,
    ),
    "another prefix": Slip(
        "hv.voltage: 0.58 kV", "hv.voltage: 580 kV",
        (
            "c.yaml:12:15 error odd-magnitude: hv.voltage: 580000 V is not between 0 and 3000 V; it is left out"
            " | was another prefix meant, 580 V?",
        ),
        3,
    ),
    "another prefix by the chart": Slip(
        "final.current: low", "final.current: 0.09",
        (
            "c.yaml:14:18 error odd-magnitude: final.current: 0.09 mA is far from 100 mA in the chart; it is left out"
            " | was another prefix meant, 90 mA?",
        ),
        3,
    ),
    "another sign": Slip(
        "final.current: low", "final.current: -90 mA",
        (
            "c.yaml:14:18 error odd-magnitude: final.current: -90 mA has the other sign than the chart; it is left out"
            " | was 90 meant?",
        ),
        3,
    ),
    "another sign, outside what can be": Slip(
        "hv.voltage: 0.58 kV", "hv.voltage: -580 V",
        (
            "c.yaml:12:15 error odd-magnitude: hv.voltage: -580 V is not between 0 and 3000 V; it is left out"
            " | was 580 meant?",
        ),
        3,
    ),
    "outside what can be": Slip(
        "hv.voltage: 0.58 kV", "hv.voltage: -20 V",
        ("c.yaml:12:15 error odd-magnitude: hv.voltage: -20 V is not between 0 and 3000 V; it is left out",),
        3,
    ),
    "unknown key": Slip(
        "within: 5 %", "witin: 5 %",
        ("c.yaml:13:27 error unknown-key: `witin` is no key of a reading | did you mean `within`?",),
    ),
    "meter in place of with": Slip(
        "within: 5 %", "meter: dvm",
        ("c.yaml:13:27 error unknown-key: `meter` is no key of a reading | did you mean `with`?",),
    ),
    "unknown key at the top": Slip(
        "about: weak", "abuot: weak",
        ("c.yaml:3:1 error unknown-key: `abuot` is no key of a case file | did you mean `about`?",),
    ),
    "bad accuracy": Slip(
        "within: 5 %", "within: 5 V",
        ("c.yaml:13:35 error share: `5 V` is no share | write it like `10 %`",),
    ),
    "unknown mode": Slip(
        "mode: phone", "mode: fone",
        ("c.yaml:13:46 error unknown-mode: `fone` is no mode of this rig | did you mean `phone`?",),
    ),
    "unknown band": Slip(
        "band: 40m", "band: 20m",
        ("c.yaml:6:7 error unknown-band: `20m` is no band of this rig | known here: 80m, 40m",),
    ),
    "unknown report": Slip(
        "told_by: owner", "told_by: ownr",
        ("c.yaml:13:87 error unknown-report: `ownr` is no report of the bench | did you mean `owner`?",),
    ),
    "mains in another dimension": Slip(
        "mains: 110 V", "mains: 110 Hz",
        ("c.yaml:4:8 error unit: `110 Hz` is a frequency, but a voltage (V) is wanted | write it like `12.5 V`",),
    ),
    "unknown fact": Slip(
        "damp: no", "dmp: no",
        ("c.yaml:7:29 error unknown-fact: `dmp` is no fact of a history | did you mean `damp`?",),
    ),
    "fact of another kind": Slip(
        "years_stored: 30", "years_stored: long",
        ("c.yaml:7:25 error unit: `long` is no number with a unit | write it like `12.5 year`",),
    ),
    "years below zero": Slip(
        "years_stored: 30", "years_stored: -3",
        ("c.yaml:7:25 error fact-value: `years_stored` cannot be below zero",),
    ),
    "neither yes nor no": Slip(
        "damp: no", "damp: a bit",
        ("c.yaml:7:35 error fact-value: `damp` takes yes, no or not known",),
    ),
    "unknown choice": Slip(
        "worked_on_by: owner", "worked_on_by: ownr",
        ("c.yaml:7:53 error fact-value: `ownr` is no value of `worked_on_by` | did you mean `owner`?",),
    ),
    "several for one": Slip(
        "worked_on_by: owner", "worked_on_by: [owner]",
        ("c.yaml:7:53 error fact-value: `worked_on_by` takes one word, not a list",),
    ),
    "unknown work": Slip(
        "work: [wiring]", "work: [wirring]",
        ("c.yaml:7:67 error fact-value: `wirring` is no value of `work` | did you mean `wiring`?",),
    ),
    "unknown safety fact": Slip(
        "safety: [bleeder_proven]", "safety: [bleeder]",
        ("c.yaml:8:10 error unknown-safety: `bleeder` is no safety fact of the bench | did you mean `bleeder_proven`?",),
    ),
    "unknown set-up": Slip(
        "bench: {power: on}", "bench: {powr: on}",
        ("c.yaml:9:9 error unknown-setup: `powr` is no set-up of the bench | did you mean `power`?",),
    ),
    "unknown state of a set-up": Slip(
        "bench: {power: on}", "bench: {power: half}",
        ("c.yaml:9:16 error unknown-state: `half` is no state of power | known here: off, on",),
    ),
    "unknown part": Slip(
        "hv.rectifier_tube: good", "hv.rectifier: good",
        ("c.yaml:18:3 error unknown-part: `hv.rectifier` is no part of this rig | did you mean `hv.rectifier_tube`?",),
    ),
    "part that is not on this rig": Slip(
        "hv.rectifier_tube: good", "lv.rectifier_tube: good",
        ("c.yaml:18:3 error unknown-part: `lv.rectifier_tube` is no part of this rig | did you mean `hv.rectifier_tube`?",),
    ),
    "unknown mode of a part": Slip(
        "hv.rectifier_tube: good", "hv.rectifier_tube: ded",
        ("c.yaml:18:22 error unknown-mode: `ded` is no mode of hv.rectifier_tube | did you mean `dead`?",),
    ),
    "unknown stop order": Slip(
        "answers: hv.flash-when-damp", "answers: hv.flash",
        ("c.yaml:20:30 error unknown-stop: `hv.flash` is no stop order of this rig | did you mean `hv.flashes`?",),
    ),
    "unknown cause": Slip(
        "confirmed: [final.valve.weak]", "confirmed: [final.valve.week]",
        ("c.yaml:21:13 error unknown-cause: `final.valve.week` is no cause on this rig | did you mean `final.valve.weak`?",),
    ),
    "list for a value": Slip(
        "hv.voltage: 0.58 kV", "hv.voltage: [[580, 590]]",
        ("c.yaml:12:16 error type: `hv.voltage` should be a reading, not a list | write it like `585 V`",),
        3,
    ),
    "entry without a value": Slip(
        "hv.ripple: {value: 3 %,", "hv.ripple: {",
        ("c.yaml:13:3 error missing-key: a reading wants `value`, which is not here | add `value:` (A value with its unit, or a state)",),
        3,
    ),
    "one reading twice": Slip(
        "  final.current: low\n", "  final.current: low\n  hv.voltage: 400 V\n",
        ("c.yaml:15:3 error duplicate-key: the key hv.voltage stands here twice (first on line 12) | rename or remove one of them",),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_costs_only_what_it_spoils(name: str, tmp_path: Path, book: Book) -> None:
    """The problem has its place and its words, and all the rest of the case is still there."""
    slip = SLIPS[name]
    case, lines = case_in(tmp_path, swapped(CASE, slip.old, slip.new), book)
    assert lines == list(slip.said)
    assert case is not None
    assert len(case.observations) == slip.left


HOPELESS = {
    "unknown rig": ("rig: fnch\n", "c.yaml:1:6 error unknown-rig: `fnch` is no rig of the book | did you mean `finch`?"),
    "no rig": ("case: x\n", "c.yaml:1:1 error missing-key: a case file wants `rig`, which is not here | add `rig:` (A rig of the book)"),
    "a list": ("- x\n", "c.yaml:1:1 error type: a case file should be a mapping, not a list"),
    "a word": ("hello\n", "c.yaml:1:1 error type: a case file should be a mapping, not the text `hello`"),
    "nothing": ("", "c.yaml error empty: the file is empty"),
    "no text": ("rig: \x01", "c.yaml:1:6 error encoding: a character that a text file cannot hold (code 1)"),
}  # fmt: skip


@pytest.mark.parametrize("name", HOPELESS)
def test_without_a_rig_there_is_no_case(name: str, tmp_path: Path, book: Book) -> None:
    """One problem, and no case."""
    text, expected = HOPELESS[name]
    assert case_in(tmp_path, text, book) == (None, [expected])


@pytest.mark.parametrize(
    "key", ["history", "safety", "bench", "readings", "symptoms", "inspected", "work", "confirmed"]
)
def test_a_section_left_empty_says_nothing(tmp_path: Path, book: Book, key: str) -> None:
    """A key with nothing below it, as a form that is not filled in yet has, is as good as no key."""
    bare = good_case(tmp_path, "case: c\nrig: finch\n", book)
    assert replace(good_case(tmp_path, f"case: c\nrig: finch\n{key}:\n", book), place=bare.place) == bare


def test_a_missing_file(tmp_path: Path, book: Book) -> None:
    """No file, no case, one problem."""
    case, problems = read_case(tmp_path / "gone.yaml", book)
    assert case is None
    assert [problem.id for problem in problems] == ["unreadable"]


def test_a_network_is_kept_for_the_book_it_is_made_from(book: Book) -> None:
    """Two books that name a rig alike do not share its network, and no book need be hashable."""
    other = replace(book, rigs={id: replace(rig, title="another") for id, rig in book.rigs.items()})
    ours, theirs = assembly_of(book, "finch"), assembly_of(other, "finch")
    assert (ours.rig.title, theirs.rig.title) == (book.rigs["finch"].title, "another")
    assert assembly_of(other, "finch") is theirs


def test_names_agree_with_the_assembly(book: Book, tmp_path: Path) -> None:
    """What a case may name is what the rig's own network holds."""
    assembly = assembly_of(book, "finch")
    assert assembly_of(book, "finch") is assembly
    text = "rig: finch\nsymptoms:\n" + "".join(f"  {name}: not known\n" for name in assembly.indications)
    text += "inspected:\n" + "".join(f"  {name}: good\n" for name in assembly.parts)
    text += "confirmed: [" + ", ".join(cause for cause, _, _ in assembly.causes()) + "]\n"
    case = good_case(tmp_path, text, book)
    assert {seen.name for seen in case.observations} == set(assembly.indications)
    assert set(case.inspected) == set(assembly.parts)
    assert set(case.confirmed or ()) == {cause for cause, _, _ in assembly.causes()}
