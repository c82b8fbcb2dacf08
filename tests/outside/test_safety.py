"""What may kill a person or a set: orders to remove power, and live work that waits for its proofs.

The dangers are facts of common practice; where one is also published, its source stands beside it.
"""

from __future__ import annotations

import re
from typing import Any

import pytest

from diagnose.advice.gates import missing_proofs
from diagnose.model.result import STOP, Diagnosis, Withheld
from tests.outside.bench import RIGS, Facts, bench, book, indications

# Danger -> signs by their name within a stage. Every sign that a rig has must give an order.
DANGERS = {
    # public encyclopedia article on the glowing plate: disconnect power at once
    "red plates": ("red_plates", "red_plate", "rectifier_plates_red"),
    # common practice
    "arcing": ("arcing", "tank_arcs", "transformer_arcs", "tuner_flashes", "rectifier_flashes", "sizzling"),
    "smoke": ("smoke", "load_smells", "dropper_overheats"),
    "a smell of burning": ("smell_of_burning", "transformer_hot", "transformer_overheats", "stack_smells"),
    # Radio World, "give your rig a thorough inspection"; AMRadio post on interlocks and shorting sticks;
    # US amateur Technician pool 2026-2030, T0A11: capacitors stay charged after switch-off
    "high voltage that stays": ("discharge_slow", "snap_on_discharge", "volts_zero_while_charged"),
    # US amateur General pool, G0B12: the interlock removes the voltage when the cabinet is opened
    "an interlock that does not open": ("interlock_defeated",),
    # RCA Transmitting Tube Manual TT-3 (1940), as cited in a public encyclopedia article on the 866A: 30 s;
    # "Mercury-vapor rectifier tubes" (article): half an hour after transport
    "mercury not heated first": ("delay_short", "mercury_on_electrodes"),
    # common practice
    "a live chassis or key": ("chassis_tingle", "key_hot", "hv_on_tank"),
    # common practice
    "a capacitor about to burst": ("capacitor_bulged", "stops_following_line"),
    # amateur forum thread on cathode keying, page 5: never screen voltage without plate voltage
    "a screen that melts": ("screen_glows",),
}
SIGNS = [(rig, name) for rig in RIGS for signs in DANGERS.values() for name in indications(rig, *signs)]
EVERY_SIGN = [
    (rig, n) for rig in RIGS for n, one in bench(rig).assembly.indications.items() if one.indication.stop
]
ORDERS = [
    (rig, id)
    for rig in RIGS
    for id, order in bench(rig).assembly.stop_orders.items()
    if not order.far_over  # these are in test_far_over.py
]
FAR_ORDERS = [
    (rig, id) for rig in RIGS for id, order in bench(rig).assembly.stop_orders.items() if order.far_over
]

PROOFS = tuple(book().bench.safety)
LIVE = "live_high_voltage"
COMPLAINTS: tuple[Facts, ...] = (
    {"readings": {"output_network.power": "low"}},
    {"readings": {"output_network.power": "absent"}},
    {"readings": {"hv.voltage": "low"}},
    {"readings": {"final.plate_current": "low", "final.grid_current": "normal"}},
    {"readings": {"final.grid_current": "low"}},
    {"symptoms": {"hv.unsteady": "yes"}},
)


def order_facts(rig: str, order: str) -> dict[str, Any]:
    """The facts under which a combined order stands."""
    placed = bench(rig).assembly.stop_orders[order]
    observed = placed.observed
    return {
        "readings": {name: state for name, state in observed.items() if state != "yes"},
        "symptoms": {name: state for name, state in observed.items() if state == "yes"},
        "history": {test.name: test.any_of[0] for test in placed.order.facts},
    }


def standing(found: Diagnosis) -> set[str]:
    return {order.id for order in found.stop_orders}


def reasons(held: Withheld) -> set[str]:
    """The proofs that a withheld check is said to wait for."""
    return {proof for proof, title in book().bench.safety.items() if title in held.because}


@pytest.mark.parametrize("danger", DANGERS)
def test_each_danger_has_its_signs(danger: str) -> None:
    """Every rig can tell of the dangers that every set has; the others where the rig has such a part."""
    rigs = {rig for rig in RIGS if list(indications(rig, *DANGERS[danger]))}
    wanted = {
        "mercury not heated first": {
            rig
            for rig in RIGS
            if any(s.features.get("rectifier") == "mercury_vapour" for s in book().rigs[rig].stages.values())
        },
        "an interlock that does not open": {
            rig
            for rig in RIGS
            if book().rigs[rig].stages["controls"].features.get("interlock", "yes") == "yes"
        },
        "a screen that melts": {
            rig for rig in RIGS if book().rigs[rig].stages["final"].features["tube"] != "triode"
        },
    }
    assert rigs == wanted.get(danger, set(RIGS))
    assert rigs


