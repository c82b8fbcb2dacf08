"""Formulas with units, figures and uncertainty."""

from __future__ import annotations

import copy
import math
import pickle
from collections.abc import Mapping
from typing import Any

import numpy as np
import pint
import pytest
import uncertainties  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st

from diagnose.formula import Bound, FormulaError, parse_formula
from diagnose.uncertain import Uncertain, exact, measured

REGISTRY: Any = pint.UnitRegistry(cache_folder=None)
SWR = "(1 + sqrt(back / forward)) / (1 - sqrt(back / forward))"


def swr() -> Bound:
    return parse_formula(SWR).bound({"back": "W", "forward": "W"}, "")


@given(
    st.floats(1, 5000),
    st.floats(0.1, 1000),
    st.sampled_from(["V", "mV", "kV"]),
    st.sampled_from(["A", "mA", "uA"]),
    st.sampled_from(["W", "mW", "kW"]),
)
def test_each_figure_is_in_its_own_unit(volts: float, amps: float, u: str, i: str, p: str) -> None:
    """A product in any units is what pint makes of it."""
    bound = parse_formula("2 * (u * i)").bound({"u": u, "i": i, "unused": "s"}, p)
    theirs = (2 * REGISTRY.Quantity(volts, u) * REGISTRY.Quantity(amps, i)).to(p).magnitude
    assert bound.value({"u": volts, "i": amps}) == pytest.approx(theirs, rel=1e-12)
    assert bound.uncertain({"u": exact(volts), "i": exact(amps)}) == exact(
        bound.value({"u": volts, "i": amps})
    )


readings = st.builds(
    Uncertain,
    st.floats(10, 500),
    st.dictionaries(st.sampled_from(["meter", "mains", "scale"]), st.floats(-5, 5), max_size=3),
)


@given(readings, readings, readings)
def test_uncertainty_agrees_with_the_uncertainties_package(u: Uncertain, i: Uncertain, r: Uncertain) -> None:
    """With sources that the inputs share, and units that are not those of SI."""
    sources = {name: uncertainties.ufloat(0.0, 1.0) for name in ("meter", "mains", "scale")}

    def same(x: Uncertain, to_si: float) -> Any:
        return to_si * (x.value + sum(part * sources[name] for name, part in x.parts.items()))

    bound = parse_formula("u * i - (u - r * i)^2 / (3 * r)").bound({"u": "V", "i": "mA", "r": "kohm"}, "mW")
    ours = bound.uncertain({"u": u, "i": i, "r": r})
    volts, amps, ohms = same(u, 1.0), same(i, 1e-3), same(r, 1e3)
    theirs = 1e3 * (volts * amps - (volts - ohms * amps) ** 2 / (3 * ohms))
    assert ours.value == pytest.approx(uncertainties.nominal_value(theirs), rel=1e-9, abs=1e-6)
    slopes = getattr(theirs, "derivatives", {})
    for name, variable in sources.items():
        assert ours.parts.get(name, 0.0) == pytest.approx(slopes.get(variable, 0.0), rel=1e-9, abs=1e-6)
    assert ours.value == bound.value({"u": u.value, "i": i.value, "r": r.value})


def test_a_shared_meter_cancels_in_a_ratio() -> None:
    """Two powers read with one wattmeter that is 10 % out give a ratio that knows nothing of it."""
    forward, back = measured(50.0, 5.0, "wattmeter"), measured(2.0, 0.2, "wattmeter")
    found = swr().uncertain({"forward": forward, "back": back})
    assert found.value == pytest.approx(1.5)
    assert found.standard == pytest.approx(0.0, abs=1e-12)


def test_the_root_of_a_reading_of_zero() -> None:
    """No reflected power, read to half a watt: the ratio may be what half a watt makes it, to one side only."""
    found = swr().uncertain({"forward": exact(50.0), "back": measured(0.0, 0.5, "wattmeter")})
    assert found.value == 1.0
    assert found.standard == pytest.approx((1.0 + 0.1) / (1.0 - 0.1) - 1.0)


def test_the_size_of_something_that_may_be_zero() -> None:
    """sqrt(x^2) at zero moves by u whichever way x moves; the two ways do not cancel."""
    size = parse_formula("sqrt(x^2)").bound({"x": "V"}, "mV")
    assert size.uncertain({"x": measured(0.0, 2.0, "meter")}).standard == pytest.approx(2000.0)


def test_first_order_agrees_with_simulation_where_it_may_be_used() -> None:
    """GUM 5.1.2: plate dissipation from three readings with a few percent each, one meter for two of them."""
    text = "volts * amps - output"
    bound = parse_formula(text).bound({"volts": "V", "amps": "mA", "output": "W"}, "W")
    inputs = {
        "volts": Uncertain(600.0, {"panel meter": 12.0}),
        "amps": Uncertain(145.0, {"panel meter": 3.0, "scale": 1.0}),
        "output": measured(60.0, 2.0, "wattmeter"),
    }
    draws = np.random.default_rng(5).standard_normal((3, 100_000))
    panel, scale, wattmeter = draws
    simulated = (600.0 + 12.0 * panel) * (0.145 + 0.003 * panel + 0.001 * scale) - (60.0 + 2.0 * wattmeter)
    ours = bound.uncertain(inputs)
    assert ours.value == pytest.approx(simulated.mean(), abs=0.05)
    assert ours.standard == pytest.approx(simulated.std(), rel=0.01)
    assert [line.source for line in ours.budget()] == ["panel meter", "wattmeter", "scale"]


