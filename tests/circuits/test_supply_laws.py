"""The laws of a rectified supply, for any supply that a bench may meet."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.circuits import supply
from diagnose.circuits.supply import output_of, rectified_supply
from diagnose.circuits.supply_parts import parts_of
from diagnose.circuits.supply_solve import steady_state
from tests.circuits.supplies.strategies import (
    FULL_WAVE,
    Given,
    any_supply,
    capacitor_inputs,
    choke_inputs,
    few,
)

CUT = 2e-3  # what the cutting of the period may do to a comparison of two volts; far below what the method states
FACTORS = st.floats(1.2, 8.0)
SCALED = ("voltage", "voltage_unloaded", "ripple", "peak_current", "peak_inverse")
# No drop and no resistance, so that the textbook's figures hold; a string of a hundred would not be noticed either.
IDEAL: Given = {
    "rectifier": "silicon",
    "drop_volts": 1e-6,
    "drop_current": 1.0,
    "source_ohms": 1e-3,
    "choke_ohms": 0.0,
}


def changed(parts: Given, **factors: float) -> Given:
    """The supply with some of its figures multiplied."""
    return {**parts, **{name: parts[name] * factor for name, factor in factors.items()}}


@few
@given(capacitor_inputs(), FACTORS)
def test_more_capacitance_is_never_more_ripple(parts: Given, factor: float) -> None:
    """Nor fewer volts, once the ripple is a few percent as it is here."""
    less, more = rectified_supply(parts), rectified_supply(changed(parts, capacitance=factor))
    assert more["ripple"] <= less["ripple"] * (1.0 + CUT)
    assert more["voltage"] >= less["voltage"] * (1.0 - CUT)


@few
@given(choke_inputs(), FACTORS)
def test_more_capacitance_behind_a_choke_is_never_more_ripple(parts: Given, factor: float) -> None:
    """The capacitor is beyond resonance with the choke."""
    less, more = rectified_supply(parts), rectified_supply(changed(parts, capacitance=factor))
    assert more["ripple"] <= less["ripple"] * (1.0 + CUT)


@few
@given(choke_inputs(), FACTORS)
def test_more_inductance_is_never_more_ripple_nor_more_volts(parts: Given, factor: float) -> None:
    """The input choke smooths, and takes the output down towards the average."""
    less, more = rectified_supply(parts), rectified_supply(changed(parts, choke_inductance=factor))
    assert more["ripple"] <= less["ripple"] * (1.0 + CUT)
    assert more["voltage"] <= less["voltage"] * (1.0 + CUT)
    assert more["choke_margin"] > less["choke_margin"]


@few
@given(any_supply(), st.floats(1.02, 1.5))
def test_a_heavier_load_is_never_more_volts(parts: Given, factor: float) -> None:
    """And with its bleeder only the supply gives at least what it gives loaded."""
    light, heavy = rectified_supply(parts), rectified_supply(changed(parts, load_current=factor))
    assert heavy["voltage"] <= light["voltage"] * (1.0 + 1e-4)
    assert heavy["voltage_unloaded"] == pytest.approx(light["voltage_unloaded"], rel=1e-6)
    assert light["supply_regulation"] >= 0.0


@few
@given(any_supply(), st.sampled_from(["source_ohms", "drop_volts"]), FACTORS)
def test_what_stands_in_the_way_takes_volts(parts: Given, name: str, factor: float) -> None:
    """More resistance or more drop is never more volts."""
    assume(
        parts[name] * factor
        < 0.3 * parts["winding_volts"] / (parts["load_current"] if "ohms" in name else 1.0)
    )
    less, more = rectified_supply(parts), rectified_supply(changed(parts, **{name: factor}))
    assert more["voltage"] <= less["voltage"] * (1.0 + 1e-4)


@few
@given(capacitor_inputs())
def test_the_volts_lie_between_average_and_peak(parts: Given) -> None:
    """Never above the peak of the winding (twice that of a doubler), nor far below it in a sound supply."""
    made, tiers = rectified_supply(parts), 2.0 if parts["circuit"] == "doubler" else 1.0
    peak = math.sqrt(2.0) * parts["winding_volts"] * tiers
    assert 0.0 < made["voltage"] <= made["voltage_unloaded"] * (1.0 + 1e-4)
    assert made["voltage_unloaded"] <= peak
    assert made["peak_current"] > parts["load_current"]


@few
@given(capacitor_inputs())
def test_without_a_load_the_output_tends_to_the_peak(parts: Given) -> None:
    """1.414 times the winding, and twice that of a doubler (Canadian Advanced question bank, A-004-02-11)."""
    bare = {**parts, **IDEAL, "load_current": 0.0, "bleeder_ohms": 1e4 * parts["bleeder_ohms"]}
    tiers = 2.0 if parts["circuit"] == "doubler" else 1.0
    top = math.sqrt(2.0) * parts["winding_volts"] * tiers
    assert rectified_supply(bare)["voltage"] == pytest.approx(top, rel=2e-3)
    assert rectified_supply(bare)["ripple_percent"] < 0.1


@few
@given(any_supply())
def test_without_a_bleeder_the_output_climbs_to_the_peak(parts: Given) -> None:
    """Choke input too: a capacitor behind a choke must stand the peak (the same bank, A-004-02-11)."""
    bare = {name: value for name, value in parts.items() if name != "bleeder_ohms"}
    made, tiers = rectified_supply({**bare, **IDEAL}), 2.0 if parts["circuit"] == "doubler" else 1.0
    assert made["voltage_unloaded"] == pytest.approx(
        math.sqrt(2.0) * parts["winding_volts"] * tiers, rel=1e-5
    )


@few
@given(choke_inputs(margins=(1.3, 10.0)))
def test_above_the_critical_inductance_the_output_is_the_average(parts: Given) -> None:
    """0.9 times the winding (Canadian Advanced question bank, A-004-02-11), and each ohm of the choke takes its drop."""
    made = rectified_supply({**parts, **IDEAL})
    assert made["choke_margin"] > 1.0
    assert made["voltage"] == pytest.approx(2.0 * math.sqrt(2.0) / math.pi * parts["winding_volts"], rel=CUT)
    drawn = parts["load_current"] + made["voltage"] / parts["bleeder_ohms"]
    lossy = rectified_supply({**parts, **IDEAL, "choke_ohms": 0.05 * made["voltage"] / drawn})
    assert lossy["voltage"] == pytest.approx(0.953 * made["voltage"], rel=0.01)


@few
@given(choke_inputs(margins=(0.1, 0.7)))
def test_below_the_critical_inductance_the_output_climbs(parts: Given) -> None:
    """Well below it, the output is above the average, and the choke's margin says so."""
    made = rectified_supply({**parts, **IDEAL})
    assert made["choke_margin"] < 1.0
    assert made["voltage"] > 1.02 * 0.9 * parts["winding_volts"]