@pytest.mark.parametrize(("rig", "sign"), SIGNS)
def test_a_dangerous_sign_stops_the_work(rig: str, sign: str) -> None:
    """The order stands, the verdict is stop, and no check is advised while it stands."""
    found = bench(rig).diagnose({"symptoms": {sign: "yes"}}, advice=True)
    assert sign in standing(found)
    assert found.verdict.word == STOP
    assert found.advice is not None
    assert not found.advice.next
    assert found.advice.remedy is None


@pytest.mark.parametrize(("rig", "sign"), EVERY_SIGN)
def test_recorded_work_answers_a_sign(rig: str, sign: str) -> None:
    """Work that names the order ends it; other work does not, and a sign that is denied gives no order."""
    facts = {"symptoms": {sign: "yes"}}
    done = {**facts, "work": [{"did": "found and put right", "answers": sign}]}
    after = bench(rig).diagnose(done)
    assert sign not in standing(after)
    assert after.verdict.word != STOP
    other = {**facts, "work": [{"did": "dusted"}]}
    assert sign in standing(bench(rig).diagnose(other))
    assert not standing(bench(rig).diagnose({"symptoms": {sign: "no"}}))


@pytest.mark.parametrize(("rig", "order"), ORDERS)
def test_a_combined_order_stands_and_ends(rig: str, order: str) -> None:
    """Orders from several facts together stand when all are there, and end with the work that answers them."""
    facts = order_facts(rig, order)
    found = bench(rig).diagnose(facts)
    assert order in standing(found)
    assert found.verdict.word == STOP
    answered = {**facts, "work": [{"did": "put right", "answers": one} for one in standing(found)]}
    assert not standing(bench(rig).diagnose(answered))
    assert bench(rig).diagnose(answered).verdict.word != STOP


@pytest.mark.parametrize(
    ("rig", "order"),
    [one for one in ORDERS if len(order_facts(*one)["readings"]) + len(order_facts(*one)["symptoms"]) > 1],
)
def test_one_fact_of_a_combined_order_alone_gives_it_not(rig: str, order: str) -> None:
    """An order from two signs together does not stand on one of them."""
    facts = order_facts(rig, order)
    for section in ("readings", "symptoms"):
        for name in facts[section]:
            one = {section: {name: facts[section][name]}}
            assert order not in standing(bench(rig).diagnose(one))


@pytest.mark.parametrize("rig", RIGS)
def test_a_bypassed_interlock_stops_the_work_on_every_rig(rig: str) -> None:
    """Known from the owner or found with the ohmmeter, high voltage behind a bypassed interlock is an order.

    US amateur General question pool, G0B12: the interlock removes dangerous voltage if the cabinet is opened.
    """
    facts: dict[str, Any] = {"history": {"interlock_bypassed": "yes"}, "readings": {"hv.voltage": "normal"}}
    found = bench(rig).diagnose(facts)
    assert found.verdict.word == STOP
    assert standing(found) == {"controls.interlock-known-bypassed"}
    work = [{"did": "bypass removed, seen to open", "answers": "controls.interlock-known-bypassed"}]
    assert bench(rig).diagnose({**facts, "work": work}).verdict.word != STOP


def test_an_order_says_what_to_do_about_the_power() -> None:
    """Each order speaks of taking power, carrier or hands off, or of not switching on; none is a mere warning."""
    texts = {name: bench(rig).assembly.indications[name].indication.stop for rig, name in EVERY_SIGN}
    texts.update(
        {order: bench(rig).assembly.stop_orders[order].order.text for rig, order in (*ORDERS, *FAR_ORDERS)}
    )
    assert len(texts) > 40
    speaks = re.compile(
        r"\b(off|remove power|remove plate power|pull the|plug out|key up|hands out|no plate voltage|bring the line down"
        r"|do not switch|do not fit|do not try|do not bring|leave the (earthing )?stick|no power|may come on|leave it|"
        r"plate power)\b",
        re.IGNORECASE,
    )
    for name, text in texts.items():
        assert speaks.search(" ".join(text.split())), name


