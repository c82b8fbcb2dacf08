"""A shop folder over the built-in rules: added, amended, withdrawn; and what goes wrong with it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from diagnose.files.read_book import load_book
from diagnose.model.knowledge import Book, Rig
from diagnose.problems import Problem
from tests.files.small import RIG, rules, said, write

ADDED = """\
kind: feed
parts:
  choke:
    title: choke
    remedy: {do: fit another, minutes: 40}
    modes:
      open: {title: open, prior: 1 of 1000}
rules:
  open-choke:
    from: {choke: open}
    to: {voltage: absent}
    chance: 9 of 10
    because: nothing gets past it
    source: our_book
"""

AMENDED = """\
kind: feed
amend:
  rules:
    weak-sags: {chance: 7 of 10, when: }
  parts:
    rectifier_tube:
      modes:
        weak: {prior: 9 of 100}
  title: our feed
withdraw:
  rules: [low-ripples]
  checks: read_it
"""

OURS = "sources:\n  our_book: {title: our own book}\n"


def overlaid(folder: Path, shop: Mapping[str, str]) -> tuple[Book | None, tuple[Problem, ...]]:
    """The small book with a shop folder over it."""
    return load_book(rules(folder), write(folder / "shop", shop))


def good(folder: Path, shop: Mapping[str, str]) -> Book:
    """The same, which must be without problems."""
    book, problems = overlaid(folder, shop)
    assert problems == ()
    assert book is not None
    return book


def test_additions_are_marked_local(tmp_path: Path) -> None:
    """A new part and rule beside the built-in ones; only the rule of the shop is local."""
    book = good(tmp_path, {"feed.yaml": ADDED, "sources.yaml": OURS})
    feed = book.kinds["feed"]
    assert list(feed.parts) == ["rectifier_tube", "capacitor", "choke"]
    assert [rule.id for rule in feed.rules.values() if rule.local] == ["feed/open-choke"]
    assert feed.rules["open-choke"].place.file == f"{tmp_path / 'shop'}/feed.yaml"
    assert list(book.sources) == ["handbook", "our_book"]
    assert book.shop == str(tmp_path / "shop")
    assert book.withdrawn == ()


def test_amendments_are_merged_deeply(tmp_path: Path) -> None:
    """What is not mentioned stays; an empty value takes a key away; an amended rule is local."""
    book = good(tmp_path, {"stages/feed.yaml": AMENDED})
    feed = book.kinds["feed"]
    rule = feed.rules["weak-sags"]
    assert rule.chance == pytest.approx(0.7)
    assert rule.when == ()
    assert rule.because == "a tired cathode gives less current"
    assert rule.local
    assert rule.place.file == "rules/stages/feed.yaml"
    weak = feed.parts["rectifier_tube"].modes[0]
    assert weak.prior == pytest.approx(0.09)
    assert len(weak.history) == 2
    assert feed.title == "our feed"


def test_withdrawals_are_kept_on_record(tmp_path: Path) -> None:
    """What was taken out is gone, and the book says so."""
    book = good(tmp_path, {"feed.yaml": AMENDED})
    assert "low-ripples" not in book.kinds["feed"].rules
    assert "read_it" not in book.kinds["feed"].checks
    assert book.withdrawn == ("feed/low-ripples", "feed/checks/read_it")


def test_several_shop_files_lie_over_each_other_in_order(tmp_path: Path) -> None:
    """One file of the shop may amend what another added."""
    later = "kind: feed\namend: {rules: {open-choke: {chance: 8 of 10}}}\n"
    book = good(tmp_path, {"a.yaml": ADDED, "b.yaml": later, "sources.yaml": OURS})
    assert book.kinds["feed"].rules["open-choke"].chance == pytest.approx(0.8)


def test_a_rig_of_the_shop_and_an_instrument(tmp_path: Path) -> None:
    """A whole rig is local; the bench gains what the shop adds; a built-in rig gains rows of chart."""
    shop = {
        "rigs/wren.yaml": RIG.replace("rig: finch", "rig: wren"),
        "finch.yaml": "rig: finch\nchart: [{quantity: lv.voltage, value: 300 V}]\n",
        "bench.yaml": "instruments: {bridge: {title: our bridge}}\namend: {reports: {owner: 0.7}}\n"
        "shop_talk: {firebottle: tube}\n",
        "tubes.yaml": "tubes: {'0A2': {kind: regulator, source: from memory}}\n",
    }
    book = good(tmp_path, shop)
    assert {rig.id: rig.local for rig in book.rigs.values()} == {"finch": True, "wren": True}
    assert [row.quantity for row in book.rigs["finch"].chart] == ["hv.voltage", "final.current", "lv.voltage"]
    assert list(book.bench.instruments) == ["meter", "bridge"]
    assert book.bench.reports["owner"] == pytest.approx(0.7)
    assert book.bench.shop_talk == {"firebottle": "tube"}
    assert list(book.tubes) == ["6E5", "0A2"]


ROWS = """\
rig: finch
amend:
  chart:
    - {quantity: final.current, mode: phone, band: 40m, value: 90 mA, tolerance: }
    - {quantity: hv.voltage, mode: cw, note: after the rebuild}
