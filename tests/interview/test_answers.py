"""Answers as people give them: what each is taken for, and what is asked again."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.files.document import Node
from diagnose.files.faults import Faults
from diagnose.files.read_case import case_of
from diagnose.files.read_seen import seen
from diagnose.files.scalars import plain_scalar
from diagnose.files.write_case import case_text
from diagnose.files.yaml_parse import parse_bytes
from diagnose.interview.answers import desk_of, understood
from diagnose.interview.meant import CANNOT, NO_SUCH, READ, UNCLEAR, UNKNOWN
from diagnose.interview.record import record_of
from diagnose.model.case import Case
from diagnose.problems import NOWHERE
from tests.interview.bench import RIG, assembly, book, course, entered
from tests.interview.test_session import held

CURRENT = "final.plate_current"
SIGN = "hv.unsteady"
PATTERN = "antenna_relay.transmit_path"
CASE = Case("set", RIG)


@pytest.mark.parametrize(
    ("line", "value", "within"),
    [
        ("145", 145.0, None),
        ("145 mils", 145.0, None),
        ("0.145 A", 145.0, None),
        ("it reads 145 mA.", 145.0, None),
        ("about 145", 145.0, 0.1),
        ("145ish", 145.0, 0.1),
        ("145 mA or so", 145.0, 0.1),
        ("~145", 145.0, 0.1),
    ],
)
def test_a_value_is_taken_in_the_units_of_the_trade(line: str, value: float, within: float | None) -> None:
    """A bare number is in the quantity's own unit; `about` widens it."""
    meant = understood(line, CURRENT, assembly(), CASE)
    assert meant.kind == READ
    assert meant.observation is not None
    assert meant.observation.value == pytest.approx(value)
    assert meant.observation.within == within


@pytest.mark.parametrize(
    ("line", "low", "high"),
    [
        ("60-80", 60, 80),
        ("60 - 80 mA", 60, 80),
        ("60 to 80", 60, 80),
        ("between 60 and 80 mA", 60, 80),
        ("jumps between 60 and 80", 60, 80),
        ("swings from .06 A to .08 A", 60, 80),
        ("it wanders 60..80", 60, 80),
        ("70 +- 10", 60, 80),
        ("80 mA \u00b1 25 %", 60, 100),
    ],
)
def test_a_range_is_a_range(line: str, low: float, high: float) -> None:
    """Both ends are kept, and the middle is no reading of its own."""
    meant = understood(line, CURRENT, assembly(), CASE)
    assert meant.observation is not None
    assert meant.observation.low == pytest.approx(low)
    assert meant.observation.high == pytest.approx(high)


@pytest.mark.parametrize(
    ("name", "line", "state"),
    [
        (SIGN, "y", "yes"),
        (SIGN, "Yes.", "yes"),
        (SIGN, "N", "no"),
        (SIGN, "nope", "no"),
        (CURRENT, "ok", "normal"),
        (CURRENT, "Good", "normal"),
        (CURRENT, "norm", "normal"),
        (CURRENT, "too high", "high"),
        (CURRENT, "lo", "low"),
        (CURRENT, "nothing", "absent"),
        (CURRENT, "dead", "absent"),
        ("final.key_up_current", "low", "normal"),
        ("final.key_up_current", "high", "high"),
        (PATTERN, "2", "lossy"),
        (PATTERN, "los", "lossy"),
        (PATTERN, "good", "normal"),
    ],
)
def test_words_name_states(name: str, line: str, state: str) -> None:
    """States go by their ids, titles, beginnings, numbers, and by what people call them."""
    meant = understood(line, name, assembly(), CASE)
    assert meant.observation is not None
    assert meant.observation.state == state


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("not sure", UNKNOWN),
        ("don't know", UNKNOWN),
        ("?", UNKNOWN),
        ("can't measure", CANNOT),
        ("Cannot measure that.", CANNOT),
        ("can\u2019t reach it", CANNOT),
        ("no such control", NO_SUCH),
        ("there is no such thing on this set", NO_SUCH),
    ],
)
@pytest.mark.parametrize("name", [CURRENT, SIGN, PATTERN])
def test_what_is_not_known_or_not_possible(name: str, line: str, kind: str) -> None:
    """Not knowing, not being able and not having are three things, whatever is asked."""
    assert understood(line, name, assembly(), CASE).kind == kind


