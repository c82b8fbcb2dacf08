"""A sign that is sooner a slip is looked at once more: the dialogue of it, and that a second run asks for it again."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from diagnose.advice.gates import is_live
from diagnose.interview.course import Course, begin
from diagnose.interview.dangers import UNDER_ORDER, seen_under_order
from diagnose.interview.dialogue import Ended
from diagnose.interview.hand import Hand
from diagnose.interview.keeping import Keeping
from diagnose.interview.resuming import resumed
from diagnose.interview.screen import Turn, turn
from diagnose.interview.session import Session
from diagnose.interview.steps import AGAIN
from diagnose.interview.verbs import VERBS
from diagnose.interview.which_one import elsewhere
from diagnose.model.case import Case, Observation
from diagnose.render.page import Page
from diagnose.render.words import words_of
from tests.interview.bench import book, course, dialogue, entered, seen
from tests.interview.terminal import terminal
from tests.interview.test_session import Shelf, held
from tests.interview.test_unlikely import GOOD, ODD, RIG, SAFE

DEAD = "regulator.voltage = none"
ASKED = "Look once more: the same answer again is believed, another takes its place."


@pytest.fixture(scope="module")
def working() -> Course:
    """A set that works in all that was read."""
    now = begin(book(), Case("t", RIG, mode="cw", band="40m", safety=SAFE, observations=GOOD))
    assert now.standing
    return now


def test_it_is_asked_for_at_once_with_the_reason(working: Course) -> None:
    """In the place of what was to be asked next."""
    session, shown = held(working, [DEAD])
    assert session.step is not None
    assert (session.step.purpose, session.name) == (AGAIN, "regulator.voltage")
    assert "You found: regulated voltage, absent." in shown
    assert ASKED in shown


def test_the_same_answer_again_is_believed(working: Course) -> None:
    """And the interview goes on from there."""
    shelf = Shelf()
    session, _ = held(working, [DEAD, "none"], shelf)
    assert [o.state for o in shelf.kept[-1].observations[-2:]] == ["absent", "absent"]
    assert "regulator.voltage" in session.course.abnormal
    assert not session.course.to_look_at
    assert session.course.proposal is None or session.course.proposal.purpose != AGAIN


def test_another_answer_takes_its_place(working: Course) -> None:
    """What the second look shows is what the set is."""
    session, _ = held(working, [DEAD, "150 V"])
    assert session.course.abnormal == ()
    assert not session.course.to_look_at


@pytest.mark.parametrize("line", ["cannot", "can't measure", "not sure"])
def test_without_a_second_look_it_stays_as_it_was_entered(working: Course, line: str) -> None:
    """It is not asked for again, and the check is not called impossible for that."""
    session, shown = held(working, [DEAD, line])
    assert "regulator.voltage" in session.course.abnormal
    assert not session.course.to_look_at
    assert session.step is None or session.step.purpose != AGAIN
    if line != "not sure":
        assert "It stands as it was entered." in shown
        assert all(name not in session.course.assembly.checks for name in session.course.case.cannot)


def test_a_check_in_hand_is_gone_on_with_after_it(working: Course) -> None:
    """Where one thing of several is odd, the second look comes between, and then the rest."""
    odd = working.enter(ODD)
    several = next(step for check in odd.assembly.checks if len((step := odd.step(check)).names) > 2)
    hand = Hand()
    hand.take(several)
    now = odd.enter(seen(odd, several.names[0], "not sure"))
    hand.answered.add(several.names[0])
    hand.settle(now)
    assert hand.step is not None
    assert (hand.step.purpose, hand.name) == (AGAIN, ODD.name)
    hand.answered.add(ODD.name)
    hand.settle(now.enter(ODD))
    assert hand.step == several
    assert hand.name == several.names[1]


def test_the_person_may_choose_another_check_first(working: Course) -> None:
    """Nobody is held to it: it is proposed again after that."""
    session, _ = held(working, [DEAD])
    second = session.course.options[1].id
    session, _ = held(working, [DEAD, "others", "take 2"])
    assert session.step is not None
    assert session.step.id == second
    session, _ = held(working, [DEAD, "others", "take 2", *["not sure"] * len(session.step.names)])
    assert session.step is not None
    assert session.step.purpose == AGAIN


def test_a_stop_order_comes_first(working: Course) -> None:
    """Nothing is looked at again while power is to be removed."""
    session, shown = held(working, [DEAD, "final.red_plates = yes"])
    assert session.step is None
    assert shown.rindex("STOP. Remove power now.") > shown.rindex(ASKED)


def test_with_power_on_it_is_looked_at_with_care(working: Course) -> None:
    """What gave a stop order is seen again only when nothing cold tells more, and with a caution of its own."""
    case = replace(working.case, mode="phone")
    sign = "modulator.red_plates"
    begun = begin(book(), case)
    assert begun.standing
    red = begun.enter(Observation(sign, "yes"))
    assert tuple(red.to_look_at) == (sign,)
    now = red.did("switched off", (), sign)
    step = now.proposal
    while step is not None and step.purpose != AGAIN:
        good = (Observation(n, now.assembly.indications[n].indication.states[0].id) for n in step.names)
        now = now.enter(*good, check=step.id) if step.names else now.done(step.id)
        step = now.proposal
    assert step is not None
    assert step.names == (sign,)
    assert is_live(now.assembly.book.bench, step.placed)
    page = Page(80)
    turn(page, Turn(now, words_of(now.assembly), step, sign, said=step.advised.cautions))
    shown = " ".join(" ".join(line.plain for line in page.lines).split())
    assert "You found: modulator plates glow red." in shown
    assert UNDER_ORDER in shown
    cold = next(c for c in now.possible if c.reveals)
    assert seen_under_order(now, replace(step, placed=cold)) == ()
    later = now.enter(Observation(sign, "yes"), check=step.id)
    assert not later.to_look_at


def test_a_second_run_asks_for_it_again(working: Course) -> None:
    """It is worked out anew from what the file holds, whatever was answered since."""
    live = working.enter(ODD)
    again = resumed(book(), live.case)
    assert again.to_look_at == {name: pytest.approx(chance) for name, chance in live.to_look_at.items()}
    assert again.proposal is not None
    assert again.proposal.purpose == AGAIN
    later = entered(live, lv__unsteady="n")
    assert tuple(resumed(book(), later.case).to_look_at) == ("regulator.voltage",)
    assert not resumed(book(), live.enter(ODD).case).to_look_at
    assert not resumed(book(), live.cannot("regulator.voltage").case).to_look_at
    worked = live.did("put in another regulator tube", ("regulator.regulator_tube",))
    assert not resumed(book(), worked.case).to_look_at


def test_what_the_interview_would_have_believed_a_second_run_believes() -> None:
    """A likely sign is not doubted for having been kept in a file."""
    now = entered(course(), output_network__power="low", final__plate_current="low")
    assert not now.to_look_at
    assert not resumed(book(), now.case).to_look_at


def test_a_good_answer_that_was_the_last_is_asked_for_again_too(working: Course) -> None:
    """Where all points at a fault: the stage after a dead one cannot well be normal."""
    dead = replace(working.case, observations=(Observation("vfo.output", "absent"), ODD))
    now = begin(book(), dead)
    assert now.standing
    live = now.enter(Observation("buffer.output", "normal"))
    assert tuple(live.to_look_at) == ("buffer.output",)
    again = resumed(book(), live.case)
    assert again.to_look_at["buffer.output"] == pytest.approx(live.to_look_at["buffer.output"])
    assert not begin(book(), live.case).to_look_at


def test_what_a_set_was_brought_in_for_is_no_slip(working: Course) -> None:
    """However seldom it is: the first entry of a file, and what was told at the intake."""
    rare = Case("t", RIG, mode="cw", band="40m", safety=SAFE, observations=(ODD, *GOOD))
    assert not resumed(book(), rare).to_look_at
    assert resumed(book(), replace(rare, observations=(*GOOD, ODD))).to_look_at
    owner = replace(ODD, told_by="owner")
    assert not resumed(book(), replace(rare, observations=(*GOOD, owner))).to_look_at
    lines = ["weak output", "1", "", "regulated voltage none", "1", "", "", "skip"]
    spoken, stream = dialogue([*lines, *["y"] * len(SAFE)])
    session = Session(spoken, course(safe=False), Keeping(spoken, Shelf()), VERBS, elsewhere)
    with pytest.raises(Ended):
        session.run(fresh=True)
    assert ODD.name in session.course.abnormal, stream.getvalue()
    assert not session.course.to_look_at


def test_notes_of_the_cause_and_changes_elsewhere_do_not_lose_it(working: Course) -> None:
    """It is still to be looked at after them."""
    live = working.enter(ODD)
    assert live.confirm("final.final_tube.weak").to_look_at
    assert live.anew(live.case).to_look_at


def test_an_old_slip_is_found_by_a_second_run_though_signs_came_after_it(working: Course) -> None:
    """Each of the last six is held against all else that the file holds."""
    now = working.enter(ODD)
    first = now.case.observations[0]
    for name, state in (
        ("output_network.power", "low"),
        ("final.plate_current", "low"),
        ("final.grid_current", "low"),
        ("driver.output", "low"),
    ):
        now = now.enter(Observation(name, state))
    assert now.case.observations[0] == first
    assert len(now.abnormal) > 4
    assert ODD.name in resumed(book(), now.case).to_look_at


def test_an_entry_that_was_not_judged_yet_is_judged_before_the_next(working: Course) -> None:
    """Two entries in one go leave nothing out, nor does a file that was changed meanwhile."""
    one = working.enter(ODD)
    two = one.enter(Observation("lv.unsteady", "no"))
    assert tuple(two.to_look_at) == (ODD.name,)
    assert "standing" not in working.enter(ODD).__dict__
    assert tuple(working.enter(ODD).anew(one.case).to_look_at) == (ODD.name,)


def test_at_a_terminal(tmp_path: Path) -> None:
    """Asked for at once, asked for again by a second run after a kill, and done with after the second answer."""
    begun = f"rig: {RIG}\nmode: cw\nband: 40m\nsafety: [{', '.join(SAFE)}]\nreadings:\n"
    begun += "".join(f"  {o.name}: {o.state}\n" for o in GOOD if o.state != "no")
    begun += "symptoms:\n  regulator.unsteady: no\n"
    (tmp_path / "set.yaml").write_text(begun, encoding="utf-8")
    with terminal(tmp_path, "interview", "set.yaml") as shown:
        shown.until()
        while "So far" not in shown.screen:
            shown.type("skip" if "[y/n]" not in shown.screen.splitlines()[-2] else "")
        said = " ".join(shown.type(DEAD).split())
        assert ASKED in said
        shown.kill()
    with terminal(tmp_path, "interview", "set.yaml") as shown:
        assert ASKED in " ".join(shown.until().split())
        said = " ".join(shown.type("none").split())
        assert ASKED not in said
        assert "So far" in said


def test_what_differs_from_an_earlier_answer_says_so(working: Course) -> None:
    """It is no rare thing by all else: one of the two answers is wrong."""
    _, shown = held(working, ["output_network.power = low"])
    assert "You found: RF power in the load, low; before that, normal. One may be a slip." in shown
    assert ASKED in shown
    assert "0 of 100 such sets" not in shown
