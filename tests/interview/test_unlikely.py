"""What is sooner a slip is looked at once more; what is likely enough, or was seen twice, is not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.files.find import rules_folder
from diagnose.files.read_book import load_book
from diagnose.inference.answer import solved
from diagnose.inference.solve import solve
from diagnose.interview.course import Course, begin
from diagnose.interview.record import OBSERVED, record_of
from diagnose.interview.steps import AGAIN
from diagnose.interview.unlikely import SLIPS, WORTH_A_LOOK, unlikely
from diagnose.model.case import Case, Observation, Work
from diagnose.model.knowledge import Book

SAFE = ("bleeder_proven", "discharge_stick", "dummy_load", "earthed", "fused", "brought_up")
RIG = "gannet_60"
GOOD = (
    Observation("lv.voltage", "normal"),
    Observation("regulator.unsteady", "no"),
    Observation("vfo.output", "normal"),
    Observation("final.grid_current", "normal"),
    Observation("output_network.power", "normal"),
)
ODD = Observation("regulator.voltage", "absent")


@pytest.fixture(scope="module")
def book() -> Book:
    book, _ = load_book(rules_folder(), None)
    assert book is not None
    return book


def course(book: Book, *observations: Observation) -> Course:
    case = Case("t", RIG, mode="cw", band="40m", safety=SAFE, observations=observations)
    begun = begin(book, case)
    assert begun.standing
    return begun


def chance(before: Course, name: str, state: str) -> float:
    """How probable a state is by what is known: the posterior of its node, asked for in the question of before."""
    _, found = solved(before.assembly, before.case)
    node = found.question.bones.index[name]
    structure = found.question.structure([node], marks=False)
    placed = before.assembly.indications[name]
    states = solve(structure, found.question.likelihood).states[node][0]
    number = placed.indication.state_index(state)
    return float(states[number] + (states[-1] if placed.needs and not number else 0.0))


def test_a_dead_rail_in_a_set_that_works_is_looked_at_once_more(book: Book) -> None:
    before = course(book, *GOOD)
    after = before.enter(ODD)
    assert after.to_look_at == {
        "regulator.voltage": pytest.approx(chance(before, "regulator.voltage", "absent"))
    }
    step = after.proposal
    assert step is not None
    assert (step.purpose, step.names) == (AGAIN, ("regulator.voltage",))
    assert after.closing is None


def test_the_odds_of_a_slip_decide(book: Book) -> None:
    """From a third of the sign's own chance on, an answer is sooner a slip; one slip in so many wrong states."""
    before = course(book, *GOOD)
    after = before.enter(ODD)
    wrong = len(after.assembly.indications["regulator.voltage"].indication.states) - 1
    own = chance(before, "regulator.voltage", "absent")
    bound = WORTH_A_LOOK * own * wrong / (1.0 - own)

    def asked(slips: float) -> bool:
        bench = book.bench
        other = replace(book, bench=replace(bench, advice={**bench.advice, SLIPS: slips}))
        return bool(unlikely(replace(after.assembly, book=other), before.standing, after.standing))

    assert asked(1.01 * bound)
    assert not asked(0.99 * bound)
    assert not asked(0.0)


def test_what_was_seen_twice_is_believed(book: Book) -> None:
    again = course(book, *GOOD).enter(ODD).enter(ODD)
    assert not again.to_look_at
    assert "regulator.voltage" in again.abnormal


def test_what_the_second_look_does_not_show_is_gone(book: Book) -> None:
    again = course(book, *GOOD).enter(ODD).enter(replace(ODD, state="normal"))
    assert not again.to_look_at
    assert not again.abnormal


def test_it_stays_asked_for_while_other_things_are_answered(book: Book) -> None:
    later = course(book, *GOOD).enter(ODD)
    assert later.to_look_at
    later = later.enter(Observation("lv.unsteady", "no"))
    assert tuple(later.to_look_at) == ("regulator.voltage",)
    assert not later.cannot("regulator.voltage").to_look_at
    done = later.did("put in another regulator tube", ("regulator.regulator_tube",))
    assert not done.to_look_at