@few
@given(choke_inputs(margins=(0.3, 3.0)))
def test_the_margin_says_whether_current_stops(parts: Given) -> None:
    """The least current of the choke is above nothing with a margin of 1.25, and nothing with 0.9.

    The formula leaves the capacitor out, which here lets up to a ninth more ripple current through.
    """
    ideal = {**parts, **IDEAL}
    margin = rectified_supply(ideal)["choke_margin"]
    loaded, _ = parts_of(ideal)
    steady = steady_state(lambda count: supply.problem_of(loaded, count), supply.INSTANTS)
    if margin > 1.25:
        assert min(steady.current) > 0.0
    if margin < 0.9:
        assert min(steady.current) == 0.0


@few
@given(any_supply(), st.floats(0.1, 10.0))
def test_volts_and_currents_scale_together(parts: Given, factor: float) -> None:
    """Twice the winding, twice the load and rectifiers of twice the drop at twice the current: all is doubled."""
    made = rectified_supply(parts)
    scaled = rectified_supply(changed(parts, **dict.fromkeys(
        ("winding_volts", "load_current", "drop_volts", "drop_current"), factor)))  # fmt: skip
    for name in SCALED:
        assert scaled[name] == pytest.approx(factor * made[name], rel=1e-5), name
    assert scaled["supply_regulation"] == pytest.approx(made["supply_regulation"], rel=1e-3, abs=1e-3)


