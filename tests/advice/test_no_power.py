"""While a sign that gave a stop order is there: which checks count as safest, and how long the sign holds."""

from __future__ import annotations

from diagnose.advice.gates import is_dangerous, is_live, limits_current, not_found_yet, risk
from diagnose.evidence.collect import collect
from diagnose.interview.course import begin
from diagnose.model.case import Case, Observation, Work
from tests.outside.bench import RIGS, bench, book

SIGN = "connections.smoke"


def held(work: tuple[Work, ...], state: str = "yes", period: int | None = None) -> tuple[str, ...]:
    """The signs that hold the power back after this work."""
    assembly = bench("kestrel_30").assembly
    case = Case("set", "kestrel_30", work=work, observations=(Observation(SIGN, state=state, period=period),))
    return not_found_yet(assembly, case, collect(assembly, case).counted)


def test_a_sign_holds_the_power_back_once_its_order_is_answered() -> None:
    """Before, the order itself stands; a sign that was denied, or was there before work on a part, holds nothing."""
    assert held(()) == ()
    assert held((Work("switched off", SIGN),)) == (SIGN,)
    assert held((Work("switched off", SIGN),), state="no") == ()
    assert held((Work("new choke", SIGN, ("final.plate_choke",)),), period=0) == ()
    assert held((Work("dusted"),)) == ()


def test_less_power_is_less_risk() -> None:
    """Heaters before exciter before high voltage; a hazard comes last whatever is powered."""
    for rig in RIGS:
        checks = [c for c in bench(rig).assembly.checks.values() if is_live(book().bench, c)]
        ranked = sorted(checks, key=lambda check: risk(book().bench, check))
        dangerous = [is_dangerous(book().bench, check) for check in ranked]
        assert dangerous == sorted(dangerous)
        powers = list(book().bench.setups["power"].states)
        safe = [powers.index(c.check.setup["power"]) for c in ranked if not is_dangerous(book().bench, c)]
        assert safe == sorted(safe)


def test_some_checks_limit_the_current() -> None:
    """Every rig can be brought up on a lamp or a variable transformer."""
    for rig in RIGS:
        assert any(limits_current(book().bench, check) for check in bench(rig).assembly.checks.values())


def test_a_sign_that_comes_back_after_a_repair_is_a_new_order() -> None:
    """Smoke again after the part was renewed; switched off once more, the power is held back."""
    begun = begin(book(), Case("set", "kestrel_30")).enter(Observation(SIGN, state="yes"))
    repaired = begun.did("new bypass", parts=("final.screen_bypass",), answers=SIGN)
    assert repaired.standing.stop_orders == ()
    again = repaired.enter(Observation(SIGN, state="yes"))
    assert [order.id for order in again.standing.stop_orders] == [SIGN]
    off = again.did("switched off", answers=SIGN)
    assert off.standing.stop_orders == ()
    assert off.under_order


def test_a_word_does_not_lift_an_order() -> None:
    """Smoke, and then "no smoke" without any work: only what was done, or taking the sign back, answers the order."""
    seen = begin(book(), Case("set", "kestrel_30")).enter(Observation(SIGN, state="yes"))
    denied = seen.enter(Observation(SIGN, state="no"))
    assert [order.id for order in denied.standing.stop_orders] == [SIGN]
    assert denied.strike(1).standing.stop_orders == ()
    assert denied.did("switched off", answers=SIGN).standing.stop_orders == ()
    # after work on a part it is another time: what is seen then counts alone
    repaired = seen.did("new bypass", parts=("final.screen_bypass",), answers=SIGN)
    assert repaired.enter(Observation(SIGN, state="no")).standing.stop_orders == ()
    assert (
        repaired.enter(Observation(SIGN, state="yes"))
        .enter(Observation(SIGN, state="no"))
        .standing.stop_orders
    )
