"""A current far beyond what a tube may carry is an order to switch off; one just beyond, or perhaps not, is none.

That plates redden within seconds at twice their watts with the key up, and that a bench switches off at once then, is
common practice; the ratings are those of the tube data.
"""

from __future__ import annotations

from typing import Any, Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.diagnosis import diagnose
from diagnose.interview.course import begin
from diagnose.model.case import Case, Observation, Work
from diagnose.model.result import STOP, Diagnosis
from tests.outside.bench import RIGS, Facts, bench, book

STANDING: Final = "final.standing-far-over"
KEY_UP: Final = "final.key_up_current"
# Plate volts of the charts, and the milliamperes with the key up at which each final turns just its rated watts into
# heat there: 6146 25 W and 811A 65 W (two of them), 807 30 W (handbook data in rules/tubes.yaml).
RATED_VOLTS: Final = {"gannet_60": 600.0, "kestrel_30": 500.0, "petrel_90": 650.0, "skua_150": 1200.0}
RATED: Final = {
    "gannet_60": 1000 * 25 / RATED_VOLTS["gannet_60"],
    "kestrel_30": 1000 * 30 / RATED_VOLTS["kestrel_30"],
    "petrel_90": 1000 * 2 * 25 / RATED_VOLTS["petrel_90"],
    "skua_150": 1000 * 2 * 65 / RATED_VOLTS["skua_150"],
}


def standing(found: Diagnosis) -> set[str]:
    return {order.id for order in found.stop_orders}


def seen(rig: str, *observations: Observation, **fields: Any) -> Diagnosis:
    """What is said of these readings at the line voltage of the chart."""
    assembly = bench(rig).assembly
    case = Case("set", rig, mains=assembly.rig.mains_voltage, observations=observations, **fields)
    return diagnose(assembly, case, advice=False, details=False)


def key_up(rig: str, milliamperes: float, within: float | None = None) -> Diagnosis:
    return seen(rig, Observation(KEY_UP, value=milliamperes, within=within))


def flagged(found: Diagnosis) -> bool:
    return any("standing_dissipation" in flag.name and not flag.near for flag in found.flags)


@pytest.mark.parametrize("rig", RIGS)
def test_the_rated_watts_are_where_the_limit_is(rig: str) -> None:
    """Well below there is nothing to say, well above the limit is named: the sums above are those of the program."""
    assert not key_up(rig, 0.8 * RATED[rig]).flags
    assert flagged(key_up(rig, 1.3 * RATED[rig]))


@pytest.mark.parametrize("rig", RIGS)
@pytest.mark.parametrize("volts", [True, False])
def test_far_over_is_an_order_and_just_over_is_none(rig: str, volts: bool) -> None:
    """Also where the plate voltage was not read: then it is that of the chart."""
    known = (Observation("hv.voltage", value=RATED_VOLTS[rig]),) if volts else ()
    for times, order in ((1.1, False), (1.5, False), (2.5, True), (6.0, True)):
        found = seen(rig, Observation(KEY_UP, value=times * RATED[rig]), *known)
        assert flagged(found)
        assert (STANDING in standing(found)) is order
        assert (found.verdict.word == STOP) is order


@pytest.mark.parametrize("rig", RIGS)
def test_what_the_uncertainty_covers_is_no_order(rig: str) -> None:
    """The same current is an order where it is known well, and none where the meter may be wrong by as much."""
    for times in (2.2, 2.5):
        assert STANDING in standing(key_up(rig, times * RATED[rig], within=0.01))
        assert STANDING not in standing(key_up(rig, times * RATED[rig], within=0.30))
    assert STANDING not in standing(key_up(rig, 1.99 * RATED[rig], within=0.001))


@settings(max_examples=60, deadline=None)
@given(
    rig=st.sampled_from(RIGS),
    name=st.sampled_from((KEY_UP, "final.plate_current", "modulator.idle_current")),
    low=st.floats(1.0, 900.0),
    more=st.floats(1.0, 4.0),
    within=st.sampled_from((None, 0.02, 0.1)),
)
def test_a_greater_reading_never_lifts_an_order(
    rig: str, name: str, low: float, more: float, within: float | None
) -> None:
    """Read with the same care, more current is no less of a reason to switch off."""
    if name not in bench(rig).assembly.indications:
        return
    lesser = standing(seen(rig, Observation(name, value=low, within=within)))
    greater = standing(seen(rig, Observation(name, value=more * low, within=within)))
    assert {order for order in lesser if order.endswith("far-over")} <= greater


FAR: Final[dict[str, dict[str, Facts]]] = {
    "final.current-far-over": {
        "gannet_60": {"readings": {"final.plate_current": "420 mA"}},
        "kestrel_30": {"readings": {"final.plate_current": "300 mA"}},
        "petrel_90": {"readings": {"final.plate_current": "850 mA"}},
        "skua_150": {"readings": {"final.plate_current": "900 mA"}},
    },
    "final.screen-far-over": {
        "gannet_60": {"readings": {"final.screen_voltage": "240 V", "final.screen_current": "40 mA"}},
        "kestrel_30": {"readings": {"final.screen_voltage": "290 V", "final.screen_current": "40 mA"}},
        "petrel_90": {"readings": {"final.screen_voltage": "240 V", "final.screen_current": "80 mA"}},
    },
    "modulator.idle-far-over": {
        "gannet_60": {"readings": {"modulator.idle_current": "250 mA"}},
        "petrel_90": {"readings": {"modulator.idle_current": "300 mA"}},
        "skua_150": {"readings": {"modulator.idle_current": "400 mA"}},
    },
}


