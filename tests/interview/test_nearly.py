"""What is typed out of order is entered at once only if the words are nearly its own; else it is confirmed."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.interview.named import heard
from diagnose.interview.nearly import nearly
from tests.interview.bench import course, entered
from tests.interview.test_session import Shelf, held


@pytest.mark.parametrize(
    "line",
    [
        "driver tube good y",
        "final heater lights y",
        "relay clicks y",
        "plate relay pulls in y",
        "vfo works y",
        "screen volts 200",
    ],
)
def test_words_that_are_not_its_own_are_shown_first(line: str) -> None:
    """They may mean the opposite, or another stage: nothing is entered before it is picked."""
    shelf = Shelf()
    now = entered(course(), output_network__power="low")
    _, shown = held(now, [line], shelf)
    assert shelf.kept == []
    assert "Which of these?" in shown or "Is this meant?" in shown


def test_a_word_in_common_is_no_sign_of_another_stage() -> None:
    """Modulators that run hot are no hot coil of a relay, though both run hot."""
    session, _ = held(entered(course(), output_network__power="low"), ["modulators run hot y"])
    assert all(
        session.course.assembly.indications[o.name].stage in ("modulator", "output_network")
        for o in session.course.case.observations
    )


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("plate relay does not pull in y", "controls.relay_silent"),
        ("plate current 60 mA", "final.plate_current"),
        ("final screen voltage 200 V", "final.screen_voltage"),
        ("hv voltage 580", "hv.voltage"),
        ("modulator.screen_volts 200", "modulator.screen_volts"),
        ("line fuse blows y", "mains.fuse_blows"),
    ],
)
def test_its_own_words_are_entered_at_once(line: str, name: str) -> None:
    """An id, a title, with or without its stage, a synonym."""
    session, _ = held(entered(course(), output_network__power="low"), [line])
    assert session.course.case.observations[-1].name == name


def test_the_value_is_kept_through_the_question() -> None:
    """By number, by yes where it is one, or by other words that name what was meant."""
    now = entered(course(), output_network__power="low")
    offered = heard("screen volts 200", now).said
    place = [said.name for said in offered].index("final.screen_voltage") + 1
    session, _ = held(now, ["screen volts 200", str(place)])
    found = session.course.case.observations[-1]
    assert (found.name, found.value) == ("final.screen_voltage", 200.0)
    session, _ = held(now, ["screen volts 200", "buffer screen voltage"])
    found = session.course.case.observations[-1]
    assert (found.name, found.value) == ("buffer.screen_voltage", 200.0)
    session, shown = held(now, ["driver tube good y", "y"])
    assert "Is this meant?" in shown
    assert session.course.case.observations[-1].name == "driver.spare_tube_helps"
    session, shown = held(now, ["driver tube good y", "none"])
    assert session.course.case == now.case
    assert "Nothing is entered." in shown


def test_a_yes_to_several_answers_nothing_else() -> None:
    """Least of all what the check asks."""
    shelf = Shelf()
    _, shown = held(entered(course(), output_network__power="low"), ["screen volts 200", "y", "none"], shelf)
    assert shelf.kept == []
    assert shown.count("Which of these?") == 2


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_a_title_without_its_negation_is_never_it(data: st.DataObject) -> None:
    """Whatever a sign says is not or no: without that word it is another."""
    rig = course().assembly
    negated = [
        name
        for name, placed in rig.indications.items()
        if {"not", "no"} & set(placed.indication.title.split())
    ]
    name = data.draw(st.sampled_from(sorted(negated)))
    words = [
        word for word in rig.indications[name].indication.title.split() if word not in ("not", "no", "does")
    ]
    assert name in nearly(rig.indications[name].indication.title, rig, [name])
    said = " ".join(words)
    assert nearly(said, rig, [name]) == () or said in rig.indications[name].indication.words