FAULTS = [
    (SWR, {"back": -3.0, "forward": 50.0}, 6, "sqrt of a negative number (-0.06) in `sqrt(back / forward)`"),
    (SWR, {"back": 50.0, "forward": 50.0}, 28, "division by zero: `1 - sqrt(back / forward)` is 0"),
    (SWR, {"back": 5.0, "forward": 0.0}, 16, "division by zero: `forward` is 0"),
    (
        "sqrt(back - forward)",
        {"back": 1.0, "forward": 4.0},
        1,
        "sqrt of a negative number (-3) in `sqrt(back - forward)`",
    ),
    ("ln(back / forward)", {"back": 0.0, "forward": 4.0}, 1, "ln of zero in `ln(back / forward)`"),
    (
        "exp(1000 * back / forward)",
        {"back": 4.0, "forward": 4.0},
        1,
        "`exp(1000 * back / forward)` is too large to compute",
    ),
    (
        "back * back * 1e300",
        {"back": 1e10, "forward": 1.0},
        13,
        "`back * back * 1e+300` is too large to compute",
    ),
    (
        "(back / forward)^0.5",
        {"back": -4.0, "forward": 1.0},
        17,
        "a negative number (-4) to the power 0.5 in `(back / forward)^0.5`",
    ),
    ("forward / back^-1", {"back": 0.0, "forward": 1.0}, 15, "zero to the power -1 in `back^-1`"),
    (
        "asin(back / forward)",
        {"back": 3.0, "forward": 2.0},
        1,
        "asin of a number that is not between -1 and 1 (1.5) in `asin(back / forward)`",
    ),
]


@pytest.mark.parametrize(("text", "inputs", "column", "sentence"), FAULTS)
def test_what_has_no_value_says_which_part_and_why(
    text: str, inputs: Mapping[str, float], column: int, sentence: str
) -> None:
    """In words with the number, at the column of the part, the figures in the hint; for all three uses alike."""
    watts = {"back": "W", "forward": "W"}
    bound = Bound.made(parse_formula(text).root, watts, "")
    for use in (
        lambda: bound.value(inputs),
        lambda: bound.shown(inputs),
        lambda: bound.uncertain({name: measured(figure, 0.1, name) for name, figure in inputs.items()}),
    ):
        with pytest.raises(FormulaError) as caught:
            use()
        assert (caught.value.text, caught.value.column) == (sentence, column)
        assert caught.value.hint.startswith("with back = ") or caught.value.hint.startswith("with forward = ")


@pytest.mark.parametrize(
    ("inputs", "sentence"),
    [
        ({"back": 1.0}, "there is no figure for `forward`"),
        ({"back": math.nan, "forward": 1.0}, "the figure for `back` is not a usable number"),
        ({"back": 1.0, "forward": math.inf}, "the figure for `forward` is not a usable number"),
    ],
)
def test_figures_that_are_none(inputs: Mapping[str, float], sentence: str) -> None:
    """A missing one, and what is not a number."""
    with pytest.raises(FormulaError) as caught:
        swr().value(inputs)
    assert caught.value.text == sentence


def test_results_and_uncertainties_beyond_all_numbers() -> None:
    """Refused, not infinite."""
    tiny = parse_formula("x").bound({"x": "V"}, "uV")
    with pytest.raises(FormulaError, match="the result is too large to compute in uV"):
        tiny.value({"x": 1e305})
    with pytest.raises(FormulaError, match="the uncertainty is too large to compute"):
        tiny.uncertain({"x": measured(1.0, 1e305, "meter")})
    with pytest.raises(FormulaError, match="the figure for `x` is not a usable number"):
        parse_formula("x").bound({"x": "kV"}, "V").value({"x": 1e307})


def test_a_root_that_cannot_be_moved() -> None:
    """acos(x) at 1 moves one way only; a formula with a value at one point alone has no uncertainty."""
    angle = parse_formula("acos(x)").bound({"x": ""}, "deg")
    assert angle.uncertain({"x": measured(1.0, 0.5, "x")}).standard == pytest.approx(60.0)
    point = parse_formula("sqrt(x) + sqrt(-x)").bound({"x": ""}, "")
    with pytest.raises(FormulaError, match="the uncertainty is too large to compute"):
        point.uncertain({"x": measured(0.0, 0.5, "x")})


def test_formulas_travel_to_another_process() -> None:
    """Formulas and bound formulas are copied and sent as what they say."""
    formula = parse_formula(SWR)
    bound = swr()
    figures = {"back": 2.0, "forward": 50.0}
    assert pickle.loads(pickle.dumps(formula)) == formula
    assert pickle.loads(pickle.dumps(bound)).value(figures) == bound.value(figures)
    assert copy.deepcopy(bound).shown(figures) == bound.shown(figures)
    assert hash(formula) == hash(parse_formula(SWR + " "))
