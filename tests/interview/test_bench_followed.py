"""The bench as the interview takes it: it follows what is entered out of order, says so, and can be put right."""

from __future__ import annotations

from diagnose.interview.course import Course
from tests.interview.bench import course, entered
from tests.interview.test_session import held


def weak() -> Course:
    """A set with too little output."""
    return entered(course(), output_network__power="low")


def only_one(now: Course, **setup: str) -> tuple[str, str]:
    """Something that exactly one check shows, with that check, which wants the bench so."""
    for check in now.assembly.checks.values():
        if all(check.check.setup.get(group) == state for group, state in setup.items()):
            for name in check.reveals:
                if (
                    now.only_check(name) == check.id
                    and now.assembly.indications[name].indication.sort == "quantity"
                ):
                    return name, check.id
    raise AssertionError(f"no check wants {setup}")


def test_a_reading_out_of_order_leaves_the_bench_as_its_only_check_wants_it() -> None:
    """Read with the covers off and the high voltage on: the next check is not put behind a change back."""
    now = weak()
    name, check = only_one(now, power="hv", cover="off")
    wanted = now.assembly.checks[check].check.setup
    session, shown = held(now, [f"{name} normal"])
    bench = session.course.case.bench
    assert {group: bench[group] for group in wanted} == dict(wanted)
    assert "The bench is taken to stand as for that check: high voltage on; covers off" in shown
    assert "`bench` puts that right." in shown
    assert "Lethal voltage." in shown


def test_it_is_said_once_and_only_where_it_changes() -> None:
    """A second reading of the same set-up says nothing of it."""
    now = weak()
    name, _ = only_one(now, power="hv", cover="off")
    _, shown = held(now, [f"{name} normal", f"{name} normal"])
    assert shown.count("The bench is taken to stand as for that check") == 1


def test_what_several_checks_show_leaves_the_bench() -> None:
    """Unless one of them is in hand: then it is that one."""
    now = weak()
    step = now.proposal
    assert step is not None
    several = next(
        name
        for name, placed in now.assembly.indications.items()
        if placed.indication.sort == "quantity"
        and sum(name in check.reveals for check in now.assembly.checks.values()) > 1
        and name not in step.placed.reveals
    )
    session, _ = held(now, [f"{several} normal"])
    assert session.course.case.observations[-1].name == several
    assert session.course.case.bench == {}
    session, _ = held(now, [f"{step.names[0]} low"])
    assert {g: session.course.case.bench[g] for g in step.placed.check.setup} == dict(step.placed.check.setup)


def test_a_fault_found_out_of_order_takes_back_what_the_check_proves() -> None:
    """What was proven safe and is now told otherwise is proven no longer."""
    now = weak()
    for check in now.assembly.checks.values():
        if check.check.proves and check.reveals and now.only_check(check.reveals[0]) == check.id:
            break
    else:
        raise AssertionError("no check proves anything")
    states = now.assembly.indications[check.reveals[0]].indication.states
    session, shown = held(now, [f"{check.reveals[0]} = {states[1].id.replace('_', ' ')}"])
    assert check.check.proves not in session.course.case.safety
    assert "No longer proven" in shown


def test_the_bench_can_be_put_right() -> None:
    """`bench` shows it and takes what is otherwise; Enter leaves it."""
    session, shown = held(weak(), ["bench", "", "bench", "4", "bench", ""])
    assert shown.count("The bench is taken to stand so: power off") == 2
    assert session.course.case.bench == {"power": "hv"}
    assert "The bench is taken to stand so: high voltage on; covers fitted;" in shown
    assert "Lethal voltage." in shown


def test_no_part_is_offered_first_for_what_answers_an_order() -> None:
    """To switch off changes nothing in the set, whatever switch its words sound like."""
    now = entered(course(), modulator__red_plates="y")
    session, shown = held(now, ["did switched off", "y", "1"])
    assert "1 no part: nothing was changed in the set" in shown
    assert session.course.case.work[0].parts == ()
    session, _ = held(now, ["did switched off", "y", "2"])
    assert len(session.course.case.work[0].parts) == 1


def test_a_check_in_hand_is_set_up_again_after_an_entry_that_changed_the_bench() -> None:
    """Its next question comes with the set-up and the cautions that are needed again."""
    now = weak()
    name, other = only_one(now, power="off")
    check = next(
        c
        for c in now.assembly.checks.values()
        if c.check.setup.get("power") == "hv"
        and len(now.still_open(c)) > 1
        and name not in c.reveals
        and now.assembly.indications[now.still_open(c)[0]].indication.sort == "quantity"
    )
    assert now.assembly.checks[other].check.setup["power"] == "off"
    now.__dict__["options"] = (now.step(check.id),)
    session, shown = held(now, ["normal", f"{name} normal"])
    assert session.step is not None
    assert session.step.id == check.id
    last = shown[shown.rindex("same check, next question") :]
    assert "Set up High voltage on" in last
    assert "Danger" in last
    assert "Lethal voltage." in last
    _, shown = held(now, ["normal"])
    assert "Set up" not in shown[shown.rindex("same check, next question") :]
