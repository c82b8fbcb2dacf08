"""What counts as evidence: once each, only what can be judged, on the mains of the chart."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path

import pytest

from diagnose.diagnosis import diagnose
from diagnose.evidence.collect import collect
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from tests.small_book import cause, rule, small_assembly

KIND = f"""\
kind: final
title: final
about: for tests
unnamed: {{prior: 0, pushes: 0}}
quantities:
  volts: {{title: plate volts, ask: what, unit: V, grading: level, tolerance: 10 %, follows_mains: 1}}
  current: {{title: plate current, ask: what, unit: mA, grading: level, tolerance: 10 %}}
  input: {{title: input, ask: what, unit: W, grading: level, tolerance: 10 %, follows_mains: 2,
          rests_on: [volts, current]}}
symptoms:
  hum: {{title: hum, ask: is it, leak: 1 of 100, needs: {{current: [low, normal, high]}}}}
parts:
  tube: {{title: tube, modes: {{weak: {cause("0.05")}}}}}
  supply: {{title: supply, modes: {{weak: {cause("0.05")}}}}}
rules:
  a: {rule("tube weak", "current low", "8 of 10", "one")}
  b: {rule("supply weak", "volts low", "8 of 10", "two")}
  c: {rule("volts low", "input low", "9 of 10", "three")}
  d: {rule("current low", "input low", "9 of 10", "four")}
  e: {rule("supply weak", "hum yes", "3 of 10", "five")}
checks: {{}}
"""

RIG = """\
rig: small
title: small set
about: for tests
features: {modes: [cw, phone]}
mains: {voltage: 117 V, frequency: 60 Hz}
bands: [80m, 40m]
stages:
  final: {kind: final, title: final}
chart:
  - {quantity: final.volts, value: 600 V}
  - {quantity: final.current, value: 145 mA, mode: cw}
  - {quantity: final.current, value: 120 mA, mode: phone}
  - {quantity: final.input, value: 87 W}
"""


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    folder: Path = tmp_path_factory.mktemp("book")
    return small_assembly(folder, {"final.yaml": KIND, "small.yaml": RIG})


def case(*observations: Observation, **more: object) -> Case:
    return Case("t", "small", observations=observations, **more)  # type: ignore[arg-type]


VOLTS = Observation("final.volts", value=480.0)
CURRENT = Observation("final.current", value=143.0, mode="cw")
INPUT = Observation("final.input", value=68.6)


def test_a_quantity_worked_out_from_others_that_count_changes_nothing(assembly: Assembly) -> None:
    """Input power is volts times current: with both counted it is shown, and adds no witness."""
    two = diagnose(assembly, case(VOLTS, CURRENT), advice=False)
    three = diagnose(assembly, case(VOLTS, CURRENT, INPUT), advice=False)
    assert [(p.id, p.probability, p.blame) for p in three.parts] == [
        (p.id, p.probability, p.blame) for p in two.parts
    ]
    shown = next(f for f in three.findings if f.name == "final.input")
    assert not shown.counted
    assert "rests on plate volts, plate current" in shown.notes[-1]


def test_without_one_of_them_it_counts(assembly: Assembly) -> None:
    """Input power alone, or with only one of its two factors, is a witness of its own."""
    found = collect(assembly, case(VOLTS, INPUT))
    assert set(found.counted) == {"final.volts", "final.input"}


@pytest.mark.parametrize("order", list(permutations((VOLTS, CURRENT, INPUT))))
def test_the_order_of_entry_does_not_matter(assembly: Assembly, order: tuple[Observation, ...]) -> None:
    """The same findings count in every order."""
    assert set(collect(assembly, case(*order)).counted) == {"final.volts", "final.current"}


def test_the_chart_row_of_the_mode_applies(assembly: Assembly) -> None:
    """120 mA is normal on phone and low on CW; a reading without a mode takes the case's."""
    for mode, state in (("phone", "normal"), ("cw", "low")):
        reading = Observation("final.current", value=118.0, mode=mode)
        assert collect(assembly, case(reading)).counted["final.current"].state == state
        silent = Observation("final.current", value=118.0)
        assert collect(assembly, case(silent, mode=mode)).counted["final.current"].state == state


