"""How an interview closes, as it is read: what waits for what, remedies by the numbers that `did` takes."""

from __future__ import annotations

from dataclasses import replace

from diagnose.interview.closing import closing_page, number_of, remedies
from diagnose.interview.course import NOTHING_MORE, UNSAFE, Closing, Course
from diagnose.interview.standing import leaders, standing
from diagnose.interview.steps import PROOF
from diagnose.render.page import Page
from diagnose.render.words import words_of
from tests.interview.bench import course, entered, seen
from tests.interview.test_session import held


def weak(*, safe: bool = True) -> Course:
    """A set with too little output."""
    return entered(course(safe=safe), output_network__power="low")


def text(page: Page) -> str:
    """A page on one line."""
    return " ".join(" ".join(line.plain for line in page.lines).split())


def with_an_unnamed_leader() -> Course:
    """A course in which a part that the book does not name stands second in the list."""
    now = weak()
    parts = now.standing.parts
    second = replace(parts[1], unnamed=True)
    now.__dict__["standing"] = replace(now.standing, parts=(parts[0], second, *parts[2:]))
    return now


def test_a_remedy_has_the_number_that_did_takes() -> None:
    """A part that the book does not name has no remedy, and is counted all the same."""
    now = with_an_unnamed_leader()
    page = Page(80)
    remedies(page, now)
    third = leaders(now.standing)[2]
    assert third.causes[0].remedy is not None
    line = next(line.plain for line in page.lines if line.plain.lstrip().startswith("3"))
    assert third.causes[0].remedy.do[1:20] in line
    assert not any(line.plain.lstrip().startswith("2") for line in page.lines)
    assert number_of(now, third.id) == 3
    session, _ = held(now, ["did 3"])
    assert session.course.case.work[0].parts == (third.id,)


def test_a_part_that_is_not_listed_has_no_number() -> None:
    """It is told by its words then."""
    now = weak()
    assert number_of(now, now.standing.parts[0].id) == 1
    assert number_of(now, "nothing.of_this_kind") == 0


def test_what_is_not_safe_says_what_is_to_be_proven() -> None:
    """Each proof once, in the words of the bench, and how it is entered."""
    now = weak(safe=False)
    now.__dict__["closing"] = Closing(UNSAFE, because="because")
    page = Page(80)
    closing_page(page, now, words_of(now.assembly))
    shown = text(page)
    assert now.waited_for
    for fact in now.waited_for:
        assert shown.count(f"- {now.assembly.book.bench.safety[fact]}") == 1
    assert "`proven` enters what is" in shown


def test_what_was_left_out_is_told_where_nothing_more_would_tell() -> None:
    """It may have been a slip, and can be taken back."""
    now = weak().cannot("final.plate_current").cannot("final.grid_current")
    now.__dict__["closing"] = Closing(NOTHING_MORE)
    page = Page(80)
    closing_page(page, now, words_of(now.assembly))
    assert "2 things were left out as not possible here; `record` lists them" in text(page)
    now = weak()
    now.__dict__["closing"] = Closing(NOTHING_MORE)
    page = Page(80)
    closing_page(page, now, words_of(now.assembly))
    assert "left out" not in text(page)


def test_a_set_that_is_proven_good_ends_the_check_in_hand() -> None:
    """What else it asks for would tell nothing: the interview closes."""
    last = "final.modulation"
    now = course()
    now = now.enter(*(seen(now, name, "normal") for name in now.proof_missing if name != last))
    step = now.step("final.envelope_on_scope")
    assert step.names[0] == last
    assert len(step.names) > 1
    now.__dict__["options"] = (replace(step, purpose=PROOF),)
    session, shown = held(now, ["normal"])
    assert "Proven good. Sign it off" in shown
    assert "same check, next question" not in shown
    assert session.step is None


def test_nothing_to_take_is_said_so() -> None:
    """No span of numbers that has none in it."""
    now = weak()
    now.__dict__["options"] = ()
    now.__dict__["closing"] = Closing(NOTHING_MORE)
    _, shown = held(now, ["take 1"])
    assert "There is no check to take." in shown
    _, shown = held(entered(course(), modulator__red_plates="y"), ["take 1"])
    assert "A stop order stands. It comes before any check." in shown
    assert "from 1 to 0" not in shown


def test_nobody_leads_without_a_list() -> None:
    """Under a stop order the parts that lead are announced only where some are listed."""
    now = entered(course(), modulator__red_plates="y")
    page = Page(80)
    standing(page, now)
    assert "So far these lead: 1." in text(page)
    now.__dict__["standing"] = replace(now.standing, parts=())
    page = Page(80)
    standing(page, now)
    assert text(page) == "So far Not judged before that is done."
