"""Common complaints in a technician's words, and the sign that they most likely mean (source: common practice)."""

from __future__ import annotations

import pytest

from diagnose.interview.indexes import signs
from tests.interview.bench import assembly, book

FIRST = [
    ("weak signal", "output_network.power", "low"),
    ("low output", "output_network.power", "low"),
    ("weak on the air", "output_network.power", "low"),
    ("weak carrier", "output_network.power", "low"),
    ("puts out hardly any power", "output_network.power", "low"),
    ("signal reports are poor", "output_network.power", "low"),
    ("output down to half", "output_network.power", "low"),
    ("no power out", "output_network.power", "absent"),
    ("no output", "output_network.power", "absent"),
    ("no RF out", "output_network.power", "absent"),
    ("dead", "output_network.power", "absent"),
    ("weak on 10 meters", "output_network.power_over_bands", "one_band"),
    ("dead on one band", "output_network.power_over_bands", "one_band"),
    ("won't load up", "output_network.loading", "unloadable"),
    ("arcs in the tank", "output_network.tank_arcs", "yes"),
    ("TVI", "output_network.harmonic_heard", "yes"),
    ("completely dead, no lights", "mains.primary_voltage", "absent"),
    ("won't turn on", "mains.primary_voltage", "absent"),
    ("blows fuses", "mains.fuse_blows", "yes"),
    ("the transformer gets hot", "mains.transformer_hot", "yes"),
    ("transformer hums loudly", "mains.transformer_buzzes", "yes"),
    ("chassis bites", "mains.chassis_tingle", "yes"),
    ("no high voltage", "hv.voltage", "absent"),
    ("high voltage is low", "hv.voltage", "low"),
    ("tubes don't light", "heaters.voltage", "absent"),
    ("no drive", "final.grid_current", "absent"),
    ("low grid drive", "final.grid_current", "low"),
    ("plate current too high", "final.plate_current", "high"),
    ("won't dip", "final.no_dip", "yes"),
    ("final glows red", "final.red_plates", "yes"),
    ("parasitics", "final.vhf_energy", "yes"),
    ("hum on the carrier", "final.hum_on_carrier", "yes"),
    ("splatters", "final.fuzz_when_keyed_or_modulated", "yes"),
    ("low modulation", "final.modulation", "low"),
    ("modulator tubes red hot", "modulator.red_plates", "yes"),
    ("no modulation", "modulator.audio", "absent"),
    ("mic dead", "microphone.audio", "absent"),
    ("RF in the audio", "speech.rf_squeal", "yes"),
    ("won't key", "keying.keyed", "absent"),
    ("stuck in transmit", "keying.keyed", "stuck"),
    ("backwave", "keying.backwave", "yes"),
    ("drifts badly", "vfo.drift", "high"),
    ("VFO jumps", "vfo.jumps", "yes"),
    ("chirpy note", "vfo.chirp", "yes"),
    ("relay doesn't click", "antenna_relay.relay_silent", "yes"),
    ("burning smell", "connections.smell_of_burning", "yes"),
    ("intermittent", "connections.comes_and_goes", "yes"),
    ("quits when warm", "connections.fails_when_warm", "yes"),
    ("meter reads nothing", "metering.meter_dead", "yes"),
]
AMONG_FIRST = [
    ("nobody hears me", "output_network.power", "absent"),
    ("key clicks", "keying.clicks_on_make", "yes"),
    ("hums", "final.hum_on_carrier", "yes"),
    ("fuse blows when I switch the plate on", "hv.fuse_blows_here", "yes"),
    ("purple glow", "final.blue_glow_inside", "yes"),
    ("distorted audio", "final.distorted_on_air", "yes"),
    ("no audio", "microphone.audio", "absent"),
    ("heaters dark", "heaters.voltage", "absent"),
    ("self oscillates", "final.current_without_drive", "yes"),
]
ON_CRYSTAL = [
    ("weak signal", "output_network.power", "low"),
    ("crystal won't start", "oscillator.output", "absent"),
    ("doesn't oscillate", "oscillator.output", "absent"),
    ("chirps", "oscillator.chirp", "yes"),
    ("no drive", "final.grid_current", "absent"),
    ("key clicks", "keying.clicks_on_make", "yes"),
]


def offered(words: str, rig: str = "gannet_60") -> list[tuple[str, str]]:
    """The signs that are offered, in their order."""
    return [(hit.entry.name, hit.entry.state) for hit in signs(assembly(rig)).find(words)]


@pytest.mark.parametrize(("words", "name", "state"), FIRST)
def test_what_is_most_likely_meant_comes_first(words: str, name: str, state: str) -> None:
    """Before all that has the same words in its title."""
    assert offered(words)[0] == (name, state)


@pytest.mark.parametrize(("words", "name", "state"), AMONG_FIRST)
def test_where_several_may_be_meant_it_is_among_the_first_three(words: str, name: str, state: str) -> None:
    """The person says which."""
    assert (name, state) in offered(words)[:3]


@pytest.mark.parametrize(("words", "name", "state"), ON_CRYSTAL)
def test_on_a_set_with_a_crystal_oscillator(words: str, name: str, state: str) -> None:
    """The same words, other stages."""
    assert (name, state) in offered(words, "kestrel_30")[: 1 if words != "key clicks" else 3]


@pytest.mark.parametrize("words", ["weak signal", "low output", "weak on the air", "no power out"])
@pytest.mark.parametrize("rig", ["gannet_60", "kestrel_30", "petrel_90", "skua_150"])
def test_power_comes_before_the_spot_signal(rig: str, words: str) -> None:
    """On every rig."""
    assert offered(words, rig)[0][0] == "output_network.power"


def test_every_phrase_of_the_book_finds_its_sign() -> None:
    """Among the first three, on every rig that has the sign."""
    missed = []
    for rig in book().rigs:
        for placed in assembly(rig).indications.values():
            for state, phrases in placed.indication.complaints.items():
                for phrase in phrases:
                    found = offered(phrase, rig)[:4]
                    if (placed.id, state) not in found:
                        missed.append((rig, phrase, placed.id, found))
    assert missed == []


def test_words_of_how_much_alone_are_no_complaint() -> None:
    """A `not` that stands in a phrase makes no phrase of it."""
    assert ("mains.primary_voltage", "absent") not in offered("works on 80 but not on 10")