chart:
  - {quantity: final.current, mode: phone, band: 80m, value: 95 mA}
"""


def test_one_row_of_a_chart_is_amended_by_itself(tmp_path: Path) -> None:
    """By quantity, mode and band: what is not mentioned stays, in the row and in the chart."""
    book = good(tmp_path, {"finch.yaml": ROWS})
    rows = [(r.quantity, r.mode, r.band, r.value, r.tolerance, r.note) for r in book.rigs["finch"].chart]
    assert rows == [
        ("hv.voltage", "cw", "", 600.0, None, "after the rebuild"),
        ("final.current", "phone", "40m", 90.0, None, "dipped"),
        ("final.current", "phone", "80m", 95.0, None, ""),
    ]
    assert book.rigs["finch"].local


def test_rows_of_a_chart_are_withdrawn_by_their_quantity(tmp_path: Path) -> None:
    """All rows of it, and the book says so."""
    book = good(tmp_path, {"finch.yaml": "rig: finch\nwithdraw: {chart: [hv.voltage]}\n"})
    assert [row.quantity for row in book.rigs["finch"].chart] == ["final.current"]
    assert book.withdrawn == ("finch/chart/hv.voltage",)


def test_without_a_shop_nothing_is_local(tmp_path: Path) -> None:
    """The built-in book alone."""
    book, _ = load_book(rules(tmp_path))
    assert book is not None
    assert book.shop == ""
    assert not any(rule.local for kind in book.kinds.values() for rule in kind.rules.values())
    assert not any(isinstance(rig, Rig) and rig.local for rig in book.rigs.values())


def test_cases_and_ledger_in_the_shop_are_no_rules(tmp_path: Path) -> None:
    """The shop folder also holds what is no rule; it is passed by, broken or not."""
    shop = {"cases/one.yaml": "case: [", "ledger/x.yaml": "- ]", "mine.yaml": "case: mine\nrig: finch\n"}
    assert good(tmp_path, shop).withdrawn == ()


def test_nothing_bleeds_from_one_amendment_into_another_part(tmp_path: Path) -> None:
    """Parts that share a text by an alias are amended one by one."""
    shared = (
        "kind: two\ntitle: two\nabout: two parts alike\nquantities:\n"
        "  level: {title: level, ask: How much?, unit: V, grading: excess, limit: 5}\n"
        "parts:\n"
        "  left: {title: left, modes: &modes {bad: {title: bad, prior: 0.1}}}\n"
        "  right: {title: right, modes: *modes}\n"
    )
    folder = rules(tmp_path, {"stages/two.yaml": shared})
    amend = "kind: two\namend: {parts: {right: {modes: {bad: {prior: 0.2}}}}}\n"
    book, problems = load_book(folder, write(tmp_path / "shop", {"two.yaml": amend}))
    assert problems == ()
    assert book is not None
    parts = book.kinds["two"].parts
    assert (parts["left"].modes[0].prior, parts["right"].modes[0].prior) == (0.1, 0.2)


FAULTS = {
    "added twice": (
        "kind: feed\nrules:\n  weak-sags: {chance: 0.5}\n",
        "3:3",
        "duplicate-id: `weak-sags` is there already (rules/stages/feed.yaml:57:3)"
        " | change it under `amend: {rules: {weak-sags: ...}}`",
    ),
    "text said again": (
        "kind: feed\ntitle: mine\n",
        "2:1",
        "duplicate-id: `title` is there already (rules/stages/feed.yaml:2:1) | change it under `amend: {title: ...}`",
    ),
    "amended unknown": (
        "kind: feed\namend:\n  rules:\n    weak-sag: {chance: 0.5}\n",
        "4:5",
        "overlay-unknown: `weak-sag` is not there to be amended | did you mean `weak-sags`?",
    ),
    "amended unknown mode": (
        "kind: feed\namend: {parts: {rectifier_tube: {modes: {weakest: {prior: 0.5}}}}}\n",
        "2:42",
        "overlay-unknown: `weakest` is not there to be amended | did you mean `weak`?",
    ),
    "amended unknown section": (
        "kind: feed\namend: {patterns: {x: {title: y}}}\n",
        "2:9",
        "overlay-unknown: `patterns` is not there to be amended | did you mean `parts`?",
    ),
    "withdrawn unknown": (
        "kind: feed\nwithdraw: {rules: [low-ripples, weak-sag]}\n",
        "2:33",
        "overlay-unknown: `weak-sag` is not there to be withdrawn | did you mean `weak-sags`?",
    ),
    "withdrawn unknown section": (
        "kind: feed\nwithdraw: {rule: [weak-sags]}\n",
        "2:12",
        "overlay-unknown: `rule` holds nothing that can be withdrawn | did you mean `rules`?",
    ),
    "withdrawn as a list": (
        "kind: feed\nwithdraw: [weak-sags]\n",
        "2:11",
        "type: `withdraw` should be a mapping | write it like `withdraw: {rules: [id]}` or"
        " `amend: {rules: {id: {chance: 1 of 10}}}`",
    ),
    "amended to nonsense": (
        "kind: feed\namend: {rules: {weak-sags: {chance: often}}}\n",
        "2:37",
        "frequency: `often` is no frequency | write `8 of 10`, `3 of 1000` or a decimal from 0 to 1",
    ),
    "amended with an unknown key": (
        "kind: feed\namend: {rules: {weak-sags: {chanse: 0.5}}}\n",
        "2:29",
        "unknown-key: `chanse` is no key of a rule | known here: damages",
    ),
    "amended to another name": (
        "kind: feed\namend: {rules: {weak-sags: {to: {voltag: low}}}}\n",
        "2:34",
        "unknown-name: `voltag` is no indication of the kind feed | did you mean `voltage`?",
    ),
    "amending what no file declares": (
        "kind: fed\ntitle: fed\nabout: fed\namend: {rules: {x: {chance: 0.5}}}\n",
        "4:1",
        "overlay: there is nothing here to amend: no built-in file declares this",
    ),
    "amended row that is not there": (
        "rig: finch\namend: {chart: [{quantity: hv.voltage, mode: phone, value: 1 V}]}\n",
        "2:17",
        "overlay-unknown: the chart has no row for hv.voltage, phone to be amended | write it outside `amend` to add it",
    ),
    "row that is there": (
        "rig: finch\nchart: [{quantity: hv.voltage, mode: cw, value: 1 V}]\n",
        "2:9",
        "duplicate-id: the chart has a row for hv.voltage, cw already (rules/rigs/finch.yaml:12:5)"
        " | change it under `amend: {chart: [...]}`",
    ),
    "withdrawn row that is not there": (
        "rig: finch\nwithdraw: {chart: hv.volts}\n",
        "2:19",
        "overlay-unknown: `hv.volts` is not there to be withdrawn | did you mean `hv.voltage`?",
    ),
    "amended chart that is no list": (
        "rig: finch\namend: {chart: {hv.voltage: 1 V}}\n",
        "2:9",
        "type: `chart` should be a list, not a mapping",
    ),
    "amended row that is none": (
        "rig: finch\namend: {chart: [hv.voltage]}\n",
        "2:17",
        "type: a row of the chart should be a mapping, not the text `hv.voltage`",
    ),
    "empty section": (
        "kind: feed\nrules:\n",
        "2:7",
        "type: `rules` is empty | remove it, or write something under it",
    ),
    "nothing that says what it is": (
        "parts: {}\n",
        "1:1",
        "unknown-file: nothing at the top of this file says what it is | start it with one of: kind, rig, tubes,"
        " sources, meters, facts, safety, setups, hazards, instruments, gradings, reports, budgets, advice, shop_talk",
    ),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_of_the_shop_is_said_in_the_shops_file(name: str, tmp_path: Path) -> None:
    """Place, id, text and suggestion, and no book."""
    text, where, expected = FAULTS[name]
    book, problems = overlaid(tmp_path, {"mine.yaml": text})
    assert book is None
    lines = [line for line in said(problems) if line.startswith(f"{tmp_path / 'shop'}/mine.yaml:{where} ")]
    assert lines == [f"{tmp_path / 'shop'}/mine.yaml:{where} error {expected}"]


def test_a_withdrawn_part_leaves_its_rules_without_an_end(tmp_path: Path) -> None:
    """The rules that spoke of it must go too; they are named."""
    text = "kind: feed\nwithdraw: {parts: [capacitor]}\n"
    _, problems = overlaid(tmp_path, {"mine.yaml": text})
    assert [(p.place.file, p.place.line, p.id) for p in problems] == [
        ("rules/stages/feed.yaml", 71, "unknown-part")
    ]
    text = "kind: feed\nwithdraw: {parts: [capacitor], rules: [shorted-ruins-tube]}\n"
    book = good(tmp_path / "both", {"mine.yaml": text})
    assert book.withdrawn == ("feed/parts/capacitor", "feed/shorted-ruins-tube")
