"""The built-in book against what any technician takes for granted.

Everything here is common practice: no single source is named, and the values are those of the rigs' charts.
"""

from __future__ import annotations

from typing import Any

import pytest

from diagnose.model.result import FAULT, GOOD, STOP
from tests.outside.bench import RIGS, Facts, bench, blame, finding, leaders, place

GANNET = bench("gannet_60")
BOTH_VFO_RIGS = pytest.mark.parametrize("rig", ["gannet_60", "petrel_90"])


def probability(rig: str, facts: Facts, cause: str) -> float:
    (only,) = (one for one in bench(rig).diagnose(facts).causes if one.id == cause)
    return only.probability


def prior(rig: str, cause: str) -> float:
    (only,) = (one for one in bench(rig).diagnose({}).causes if one.id == cause)
    return only.prior


def test_20_watts_where_the_chart_gives_55_is_low_output() -> None:
    """Common practice: little more than a third of the chart's power is low output, and something is wrong."""
    found = GANNET.diagnose({"mode": "cw", "readings": {"output_network.power": "20 W"}})
    seen = finding(found, "output_network.power")
    assert seen.expected == 55
    assert seen.state == "low"
    assert seen.likelihood[seen.states.index("normal")] < 0.01
    assert found.parts[0].blame > 0


def test_145_milliamperes_with_55_watts_out_is_a_good_final() -> None:
    """Common practice: a final at its chart current with the chart's power out accuses nobody."""
    facts = {"mode": "cw", "readings": {"final.plate_current": "145 mA", "output_network.power": "55 W"}}
    found = GANNET.diagnose(facts)
    assert [one.state for one in found.findings] == ["normal", "normal"]
    assert all(part.blame == 0 for part in found.parts)


def test_45_watts_are_right_on_phone_and_low_on_cw() -> None:
    """Common practice: the carrier on phone lies below the key-down power of CW, and is judged by its own row."""
    phone = GANNET.diagnose({"mode": "phone", "readings": {"output_network.power": "45 W"}})
    assert finding(phone, "output_network.power").state == "normal"
    assert all(part.blame == 0 for part in phone.parts)
    cw = GANNET.diagnose({"mode": "cw", "readings": {"output_network.power": "45 W"}})
    assert finding(cw, "output_network.power").state == "low"


def test_less_power_on_ten_metres_is_right() -> None:
    """Common practice: output falls towards the highest band, so the same watts are good there and low on 80 m."""
    high = GANNET.diagnose({"mode": "cw", "band": "10m", "readings": {"output_network.power": "44 W"}})
    low = GANNET.diagnose({"mode": "cw", "band": "80m", "readings": {"output_network.power": "44 W"}})
    assert finding(high, "output_network.power").state == "normal"
    assert finding(low, "output_network.power").state == "low"


def test_modulators_that_idle_at_70_after_new_capacitors_want_their_bias_reset() -> None:
    """Common practice: new filter capacitors lift the supply, the idle rises from 55 to 70 mA, reset the bias."""
    facts: dict[str, Any] = {"mode": "phone", "readings": {"modulator.idle_current": "70 mA"}}
    with_work = {**facts, "history": {"recent_work": ["supply_capacitors"]}}
    found = GANNET.diagnose(with_work)
    assert finding(found, "modulator.idle_current").expected == 55
    assert finding(found, "modulator.idle_current").state == "high"
    assert found.causes[0].id == "modulator.bias_setting.not_reset"
    assert found.verdict.word == FAULT
    without = GANNET.diagnose(facts)
    assert place(without, "modulator.bias_setting") > 3


@BOTH_VFO_RIGS
def test_a_vfo_dead_after_its_cover_was_off_has_its_trimmer_coupling_dislodged(rig: str) -> None:
    """Common practice: what was disturbed last is suspected first, and the trimmers couple through the cover."""
    facts = {"history": {"recent_work": ["vfo_cover"]}, "readings": {"vfo.output": "absent"}}
    found = bench(rig).diagnose(facts)
    assert found.causes[0].id == "vfo.trimmer_coupling.dislodged"
    assert found.parts[0].blame > 3 * found.parts[1].blame
    unopened = bench(rig).diagnose({"readings": {"vfo.output": "absent"}})
    assert place(unopened, "vfo.trimmer_coupling") > 3


@BOTH_VFO_RIGS
def test_a_vfo_that_jumps_after_its_cover_was_off_has_its_trimmer_coupling_dislodged(rig: str) -> None:
    """Common practice: the same after a cover was lifted and refitted, where the frequency jumps about."""
    facts = {"history": {"recent_work": ["vfo_cover"]}, "symptoms": {"vfo.jumps": "yes"}}
    found = bench(rig).diagnose(facts)
    assert found.causes[0].id == "vfo.trimmer_coupling.dislodged"
    assert found.verdict.word == FAULT


