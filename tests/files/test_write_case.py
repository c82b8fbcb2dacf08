"""What is written reads as the same case, whatever the case says and however it came about."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.files.read_book import load_book
from diagnose.files.read_case import assembly_of, case_of, read_case
from diagnose.files.write_case import case_text
from diagnose.files.yaml_parse import parse
from diagnose.files.yaml_text import amount, number, share, word
from diagnose.model.case import Case, Observation, Work
from diagnose.model.knowledge import Book
from diagnose.problems import errors
from tests.files.measured import book_in
from tests.files.small import CASE, good_book
from tests.files.test_measured_fuzz import UNSPOILT, spoilt
from tests.files.written_cases import Held, bare, cases

ROOT = Path(__file__).parents[2]


def real_book() -> Book:
    """The built-in book."""
    book, problems = load_book(ROOT / "rules")
    assert not errors(problems)
    assert book is not None
    return book


BOOK = real_book()


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """The small book."""
    return good_book(tmp_path_factory.mktemp("small"))


@pytest.fixture(scope="module")
def measured(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """The small book with all that can be said of measuring."""
    return book_in(tmp_path_factory.mktemp("measured"))


def written(case: Case, book: Book) -> str:
    """The text of a case."""
    return case_text(case, assembly_of(book, case.rig, tuple(case.meters.values())))


def case_in(text: str, book: Book, folder: Path | None = None, *, whole: bool = True) -> Case:
    """The case in a text; a `whole` one must be without problems."""
    document, problems = parse(text, "c.yaml")
    assert document is not None, problems
    case, said = case_of(document, book, problems, folder)
    assert case is not None, said
    assert not whole or list(map(str, said)) == [], text
    return case


def same(case: Case, again: Case) -> bool:
    """Whether two cases are the same but for places; NaN in a log stands for NaN."""
    return comparable(bare(case)) == comparable(bare(again, case))


def comparable(case: Case) -> tuple[Case, list[list[float | None]]]:
    """A case without what was read in its logs, and that with None for NaN."""
    columns = [(log.times, log.frequencies, log.mains, log.temperatures) for log in case.drift]
    read = [[None if math.isnan(value) else value for value in column] for log in columns for column in log]
    empty = tuple(replace(log, times=(), frequencies=(), mains=(), temperatures=()) for log in case.drift)
    return replace(case, drift=empty), read


def stays(case: Case, book: Book, folder: Path | None = None, *, whole: bool = True) -> str:
    """The text of a case, after a look that the same case and the same text come out of it."""
    text = written(case, book)
    again = case_in(text, book, folder, whole=whole)
    assert same(case, again), text
    assert written(again, book) == text
    return text


@settings(
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.large_base_example]
)
@given(cases(Held(BOOK)))
def test_any_case_of_the_real_rigs(case: Case) -> None:
    """Whatever a case may say comes back, with every digit."""
    stays(case, BOOK)


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(spoilt(("case.yaml",)))
def test_whatever_could_be_read(files: dict[str, Any]) -> None:
    """What is left of a spoilt file is written so that it stays; a meter must at least be named and have a unit."""
    assert UNSPOILT is not None
    document, problems = parse(json.dumps(files["case.yaml"]), "c.yaml")
    assert document is not None
    case, _ = case_of(document, UNSPOILT, problems)
    if case is not None and all(m.unit and m.instrument and m.title for m in case.meters.values()):
        stays(case, UNSPOILT, whole=False)


@pytest.mark.parametrize("path", sorted((ROOT / "cases").glob("*.yaml")), ids=lambda path: path.stem)
def test_the_cases_that_come_with_it(path: Path) -> None:
    """Each of them stays the same, its drift log in the file beside it."""
    case, _ = read_case(path, BOOK)
    assert case is not None
    text = stays(case, BOOK, path.parent)
    assert len(text.splitlines()) < 100


def test_the_text_is_as_a_person_would_write_it(small: Book) -> None:
    """The order of the manual, values as they were written, one line for each entry."""
    assert stays(case_in(CASE, small), small) == """\
case: first
rig: finch
about: weak
mains: 110 V
mode: cw
band: 40m
history:
  years_stored: 30
  damp: no
  worked_on_by: owner
  work: [wiring]
safety: [bleeder_proven]
bench: {power: on}
readings:
  hv.voltage: 0.58 kV
  hv.ripple: {value: 3 %, within: 5 %, mode: phone, band: 80m, mains: 100 V, told_by: owner}
  final.current: low