@pytest.mark.parametrize(
    ("name", "line", "because"),
    [
        (CURRENT, "145 V", "`145 V` is a voltage, but a current (mA) is wanted"),
        (CURRENT, "145 A", "145000 mA is not between 0 and 2000 mA"),
        (CURRENT, "n", "`n` is no value in mA"),
        (CURRENT, "no", "`no` is no value in mA"),
        (CURRENT, "1,2", "`1,2` holds a comma"),
        (CURRENT, "swings", "`swings` says that it is not steady, but not what it reads"),
        (SIGN, "good", "`good` is neither yes nor no"),
        (SIGN, "145", "`145` is neither yes nor no"),
        (PATTERN, "9", "`9` is none of the answers"),
        (PATTERN, "y", "`y` is none of the answers"),
        (CURRENT, "", "nothing was said"),
        (CURRENT, "1" * 300, "that is too long for an answer"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_the_reason(name: str, line: str, because: str) -> None:
    """Nothing is guessed: a wrong unit, an absurd value, a word of another question."""
    meant = understood(line, name, assembly(), CASE)
    assert (meant.kind, meant.observation) == (UNCLEAR, None)
    assert meant.because == because


def test_the_prefix_that_may_be_meant_is_asked_for() -> None:
    """Amperes for milliamperes is the usual slip."""
    assert understood("145 A", CURRENT, assembly(), CASE).hint == "was another prefix meant, 145 mA?"


def test_circumstances_behind_a_value() -> None:
    """Band, warmth and instrument may follow it in any order."""
    meant = understood("145 mA on 20 m cold with the panel meter", CURRENT, assembly(), CASE)
    found = meant.observation
    assert found is not None
    assert (found.value, found.band, found.warmth, found.meter) == (145.0, "20m", "cold", "panel_meter")


@given(st.text(max_size=60))
def test_no_line_breaks_it(line: str) -> None:
    """Whatever is typed is understood or refused with a reason."""
    for name in (CURRENT, SIGN, PATTERN):
        meant = understood(line, name, assembly(), CASE)
        assert (meant.kind == UNCLEAR) == bool(meant.because)
        assert (meant.observation is not None) == (meant.kind in (READ, UNKNOWN))


@given(
    st.sampled_from(["", "about ", "it reads "]),
    st.integers(1, 1999),
    st.sampled_from(["", " mA", " mils", "-{} mA", " to {}"]),
)
def test_what_is_kept_in_words_reads_back_the_same(before: str, number: int, after: str) -> None:
    """The words that go into the case file mean there what they meant at the bench."""
    line = f"{before}{number}{after.format(number + 1)}"
    meant = understood(line, CURRENT, assembly(), CASE)
    assert meant.observation is not None, line
    written = meant.observation.as_written
    desk = desk_of(assembly(), CASE)
    node = Node(plain_scalar(written), NOWHERE, NOWHERE, written)
    assert seen(CURRENT, assembly().indications[CURRENT].indication, node, desk) == meant.observation
    assert desk.faults == Faults()


@pytest.mark.parametrize(
    ("line", "state"),
    [("off scale", "high"), ("pegged", "high"), ("barely moves", "low"), ("skip", ""), ("next", "")],
)
def test_what_is_said_of_a_needle(line: str, state: str) -> None:
    """Words of the bench; what is passed over is left open."""
    meant = understood(line, CURRENT, assembly(), CASE)
    assert meant.observation is not None
    assert meant.observation.state == state


def test_a_minus_before_what_is_negative_anyway() -> None:
    """Where it is asked how far negative something is, its size counts; nowhere else."""
    meant = understood("-50 V", "final.grid_bias", assembly(), CASE)
    assert meant.observation is not None
    assert meant.observation.value == 50.0
    assert understood("-50 mA", CURRENT, assembly(), CASE).observation is None


def test_what_a_set_does_not_have_is_kept_with_the_words() -> None:
    """As a fact of the set: no check asks for it again, after other work neither, and the record says it as it was said."""
    now = entered(course(), output_network__power="low")
    name = next(n for step in now.options for n in step.names)
    sharing = [c.id for c in now.assembly.checks.values() if name in c.reveals]
    later = now.has_none(name, "no such control on mine")
    session, shown = held(later, ["record", "did new final tube", "1", "record"])
    assert shown.count("This set has none: ") == 2
    assert "(`no such control on mine`)" in shown
    after = session.course
    assert after.case.work
    for stage in (later, after):
        for check in sharing:
            placed = stage.assembly.checks[check]
            assert name not in stage.still_open(placed)
            assert name not in stage.step(check).names
        assert all(name not in step.names for step in stage.options)
        assert name not in stage.to_prove
    written = case_text(after.case, after.assembly)
    assert "no such control on mine" in written
    document, problems = parse_bytes(written.encode(), "c.yaml")
    assert document is not None
    read, problems = case_of(document, book(), problems)
    assert read is not None
    assert not problems
    assert dict(read.has_none) == {name: "no such control on mine"}
    assert read.cannot == after.case.cannot
    number = next(n for n, e in enumerate(record_of(after.case), 1) if e.kind == "cannot")
    back = after.strike(number)
    assert not back.case.has_none
    assert not back.case.cannot


def test_no_such_control_at_a_question() -> None:
    """The words are those that were typed."""
    session, shown = held(
        entered(course(), output_network__power="low"), ["There is no such control", "record"]
    )
    assert list(session.course.case.has_none.values()) == ["There is no such control"]
    assert "(`There is no such control`)" in shown