@few
@given(any_supply(), st.floats(0.1, 10.0))
def test_impedances_scale_together(parts: Given, factor: float) -> None:
    """So many times the current through so many times smaller impedances: the same volts."""
    down = {name: 1.0 / factor for name in
            ("source_ohms", "bleeder_ohms", "choke_inductance", "choke_ohms") if name in parts}  # fmt: skip
    up = dict.fromkeys(("load_current", "drop_current", "capacitance"), factor)
    made, scaled = rectified_supply(parts), rectified_supply(changed(parts, **down, **up))
    for name in ("voltage", "voltage_unloaded", "ripple"):
        assert scaled[name] == pytest.approx(made[name], rel=1e-5), name
    assert scaled["peak_current"] == pytest.approx(factor * made["peak_current"], rel=1e-5)


@few
@given(any_supply(), st.floats(0.2, 8.0))
def test_the_frequency_scales_with_the_reactances(parts: Given, factor: float) -> None:
    """At so many times the frequency, so many times smaller chokes and capacitors do the same."""
    down = {name: 1.0 / factor for name in ("capacitance", "choke_inductance") if name in parts}
    made, scaled = rectified_supply(parts), rectified_supply(changed(parts, mains_frequency=factor, **down))
    for name in SCALED:
        assert scaled[name] == pytest.approx(made[name], rel=1e-5), name
    assert scaled["ripple_frequency"] == pytest.approx(factor * made["ripple_frequency"])


@few
@given(st.one_of(capacitor_inputs(circuits=("bridge",)), choke_inputs()))
def test_a_bridge_is_a_centre_tap_with_two_rectifiers_in_the_way(parts: Given) -> None:
    """Of the same winding, that is of twice the winding from end to end."""
    bridge = rectified_supply({**parts, "circuit": "bridge"})
    centre_tap = rectified_supply(changed({**parts, "circuit": "centre_tap"}, drop_volts=2.0))
    for name in ("voltage", "voltage_unloaded", "ripple", "peak_current"):
        assert bridge[name] == pytest.approx(centre_tap[name], rel=1e-6), name
    assert centre_tap["peak_inverse"] == pytest.approx(2.0 * bridge["peak_inverse"])


@few
@given(any_supply(), st.integers(2, 4))
def test_tied_plates_share_the_current(parts: Given, plates: int) -> None:
    """So many plates in parallel are one of so many times the current, and each has its share of the peak."""
    assume(parts["rectifier"] == "vacuum")
    tied = rectified_supply({**parts, "in_parallel": plates})
    large = rectified_supply(changed(parts, drop_current=plates))
    assert tied["voltage"] == pytest.approx(large["voltage"], rel=1e-6)
    assert tied["peak_current"] == pytest.approx(large["peak_current"] / plates, rel=1e-6)


@few
@given(any_supply())
def test_what_comes_out_went_in(parts: Given) -> None:
    """The current of the rectifier is that of the load and of the bleeder at the output."""
    loaded, _ = parts_of(parts)
    made = output_of(loaded)
    drawn = parts["load_current"] + made.volts / parts["bleeder_ohms"]
    assert made.current == pytest.approx(drawn, rel=1e-6)


@few
@given(any_supply())
def test_a_finer_cut_changes_little(parts: Given) -> None:
    """The period cut twice as fine moves volts, ripple and peak by far less than the method states of itself."""
    loaded, _ = parts_of(parts)
    made = output_of(loaded)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(supply, "INSTANTS", 2 * supply.INSTANTS)
        fine = output_of.__wrapped__(loaded)
    assert made.volts == pytest.approx(fine.volts, rel=2e-3)
    assert made.ripple == pytest.approx(fine.ripple, rel=0.02)
    assert made.peak_current == pytest.approx(fine.peak_current, rel=0.02)


@few
@given(capacitor_inputs(circuits=FULL_WAVE))
def test_half_the_pulses_is_twice_the_ripple_or_so(parts: Given) -> None:
    """One rectifier of two dead: the lowest ripple is that of the mains, and the volts fall."""
    whole = rectified_supply({**parts, "circuit": "centre_tap"})
    half = rectified_supply({**parts, "circuit": "half_wave"})
    assert half["ripple_frequency"] == parts["mains_frequency"] == whole["ripple_frequency"] / 2.0
    assert half["ripple"] > 1.3 * whole["ripple"]
    assert half["voltage"] < whole["voltage"]
    assert half["peak_current"] > whole["peak_current"]
