"""To which part work was done: offered by the words of the work, and nothing said meanwhile is lost."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.interview.course import Course, begin
from diagnose.interview.keeping import Keeping
from diagnose.interview.session import Session
from diagnose.interview.touched import MOST, touched
from diagnose.interview.verbs import VERBS
from diagnose.interview.which_one import elsewhere
from diagnose.model.case import Case, Observation, Work
from tests.interview.bench import RIG, book, course, dialogue, entered
from tests.interview.test_session import Shelf, held


def weak() -> Course:
    """A set with too little output."""
    return entered(course(), output_network__power="low")


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("set the bias to 55 mA", "modulator.bias_setting"),
        ("adjusted the modulator bias", "modulator.bias_setting"),
        ("recapped the HV supply", "hv.output_capacitor"),
        ("changed the 6146s", "final.final_tube"),
        ("soldered a cold joint in the VFO", "vfo.tank_joint"),
        ("put in a fresh 6146 in the final", "final.final_tube"),
    ],
)
def test_the_parts_are_offered_by_the_words_of_the_work(said: str, part: str) -> None:
    """By stage, title, remedy or the type of the tubes; what was picked is noted."""
    now = weak()
    found = [entry.name for entry in touched(said, now.assembly)]
    assert part in found
    assert len(found) <= MOST == 8
    _, shown = held(now, [f"did {said}"])
    title = next(e.title for e in touched(said, now.assembly) if e.name == part)
    assert "To which part was it done? 1 " in shown
    assert title in shown


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("recapped the HV supply", "hv."),
        ("changed the 6146s", "final.final_tube"),
        ("soldered a cold joint in the VFO", "vfo.tank_joint"),
        ("put in a fresh 6146 in the final", "final.final_tube"),
        ("new lytics in the HV supply", "hv."),
        ("fresh bottles in the final", "final.final_tube"),
    ],
)
def test_the_best_comes_first(said: str, part: str) -> None:
    """What shares most with the words."""
    assert touched(said, weak().assembly)[0].name.startswith(part)


def test_words_of_the_shop() -> None:
    """What a shop says of work is in its bench file: with its word the part is found, without it not."""
    now = weak().assembly
    talk = {**now.book.bench.shop_talk, "rebottled": "final tube"}
    theirs = replace(now, book=replace(now.book, bench=replace(now.book.bench, shop_talk=talk)))
    assert touched("rebottled it", theirs)[0].name.startswith("final.final_tube")
    assert not any(entry.name.startswith("final.final_tube") for entry in touched("rebottled", now))


def test_a_reading_there_is_entered_after_the_question() -> None:
    """It is said so, and it is not lost; the question stands meanwhile."""
    session, shown = held(weak(), ["did changed the 6146s", "modulator.idle_current = 55 mA", "1"])
    case = session.course.case
    assert [work.parts for work in case.work] == [("final.final_tube",)]
    assert (case.observations[-1].name, case.observations[-1].value) == ("modulator.idle_current", 55.0)
    assert case.observations[-1].period == 1
    assert "is no answer to this question" in shown


def test_new_work_there_is_new_work() -> None:
    """Never words to search by; what was said before is kept without a part."""
    session, shown = held(weak(), ["did polished the knobs", "did changed the 6146s", "1"])
    assert [(work.did, work.parts) for work in session.course.case.work] == [
        ("polished the knobs", ()),
        ("changed the 6146s", ("final.final_tube",)),
    ]
    assert "Entered: work, polished the knobs." in shown


def test_the_end_may_be_said_there() -> None:
    """The work is kept, and the interview is over."""
    spoken, _ = dialogue(["did changed the 6146s", "finish"])
    session = Session(spoken, weak(), Keeping(spoken, Shelf()), VERBS, elsewhere)
    session.run(fresh=False)
    assert session.over
    assert [work.did for work in session.course.case.work] == ["changed the 6146s"]


def test_work_that_touched_no_part_leaves_every_reading() -> None:
    """It is asked for, and kept in the record; nothing is to be read again for it."""
    now = weak()
    session, shown = held(now, ["did took a break", "none", "n", "record"])
    after = session.course
    assert [(work.did, work.changed) for work in after.case.work] == [("took a break", False)]
    assert after.abnormal == now.abnormal == ("output_network.power",)
    assert not after.to_prove
    assert after.last_change is None
    assert after.case.observations[0].period is None
    assert "what was read before it is still so" in shown
    blame = {part.id: part.blame for part in now.standing.parts[:5]}
    assert {part.id: part.blame for part in after.standing.parts[:5]} == blame


def test_a_break_does_not_end_the_proof_of_the_work_before_it() -> None:
    """What the repair asks for is still asked for, and is told as the repair's."""
    now = weak().did("new final tube", ["final.final_tube"])
    session, shown = held(now, ["did took a break", "none", "n"])
    assert session.course.to_prove == now.to_prove
    assert shown.count("To see whether the work was the cure: new final tube.") == 2
    assert "was the cure: took a break" not in shown


def test_work_of_which_no_part_is_known_says_what_becomes_of_the_readings() -> None:
    """Nothing that was read before counts then."""
    for answer in (["?"], ["none", ""], ["not sure"]):
        session, shown = held(weak(), ["did changed some things in there", *answer])
        assert session.course.case.work[0].changed
        assert session.course.abnormal == ()
        assert "counts no longer" in shown


def test_none_of_the_listed_parts_is_asked_for_in_other_words() -> None:
    """`none` may mean another part than those of the list."""
    session, shown = held(weak(), ["did changed the 6146s", "none", "y", "final tube", "1"])
    assert session.course.case.work[0].parts == ("final.final_tube",)
    assert "Say it in other words" in shown


def test_several_parts_of_one_piece_of_work() -> None:
    """By their numbers."""
    session, _ = held(weak(), ["did recapped the HV supply", "1 2"])
    assert len(session.course.case.work[0].parts) == 2


@pytest.mark.parametrize("changed", [True, False])
def test_a_case_file_says_whether_work_changed_the_set(changed: bool) -> None:
    """By hand too: the readings of a period before a break are those of now."""
    work = (Work("took a break", changed=changed),)
    read = (Observation("output_network.power", "low", period=0),)
    now = begin(book(), Case("set", RIG, observations=read, work=work))
    assert bool(now.abnormal) is not changed
    assert now.is_now(read[0]) is not changed


def test_work_is_kept_where_the_answers_end_before_its_part() -> None:
    """It was done; only what it was done to is lost."""
    for lines in (["did changed the 6146s"], ["did changed the 6146s", "none"]):
        session, _ = held(weak(), lines)
        assert [work.did for work in session.course.case.work] == ["changed the 6146s"]
