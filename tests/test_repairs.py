"""What a report says of work done: what it cured, and what is to be looked at again."""

from __future__ import annotations

from dataclasses import replace

import pytest

from diagnose.advice.remedy import IN_VAIN, times_done
from diagnose.diagnosis import diagnose
from diagnose.files.find import rules_folder
from diagnose.files.read_book import load_book
from diagnose.files.read_case import assembly_of
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation, Work
from diagnose.render.first import View
from diagnose.render.record import record
from diagnose.render.screen import report
from diagnose.render.words import words_of

DRIVE, CURRENT = "final.grid_current", "driver.cathode_current"
NONE = (
    Observation(DRIVE, value=0.0, as_written="0 mA", period=0),
    Observation(CURRENT, value=0.0, as_written="0 mA", period=0),
    Observation("lv.voltage", value=300.0, as_written="300 V", period=0),
)
BACK = Observation(DRIVE, value=3.0, as_written="3 mA", period=1)
NEW_TUBE = Work("put in another driver tube", parts=("driver.tube",))
SAFE = ("bleeder_proven", "discharge_stick", "dummy_load", "earthed", "fused", "brought_up")
DEAD = Case(
    "dead", "gannet_60", mains=117.0, mode="cw", band="40m", safety=SAFE, observations=NONE, work=(NEW_TUBE,)
)


@pytest.fixture(scope="module")
def assembly() -> Assembly:
    book, _ = load_book(rules_folder(), None)
    assert book is not None
    return assembly_of(book, "gannet_60")


def test_a_tube_that_brought_the_drive_back_was_bad(assembly: Assembly) -> None:
    found = diagnose(assembly, replace(DEAD, observations=(*NONE, BACK)))
    (repair,) = found.repairs
    assert (repair.work, repair.part) == (1, "driver.tube")
    assert repair.bad_before > 0.95
    assert repair.bad_after < 0.01
    assert repair.cause == "driver.tube.dead"
    # the other sign was not looked at since, and comes first of what to do next
    assert found.see_again == (CURRENT,)
    assert "looked at again" in found.verdict.text
    assert found.advice is not None
    first = assembly.checks[found.advice.next[0].check]
    assert CURRENT in first.reveals


def test_what_is_to_be_looked_at_again_waits_for_what_is_not_proven(assembly: Assembly) -> None:
    found = diagnose(assembly, replace(DEAD, safety=(), observations=(*NONE, BACK)))
    assert found.advice is not None
    assert any(CURRENT in assembly.checks[held.check].reveals for held in found.advice.withheld)
    assert any(check.proves for check in found.advice.next)


def test_a_tube_that_changed_nothing_was_good(assembly: Assembly) -> None:
    still = tuple(replace(o, period=1) for o in NONE)
    before = diagnose(
        assembly, replace(DEAD, work=(), observations=tuple(replace(o, period=None) for o in NONE))
    )
    after = diagnose(assembly, replace(DEAD, observations=(*NONE, *still)))
    (repair,) = after.repairs
    was = next(part for part in before.parts if part.id == "driver.tube").probability
    assert repair.bad_before < was
    assert not after.see_again
    # the others have grown by what the tube has lost
    others = [p.id for p in before.parts[:4] if p.id != "driver.tube"]
    blame = {part.id: part.blame for part in after.parts}
    for part in before.parts:
        if part.id in others:
            assert blame[part.id] > part.blame


def test_screen_and_record_say_so(assembly: Assembly) -> None:
    found = diagnose(assembly, replace(DEAD, observations=(*NONE, BACK)))
    text = report(found, View(words_of(assembly)), 80).text()
    flat = " ".join(text.split())
    assert "1. put in another driver tube" in flat
    assert "bad before in" in flat
    assert "To be looked at again since the work" in flat
    assert "before work 1" in flat
    made = record(found)
    assert made["see_again"] == [CURRENT]
    assert made["repairs"] == [
        {
            "work": 1,
            "did": "put in another driver tube",
            "part": "driver.tube",
            "bad_before": pytest.approx(found.repairs[0].bad_before, abs=1e-7),
            "cause": "driver.tube.dead",
            "cause_chance": pytest.approx(found.repairs[0].cause_chance, abs=1e-7),
            "bad_after": pytest.approx(found.repairs[0].bad_after, abs=1e-7),
        }
    ]


def test_what_a_meter_that_was_worked_on_showed_is_to_be_read_again(assembly: Assembly) -> None:
    """Its reading of before speaks of the meter as it was: nothing of the set as it is is called abnormal by it."""
    high = Observation("final.key_up_current", value=40.0, as_written="40 mA", period=0)
    work = Work("put the right shunt across the plate meter", parts=("metering.plate_shunt",))
    before = replace(DEAD, observations=(replace(high, period=None),), work=())
    assert diagnose(assembly, before, details=False).parts[0].blame > 0
    found = diagnose(assembly, replace(DEAD, observations=(high,), work=(work,)))
    assert found.see_again == ("final.key_up_current",)
    assert not any(part.blame for part in found.parts)
    assert "looked at again" in found.verdict.text
    assert found.advice is not None
    assert found.advice.remedy is None
    shown = [assembly.checks[check.check].reveals for check in found.advice.next]
    assert any("final.key_up_current" in names for names in shown)
    # read again with the meter as it is, it stands
    again = replace(high, period=1)
    found = diagnose(assembly, replace(DEAD, observations=(high, again), work=(work,)))
    assert found.see_again == ()
    assert found.parts[0].blame > 0