def test_high_mains_is_no_fault_of_the_supply(assembly: Assembly) -> None:
    """Common practice: 660 V at 128.7 V of line is the chart's 600 V at 117 V."""
    finding = collect(assembly, case(Observation("final.volts", value=660.0), mains=128.7)).counted[
        "final.volts"
    ]
    assert finding.at_chart == pytest.approx(600.0)
    assert finding.state == "normal"
    assert finding.likelihood[0] == 1.0
    here = collect(assembly, case(Observation("final.volts", value=660.0, mains=128.7), mains=117.0))
    assert here.counted["final.volts"].at_chart == pytest.approx(600.0)


def test_of_repeats_the_last_counts_and_of_bands_the_worst(assembly: Assembly) -> None:
    """A later reading under the same condition replaces; readings on several bands are one sign."""
    first = Observation("final.volts", value=480.0)
    last = Observation("final.volts", value=600.0)
    assert collect(assembly, case(first, last)).counted["final.volts"].state == "normal"
    bands = (
        Observation("final.volts", value=480.0, band="80m"),
        Observation("final.volts", value=600.0, band="40m"),
    )
    for order in permutations(bands):
        found = collect(assembly, case(*order))
        assert found.counted["final.volts"].state == "low"
        assert sum(f.counted for f in found.all) == 1


def test_what_cannot_be_judged_is_kept_and_does_not_count(assembly: Assembly) -> None:
    """Without plate current there is no hum to hear, whatever was answered."""
    for answer in ("no", "yes"):
        found = collect(
            assembly, case(Observation("final.current", "absent"), Observation("final.hum", answer))
        )
        assert set(found.counted) == {"final.current"}
        assert "cannot be judged" in found.all[1].notes[-1]


def test_an_intermittent_acquits_only_while_it_shows(assembly: Assembly) -> None:
    """A good reading of an intermittent set counts only if it was taken while the fault showed."""
    good = Observation("final.volts", value=600.0)
    assert not collect(assembly, case(good, intermittent=True)).counted
    showing = Observation("final.volts", value=600.0, while_showing=True)
    assert collect(assembly, case(showing, intermittent=True)).counted
    bad = Observation("final.volts", value=450.0)
    assert collect(assembly, case(bad, intermittent=True)).counted


def test_second_hand_excludes_nothing_and_weighs_less(assembly: Assembly) -> None:
    """What the owner says leaves every state possible, and moves the ranking less than a reading."""
    heard = collect(assembly, case(Observation("final.volts", "low", told_by="owner")))
    assert min(heard.counted["final.volts"].likelihood) > 0
    told = diagnose(assembly, case(Observation("final.volts", "low", told_by="owner")), advice=False)
    seen = diagnose(assembly, case(Observation("final.volts", "low")), advice=False)

    def weak(found: object) -> float:
        return next(p.probability for p in found.parts if p.id == "final.supply")  # type: ignore[attr-defined]

    assert 0.05 < weak(told) < weak(seen)


def test_not_known_says_nothing(assembly: Assembly) -> None:
    """An answer of "not known" is listed and counts for nothing."""
    found = collect(assembly, case(Observation("final.hum")))
    assert not found.counted
    assert found.all[0].notes == ("not known",)


def test_a_reading_the_chart_does_not_know_claims_nothing(assembly: Assembly) -> None:
    """Where the chart has no row for the mode, nothing is claimed."""
    other = Observation("final.current", value=10.0, mode="tune")
    found = collect(assembly, case(other))
    assert not found.counted
    assert "nothing is known of what a good set shows" in found.all[0].notes[-1]
