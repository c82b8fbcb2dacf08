"""Where an interview stands: entries, taking them back, set-ups, work and its proof, and how it closes."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.interview.course import PROVEN, REMEDY, STOPPED, Course
from diagnose.interview.record import DONE, OBSERVED, NoSuchEntryError, record_of
from diagnose.interview.steps import REPAIR, TELL
from diagnose.model.case import Observation
from tests.interview.bench import course, entered, seen

WEAK = {"output_network__power": "low", "final__plate_current": "low"}


def weak() -> Course:
    """A set with too little output."""
    return entered(course(), **WEAK)


def test_an_entry_gives_a_new_course() -> None:
    """The old one stays as it was, and the new one knows the diagnosis before."""
    before = weak()
    old = before.standing
    after = entered(before, final__grid_current="0.5 mA")
    assert len(before.case.observations) == 2
    assert after.earlier is old
    assert after.standing.parts != old.parts


def test_a_check_is_proposed_with_what_it_shows() -> None:
    """The first of the advice, asked for what is not known yet."""
    now = weak()
    step = now.proposal
    assert step is not None
    assert step.purpose == TELL
    assert step.id == now.standing.advice.next[0].check  # type: ignore[union-attr]
    assert step.names
    assert not set(step.names) & now.known


def test_the_bench_follows_the_check_that_was_answered() -> None:
    """Set-up is paid once: the next advice starts from the bench as it is left."""
    now = weak()
    step = now.proposal
    assert step is not None
    after = now.enter(seen(now, step.names[0], "?"), check=step.id)
    assert dict(after.case.bench) == {**now.case.bench, **step.placed.check.setup}
    assert step.advised.setup_changes
    assert after.step(step.id).advised.setup_changes == ()


def test_what_cannot_be_taken_is_not_asked_again() -> None:
    """A check, one thing of it, or what the person does not know."""
    now = weak()
    step = now.proposal
    assert step is not None
    assert step.id not in [option.id for option in now.cannot(step.id).options]
    unknown = now.enter(*(Observation(name) for name in step.names), check=step.id)
    assert step.id not in [option.id for option in unknown.options]


def test_a_check_that_found_all_well_proves_what_it_proves() -> None:
    """And one that did not takes the proof away."""
    now = course(safe=False)
    sign, check = "mains.earth_missing", "mains.earth_continuity"
    good = now.enter(seen(now, sign, "n"), check=check)
    assert good.case.safety == ("earthed",)
    bad = good.enter(seen(now, sign, "y"), check=check)
    assert bad.case.safety == ()
    assert now.enter(seen(now, sign, "?"), check=check).case.safety == ()


def test_work_parts_the_time() -> None:
    """What was read before it keeps its place in time, what is read after it is of now."""
    done = weak().did("replaced the final tube", ["final.final_tube"])
    assert [o.period for o in done.case.observations] == [0, 0]
    assert done.known == frozenset()
    assert done.abnormal == ()
    after = entered(done, output_network__power="60 W")
    assert after.case.observations[-1].period == 1
    assert after.is_now(after.case.observations[-1])


def test_work_leaves_the_live_set_up() -> None:
    """Nobody works on a live set: the next live check asks for its set-up and cautions anew."""
    now = course(bench={"power": "hv", "cover": "off"})
    assert dict(now.did("new tube").case.bench) == {"power": "off", "cover": "off"}


def test_after_work_its_proof_comes_first() -> None:
    """What the remedy says to read again and the sign that was seen, then the final readings."""
    done = weak().did("replaced the final tube", ["final.final_tube"])
    assert {"output_network.power", "final.plate_current"} <= set(done.to_prove)
    assert done.proposal is not None
    assert done.proposal.purpose == REPAIR
    now = done
    for name in done.to_prove:
        assert not now.cured
        now = now.enter(seen(now, name, "normal"))
    assert now.cured
    assert "hv.voltage" in now.proof_missing
    assert now.proposal is not None
    assert set(now.proposal.names) & set(now.proof_missing)


def test_work_that_was_no_cure_is_no_cure() -> None:
    """The sign is still there."""
    done = weak().did("replaced the final tube", ["final.final_tube"])
    now = done
    for name in done.to_prove:
        now = now.enter(seen(now, name, "low" if name == "output_network.power" else "normal"))
    assert not now.to_prove
    assert not now.cured
    assert now.abnormal


def test_new_trouble_after_work_points_at_the_work() -> None:
    """Only what was not there before it."""
    done = weak().did("replaced the filter capacitors", ["hv.input_capacitor"])
    now = entered(done, final__plate_current="low", hv__unsteady="y")
    assert now.fresh_trouble == ("hv.unsteady",)
    assert weak().fresh_trouble == ()


def test_a_stop_order_closes_until_work_answers_it() -> None:
    """Nothing is asked while it stands."""
    now = entered(course(), modulator__red_plates="y")
    assert now.closing is not None
    assert now.closing.kind == STOPPED
    assert now.options == ()
    assert now.proposal is None
    answered = now.did("switched off", answers="modulator.red_plates")
    assert not answered.standing.stop_orders


def test_it_closes_with_the_remedy_that_is_worth_doing() -> None:
    """A sure cause ends the questions."""
    now = entered(course(), antenna_relay__transmit_path="lossy", output_network__power="normal")
    now = entered(now, antenna_relay__cleaning_restores="y")
    while now.closing is None:
        step = now.proposal
        assert step is not None
        now = now.enter(*(seen(now, name, "normal") for name in step.names), check=step.id)
    assert now.closing.kind == REMEDY
    assert now.closing.cause is not None
    assert now.closing.cause.part == "antenna_relay.contacts"


def test_a_healthy_set_is_proven_to_the_end() -> None:
    """Asked for what proves it, all answered well, it is proven good."""
    now = course("kestrel_30", mode="cw")
    for _ in range(40):
        if now.closing is not None:
            break
        step = now.proposal
        assert step is not None
        now = now.enter(*(seen(now, name, "normal") for name in step.names), check=step.id)
    assert now.closing is not None
    assert now.closing.kind == PROVEN


def test_under_other_conditions_the_old_readings_keep_theirs() -> None:
    """A new line voltage is that of the next readings only."""
    now = entered(course(mains=117.0, band="20m"), final__plate_current="120 mA")
    later = entered(now.under(mains=110.0, band="40m"), final__grid_current="3 mA")
    first, second = later.case.observations
    assert (first.mains, first.band) == (117.0, "20m")
    assert (second.mains, second.band) == (None, "")
    assert (later.case.mains, later.case.band) == (110.0, "40m")


def test_any_entry_can_be_changed() -> None:
    """It keeps its time and who told it; work keeps its parts."""
    now = entered(course(), final__plate_current="95 mA").did("new tube", ["final.final_tube"])
    number = [entry.kind for entry in record_of(now.case)].index(OBSERVED) + 1
    changed = now.amend(number, seen(now, "final.plate_current", "120 mA"))
    assert changed.case.observations[0] == replace(now.case.observations[0], value=120.0, as_written="120 mA")
    reworded = now.amend(number + 1, "another tube")
    assert reworded.case.work[0] == replace(now.case.work[0], did="another tube")
    with pytest.raises(NoSuchEntryError):
        now.amend(99, "nothing")
    with pytest.raises(NoSuchEntryError):
        now.strike(0)


_STEPS = st.lists(st.sampled_from(["reading", "sign", "work", "cannot", "prove"]), max_size=8)


@given(_STEPS, st.data())
def test_what_is_struck_out_was_never_entered(steps: list[str], data: st.DataObject) -> None:
    """Striking an entry that came last restores the case; striking any keeps the others in their order of time."""
    now = course("kestrel_30", safe=False)
    for number, step in enumerate(steps):
        before = now
        now = _entered(now, step, number)
        last = next(
            (n for n, e in enumerate(record_of(now.case), 1) if e not in record_of(before.case)), None
        )
        if last is not None and step != "work":
            assert now.strike(last).case == before.case
    if record_of(now.case):
        struck = data.draw(st.integers(1, len(record_of(now.case))))
        kind = record_of(now.case)[struck - 1].kind
        left = now.strike(struck)
        assert len(record_of(left.case)) == len(record_of(now.case)) - 1
        periods = [o.period or 0 for o in left.case.observations]
        assert all(period <= len(left.case.work) for period in periods)
        if kind != DONE:
            assert left.case.work == now.case.work


def _entered(now: Course, step: str, number: int) -> Course:
    if step == "reading":
        return now.enter(
            Observation("final.plate_current", value=90.0 + number, as_written=f"{90 + number} mA")
        )
    if step == "sign":
        return now.enter(Observation("oscillator.chirp", state="yes", as_written="yes"))
    if step == "work":
        return now.did(f"work {number}")
    if step == "cannot":
        return now.cannot("final.grid_current")
    return now.prove("earthed")


def test_striking_work_gives_its_time_back() -> None:
    """Readings after it move to the time before."""
    now = entered(course(), final__plate_current="95 mA").did("first").did("second")
    now = entered(now, final__grid_current="3 mA")
    numbers = [n for n, entry in enumerate(record_of(now.case), 1) if entry.kind == DONE]
    once = now.strike(numbers[0])
    assert [o.period for o in once.case.observations] == [0, 1]
    numbers = [n for n, entry in enumerate(record_of(once.case), 1) if entry.kind == DONE]
    assert [o.period for o in once.strike(numbers[0]).case.observations] == [None, None]
