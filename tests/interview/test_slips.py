"""Slips of the pen: what can hardly be meant is asked again with the reason, at the intake and at any prompt."""

from __future__ import annotations

import pytest

from diagnose.interview.facts import fact_of
from diagnose.interview.rig_choice import choose_rig, complaint_in, nearest_rig, questions
from tests.interview.bench import book, course, dialogue, entered
from tests.interview.test_intake import SAFE, STORED, taken_in
from tests.interview.test_session import Shelf, held


@pytest.mark.parametrize("slip", ["11.7", "1170 V", "60", "177"])
def test_a_line_voltage_far_from_the_usual_has_to_be_said_twice(slip: str) -> None:
    """A comma or a digit gone astray; the same once more is believed where a rig can be fed with it."""
    lines = ["", "", "", slip, "117", "skip", *["n"] * SAFE]
    now, shown, ended = taken_in(lines)
    assert ended
    assert now.case.mains == 117.0
    assert "for 117 V" in shown


def test_a_slow_bring_up_is_said_twice() -> None:
    """Forty volts from a variable transformer are normal work."""
    now, shown, _ = taken_in(["", "", "", "40", "40", "skip", *["n"] * SAFE])
    assert now.case.mains == 40.0
    assert "40 V is far from the 117 V that this set is made for. Say it once more if it is so." in shown


def test_lines_as_lines_are_need_to_be_said_once() -> None:
    """From 100 V to 130 V at a set for 117 V."""
    for volts in ("100", "110", "117", "125", "130"):
        now, _, _ = taken_in(["", "", "", volts, "skip", *["n"] * SAFE])
        assert now.case.mains == float(volts)


def test_another_line_voltage_later_is_doubted_too() -> None:
    """By `mains` and by `amend`."""
    begun = entered(course(mains=117.0), final__plate_current="90 mA")
    session, shown = held(begun, ["mains 11.9", "119"])
    assert session.course.case.mains == 119.0
    assert "11.9 V is far from the 117 V" in shown
    shelf = Shelf()
    _, shown = held(begun, ["amend 1 11.9"], shelf)
    assert shelf.kept == []
    assert "11.9 V is far from the 117 V" in shown
    session, _ = held(begun, ["amend 1 11.9 V", "amend 1 119"])
    assert session.course.case.mains == 119.0


def test_another_line_voltage_says_what_becomes_of_earlier_readings() -> None:
    """They keep the one they were read under; where none was told there is only the new one."""
    begun = entered(course(mains=117.0), final__plate_current="90 mA")
    session, shown = held(begun, ["mains 122"])
    assert "What was read before stays with the line voltage it was read under (117 V)." in shown
    assert [o.mains for o in session.course.case.observations] == [117.0]
    _, shown = held(entered(course(), final__plate_current="90 mA"), ["mains 122"])
    assert "It holds for what was read before too" in shown
    _, shown = held(entered(course(mains=117.0), final__plate_current="low"), ["mains 122"])
    assert "Line voltage from now on: 122 V." in shown
    assert "read before" not in shown


def test_a_changed_entry_is_doubted_as_a_first_one_is() -> None:
    """`amend` with a value of many times what a good set shows has to be said twice."""
    shelf = Shelf()
    begun = entered(course(), final__grid_current="3 mA")
    _, shown = held(begun, ["amend 1 145 mA"], shelf)
    assert "145 mA is 48 times what a good set shows here (3 mA). Say it once more if it is so." in shown
    assert "Changed" not in shown
    assert shelf.kept == []
    session, shown = held(begun, ["amend 1 145 mA", "amend 1 145 mA"])
    assert "Changed" in shown
    assert session.course.case.observations[0].value == 145.0


def test_absurd_years_are_asked_again() -> None:
    """No set of this kind stood for 240 years; what the book calls the most is still taken."""
    facts = book().bench.facts
    years = facts["years_stored"]
    assert fact_of("240", years, facts) == (None, "that cannot be 240; at most 100 can be meant")
    assert fact_of("100", years, facts) == (100, "")
    assert fact_of("0", years, facts) == (0, "")
    now, shown, _ = taken_in(["", "", "", "", "240", "24", "skip", *["n"] * STORED])
    assert now.case.history == {"years_stored": 24}
    assert "That cannot be 240; at most 100 can be meant." in shown


@pytest.mark.parametrize("word", ["1 banana", "banana", "2 or so"])
def test_answers_to_a_choice_are_its_numbers_or_words(word: str) -> None:
    """What is no answer is not taken for one, and the question says nothing of the names in files."""
    facts = book().bench.facts
    for fact in facts.values():
        found, reason = fact_of(word, fact, facts)
        if fact.kind == "number":
            continue
        assert found is None
        assert reason
        assert fact.id not in reason


def test_enter_chooses_no_rig() -> None:
    """Only `other` and `none` ask for the nearest; Enter asks again."""
    spoken, stream = dialogue(["", "", "kestrel"])
    rig, note = choose_rig(spoken, book())
    assert (rig.id, note) == ("kestrel_30", "")
    assert "nearest" not in stream.getvalue()


def test_a_number_with_other_words_is_asked_again() -> None:
    """`1 banana` is neither the first nor a name."""
    spoken, stream = dialogue(["1 banana", "2"])
    rig, _ = choose_rig(spoken, book())
    assert rig.id == "kestrel_30"
    assert "`1 banana`: say the number alone, or other words." in " ".join(stream.getvalue().split())


def test_the_questions_for_the_nearest_rig_ask_again_too() -> None:
    """What is none of the answers is not passed over in silence; not to know is."""
    asked = max(questions(book()), key=lambda question: question.worth(dict.fromkeys(book().rigs, 1.0)))
    assert asked
    spoken, stream = dialogue(["banana", "not sure", "none", "", "", "", "", ""])
    nearest_rig(spoken, book())
    assert "`banana` is none of these." in stream.getvalue()


def test_who_found_it_is_asked_again_with_the_reason() -> None:
    """As any other choice."""
    _, shown, _ = taken_in(["weak output", "1", "banana", "owner", "", "skip", *["n"] * SAFE])
    assert "`banana` is none of these." in shown


def test_the_note_of_a_choice_of_rig_is_no_complaint() -> None:
    """What the person said of the set stands behind it."""
    assert complaint_in("weak output") == "weak output"
    assert complaint_in("another set, taken as gannet_60") == ""
    assert complaint_in("another set, taken as gannet_60; weak output") == "weak output"
    note = "another set, taken as gannet_60 (Final amplifier, tubes: 6146; Modulator: there is one)"
    assert complaint_in(note) == ""
    assert complaint_in(f"{note}; weak output; hum") == "weak output; hum"