symptoms:
  hv.flashes: no
inspected:
  hv.rectifier_tube: good
work:
  - {did: dried it, answers: hv.flash-when-damp}
confirmed: [final.valve.weak]
"""  # fmt: skip


def test_readings_and_answers_in_the_order_they_came(small: Book) -> None:
    """An answer before a reading: one list of both; repeated names that stand together stay together."""
    flashes = Observation("hv.flashes", state="yes", as_written="y", period=0)
    volts = Observation("hv.voltage", value=580.0, as_written="580", period=0)
    case = Case("c", "finch", observations=(flashes, volts, volts), work=(Work("dried it"),))
    assert "readings:\n  - {symptom: hv.flashes, answer: yes, said: y, period: 0}\n" in stays(case, small)
    assert "symptoms:" not in written(case, small)
    case = replace(
        case, observations=(volts, replace(volts, period=1), flashes, replace(flashes, period=None))
    )
    text = stays(case, small)
    assert "  hv.voltage:\n    - {value: 580, period: 0}\n    - {value: 580, period: 1}\n" in text
    assert (
        "symptoms:\n  hv.flashes:\n    - {answer: yes, said: y, period: 0}\n    - {answer: yes, said: y}\n"
        in text
    )


WORDS = [
    (Observation("hv.voltage", value=145.0, as_written="145"), "145"),
    (Observation("hv.voltage", value=145.0, as_written="0.145 kV"), "0.145 kV"),
    (Observation("hv.voltage", value=145.0, as_written="about 145", within=0.1), "about 145"),
    (Observation("hv.voltage", value=145.0, as_written="about 145", within=0.02), "{value: about 145, within: 2 %}"),
    (Observation("hv.voltage", value=145.0, as_written="about 145"), "{value: 145 V, said: about 145}"),
    (Observation("hv.voltage", value=145.0, as_written="145 or so"), "{value: 145 V, said: 145 or so}"),
    (Observation("hv.voltage", value=145.0), "145 V"),
    (Observation("hv.voltage", value=70.0, low=60.0, high=80.0, as_written="60 to 80 V"), "60 to 80 V"),
    (Observation("hv.voltage", value=70.0, low=60.0, high=80.0, as_written="60-80"), "{value: 60 to 80 V, said: 60-80}"),
    (Observation("hv.voltage", state="low", as_written="LOW"), "LOW"),
    (Observation("hv.voltage", state="low", as_written="too low"), "{value: low, said: too low}"),
    (Observation("hv.voltage", as_written="not known"), "not known"),
    (Observation("hv.voltage", as_written="?"), "{value: not known, said: '?'}"),
    (Observation("hv.voltage", state="low", as_written="true"), "{value: low, said: 'true'}"),
    (Observation("hv.voltage", state="low", as_written="7"), "{value: low, said: '7'}"),
    (Observation("hv.flashes", state="yes", as_written="true"), "true"),
    (Observation("hv.flashes", state="yes", as_written="1"), "{answer: yes, said: '1'}"),
    (Observation("final.current", state="unsteady", as_written="jumps between 60 and 80"), "{value: unsteady, said: jumps between 60 and 80}"),
]  # fmt: skip


@pytest.mark.parametrize(("observation", "value"), WORDS, ids=[value for _, value in WORDS])
def test_the_words_of_the_person(observation: Observation, value: str, small: Book) -> None:
    """They stand alone where they say it all, and beside what was understood where they do not."""
    text = stays(Case("c", "finch", observations=(observation,)), small)
    assert text.partition(f"{observation.name}: ")[2] == value + "\n"


def test_tables_and_sockets_are_written_out(measured: Book, tmp_path: Path) -> None:
    """What came from a table or a socket stands under the names of its quantities; a log stays in its file."""
    (tmp_path / "t.csv").write_text("quantity,value,band\nfinal.current,99 mA,80m\n", encoding="utf-8")
    (tmp_path / "d.csv").write_text("time (min),frequency (kHz)\n0,7000.1\n5,7000.2\n", encoding="utf-8")
    text = (
        "rig: finch\ntables: t.csv\ndrift: {stage: final, at: output, file: d.csv}\n"
        "sockets: {V1: {1: 590 V, with: vom, range: 1000 V}}\n"
    )
    case = case_in(text, measured, tmp_path)
    text = stays(case, measured, tmp_path)
    assert "hv.voltage: {value: 590 V, with: vom, range: 1000 V}\n" in text
    assert "final.current: {value: 99 mA, band: 80m}\n" in text
    assert "drift:\n  - {stage: final, at: output, file: d.csv}\n" in text


def test_a_log_reads_well(measured: Book) -> None:
    """In minutes and kilohertz where that is exact, the units once, gaps as gaps."""
    log = "drift: {stage: final, log: [[0, 7 MHz, 117], [5, 7.00012 MHz, ~, 21], [10.5, 7.0002 MHz]]}\n"
    text = stays(case_in(f"rig: finch\n{log}", measured), measured)
    assert text.partition("drift:\n")[2] == (
        "  - stage: final\n    log:\n      - [0 min, 7000 kHz, 117 V]\n"
        "      - [5, 7000.12, null, 21 degC]\n      - [10.5, 7000.2]\n"
    )


def test_meters(measured: Book) -> None:
    """A meter with all that may be said of it."""
    meter = "{title: an old one, instrument: voltmeter, unit: V, ranges: [2.5, 1000], ohms_per_volt: 20000, accuracy: {of_full_scale: 3 %, of_reading: 0.12345678912}}"
    text = f"case: c\nrig: finch\nmeters:\n  old: {meter}\nreadings:\n  hv.voltage: {{value: 580, with: old, range: 1000 V}}\n"
    assert stays(case_in(text, measured), measured) == text


def test_a_meter_named_as_no_stage_can_be(measured: Book) -> None:
    """It is named as wrong and left out: the bench could not be laid out with it."""
    document, problems = parse("rig: finch\nmeters: {hv.probe: {instrument: voltmeter}}\n", "c.yaml")
    assert document is not None
    case, said = case_of(document, measured, problems)
    assert case is not None
    assert [problem.id for problem in said] == ["id"]
    assert case.meters == {}
    assert written(case, measured) == "case: c\nrig: finch\n"


def test_what_is_wrong_in_a_list(small: Book) -> None:
    """An entry that names nothing, and a symptom without an answer."""
    text = "rig: finch\nreadings:\n  - {value: 3 V}\n  - {symptom: hv.flashes, value: yes}\n  - {symptom: hv.flash, answer: no}\n"
    document, problems = parse(text, "c.yaml")
    assert document is not None
    case, said = case_of(document, small, problems)
    assert case is not None
    assert case.observations == ()
    assert [str(problem) for problem in said] == [
        "c.yaml:3:5: error: a reading wants `quantity`, which is not here (add `quantity:` with stage.quantity, or `symptom:` with stage.symptom)",
        "c.yaml:4:5: error: a symptom wants `answer`, which is not here (add `answer:`, yes, no or a state)",
        "c.yaml:5:15: error: `hv.flash` is no quantity or symptom of the rig finch (did you mean `hv.flashes`?)",
    ]


@given(st.text())
def test_any_text_stays_itself(text: str) -> None:
    """As a value, inside a list and inside a mapping; half a character becomes the sign for one."""
    wanted = text.encode("utf-8", "surrogatepass").decode("utf-8", "replace")
    wanted = text if wanted == text else "".join("\ufffd" if "\ud800" <= c <= "\udfff" else c for c in text)
    document, problems = parse(f"a: {word(text)}\nb: [{word(text)}, {{c: {word(text)}}}]\n", "t.yaml")
    assert problems == ()
    assert document is not None
    assert document.data == {"a": wanted, "b": [wanted, {"c": wanted}]}


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_any_number_stays_itself(value: float) -> None:
    """With all its digits."""
    document, _ = parse(f"a: {number(value)}", "t.yaml")
    assert document is not None
    assert document.data == {"a": value}


@given(st.floats(0, 1, exclude_min=True, exclude_max=True))
def test_a_share_stays_itself(value: float) -> None:
    """As a percentage only where that is exact."""
    from diagnose.files import values
    from diagnose.files.faults import Faults

    document, _ = parse(f"a: {share(value)}", "t.yaml")
    assert document is not None
    assert values.share(document.find(("a",)), Faults()) == value


def test_numbers_are_written_short() -> None:
    """No point without need, no unit that would be read as another."""
    assert (number(250.0), number(2.5), number(3), share(0.03), share(0.125)) == (
        "250",
        "2.5",
        "3",
        "3 %",
        "12.5 %",
    )
    assert (amount(250.0, "V"), amount(3.0, ""), amount(3.0, "no unit")) == ("250 V", "3", "3")
