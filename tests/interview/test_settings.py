"""What the intake asks once can be said at any prompt afterwards, in the words of the record."""

from __future__ import annotations

import pytest

from diagnose.interview.settings import setting
from tests.interview.bench import course, entered
from tests.interview.test_session import held


@pytest.mark.parametrize(
    ("line", "field", "value"),
    [
        ("band 20m", "band", "20m"),
        ("band = 20m", "band", "20m"),
        ("Band: 20 meters", "band", "20m"),
        ("mode phone", "mode", "phone"),
        ("mode is cw", "mode", "cw"),
    ],
)
def test_band_and_mode_are_set_at_any_question(line: str, field: str, value: str) -> None:
    """Whatever is being asked: it is no answer to that."""
    session, shown = held(entered(course(), output_network__power="low"), [line])
    assert getattr(session.course.case, field) == value
    assert f"{field.capitalize()}: {value}, from now on." in shown
    assert len(session.course.case.observations) == 1


def test_what_was_read_keeps_the_band_that_it_was_read_on() -> None:
    """Only where one was told; else the new one holds for it too, and that is said."""
    now = entered(course(band="40m"), output_network__power="low")
    session, shown = held(now, ["band 20m"])
    assert session.course.case.observations[0].band == "40m"
    assert "stays with that it was read under (Band: 40m)" in shown
    session, shown = held(entered(course(), output_network__power="low"), ["band 20m"])
    assert "It holds for what was read before too" in shown


@pytest.mark.parametrize(
    ("line", "fact", "value"),
    [
        ("years_stored 30", "years_stored", 30),
        ("years stored = 30", "years_stored", 30),
        ("stored damp: yes", "damp_storage", "yes"),
        ("last worked on: owner", "last_worked_on", "owner"),
        ("recent work = tubes changed", "recent_work", ("tubes_changed",)),
    ],
)
def test_the_history_can_be_told_later(line: str, fact: str, value: object) -> None:
    """By its name or its title."""
    session, _ = held(entered(course(), output_network__power="low"), [line])
    assert session.course.case.history[fact] == value


def test_instruments_and_the_line_too() -> None:
    """The line has a word of its own, and takes the form with a sign as well."""
    session, _ = held(course(), ["instruments = none", "mains = 112 V"])
    assert session.course.case.instruments is not None
    assert session.course.case.mains == 112


def test_what_cannot_be_set_is_refused_with_the_reason() -> None:
    """Only where it is plainly meant as one; words that only begin alike are looked up as ever."""
    session, shown = held(course(), ["band = 11m"])
    assert session.course.case.band == ""
    assert "is none of 80m, 40m" in shown
    assert setting("band switch is noisy", course()) is None
    assert setting("modulation 80 %", course()) is None
    assert setting("mode", course()) is None
