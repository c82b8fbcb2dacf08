"""How an interview closes, as it is read: what waits for what, remedies by the numbers that `did` takes."""

from __future__ import annotations

from dataclasses import replace

from diagnose.interview.closing import closing_page, number_of, remedies
from diagnose.interview.course import NOTHING_MORE, UNSAFE, Closing, Course
from diagnose.interview.cure import convicted, cured
from diagnose.interview.standing import leaders, standing
from diagnose.interview.steps import PROOF, REPAIR
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


def worked(*, safe: bool) -> Course:
    """A set whose final tube was replaced, with what showed the trouble not looked at since."""
    now = entered(
        course("kestrel_30"),
        output_network__power="19 W",
        final__plate_current="64 mA",
        final__heater_drop_sinks_output="y",
    )
    now = now.did("new final tube", ["final.final_tube"])
    return now if safe else now.amended(safety=())


def test_a_cure_is_not_told_before_all_that_showed_the_trouble_was_read_again() -> None:
    """However few of it can be taken as things stand; what is missing is listed, and offered when it can be."""
    now = worked(safe=False)
    assert not now.to_prove
    one = entered(now, final__plate_current="normal")
    assert not one.cured
    assert "output_network.power" in one.unseen
    _, shown = held(one, ["others"])
    assert "Nothing is wrong any more" not in shown
    left = entered(worked(safe=True), final__plate_current="normal")
    assert left.proposal is not None
    assert left.proposal.purpose == REPAIR
    page = Page(80)
    one.__dict__["closing"] = Closing(NOTHING_MORE)
    closing_page(page, one, words_of(one.assembly))
    assert "this is still to be looked at: - pi network: RF power in the load" in text(page)


def test_what_cannot_be_taken_does_not_hold_the_cure_up() -> None:
    """Left out on this bench, or without the instrument that shows it."""
    now = worked(safe=True)
    for name in now.to_prove:
        now = now.cannot(name) if name == "final.plate_current" else now.enter(seen(now, name, "normal"))
    assert now.cured


def test_work_that_convicts_no_part_is_not_called_the_cure_of_one() -> None:
    """No chance is told that means nothing: it helped, and that is all that is known."""
    now = entered(course(), output_network__power="low", final__plate_current="low")
    now = now.did("cleaned it", [unlikely_part(now)])
    for name in {*now.to_prove, "output_network.power", "final.plate_current"}:
        now = now.enter(seen(now, name, "normal"))
    assert now.cured
    page = Page(80)
    cured(page, now, words_of(now.assembly))
    shown = text(page)
    assert convicted(now) == ()
    assert "bad before the work" not in shown
    assert "was the cure" not in shown
    assert "The work helped, but convicts no part" in shown


def unlikely_part(now: Course) -> str:
    """A part that leads to the low power and is hardly blamed for it."""
    blamed = {part.id: part.blame for part in now.standing.parts if not part.unnamed}
    return min((part for part in blamed if blamed[part] > 0), key=blamed.__getitem__)


def test_of_several_pieces_of_work_the_one_that_convicts_is_the_cure() -> None:
    """Both were done since the trouble was seen last."""
    now = entered(
        course("kestrel_30"),
        output_network__power="19 W",
        final__plate_current="64 mA",
        final__heater_drop_sinks_output="y",
    )
    now = now.did("new final tube", ["final.final_tube"]).did("cleaned the fuse holder", [unlikely_part(now)])
    for name in (*now.to_prove, *now.unseen):
        now = now.enter(seen(now, name, "normal" if name != "final.heater_drop_sinks_output" else "n"))
    assert now.cured
    page = Page(80)
    cured(page, now, words_of(now.assembly))
    assert "Nothing is wrong any more: new final tube was the cure." in text(page)
