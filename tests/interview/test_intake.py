"""Taking in a set: rig, complaint, line, history, instruments, safety; what is skipped, asked again, gone on with."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest

from diagnose.interview.alike import fitting_words
from diagnose.interview.course import Course
from diagnose.interview.dialogue import Ended
from diagnose.interview.facts import one_of
from diagnose.interview.intake import intake
from diagnose.interview.questions import Change
from diagnose.interview.rig_choice import Question, choose_rig, nearest_rig, questions
from tests.interview.bench import book, course, dialogue, safety_asked, seen

SAFE = len(safety_asked())
STORED = len(safety_asked(years_stored=12))  # after a word of the years: one more


def taken_in(lines: list[str], begun: Course | None = None) -> tuple[Course, str, bool]:
    """The course after an intake with these answers, what was shown, and whether it came to its end."""
    spoken, stream = dialogue(lines)
    now = course(safe=False) if begun is None else begun

    def apply(change: Change) -> Course:
        nonlocal now
        now = change(now)
        return now

    ended = intake(spoken, now, apply)
    return now, " ".join(stream.getvalue().split()), ended


def test_all_questions_answered() -> None:
    """Each lands in its place in the case."""
    lines = [
        "weak output",
        "1",
        "owner",
        "",
        "phone",
        "20m",
        "110",
        "about 25 years",
        "n",
        "y",
        "",
        "n",
        "no",
    ]
    lines += ["y", "n", "owner", "1, 3", "all but 1", *["y"] * STORED]
    now, shown, ended = taken_in(lines)
    case = now.case
    assert ended, shown
    assert case.about == "weak output"
    assert [(o.name, o.state, o.told_by) for o in case.observations] == [
        ("output_network.power", "low", "owner")
    ]
    assert (case.mode, case.band, case.mains) == ("phone", "20m", 110.0)
    assert case.history["years_stored"] == 25
    assert case.history["capacitors_replaced"] == "no"
    assert "ever_worked" not in case.history
    assert case.history["last_worked_on"] == "owner"
    assert case.history["recent_work"] == ("supply_capacitors", "tubes_changed")
    assert case.instruments is not None
    assert len(case.instruments) == len(book().bench.instruments) - 1
    assert set(case.safety) == set(book().bench.safety)


def test_wrong_answers_are_asked_again_with_the_reason() -> None:
    """A wrong unit, an absurd line, a number that is not in the list."""
    lines = ["", "", "", "110 A", "9000", "117", "-4", "12", "perhaps so", "y", "skip", *["n"] * STORED]
    now, shown, ended = taken_in(lines)
    assert ended
    assert now.case.mains == 117.0
    assert "`110 A` is a current, but a voltage (V) is wanted" in shown
    assert "9000 V is no mains for this rig" in shown
    assert "cannot be below zero" in shown
    assert "`perhaps so` is neither yes nor no; Enter leaves it open." in shown
    assert now.case.history == {"years_stored": 12, "capacitors_replaced": "yes"}
    assert now.case.safety == ()


def test_skip_still_asks_for_the_safety_of_the_bench() -> None:
    """What is not proven is taken as live, so it is always asked."""
    now, shown, ended = taken_in(["skip", "y", *["n"] * (SAFE - 1)])
    assert ended
    assert now.case.safety == (next(iter(book().bench.safety)),)
    assert shown.count("Pull the plug") == 1


def test_a_set_from_long_storage_is_asked_whether_it_was_brought_up() -> None:
    """Once, in plain words, one of which nobody knows too; not one from short storage, or restored since."""
    question = book().bench.safety_facts["brought_up"].ask
    for years, restored, times in (("35", "", 1), ("35", "no", 1), ("35", "y", 0), ("2", "", 0), ("", "", 1)):
        lines = ["", "", "", "117", years, "", "", "", "", restored, "skip", *["y"] * STORED]
        now, shown, ended = taken_in(lines)
        assert ended
        assert shown.count(question) == times
        assert ("brought_up" in now.case.safety) is bool(times)
    begun = course(safe=False, history={"years_stored": 35}).prove("brought_up")
    _, shown, _ = taken_in(["skip", *["n"] * SAFE], begun)
    assert question not in shown


def test_years_are_heeded_where_the_rest_is_skipped() -> None:
    """What was told before `skip` is known to the questions of safety."""
    _, shown, _ = taken_in(["", "", "", "117", "35", "skip", *["n"] * STORED])
    assert book().bench.safety_facts["brought_up"].ask in shown


def test_a_second_run_goes_on_after_the_last_answer() -> None:
    """The line voltage was told: mode, band and it are not asked again."""
    begun = course(safe=False, about="weak", mains=117.0)
    begun = begun.enter(seen(begun, "output_network.power", "low"))
    _, shown, ended = taken_in(["skip", *["n"] * SAFE], begun)
    assert ended
    assert "In your own words" not in shown
    assert "line voltage" not in shown
    assert "stand unused" in shown


def test_a_stop_order_comes_before_any_question() -> None:
    """Smoke is no matter of history."""
    now, shown, ended = taken_in(["smoke comes out", "1", "", ""])
    assert now.standing.stop_orders
    assert not ended
    assert "stand unused" not in shown


def test_other_words_may_be_tried_for_the_complaint() -> None:
    """What nothing fits is kept as the person said it."""
    now, shown, _ = taken_in(["xyzzy", "quirk", "no", "skip", *["n"] * SAFE])
    assert now.case.about == "xyzzy; quirk"
    assert now.case.observations == ()
    assert shown.count("count for nothing") == 2
    now, _, _ = taken_in(["weak output", "red plates", "1", "", "", "skip", *["n"] * SAFE])
    assert [o.state for o in now.case.observations] == ["yes"]


def test_a_rig_by_number_name_or_words() -> None:
    """Asked again while no set, or more than one, goes by it."""
    for lines in (["2"], ["kestrel_30"], ["Kestrel"], ["crystal cw"], ["phone", "9", "nonsense", "kestrel"]):
        rig, note = choose_rig(dialogue(lines)[0], book())
        assert (rig.id, note) == ("kestrel_30", "")


def test_another_set_is_taken_as_the_nearest() -> None:
    """Answered as each rig of the book would be, the questions end at that rig."""
    asked = list(questions(book()))
    for wanted in book().rigs:
        spoken, stream = dialogue([])
        spoken.read = _as(wanted, asked, stream)
        rig, note = choose_rig(spoken, book())
        assert rig.id == wanted
        assert note.startswith(f"another set, taken as {wanted}")


def _as(rig: str, asked: list[Question], shown: io.StringIO) -> Callable[[], str]:
    """A person who has this rig before them, and answers by number."""
    waiting = ["other"]

    def read() -> str:
        if waiting:
            return waiting.pop()
        lines = reversed(shown.getvalue().splitlines())
        found = next(question for line in lines for question in asked if line == question.ask)
        return str([rig in rigs for rigs in found.answers.values()].index(True) + 1)

    return read


def test_a_set_that_nobody_knows_anything_of_still_gets_a_rig() -> None:
    """All questions left open: it is said that the chart may not fit."""
    spoken, stream = dialogue(["other", *[""] * 9])
    rig, note = choose_rig(spoken, book())
    assert rig.id in book().rigs
    assert note
    assert "answer in words" in stream.getvalue()


def test_help_and_the_end_are_understood_at_any_question() -> None:
    """`finish` is no complaint, and `help` asks the question again."""
    spoken, stream = dialogue(["help", "finish"])
    now = course(safe=False)
    with pytest.raises(Ended):
        intake(spoken, now, lambda change: change(now))
    assert "leaves a question out" in " ".join(stream.getvalue().split())
    assert stream.getvalue().count("What is wrong with it?") == 2


def test_a_kind_of_set_may_be_answered_by_a_word_of_the_choice() -> None:
    """Such as the type of a tube, which is no number of the list; then what is built round the tubes is asked."""
    spoken, stream = dialogue(["807", "", "", "", ""])
    rig, note = nearest_rig(spoken, book())
    finals = [stage.tubes for stage in rig.stages.values() if stage.kind == "final"]
    assert any("807" in tubes for tubes in finals)
    assert "807" in note
    spoken, stream = dialogue([""] * 5)
    nearest_rig(spoken, book())
    assert stream.getvalue().count(", tubes:") == 1


def test_no_set_is_called_the_nearest_where_nothing_was_told() -> None:
    """One has to be taken, and it is said to be no more than that."""
    for lines, called in ((["807", "", "", "", ""], True), ([""] * 5, False)):
        spoken, stream = dialogue(lines)
        nearest_rig(spoken, book())
        assert ("Nearest is the" in stream.getvalue()) is called
        assert ("any of them may be the nearest" in stream.getvalue()) is not called


def test_a_kind_is_told_by_its_tubes_its_supply_its_keying_and_its_modulator() -> None:
    """All four are asked whatever the first answers were."""
    for lines in (["", "", "", "", ""], ["two 6146 in parallel", "don't know", "", "", ""]):
        spoken, stream = dialogue(lines)
        nearest_rig(spoken, book())
        shown = stream.getvalue()
        for asked in (
            "Final amplifier, tubes:",
            "high voltage, rectifier:",
            "Keying circuit, method:",
            "Modulator, ",
        ):
            assert asked in shown


@pytest.mark.parametrize(
    ("asked", "words", "rigs"),
    [
        ("Final amplifier, tubes:", "two 6146 in parallel", {"petrel_90"}),
        ("Final amplifier, tubes:", "6146s", {"petrel_90"}),
        ("Final amplifier, tubes:", "pair of 6146", {"petrel_90"}),
        ("Final amplifier, tubes:", "a single 6146", {"gannet_60"}),
        ("Final amplifier, tubes:", "an 807", {"kestrel_30"}),
        ("Final amplifier, tubes:", "811s push-pull", {"skua_150"}),
        ("Rectified plate supply, high voltage, rectifier:", "silicon diodes", {"petrel_90"}),
        ("Rectified plate supply, high voltage, rectifier:", "5R4GY", {"gannet_60", "kestrel_30"}),
        (
            "Rectified plate supply, high voltage, rectifier:",
            "a tube",
            {"gannet_60", "kestrel_30", "skua_150"},
        ),
        ("Keying circuit, method:", "grid-block keying", {"petrel_90"}),
        ("Keying circuit, method:", "key in the cathode", {"kestrel_30", "skua_150"}),
        ("Modulator, class:", "plate modulated", {"gannet_60", "petrel_90", "skua_150"}),
        ("Modulator, class:", "yes", {"gannet_60", "petrel_90", "skua_150"}),
        ("Modulator, class:", "no modulator", {"kestrel_30"}),
        ("Modulator, class:", "class B", {"skua_150"}),
        ("Modulator, class:", "two 807", {"petrel_90"}),
        ("Final amplifier, tubes:", "two of something", set()),
    ],
)
def test_a_feature_may_be_told_in_other_words(asked: str, words: str, rigs: set[str]) -> None:
    """Counts in words, plurals, and words about it; what fits several fits all of them."""
    question = next(q for q in questions(book()) if q.ask == asked)
    listed = {answer: question.shown(answer) for answer in question.answers}
    fitting = fitting_words(words, listed, question.ask, none="there is none")
    assert {rig for answer in fitting for rig in question.answers[answer]} == rigs


@pytest.mark.parametrize("line", ["40 meters", "40 metres", "40 m", "40M", "40-meter", "40 mtrs", "40"])
def test_a_band_by_its_wavelength_in_words(line: str) -> None:
    """With the unit written out, or none."""
    assert one_of(line, ("80m", "40m", "20m"))[0] == "40m"
