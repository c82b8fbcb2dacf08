"""Smoke, a smell of burning or an arc: what comes in question, and how it is looked for with the power off.

What overheats in a set and shows itself by it, and that it is looked for cold before any power: common practice.
"""

from __future__ import annotations

from functools import lru_cache

import pytest

from diagnose.advice.gates import is_live, limits_current
from diagnose.interview.course import Course, begin
from diagnose.model.case import Case, Observation
from tests.outside.bench import RIGS, bench, blame, book, leaders

SMOKE = "connections.smoke"
GATHERED = "connections.part_overheats"  # what every overheated part of the set leads to
# what a technician thinks of first at smoke: iron, filter and bypass capacitors
IRON = ("primary_winding", "plate_winding", "heater_winding", "filter_choke", "modulation_transformer")
CAPACITORS = ("input_capacitor", "output_capacitor", "screen_bypass", "bias_capacitors", "rail_bypass")


def parts(rig: str, ends: tuple[str, ...]) -> list[str]:
    """The parts of a rig whose name without the stage is one of these."""
    return [part for part in bench(rig).assembly.parts if part.partition(".")[2] in ends]


def smoked(rig: str, *, safe: bool = False) -> Course:
    """An interview in which smoke was entered and the set switched off, which answered the order."""
    begun = begin(book(), Case("smoke", rig, safety=tuple(book().bench.safety) if safe else ()))
    seen = begun.enter(Observation(SMOKE, state="yes"))
    assert seen.proposal is None
    return seen.did("switched off", answers=SMOKE)


@lru_cache(maxsize=8)
def after_switching_off(rig: str, safe: bool) -> Course:
    """The same, made once."""
    return smoked(rig, safe=safe)


@pytest.mark.parametrize("safe", [False, True])
@pytest.mark.parametrize("rig", RIGS)
def test_after_smoke_the_part_is_looked_for_with_the_power_off(rig: str, safe: bool) -> None:
    """A cold check is proposed; none with power is offered, not even to prove something, whatever is proven."""
    now = after_switching_off(rig, safe)
    assert now.closing is None
    assert now.proposal is not None
    assert now.proposal.advised.gain_bits > 0
    for step in now.options:
        assert not is_live(book().bench, step.placed), step.id
    assert now.standing.advice is not None
    held = now.standing.advice.withheld
    assert held
    for one in held:
        assert is_live(book().bench, now.assembly.checks[one.check])
        assert "smoke" in one.because


@pytest.mark.parametrize("rig", RIGS)
def test_switching_off_makes_no_sign_new(rig: str) -> None:
    """What was there before the switch was thrown is not the fault of the last work."""
    now = after_switching_off(rig, False)
    assert now.abnormal == (SMOKE,)
    assert now.fresh_trouble == ()


def test_smoke_after_work_on_a_part_is_blamed_on_that_work() -> None:
    """Switching off comes between, and is not what was touched last."""
    begun = begin(book(), Case("smoke", "kestrel_30"))
    done = begun.did("new filter capacitor", parts=("hv.input_capacitor",))
    now = done.enter(Observation(SMOKE, state="yes")).did("switched off", answers=SMOKE)
    assert now.fresh_trouble == (SMOKE,)
    assert now.last_change is not None
    assert now.last_change.did == "new filter capacitor"


@pytest.mark.parametrize("rig", RIGS)
def test_power_comes_back_only_when_no_cold_check_tells_more(rig: str) -> None:
    """With every cold check done and good, one with power is offered, and one that limits the current if any tells."""
    now = after_switching_off(rig, True)
    cold = [c for c in now.assembly.checks.values() if not is_live(book().bench, c)]
    cannot = tuple(check.id for check in cold)
    advice = now.amended(cannot=cannot).standing.advice
    assert advice is not None
    live = [now.assembly.checks[step.check] for step in advice.next]
    assert len(live) == 1
    assert is_live(book().bench, live[0])
    assert limits_current(book().bench, live[0])


@pytest.mark.parametrize("rig", RIGS)
def test_smoke_puts_capacitors_and_iron_in_question(rig: str) -> None:
    """Not the wiring alone: what shorts, and what the short overheats."""
    found = bench(rig).diagnose({"symptoms": {SMOKE: "yes"}})
    assert blame(found, *parts(rig, CAPACITORS)) > 0.25
    assert blame(found, *parts(rig, IRON)) > 0.02
    assert found.parts[0].stage != "connections"
    alone = bench(rig).diagnose({})
    for part in parts(rig, (*IRON, *CAPACITORS)):
        before = next(p.probability for p in alone.parts if p.id == part)
        assert next(p.probability for p in found.parts if p.id == part) >= before


@pytest.mark.parametrize("rig", RIGS)
def test_a_second_sign_names_the_stage(rig: str) -> None:
    """The fuse of the high voltage that blows points at that supply, iron that gets hot alone at a winding."""
    fuse = bench(rig).diagnose({"symptoms": {SMOKE: "yes", "hv.fuse_blows_here": "yes"}})
    assert all(part.startswith("hv.") for part in leaders(fuse, 3))
    iron = bench(rig).diagnose({"symptoms": {SMOKE: "yes", "mains.transformer_hot": "yes"}})
    assert all(part.endswith("_winding") for part in leaders(iron, 3))


@pytest.mark.parametrize("rig", RIGS)
def test_what_overheats_can_be_found_cold(rig: str) -> None:
    """Every sign of an overheated part is revealed by a check without power."""
    assembly = bench(rig).assembly
    signs = {link.parent for link in assembly.links if link.child == GATHERED}
    assert len(signs) > 5
    for sign in (GATHERED, *signs):
        checks = [c for c in assembly.checks.values() if sign in c.reveals]
        assert any(not is_live(book().bench, c) for c in checks), sign


@pytest.mark.parametrize(
    ("rig", "part", "cold"),
    [
        (
            "kestrel_30",
            "final.screen_bypass",
            {"final.dropper_overheats": "yes", "hv.capacitor_bulged": "no"},
        ),
        ("gannet_60", "lv.input_capacitor", {"lv.capacitor_bulged": "yes", "mains.transformer_cooked": "no"}),
        ("petrel_90", "regulator.line_bypass", {"regulator.feed_scorched": "yes"}),
        ("skua_150", "bias.selenium_stack", {"bias.stack_smells": "yes"}),
    ],
)
def test_the_scorched_part_names_the_short(rig: str, part: str, cold: dict[str, str]) -> None:
    """What is found cold leads to the part that heated it."""
    found = bench(rig).diagnose({"symptoms": {SMOKE: "yes", **cold}})
    assert leaders(found, 1) == [part]


@pytest.mark.parametrize("rig", RIGS)
def test_an_arc_is_looked_for_where_volts_are_high(rig: str) -> None:
    """Sizzling comes from the final and its tank as well as from sockets and strips."""
    found = bench(rig).diagnose({"symptoms": {"connections.sizzling": "yes"}})
    by_stage = {
        stage: sum(p.blame for p in found.parts if p.stage == stage)
        for stage in bench(rig).assembly.rig.stages
    }
    assert by_stage["final"] > 0.1
    assert by_stage["output_network"] > 0.1
    assert by_stage["connections"] > 0.05