def test_the_preheating_time_is_named() -> None:
    """30 seconds each start, half an hour after transport, as the tube manual and an article have it.

    RCA Transmitting Tube Manual TT-3 (1940) as cited in a public encyclopedia article on the 866A;
    "Mercury-vapor rectifier tubes", closing remark.
    """
    signs = bench("skua_150").assembly.indications
    assert "30 seconds" in signs["controls.delay_short"].indication.stop
    assert "half an hour" in signs["hv.mercury_on_electrodes"].indication.stop


@pytest.mark.parametrize("rig", RIGS)
@pytest.mark.parametrize("complaint", COMPLAINTS, ids=str)
def test_live_work_waits_for_its_proofs(rig: str, complaint: Facts) -> None:
    """With nothing proven no check is offered whose danger asks for a proof, unless it is the proving itself."""
    hazards = book().bench.hazards
    found = bench(rig).diagnose(complaint, advice=True)
    assert found.advice is not None
    checks = bench(rig).assembly.checks
    for offered in found.advice.next:
        check = checks[offered.check].check
        assert check.proves or not check.hazard or not hazards[check.hazard].needs, offered.check
        assert check.proves or check.setup.get("power") != "hv" or check.setup.get("cover") != "off"
    for held in found.advice.withheld:
        hazard = hazards.get(checks[held.check].check.hazard)
        assert reasons(held) >= set(hazard.needs if hazard else ())
        assert reasons(held)


@pytest.mark.parametrize("rig", RIGS)
def test_the_proving_checks_are_offered_for_what_is_withheld(rig: str) -> None:
    """Where a check waits, what would prove it safe is offered, and the check comes back once that is proven."""
    waiting, returned = 0, 0
    for complaint in COMPLAINTS:
        found = bench(rig).diagnose(complaint, advice=True)
        assert found.advice is not None
        if not found.advice.withheld:
            continue
        waiting += 1
        checks = bench(rig).assembly.checks
        offered = {checks[one.check].check.proves for one in found.advice.next}
        assert reasons(found.advice.withheld[0]) & offered, found.advice.withheld[0].check
        proven = bench(rig).diagnose({**complaint, "safety": list(PROOFS)}, advice=True)
        assert proven.advice is not None
        assert not proven.advice.withheld
        waited = {one.check for one in found.advice.withheld}
        returned += any(one.check in waited for one in proven.advice.next)
    assert waiting
    assert returned


@pytest.mark.parametrize("rig", RIGS)
def test_one_proof_missing_is_as_bad_as_all(rig: str) -> None:
    """High voltage wants bleeder, stick and fuse together: with two of the three its checks still wait."""
    needs = book().bench.hazards[LIVE].needs
    assert set(needs) >= {"bleeder_proven", "discharge_stick"}
    checks = bench(rig).assembly.checks
    for missing in needs:
        safety = [proof for proof in PROOFS if proof != missing]
        for complaint in COMPLAINTS[::3]:
            found = bench(rig).diagnose({**complaint, "safety": safety}, advice=True)
            assert found.advice is not None
            assert all(checks[one.check].check.hazard != LIVE for one in found.advice.next)


@pytest.mark.parametrize("rig", RIGS)
def test_everything_can_be_proven(rig: str) -> None:
    """For each proof the rig has a check that gives it, so that no work is barred for ever."""
    given = {check.check.proves for check in bench(rig).assembly.checks.values() if check.check.proves}
    assert given == set(PROOFS)


@pytest.mark.parametrize("rig", RIGS)
def test_no_hand_goes_into_a_set_under_high_voltage_unproven(rig: str) -> None:
    """Common practice: high voltage on and covers off, or the set turned over, wants bleeder and stick proven."""
    unproven = bench(rig).case({})
    bare = 0
    for name, placed in bench(rig).assembly.checks.items():
        setup = placed.check.setup
        if setup.get("power") == "hv" and (
            setup.get("cover") == "off" or setup.get("position") == "upturned"
        ):
            bare += 1
            missing = missing_proofs(book().bench, unproven, placed)
            assert {"bleeder_proven", "discharge_stick"} <= set(missing), name
    assert bare


def test_the_discharge_is_judged_below_50_volts() -> None:
    """A bleeder is proven when the voltage has fallen below 50 V: 50 V is where guarding of live parts begins.

    29 CFR 1910.303(g)(2) and 1910.333, from memory.
    """
    assert "50 V" in book().bench.safety["bleeder_proven"]