def test_a_weak_rectifier_is_acquitted_by_a_normal_high_voltage() -> None:
    """Common practice: output is low, the high voltage stands at its chart value, so look elsewhere."""
    low = {"mode": "cw", "readings": {"output_network.power": "35 W"}}
    suspected = GANNET.diagnose(low)
    facts = {"mode": "cw", "readings": {"output_network.power": "35 W", "hv.voltage": "598 V"}}
    acquitted = GANNET.diagnose(facts)
    assert blame(suspected, "hv.rectifier_tube") > 0.01
    assert blame(acquitted, "hv.rectifier_tube") < 0.001
    assert probability("gannet_60", facts, "hv.rectifier_tube.weak") < prior(
        "gannet_60", "hv.rectifier_tube.weak"
    )


@pytest.mark.parametrize("rig", RIGS)
def test_no_hum_from_a_dead_set_acquits_no_filter_capacitor(rig: str) -> None:
    """Common practice: hum needs a carrier; that a dead set does not hum says nothing of its filters."""
    dead = {"readings": {"final.rf": "absent", "output_network.power": "absent"}}
    silent = {**dead, "symptoms": {"final.hum_on_carrier": "no"}}
    capacitors = [part for part in bench(rig).assembly.parts if part.endswith("put_capacitor")]
    assert capacitors
    for part in capacitors:
        cause = f"{part}.dried"
        assert probability(rig, silent, cause) == pytest.approx(probability(rig, dead, cause), abs=1e-12)
    assert not finding(bench(rig).diagnose(silent), "final.hum_on_carrier").counted


def test_a_carrier_without_hum_does_speak_for_the_filters() -> None:
    """Common practice: the other side of it, a clean carrier at full power does acquit the filter capacitor."""
    running = {"mode": "cw", "readings": {"output_network.power": "55 W"}}
    clean = {**running, "symptoms": {"final.hum_on_carrier": "no"}}
    cause = "hv.output_capacitor.dried"
    assert probability("gannet_60", clean, cause) < 0.8 * probability("gannet_60", running, cause)


@pytest.mark.parametrize("rig", RIGS)
def test_a_line_ten_percent_high_is_no_fault_of_the_supplies(rig: str) -> None:
    """Common practice: with the line 10 percent up, supplies and heaters 10 percent up are right."""
    mains = bench(rig).assembly.rig.mains_voltage
    wanted = ("heaters.voltage", "hv.voltage", "lv.voltage", "bias.voltage")
    chart = {
        row.quantity: row.value for row in reversed(bench(rig).assembly.rig.chart) if row.quantity in wanted
    }
    readings = {name: f"{1.1 * value:.4g} V" for name, value in chart.items()}
    found = bench(rig).diagnose({"mains": f"{1.1 * mains:.4g} V", "mode": "cw", "readings": readings})
    assert {one.state for one in found.findings} == {"normal"}
    assert all(part.blame == 0 for part in found.parts)
    # at the chart's own line voltage what lies clearly beyond the tolerance is high, and somebody is to blame
    clearly = {name: f"{1.13 * value:.4g} V" for name, value in chart.items()}
    same = bench(rig).diagnose({"mains": f"{mains} V", "mode": "cw", "readings": clearly})
    assert "high" in {one.state for one in same.findings}
    assert same.parts[0].blame > 0


def test_half_the_line_gives_half_of_everything() -> None:
    """Common practice: in a bring-up at half the line voltage half the supply voltage is right."""
    readings = {"hv.voltage": "298 V", "lv.voltage": "150 V", "heaters.voltage": "3.1 V"}
    found = GANNET.diagnose({"mains": "58 V", "mode": "cw", "readings": readings})
    assert {one.state for one in found.findings} == {"normal"}
    assert all(part.blame == 0 for part in found.parts)


@pytest.mark.parametrize("rig", RIGS)
@pytest.mark.parametrize("share", [-0.4, 0.0, 0.4])
def test_a_set_whose_readings_all_lie_inside_the_chart_is_without_blame(rig: str, share: float) -> None:
    """Common practice: readings off the chart by less than its tolerance, all one way or to and fro, are good."""
    assembly = bench(rig).assembly
    modes = assembly.rig.features["modes"]
    for mode in modes:
        readings: dict[str, Any] = {}
        for number, row in enumerate(assembly.rig.chart):
            if row.band or row.mode not in ("", mode):
                continue
            indication = assembly.indications[row.quantity].indication
            tolerance = row.tolerance if row.tolerance is not None else indication.tolerance
            sign = -1 if number % 2 else 1
            readings[row.quantity] = f"{row.value * (1 + sign * share * tolerance):.5g} {indication.unit}"
        found = bench(rig).diagnose({"mode": mode, "readings": readings})
        read = [one for one in found.findings if not one.observation.made_of]  # the rest is worked out
        assert len(read) == len(readings) > 15
        assert {one.state for one in found.findings} == {"normal"}
        assert all(part.blame == 0 for part in found.parts)