def test_what_no_work_can_have_changed_so_is_set_aside(assembly: Assembly) -> None:
    """A new filter capacitor can take the screen volts away only with the rail; with that rail good nothing can."""
    screen, rail = "driver.screen_voltage", "lv.voltage"
    work = Work("put in a new filter capacitor", parts=("lv.input_capacitor",))
    before, since = Observation(screen, "low", period=0), Observation(screen, "absent", period=1)
    case = Case("screen", "gannet_60", safety=SAFE, observations=(before, since), work=(work,))
    assert diagnose(assembly, case).set_aside == 0  # it took harm in the work, and the rail with it
    good = (Observation(rail, "normal", period=1), Observation("vfo.output", "normal", period=0))
    case = replace(case, observations=(before, good[1], since, good[0]))
    found = diagnose(assembly, case)
    assert found.set_aside == 1
    assert "before work 1" in found.conflict.text
    now = diagnose(assembly, replace(case, observations=(replace(since, period=None), good[0]), work=()))
    assert [p.id for p in found.parts[:2]] == [p.id for p in now.parts[:2]]
    assert record(found)["set_aside"] == 1


IMPOSSIBLE = (
    Observation("output_network.power", "normal"),
    Observation("final.grid_current", "normal"),
    Observation("final.plate_current", "low"),
    Observation("load.as_measure", "dead"),
)


@pytest.mark.parametrize("period", [0, 1])
def test_what_contradicts_itself_is_doubted_and_not_set_aside(assembly: Assembly, period: int) -> None:
    """Only readings of one time exclude each other: nothing of the other time can have shown them wrong."""
    known = tuple(replace(o, period=period) for o in IMPOSSIBLE)
    beside = (Observation("vfo.output", "normal", period=1 - period),) if period else ()
    case = Case("two", "gannet_60", safety=SAFE, observations=(*beside, *known), work=(NEW_TUBE,))
    found = diagnose(assembly, case)
    assert found.contradiction
    assert found.set_aside == 0
    assert "exclude each other" in found.conflict.text
    assert any(finding.counted for finding in found.findings)


def test_a_sign_that_was_set_aside_is_to_be_looked_at_again(assembly: Assembly) -> None:
    work = Work("put in a new filter capacitor", parts=("lv.input_capacitor",))
    seen = (
        Observation("vfo.output", "normal", period=0),
        Observation("driver.screen_voltage", "low", period=0),
        Observation("vfo.chirp", "yes", period=0),
        Observation("driver.screen_voltage", "absent", period=1),
        Observation("lv.voltage", "normal", period=1),
    )
    found = diagnose(assembly, Case("screen", "gannet_60", safety=SAFE, observations=seen, work=(work,)))
    assert found.set_aside == 1
    assert "vfo.chirp" in found.see_again


def test_read_again_with_another_meter_it_stands(assembly: Assembly) -> None:
    """The panel meter was worked on since; what the bench's own meter shows now holds, and nothing is to be repeated."""
    high = Observation("final.key_up_current", value=40.0, as_written="40 mA", period=0)
    good = Observation("final.key_up_current", value=20.0, as_written="20 mA", period=1, meter="milliammeter")
    work = Work("put the right shunt across the plate meter", parts=("metering.plate_shunt",))
    found = diagnose(assembly, replace(DEAD, observations=(high, good), work=(work,)))
    assert found.see_again == ()
    assert "looked at again" not in found.verdict.text


def test_a_remedy_is_not_proposed_a_third_time(assembly: Assembly) -> None:
    """Twice the spare may have been bad; after that something else is."""
    dead = (
        Observation("driver.cathode_current", "absent"),
        Observation(DRIVE, "absent"),
        Observation("driver.output", "absent"),
        Observation("driver.tube_dark", "yes"),
    )
    case = Case("t", "gannet_60", safety=SAFE, observations=dead)
    found = diagnose(assembly, case)
    lead = found.parts[0].causes[0]
    done = Work("put in another", parts=(lead.part,), cures=(lead.id,))
    for times in range(IN_VAIN + 2):
        kept = tuple(replace(o, period=times or None) for o in dead)
        found = diagnose(assembly, replace(case, observations=kept, work=(done,) * times))
        assert found.advice is not None
        remedy = found.advice.remedy
        if times >= IN_VAIN:
            assert remedy is None or remedy.id != lead.id
        assert times_done(found.case, lead.id) == times