@pytest.mark.parametrize("order", FAR)
def test_the_other_currents_give_orders_too(order: str) -> None:
    """Carrier, screen and modulators, on each rig that has them; and none of them in a set as its chart has it."""
    for rig, facts in FAR[order].items():
        assert order in standing(bench(rig).diagnose({"mains": 117, **facts})), rig
        good = {row.quantity: row for row in bench(rig).assembly.rig.chart if not row.band}
        for name in facts["readings"]:
            row = good.get(name)
            if row is not None:
                assert not standing(seen(rig, Observation(name, value=row.value, mode=row.mode))), rig
    for rig in set(RIGS) - set(FAR[order]):
        assert order not in bench(rig).assembly.stop_orders


@pytest.mark.parametrize("rig", RIGS)
def test_the_chart_of_a_rig_gives_no_order(rig: str) -> None:
    """A set that reads as its chart says, each mode by itself, is not switched off."""
    for mode in bench(rig).assembly.rig.features["modes"]:
        rows = [r for r in bench(rig).assembly.rig.chart if r.mode in ("", mode) and not r.band]
        found = seen(rig, *(Observation(r.quantity, value=r.value, mode=mode) for r in rows))
        assert not standing(found)


@pytest.mark.parametrize("rig", RIGS)
def test_recorded_work_answers_it(rig: str) -> None:
    """Other work does not, nor a smaller reading without work; after work on a part it is read anew."""
    far = Observation(KEY_UP, value=4 * RATED[rig], period=0)
    good = Observation(KEY_UP, value=0.1 * RATED[rig])
    off = Work("switched off and discharged", STANDING)
    assert STANDING in standing(seen(rig, far))
    assert STANDING in standing(seen(rig, far, work=(Work("dusted"),)))
    assert STANDING not in standing(seen(rig, far, work=(off,)))
    assert STANDING in standing(seen(rig, far, Observation(KEY_UP, value=0.1 * RATED[rig], period=0)))
    mended = Work("renewed", STANDING, ("final.final_tube",))
    assert STANDING not in standing(seen(rig, far, work=(mended,)))
    assert STANDING not in standing(seen(rig, far, good, work=(mended,)))
    again = Observation(KEY_UP, value=5 * RATED[rig], period=1)
    assert STANDING in standing(seen(rig, far, again, work=(mended,)))
    assert STANDING not in standing(seen(rig, far, again, work=(mended, off)))


@pytest.mark.parametrize("rig", RIGS)
def test_what_was_read_is_named_as_the_reason(rig: str) -> None:
    """And only that: the watts were worked out."""
    (order,) = (o for o in key_up(rig, 4 * RATED[rig]).stop_orders if o.id == STANDING)
    assert order.because == (KEY_UP,)


@pytest.mark.parametrize("rig", RIGS)
def test_read_again_after_switching_off_it_is_an_order_again(rig: str) -> None:
    """The power was on once more, and the current still far over; what was read before, or is fine now, is none."""
    now = begin(book(), Case("set", rig, mains=bench(rig).assembly.rig.mains_voltage))
    now = now.enter(Observation(KEY_UP, value=4 * RATED[rig]))
    assert STANDING in standing(now.standing)
    off = now.did("switched off", answers=STANDING)
    assert not standing(off.standing)
    assert not standing(off.did("had lunch", changed=False).standing)
    assert not standing(off.did("renewed", ("final.final_tube",)).standing)
    assert not standing(off.enter(Observation(KEY_UP, value=0.1 * RATED[rig])).standing)
    again = off.enter(Observation(KEY_UP, value=4 * RATED[rig]))
    assert STANDING in standing(again.standing)
    assert STANDING in standing(again.did("had lunch", changed=False).standing)
    assert STANDING in standing(again.did("renewed", ("final.final_tube",)).standing)
    assert not standing(again.did("switched off", answers=STANDING).standing)


def test_the_rf_that_is_missing_is_heat_in_the_plates() -> None:
    """Watts in, hardly any RF out; with the RF of a good set there is no order, nor where it is not known."""
    inputs = {
        "gannet_60": ("120 mA", "600 V", "40 W"),
        "kestrel_30": ("150 mA", "500 V", "40 W"),
        "petrel_90": ("240 mA", "650 V", "90 W"),
        "skua_150": ("300 mA", "1200 V", "220 W"),
    }
    for rig, (current, volts, good) in inputs.items():
        read = {"final.plate_current": current, "hv.voltage": volts}
        for rf, order in (("2 W", True), (good, False), ("", False)):
            readings = {**read, "final.rf": rf} if rf else read
            found = bench(rig).diagnose({"mains": 117, "mode": "cw", "readings": readings})
            assert ("final.plates-far-over" in standing(found)) is order, (rig, rf)


def test_a_break_does_not_part_what_is_read_together() -> None:
    """Work that touched nothing leaves the figures that are worked out as they were, and the orders that they give."""
    for period, work in ((0, ()), (0, ({"did": "lunch", "changed": False},))):
        for others in (0, len(work)):
            readings = {
                "final.screen_voltage": {"value": "240 V", "period": period},
                "final.screen_current": {"value": "40 mA", "period": others},
            }
            found = bench("gannet_60").diagnose({"mains": 117, "readings": readings, "work": list(work)})
            assert "final.screen-far-over" in standing(found)
            assert any("screen_dissipation" in flag.name for flag in found.flags)
