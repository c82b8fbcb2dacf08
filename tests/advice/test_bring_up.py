"""A set that stood for years gets no full power until it was brought up slowly: what is held, and what lifts it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from diagnose.advice.gates import is_live, missing_proofs
from diagnose.diagnosis import diagnose
from diagnose.files.read_case import assembly_of, read_case
from diagnose.interview.course import Course, begin
from diagnose.interview.hand import Hand
from diagnose.model.assembly import PlacedCheck
from diagnose.model.case import Case, Observation, Work
from diagnose.model.proofs import is_asked, unproven
from diagnose.model.result import Advice
from tests.outside.bench import RIGS, bench, book

FACT = "brought_up"
BRING_UP = "mains.bring_up"
OTHERS = tuple(fact for fact in book().bench.safety if fact != FACT)
WEAK = Observation("output_network.power", state="low")
CASES = sorted((Path(__file__).parents[2] / "cases").glob("*.yaml"))
(YEARS,) = (
    test.at_least for test in book().bench.safety_facts[FACT].when if test.at_least is not None
)  # from how many on


def stored(rig: str, safety: tuple[str, ...] = OTHERS, **history: object) -> Course:
    """A weak set from long storage, with all else proven."""
    told = {"years_stored": 35, "ever_worked": "yes"} | history
    return begin(book(), Case("set", rig, history=told, safety=safety, observations=(WEAK,)))


def advice(course: Course) -> Advice:
    """What is advised for it."""
    found = course.standing.advice
    assert found is not None
    return found


def offered(course: Course) -> list[PlacedCheck]:
    """What the report and the interview offer to be done now."""
    ids = dict.fromkeys([*(one.check for one in advice(course).next), *(s.id for s in course.options)])
    return [course.assembly.checks[id] for id in ids]


def live(checks: list[PlacedCheck]) -> list[str]:
    return [check.id for check in checks if is_live(book().bench, check)]


def gentle(check: PlacedCheck) -> bool:
    """Whether the set is plugged in through a lamp or a variable transformer for it, and nothing else."""
    return check.check.setup.get("power") == "limited"


@pytest.mark.parametrize("rig", RIGS)
def test_the_first_power_is_the_bring_up(rig: str) -> None:
    """Cold checks come first, no other check with power is offered, and what is held says why."""
    now = stored(rig)
    assert live(offered(now)) == [BRING_UP]
    assert offered(now)[-1].id == BRING_UP
    assert len(offered(now)) > 1
    held = advice(now).withheld
    assert held
    assert all(book().bench.safety[FACT] in one.because for one in held)
    assert FACT in now.waited_for


@pytest.mark.parametrize("rig", RIGS)
def test_an_interview_comes_to_it_before_any_other_power(rig: str) -> None:
    """Everything cold is answered as in a good set; then it is proposed, and done it lets live checks through."""
    now = stored(rig)
    for _ in range(40):
        step = now.proposal
        assert step is not None
        if is_live(book().bench, step.placed):
            break
        good = (
            Observation(name, state=now.assembly.indications[name].indication.states[0].id)
            for name in step.names
        )
        now = now.enter(*good, check=step.id)
    assert step is not None
    assert step.id == BRING_UP
    after = now.done(BRING_UP)
    assert FACT in after.case.safety
    assert after.proposal is not None
    assert is_live(book().bench, after.proposal.placed)


@pytest.mark.parametrize("rig", RIGS)
def test_it_is_asked_of_long_storage_only(rig: str) -> None:
    """Below the years, or restored since, the advice is that of a set in use; years that are not known may be many."""
    for history in ({"years_stored": YEARS - 0.5}, {"years_stored": 35, "restored_lately": "yes"}):
        given = {"ever_worked": "yes"} | history
        case = Case("set", rig, history=given, safety=OTHERS, observations=(WEAK,))
        proven = Case("set", rig, history=given, safety=(*OTHERS, FACT), observations=(WEAK,))
        assert FACT not in unproven(book().bench, case)
        assert begin(book(), case).standing.advice == begin(book(), proven).standing.advice
    for more in ({"years_stored": YEARS}, {"years_stored": YEARS, "restored_lately": "no"}):
        assert live(offered(stored(rig, **more))) == [BRING_UP]
    assert FACT in unproven(book().bench, Case("set", rig, safety=OTHERS))
    assert FACT not in unproven(
        book().bench, Case("set", rig, history={"restored_lately": "yes"}, safety=OTHERS)
    )


@pytest.mark.parametrize("rig", RIGS)
def test_once_proven_live_checks_are_offered(rig: str) -> None:
    """A set in use since, or one that was brought up, is not held back."""
    now = stored(rig, (*OTHERS, FACT))
    assert not advice(now).withheld
    assert live(offered(now))
    assert BRING_UP not in {check.id for check in offered(now)}


@pytest.mark.parametrize("rig", RIGS)
def test_cold_proofs_come_before_it(rig: str) -> None:
    """With nothing proven it waits itself, for what is proven cold; with that done it is offered."""
    now = stored(rig, ())
    assert not live(offered(now))
    needs = missing_proofs(book().bench, now.case, now.assembly.checks[BRING_UP])
    assert needs
    assert set(needs) <= {check.check.proves for check in offered(now)}
    (waiting,) = (held for held in advice(now).withheld if held.check == BRING_UP)
    assert all(book().bench.safety[need] in waiting.because for need in needs)
    assert live(offered(stored(rig, needs))) == [BRING_UP]


@pytest.mark.parametrize("rig", RIGS)
def test_what_proves_another_thing_with_power_waits_too(rig: str) -> None:
    """The bleeder is seen to work by switching the high voltage on: that is not the first power of the set."""
    for check in bench(rig).assembly.checks.values():
        if check.check.proves and is_live(book().bench, check) and check.id != BRING_UP:
            assert FACT in missing_proofs(book().bench, stored(rig).case, check)
            assert missing_proofs(book().bench, stored(rig, (FACT,)).case, check) == ()


@pytest.mark.parametrize("rig", RIGS)
def test_a_bench_without_a_lamp_is_told_what_is_wanting(rig: str) -> None:
    """Neither the bring-up nor live checks are offered; the reason and the instrument are named."""
    tools = tuple(id for id in book().bench.instruments if id != "series_lamp")
    begun = stored(rig)
    now = begun.amended(instruments=tools)
    assert not live(offered(now))
    (lamp,) = (held for held in advice(now).withheld if held.check == BRING_UP)
    assert book().bench.instruments["series_lamp"].title in lamp.because
    assert any(book().bench.safety[FACT] in held.because for held in advice(now).withheld)


@pytest.mark.parametrize("rig", RIGS)
def test_a_stop_order_comes_before_it(rig: str) -> None:
    """Nothing is offered under an order; with the sign still there no power is, the gentle one neither."""
    smoke = stored(rig).enter(Observation("connections.smoke", state="yes"))
    assert smoke.standing.stop_orders
    assert not offered(smoke)
    off = smoke.did("switched off", answers="connections.smoke")
    assert offered(off)
    assert not live(offered(off))


def test_it_comes_before_the_readings_that_prove_a_set_too() -> None:
    """Nothing wrong was found yet: the first power is the bring-up all the same."""
    case = Case("set", "kestrel_30", history={"years_stored": 35}, safety=OTHERS)
    now = begin(book(), case)
    assert live(offered(now)) == [BRING_UP]
    worked = begin(
        book(), Case("set", "kestrel_30", history={"years_stored": 35}, safety=OTHERS, work=(Work("dusted"),))
    )
    assert live(offered(worked)) == [BRING_UP]


def every_check() -> Iterator[tuple[str, PlacedCheck]]:
    for rig in RIGS:
        for check in bench(rig).assembly.checks.values():
            yield rig, check


def test_no_check_with_power_is_free_of_it_but_those_on_limited_current() -> None:
    """Of every rig; and what is free of it never has the high voltage on."""
    free = 0
    for rig, check in every_check():
        if not is_live(book().bench, check):
            assert FACT not in missing_proofs(book().bench, stored(rig).case, check)
        elif FACT not in missing_proofs(book().bench, stored(rig).case, check):
            free += 1
            assert gentle(check), check.id  # so the person is told to set it up
            assert check.check.instrument == "series_lamp"
    assert free >= 2 * len(RIGS)


@pytest.mark.parametrize("path", CASES, ids=lambda path: path.stem)
def test_no_demo_case_is_offered_high_voltage_from_long_storage(path: Path) -> None:
    """As if each set had stood for 35 years and was not brought up: whatever was read and proven before."""
    case, _ = read_case(path, book())
    assert case is not None
    history = {k: v for k, v in case.history.items() if k != "restored_lately"} | {"years_stored": 35}
    safety = tuple(fact for fact in case.safety if fact != FACT)
    aged = Case(**{**vars(case), "history": history, "safety": safety})
    assert is_asked(book().bench.safety_facts[FACT], aged.history)
    assembly = assembly_of(book(), aged.rig, tuple(aged.meters.values()))
    found = diagnose(assembly, aged, details=False)
    assert found.advice is not None
    for one in found.advice.next:
        check = assembly.checks[one.check]
        assert not is_live(book().bench, check) or gentle(check), one.check
        assert check.check.setup.get("power") != "hv"


def test_what_is_no_longer_proven_ends_a_check_that_has_begun() -> None:
    """A check with power that waits for it is not gone on with; the next question is of another."""
    now = stored("kestrel_30", (*OTHERS, FACT))
    bench = book().bench
    step = next(s for s in now.options if is_live(bench, s.placed) and len(s.names) > 1)
    hand = Hand()
    hand.take(step)
    hand.settle(now)
    good = now.assembly.indications[hand.name].indication.states[0].id
    now = now.enter(Observation(hand.name, state=good), check=step.id)
    hand.settle(now)
    assert hand.step is not None
    assert hand.step.id == step.id
    hand.settle(now.prove(FACT, proven=False))
    assert hand.step is not None
    assert not missing_proofs(bench, now.prove(FACT, proven=False).case, hand.step.placed)
