"""Supplies as a bench meets them, drawn at random: parts that belong together, and loads that they can carry."""

from __future__ import annotations

from typing import Any

from hypothesis import settings
from hypothesis import strategies as st

Given = dict[str, Any]
# A supply is solved two to four times for each example, so a quarter of the usual number is drawn.
few = settings(max_examples=max(5, settings().max_examples // 4))

FULL_WAVE = ("centre_tap", "bridge")


@st.composite
def rectifiers(draw: st.DrawFn, volts: float, amps: float) -> Given:
    """A rectifier for that winding and load, with a drop of its kind."""
    kind = draw(st.sampled_from(["vacuum", "mercury_vapour", "silicon", "selenium"]))
    if kind == "vacuum":
        drop = volts * draw(st.floats(0.03, 0.15))
        return {"rectifier": kind, "drop_volts": drop, "drop_current": amps * draw(st.floats(0.8, 2.0))}
    drop = {"mercury_vapour": 15.0, "silicon": 0.9, "selenium": 1.0}[kind]
    plates = max(1, round(volts / 25.0)) if kind == "selenium" else 1
    return {"rectifier": kind, "drop_volts": drop, "drop_current": amps, "in_series": plates}


@st.composite
def capacitor_inputs(
    draw: st.DrawFn, circuits: tuple[str, ...] = (*FULL_WAVE, "half_wave", "doubler")
) -> Given:
    """A supply with a reservoir, with a bleeder and no further section; its ripple is below a fifth or so."""
    volts, amps = draw(st.floats(100.0, 1500.0)), draw(st.floats(0.005, 0.3))
    mains, swing = draw(st.sampled_from([50.0, 60.0])), draw(st.floats(0.01, 0.15))
    return {
        **draw(rectifiers(volts, amps)),
        "circuit": draw(st.sampled_from(circuits)),
        "filter": "capacitor_input",
        "mains_frequency": mains,
        "winding_volts": volts,
        "source_ohms": volts / amps * draw(st.floats(0.005, 0.05)),
        "capacitance": amps / (mains * swing * volts),
        "bleeder_ohms": volts / amps * draw(st.floats(5.0, 50.0)),
        "load_current": amps,
    }


@st.composite
def choke_inputs(draw: st.DrawFn, margins: tuple[float, float] = (0.3, 5.0)) -> Given:
    """A supply with a choke at the input, so many times the critical inductance at its load, and no further section."""
    volts, amps = draw(st.floats(100.0, 2500.0)), draw(st.floats(0.02, 0.4))
    mains, margin = draw(st.sampled_from([50.0, 60.0])), draw(st.floats(*margins))
    load = 0.9 * volts / amps
    henries = margin * load / (18.85 * mains)
    return {
        **draw(rectifiers(volts, amps)),
        "circuit": draw(st.sampled_from(FULL_WAVE)),
        "filter": "choke_input",
        "mains_frequency": mains,
        "winding_volts": volts,
        "source_ohms": load * draw(st.floats(0.005, 0.05)),
        "choke_inductance": henries,
        "choke_ohms": load * draw(st.floats(0.0, 0.05)),
        # so many times what would be in resonance at twice the mains
        "capacitance": draw(st.floats(10.0, 100.0)) / ((12.57 * mains) ** 2 * henries),
        "bleeder_ohms": load * draw(st.floats(5.0, 20.0)),
        "load_current": amps,
    }


def any_supply() -> st.SearchStrategy[Given]:
    """A supply of either kind."""
    return st.one_of(capacitor_inputs(), choke_inputs())