def test_what_goes_with_all_else_is_not_doubted(book: Book) -> None:
    """A rail found dead where the oscillator it feeds is dead too."""
    before = course(book, Observation("vfo.output", "absent"), Observation("vfo.plate_voltage", "absent"))
    after = before.enter(ODD)
    assert chance(before, "regulator.voltage", "absent") > 0.1
    assert not after.to_look_at


def test_what_was_entered_beside_observations_tells_nothing_of_their_chance(book: Book) -> None:
    before = course(book, *GOOD)
    entered = (*before.case.observations, ODD)
    work = Work("put in another regulator tube", parts=("regulator.regulator_tube",))
    for other in (replace(before.case, mains=90.0), replace(before.case, work=(work,))):
        later = Course(before.assembly, replace(other, observations=entered), before.standing)
        assert not unlikely(later.assembly, before.standing, later.standing)


def test_a_good_answer_where_all_points_at_a_fault_is_looked_at_too(book: Book) -> None:
    """The rail is dead and so is what it feeds: the drive of the stage after it, found normal, is hard to believe."""
    before = course(book, Observation("vfo.output", "absent"), ODD)
    after = before.enter(Observation("buffer.output", "normal"))
    assert chance(before, "buffer.output", "normal") < 0.03
    assert tuple(after.to_look_at) == ("buffer.output",)


@pytest.mark.parametrize(
    ("sign", "state", "needed", "not_there"),
    [
        ("heaters.one_tube_dark", "yes", "heaters.voltage", "absent"),
        ("keying.keys_by_jumper", "yes", "keying.keyed", "normal"),
        ("speech.hum_at_zero_gain", "yes", "speech.hum", "no"),
    ],
)
def test_an_answer_by_which_a_sign_could_not_have_been_seen(
    book: Book, sign: str, state: str, needed: str, not_there: str
) -> None:
    """A tube dark beside lit ones, and then no heater volts: the sign counts no more, and that tells of a slip."""
    before = course(book, Observation(sign, state))
    assert sign in before.abnormal
    after = before.enter(Observation(needed, not_there))
    assert sign not in after.abnormal
    assert after.to_look_at == {needed: 0.0}


def test_an_answer_that_contradicts_all_else_had_no_chance(book: Book) -> None:
    before = course(book, *GOOD)
    after = before.enter(Observation("load.as_measure", "dead"))
    assert after.standing.contradiction
    assert after.to_look_at == {"load.as_measure": 0.0}


def test_an_answer_that_was_changed_is_not_the_one_that_was_doubted(book: Book) -> None:
    after = course(book, *GOOD).enter(ODD)
    assert after.to_look_at
    numbers = [n for n, entry in enumerate(record_of(after.case), 1) if entry.kind == OBSERVED]
    assert not after.amend(numbers[-1], replace(ODD, state="normal")).to_look_at


def test_two_answers_that_differ_are_looked_at_a_third_time(book: Book) -> None:
    """One of them is a slip; which, the next look says. After a second look that was asked for, it is settled."""
    twice = course(book, *GOOD, replace(ODD, state="normal")).enter(ODD)
    assert twice.to_look_at == {"regulator.voltage": 0.0}
    assert not twice.enter(ODD).to_look_at
    assert not twice.enter(replace(ODD, state="normal")).to_look_at
    asked_for = course(book, *GOOD).enter(ODD)
    assert asked_for.to_look_at
    assert not asked_for.enter(replace(ODD, state="normal")).to_look_at


def test_what_the_owner_tells_is_doubted_anyhow(book: Book) -> None:
    after = course(book, *GOOD).enter(replace(ODD, told_by="owner"))
    assert not after.to_look_at