@pytest.mark.parametrize("rig", RIGS)
def test_a_set_with_every_proof_reading_good_is_called_good_and_else_not(rig: str) -> None:
    """Common practice: only what was measured is proven; one proof reading short, and nothing is signed off."""
    assembly = bench(rig).assembly
    good = {name: assembly.indications[name].indication.states[0].id for name in assembly.rig.proof}
    readings = {name: state for name, state in good.items() if state != "no"}
    symptoms = {name: state for name, state in good.items() if state == "no"}
    whole = bench(rig).diagnose({"readings": readings, "symptoms": symptoms})
    assert whole.verdict.word == GOOD
    assert all(part.blame == 0 for part in whole.parts)
    short = dict(list(readings.items())[1:])
    assert bench(rig).diagnose({"readings": short, "symptoms": symptoms}).verdict.word != GOOD


def test_low_output_on_one_band_only_accuses_that_band() -> None:
    """Common practice: supplies, tubes and meters serve every band; a fault on one band sits in its circuit."""
    facts = {"mode": "cw", "readings": {"output_network.power_over_bands": "one_band"}}
    found = GANNET.diagnose(facts)
    assert set(leaders(found, 2)) & {"output_network.bandswitch", "output_network.tank_coil"}
    for part in ("hv.rectifier_tube", "lv.rectifier_tube", "final.final_tube", "mains.line"):
        assert place(found, part) > 5


def test_full_input_with_little_output_accuses_the_way_out_before_the_supply() -> None:
    """Common practice: right volts and right current with few watts in the load are lost behind the tube."""
    readings = {"output_network.power": "20 W", "final.plate_current": "145 mA", "hv.voltage": "600 V"}
    found = GANNET.diagnose({"mode": "cw", "readings": readings})
    behind = sum(
        part.blame for part in found.parts if part.stage in ("output_network", "antenna_relay", "load")
    )
    supply = sum(part.blame for part in found.parts if part.stage in ("hv", "mains"))
    assert behind > 0.3
    assert supply < 0.02


def test_two_findings_of_one_supply_are_one_suspect() -> None:
    """Common practice: what hangs on one low rail is explained once, by that rail."""
    readings = {
        "lv.voltage": "210 V",
        "final.grid_current": "2 mA",
        "multiplier.output": "24 V",
        "driver.output": "45 V",
    }
    found = GANNET.diagnose({"mode": "cw", "readings": readings})
    assert found.parts[0].stage == "lv"
    exciter = [part.blame for part in found.parts if part.stage in ("buffer", "multiplier", "driver")]
    assert max(exciter) < found.parts[0].blame


@pytest.mark.parametrize("rig", RIGS)
def test_signs_of_life_do_not_accuse_a_dead_primary(rig: str) -> None:
    """Common practice: a set that keys, glows red or draws current has its fuse and its cord in order."""
    assembly = bench(rig).assembly
    living = {
        "keying.keyed": "stuck",
        "final.red_plates": "yes",
        "modulator.red_plates": "yes",
        "driver.red_plate": "yes",
        "final.key_up_current": "high",
        "final.hum_on_carrier": "yes",
        "hv.rectifier_flashes": "yes",
    }
    for name, state in living.items():
        if name not in assembly.indications:
            continue
        found = bench(rig).diagnose({"readings" if state in ("stuck", "high") else "symptoms": {name: state}})
        assert blame(found, "mains.fuse", "mains.cord", "mains.power_switch") < 0.01, name


@pytest.mark.parametrize("rig", RIGS)
def test_a_tired_old_part_is_not_to_blame_for_what_it_cannot_do(rig: str) -> None:
    """Common practice: after 30 years the capacitors are suspect, but a cracked cord is not their work."""
    facts = {
        "history": {"years_stored": 30, "capacitors_replaced": "no", "last_worked_on": "nobody"},
        "symptoms": {"mains.cord_cracked": "yes"},
    }
    found = bench(rig).diagnose(facts)
    assert found.parts[0].id == "mains.cord"
    tired = [one for one in found.causes if one.id.endswith((".leaky", ".dried")) and one.probability > 0.04]
    assert tired
    assert all(one.blame == 0 for one in tired)


def test_nothing_here_is_a_stop_order() -> None:
    """Common practice: a reading out of tolerance alone is no reason to pull the plug."""
    for readings in (
        {"output_network.power": "20 W"},
        {"modulator.idle_current": "70 mA"},
        {"hv.voltage": "500 V"},
    ):
        assert GANNET.diagnose({"mode": "phone", "readings": readings}).verdict.word != STOP
