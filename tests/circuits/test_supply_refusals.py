"""What makes no supply is refused with a reason, and never answered with a number."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.circuits import supply, supply_bleeder, supply_ripple
from diagnose.circuits.method import CannotCompute, Method
from diagnose.circuits.supply import RECTIFIED_SUPPLY, rectified_supply
from tests.circuits.supplies.kept import supplies
from tests.circuits.supplies.strategies import Given, few

SOUND = dict(supplies()["plate_350"]["given"])
CHOKE = dict(supplies()["choke_600"]["given"])
DOUBLER = dict(supplies()["doubler_750"]["given"])
BIAS = dict(supplies()["half_wave_vacuum"]["given"])
RIPPLE: Given = {"circuit": "bridge", "filter": "choke_input", "voltage": 300.0, "current": 0.1,
                 "capacitance": 1e-5, "mains_frequency": 60.0, "choke_inductance": 10.0}  # fmt: skip
BLEEDER: Given = {"voltage": 300.0, "bleeder_ohms": 2e4, "capacitance": 3e-5}
EXAMPLES = {"rectified_supply": SOUND, "ripple": RIPPLE, "bleeder": BLEEDER}


def without(parts: Mapping[str, Any], *names: str) -> Given:
    """The same with some figures left out."""
    return {name: value for name, value in parts.items() if name not in names}


@pytest.mark.parametrize(
    ("parts", "reason"),
    [
        ({**SOUND, "winding_volts": 0.0}, "winding_volts cannot be 0"),
        ({**SOUND, "winding_volts": -350.0}, "winding_volts cannot be -350"),
        ({**SOUND, "capacitance": math.nan}, "capacitance is no number: nan"),
        ({**SOUND, "mains_frequency": math.inf}, "mains_frequency is no number: inf"),
        ({**SOUND, "load_current": "much"}, "load_current is no number: much"),
        ({**SOUND, "load_current": -0.1}, "load_current cannot be -0.1"),
        (without(SOUND, "capacitance"), "capacitance is not given"),
        (without(SOUND, "load_current"), "load_current is not given"),
        ({**SOUND, "circuit": "star"}, "circuit is one of centre_tap, bridge, half_wave, doubler, not star"),
        ({**SOUND, "rectifier": 5.0}, "rectifier is one of vacuum, mercury_vapour, silicon, selenium, not 5"),
        (without(SOUND, "filter"), "filter is one of capacitor_input, choke_input, not None"),
        (without(SOUND, "drop_volts"), "a vacuum rectifier needs its drop"),
        (without(SOUND, "drop_current"), "a vacuum rectifier needs its drop"),
        ({**SOUND, "in_series": 0.5}, "in_series is a count, and cannot be 0.5"),
        ({**SOUND, "in_parallel": 0.0}, "in_parallel cannot be 0"),
        ({**SOUND, "choke_inductance": 8.0}, "a capacitor-input filter has no input choke"),
        (without(SOUND, "section_capacitance"), "has no section_capacitance after it"),
        ({**without(SOUND, "section_inductance"), "section_ohms": 0.0}, "needs a choke or a resistor"),
        ({**without(SOUND, "bleeder_ohms"), "load_current": 0.0}, "the output floats at the peak"),
        (without(CHOKE, "choke_inductance"), "choke_inductance is not given"),
        ({**CHOKE, "circuit": "half_wave"}, "a choke at the input needs full-wave rectification"),
        ({**DOUBLER, "filter": "choke_input", "choke_inductance": 5.0}, "needs full-wave rectification"),
        (
            {**without(SOUND, "source_ohms"), "secondary_ohms": 50.0, "primary_ohms": 5.0},
            "primary_volts is not given",
        ),
        ({**without(SOUND, "source_ohms"), "regulation": 7.0}, "0.07 for 7 percent"),
        ({**SOUND, "load_current": 30.0}, "cannot deliver that current"),
        ({**SOUND, "source_ohms": 1e5}, "cannot deliver that current"),
        (
            {**without(BIAS, "section_ohms", "section_capacitance"), "capacitance": 3e-6},
            "does not carry this load from one pulse",
        ),
    ],
)
def test_what_makes_no_supply_is_refused(parts: Given, reason: str) -> None:
    """With a reason that names what is wrong."""
    with pytest.raises(CannotCompute) as caught:
        rectified_supply(parts)
    assert reason in str(caught.value)


@pytest.mark.parametrize(
    "method", [RECTIFIED_SUPPLY, *supply_bleeder.METHODS, *supply_ripple.METHODS], ids=lambda m: m.id
)
def test_each_figure_that_is_needed_is_asked_for(method: Method) -> None:
    """Without it, or with a number below zero, the refusal names it."""
    example = EXAMPLES[method.id]
    method.run(example)
    for name, argument in method.arguments.items():
        if not argument.optional:
            with pytest.raises(CannotCompute, match=name):
                method.run(without(example, name))
        if not argument.words and name in example:
            with pytest.raises(CannotCompute, match=name):
                method.run({**example, name: -1.0})


@pytest.mark.parametrize(
    ("parts", "reason"),
    [
        ({**RIPPLE, "circuit": "doubler"}, "needs full-wave rectification"),
        ({**RIPPLE, "choke_inductance": 2.5}, "below its critical inductance"),
        (without(RIPPLE, "choke_inductance"), "choke_inductance is not given"),
    ],
)
def test_the_ripple_formulas_refuse_too(parts: Given, reason: str) -> None:
    """A choke that is not there, or where none can be."""
    with pytest.raises(CannotCompute) as caught:
        supply_ripple.ripple(parts)
    assert reason in str(caught.value)


def test_methods_give_what_they_declare() -> None:
    """Results are those that the method names; those of an input choke only where there is one."""
    whole = set(RECTIFIED_SUPPLY.results)
    choke = {"critical_inductance", "choke_margin", "choke_margin_unloaded"}
    assert set(rectified_supply(CHOKE)) == whole
    assert set(rectified_supply(SOUND)) == whole - choke
    for method in supply.METHODS:
        made = method.run(EXAMPLES[method.id])
        assert set(made) <= set(method.results)
        assert all(map(math.isfinite, made.values()))


def test_a_choke_without_any_current_has_no_margin() -> None:
    """Without a bleeder no inductance is enough."""
    made = rectified_supply(without(CHOKE, "bleeder_ohms"))
    assert made["choke_margin_unloaded"] == 0.0
    assert made["choke_margin"] > 0.0


ABSURD = st.floats(-3.0, 4.0).map(lambda power: 10.0**power)


@few
@given(st.sampled_from(sorted(supplies())), st.sampled_from([
    "winding_volts", "source_ohms", "capacitance", "load_current", "bleeder_ohms", "drop_volts", "choke_inductance",
    "section_capacitance", "section_inductance", "mains_frequency"]), ABSURD)  # fmt: skip
def test_a_slip_of_the_prefix_gives_a_number_or_a_reason(name: str, figure: str, factor: float) -> None:
    """However far one figure of a sound supply is off, the answer is finite and positive, or a refusal."""
    parts = dict(supplies()[name]["given"])
    if figure not in parts:
        return
    try:
        made = rectified_supply({**parts, figure: parts[figure] * factor})
    except CannotCompute:
        return
    assert all(math.isfinite(value) for value in made.values())
    assert made["voltage"] > 0.0
    assert made["ripple"] >= 0.0
