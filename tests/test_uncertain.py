"""Propagation of uncertainty against an independent library, worked examples of the GUM, and simulation.

GUM is JCGM 100:2008, Evaluation of measurement data: Guide to the expression of uncertainty in
measurement. Its figures stand beside each check with the clause.
"""

from __future__ import annotations

import math
import pickle
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import uncertainties  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import umath

from diagnose.uncertain import (
    FUNCTIONS,
    Uncertain,
    applied,
    combined,
    exact,
    from_limits,
    from_resolution,
    measured,
    of_full_scale,
    of_reading,
    propagated,
)

SOURCES = ("panel meter", "voltmeter", "mains")
# Each maps all numbers into where the function is smooth, so that a random expression has a value.
SMOOTH: dict[str, Callable[[Any], Any]] = {
    "sqrt": lambda x: x * x + 0.5,
    "ln": lambda x: x * x + 0.5,
    "log10": lambda x: x * x + 0.5,
    "exp": lambda x: x / (1.0 + x * x),
    "asin": lambda x: x / (1.0 + x * x),
    "acos": lambda x: x / (1.0 + x * x),
    "sin": lambda x: x,
    "cos": lambda x: x,
    "tan": lambda x: x / (1.0 + x * x),
    "atan": lambda x: x,
    "abs": lambda x: x,
}
THEIRS: dict[str, Callable[[Any], Any]] = {
    name: getattr(umath, {"ln": "log"}.get(name, name)) for name in SMOOTH if name != "abs"
}
THEIRS["abs"] = lambda x: x if uncertainties.nominal_value(x) >= 0 else -x  # theirs is to be withdrawn

values = st.floats(min_value=-20, max_value=20, allow_subnormal=False)
parts = st.dictionaries(st.sampled_from(SOURCES), st.floats(min_value=-1, max_value=1), max_size=3)
uncertain_values = st.builds(Uncertain, values, parts)


def expressions() -> st.SearchStrategy[Any]:
    """Trees: an index into three values, a number, (operation, left, right) or (function, inside)."""
    leaves = st.one_of(st.integers(0, 2), st.floats(min_value=-5, max_value=5, allow_subnormal=False))
    return st.recursive(
        leaves,
        lambda inner: st.one_of(
            st.tuples(st.sampled_from(["+", "-", "*", "/", "^"]), inner, inner),
            st.tuples(st.sampled_from(sorted(SMOOTH)), inner),
        ),
        max_leaves=12,
    )


def evaluated(tree: Any, inputs: Any, functions: Callable[[str, Any], Any]) -> Any:
    """The tree with Python's operators on whatever the inputs are."""
    if isinstance(tree, int):
        return inputs[tree]
    if isinstance(tree, float):
        return tree
    if len(tree) == 2:
        return functions(tree[0], SMOOTH[tree[0]](evaluated(tree[1], inputs, functions)))
    sign, x, y = tree[0], *(evaluated(part, inputs, functions) for part in tree[1:])
    if sign == "+":
        return x + y
    if sign == "-":
        return x - y
    if sign == "*":
        return x * y
    if sign == "/":
        return x / (y * y + 1.0)
    return (x * x + 0.5) ** (y / (1.0 + y * y))


def ours_of(name: str, x: Any) -> Any:
    return applied(name, x) if isinstance(x, Uncertain) else FUNCTIONS[name].value(x)


@given(expressions(), st.lists(uncertain_values, min_size=3, max_size=3))
def test_expressions_agree_with_the_uncertainties_package(tree: Any, inputs: list[Uncertain]) -> None:
    """Value and every signed contribution, sources shared between the inputs included."""
    unit = {source: uncertainties.ufloat(0.0, 1.0, source) for source in SOURCES}
    same = [x.value + sum(part * unit[source] for source, part in x.parts.items()) for x in inputs]
    ours = evaluated(tree, inputs, ours_of)
    theirs = evaluated(tree, same, lambda name, x: THEIRS[name](x))
    if not isinstance(ours, Uncertain):
        assert ours == pytest.approx(float(theirs), rel=1e-9, abs=1e-9)
        return
    assert ours.value == pytest.approx(uncertainties.nominal_value(theirs), rel=1e-9, abs=1e-9)
    slopes = getattr(theirs, "derivatives", {})
    assert set(ours.parts) >= {variable.tag for variable in slopes}
    scale = max([1e-9, *map(abs, ours.parts.values())])
    for source, variable in unit.items():
        expected = slopes.get(variable, 0.0)
        assert ours.parts.get(source, 0.0) == pytest.approx(expected, rel=1e-9, abs=1e-9 * scale)
    assert ours.standard == pytest.approx(uncertainties.std_dev(theirs), rel=1e-7, abs=1e-9)


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
@given(x=st.floats(min_value=0.05, max_value=0.95))
def test_slopes_are_those_of_finite_differences(name: str, x: float) -> None:
    """The slope of every function is the limit of its differences."""
    step = 1e-6
    value = FUNCTIONS[name].value
    slope = applied(name, measured(x, 1.0, "x")).parts["x"]
    assert slope == pytest.approx((value(x + step) - value(x - step)) / (2 * step), rel=1e-5, abs=1e-7)


@given(st.floats(min_value=0.1, max_value=5), st.floats(min_value=-4, max_value=4))
def test_slopes_of_a_power_are_those_of_finite_differences(base: float, exponent: float) -> None:
    """Over the base and over the exponent."""
    power = measured(base, 1.0, "base") ** measured(exponent, 1.0, "exponent")
    step = 1e-6
    over_base = (math.pow(base + step, exponent) - math.pow(base - step, exponent)) / (2 * step)
    over_exponent = (math.pow(base, exponent + step) - math.pow(base, exponent - step)) / (2 * step)
    assert power.parts["base"] == pytest.approx(over_base, rel=1e-4, abs=1e-6)
    assert power.parts["exponent"] == pytest.approx(over_exponent, rel=1e-4, abs=1e-6)


def agrees(x: Uncertain, value: float, standard: float, *, digit: float) -> None:
    """A value and its uncertainty, both printed to a last digit worth so much."""
    assert x.value == pytest.approx(value, abs=digit)
    assert x.standard == pytest.approx(standard, abs=digit)


def test_end_gauge() -> None:
    """GUM H.1: the calibration of an end gauge, 50 000 838 nm with u = 32 nm, and its contributions.

    The scatter of a difference and of the standard come from H.1.3; those of the temperatures and
    expansions from limits as stated there.
    """
    standard = measured(50_000_623.0, 25.0, "standard gauge")
    difference = measured(215.0, math.hypot(5.8, 3.9, 6.7), "difference")
    expansion = measured(11.5e-6, from_limits(2e-6), "expansion")
    offset = measured(-0.1, 0.41, "bed temperature")
    two_expansions = measured(0.0, from_limits(1e-6), "difference of expansions")
    two_temperatures = measured(0.0, from_limits(0.05), "difference of temperatures")
    assert difference.standard == pytest.approx(9.7, abs=0.05)
    assert expansion.standard == pytest.approx(1.2e-6, abs=0.05e-6)
    assert two_expansions.standard == pytest.approx(0.58e-6, abs=0.005e-6)
    assert two_temperatures.standard == pytest.approx(0.029, abs=0.0005)

    length = standard + difference - standard * (two_expansions * offset + expansion * two_temperatures)

    agrees(length, 50_000_838.0, 32.0, digit=0.5)
    found = [(line.source, pytest.approx(line.contribution, abs=0.05)) for line in length.budget()]
    assert found == [
        ("standard gauge", 25.0),
        ("difference of temperatures", pytest.approx(16.6, abs=0.05)),
        ("difference", 9.7),
        ("difference of expansions", 2.9),
        ("bed temperature", 0.0),
        ("expansion", 0.0),
    ]


# GUM table H.2: five sets of simultaneous readings of volts, milliamperes and radians.
H2 = {
    "V": (5.007, 4.994, 5.005, 4.990, 4.999),
    "I": (19.663, 19.639, 19.640, 19.685, 19.678),
    "phi": (1.0456, 1.0438, 1.0468, 1.0428, 1.0433),
}


def mean_of(readings: tuple[float, ...]) -> Uncertain:
    """The mean, each set of readings being a source: GUM 4.2.3, and (17) for the covariance of two means."""
    number, mean = len(readings), sum(readings) / len(readings)
    spread = {f"set {i}": (x - mean) / math.sqrt(number * (number - 1)) for i, x in enumerate(readings)}
    return Uncertain(mean, spread)


def correlation(x: Uncertain, y: Uncertain) -> float:
    """GUM (14), the covariance being the sum of the products by source (F.1.2.3)."""
    return sum(part * y.parts.get(source, 0.0) for source, part in x.parts.items()) / (
        x.standard * y.standard
    )


def test_resistance_and_reactance() -> None:
    """GUM H.2: correlated inputs, and the correlation of what is computed from them (tables H.2 to H.4)."""
    volts, current, angle = mean_of(H2["V"]), mean_of(H2["I"]) * 1e-3, mean_of(H2["phi"])
    agrees(volts, 4.9990, 0.0032, digit=5e-5)
    agrees(current, 19.6610e-3, 0.0095e-3, digit=5e-8)
    agrees(angle, 1.04446, 0.00075, digit=5e-6)
    assert correlation(volts, current) == pytest.approx(-0.36, abs=0.005)
    assert correlation(volts, angle) == pytest.approx(0.86, abs=0.005)
    assert correlation(current, angle) == pytest.approx(-0.65, abs=0.005)

    impedance = volts / current
    resistance, reactance = impedance * applied("cos", angle), impedance * applied("sin", angle)

    # half a digit more than the last one: the guide computes from rounded uncertainties and correlations
    agrees(resistance, 127.732, 0.071, digit=1e-3)
    agrees(reactance, 219.847, 0.295, digit=1e-3)
    agrees(impedance, 254.260, 0.236, digit=1e-3)
    assert correlation(resistance, reactance) == pytest.approx(-0.588, abs=5e-4)
    assert correlation(resistance, impedance) == pytest.approx(-0.485, abs=5e-4)
    assert correlation(reactance, impedance) == pytest.approx(0.993, abs=5e-4)


def test_resistance_by_simulation() -> None:
    """GUM H.2 again: first order agrees with drawing the correlated inputs at random."""
    inputs = [mean_of(H2["V"]), mean_of(H2["I"]) * 1e-3, mean_of(H2["phi"])]
    sources = sorted(inputs[0].parts)
    draws = np.random.default_rng(7).standard_normal((len(sources), 200_000))
    volts, current, angle = (
        x.value + np.array([x.parts[source] for source in sources]) @ draws for x in inputs
    )
    ours = inputs[0] / inputs[1] * applied("cos", inputs[2])
    simulated = volts / current * np.cos(angle)
    assert simulated.mean() == pytest.approx(ours.value, rel=1e-5)
    assert simulated.std() == pytest.approx(ours.standard, rel=0.01)


def test_thermometer_line() -> None:
    """GUM H.3.4: a calibration line at 30 degrees, -0.1494 with u = 0.0041, its coefficients correlated by -0.930."""
    angle = -0.930
    first = Uncertain(-0.1712, {"one": 0.0029})
    slope = Uncertain(0.00218, {"one": 0.00067 * angle, "two": 0.00067 * math.sqrt(1 - angle**2)})
    assert correlation(first, slope) == pytest.approx(-0.930)
    correction = first + slope * (30.0 - 20.0)
    assert correction.value == pytest.approx(-0.1494, abs=5e-5)
    assert correction.standard == pytest.approx(0.0041, abs=5e-5)


def test_ten_resistors_from_one_standard() -> None:
    """GUM 5.2.2, example: ten 1 kohm resistors compared with one standard of u = 100 mohm add up to u = 1 ohm."""
    chain = exact(0.0)
    for _ in range(10):
        chain = chain + measured(1000.0, 0.1, "standard resistor")
    agrees(chain, 10_000.0, 1.0, digit=1e-9)
    apart = exact(0.0)
    for number in range(10):
        apart = apart + measured(1000.0, 0.1, f"standard resistor {number}")
    assert apart.standard == pytest.approx(0.32, abs=0.005)


def test_what_is_known_without_repeating() -> None:
    """GUM 4.3.7, examples 1 and 2, and F.2.2.1."""
    assert from_limits(0.40e-6) == pytest.approx(0.23e-6, abs=0.005e-6)
    # 14 millionths of the reading and 2 millionths of a range of 1 V, as two steps of 1 uV
    voltmeter = of_reading(14e-4, 0.928571, digits=2.0, step=1e-6)
    assert voltmeter == pytest.approx(8.7e-6, abs=0.05e-6)
    # 5.1.5: with 12 uV of scatter
    read = measured(0.928571, 12e-6, "scatter") + measured(0.0, voltmeter, "voltmeter")
    assert read.standard == pytest.approx(15e-6, abs=0.5e-6)
    assert from_resolution(1.0) == pytest.approx(0.29, abs=0.005)


def test_accuracy_of_full_scale_does_not_shrink_with_the_reading() -> None:
    """A 3 % panel meter of 300 mA: limits of 9 mA anywhere on its scale."""
    assert of_full_scale(3.0, 300.0) == pytest.approx(9.0 / math.sqrt(3.0))
    assert of_full_scale(3.0, -300.0) == of_full_scale(3.0, 300.0)
    assert of_reading(2.0, -50.0) == pytest.approx(1.0 / math.sqrt(3.0))


@given(uncertain_values)
def test_a_budget_accounts_for_everything(x: Uncertain) -> None:
    """Every source has a line, the lines fall, the shares add up, the contributions are those of the value."""
    budget = x.budget()
    assert {line.source for line in budget} == set(x.parts)
    assert [line.contribution for line in budget] == sorted(map(abs, x.parts.values()), reverse=True)
    if x.standard > 1e-150:
        assert sum(line.share for line in budget) == pytest.approx(1.0)
        assert math.hypot(*(line.contribution for line in budget)) == pytest.approx(x.standard)


@given(uncertain_values)
def test_the_same_value_twice_is_correlated(x: Uncertain) -> None:
    """A value less itself is nothing with nothing uncertain; its double has the double uncertainty."""
    assert ((x - x).value, (x - x).standard) == (0.0, 0.0)
    assert (x + x).standard == pytest.approx((2.0 * x).standard)
    assert (-x).parts == {source: -part for source, part in x.parts.items()}


def test_relative_uncertainty() -> None:
    """Over the size of the value; an uncertain zero has none that is finite."""
    assert measured(-200.0, 4.0, "meter").relative == pytest.approx(0.02)
    assert measured(0.0, 1.0, "meter").relative == math.inf
    assert exact(0.0).relative == 0.0


@given(values, values)
def test_plain_numbers_are_exact(x: float, y: float) -> None:
    """Numbers mix with uncertain values from either side, and exact values behave as the numbers."""
    known = measured(y, 0.5, "y")
    assert x + known == exact(x) + known
    assert x - known == exact(x) - known
    assert x * known == exact(x) * known
    assert known - x == known - exact(x)
    assert (exact(x) * exact(y), abs(exact(x))) == (exact(x * y), exact(abs(x)))


def test_a_power_from_the_left_and_the_divisor_from_the_right() -> None:
    """2^x and 1/x by their own derivatives."""
    x = measured(3.0, 0.1, "x")
    assert (2.0**x).parts == {"x": pytest.approx(0.1 * 8.0 * math.log(2.0))}
    assert (1.0 / x).parts == {"x": pytest.approx(-0.1 / 9.0)}


def test_the_smaller_and_the_larger_bring_their_own_uncertainty() -> None:
    """Of two that are equal the first is taken."""
    a, b = measured(1.0, 0.1, "a"), measured(2.0, 0.2, "b")
    assert combined("min", a, b).parts == {"a": 0.1, "b": 0.0}
    assert combined("max", a, b).parts == {"a": 0.0, "b": 0.2}
    assert combined("max", a, 1.0).parts == {"a": 0.1}


def test_whole_powers_of_negative_numbers() -> None:
    """(-3)^2 has a value and a slope; a negative number to an uncertain power has no slope to speak of."""
    x = measured(-3.0, 0.1, "x")
    assert (x**2).parts == {"x": pytest.approx(-0.6)}
    assert (measured(0.0, 0.1, "x") ** 2).parts == {"x": 0.0}
    with pytest.raises(ValueError, match="not a usable value"):
        _ = exact(-3.0) ** measured(2.0, 0.1, "y")


@pytest.mark.parametrize(
    ("compute", "fault"),
    [
        (lambda x: 1.0 / (x - x), ZeroDivisionError),
        (lambda x: applied("sqrt", x - 5.0), ValueError),
        (lambda x: applied("sqrt", x - 3.0), ValueError),  # a value, but an upright tangent
        (lambda x: applied("ln", -x), ValueError),
        (lambda x: x**0.5 * 1e308 * 1e308, ValueError),
        (lambda x: (-x) ** 0.5, ValueError),
    ],
)
def test_what_has_no_value_is_refused(
    compute: Callable[[Uncertain], Uncertain], fault: type[Exception]
) -> None:
    """No infinity and no complex number comes out of arithmetic."""
    with pytest.raises(fault):
        compute(measured(3.0, 0.1, "x"))


@pytest.mark.parametrize(
    "make",
    [
        lambda: exact(math.nan),
        lambda: Uncertain(1.0, {"meter": math.inf}),
        lambda: measured(1.0, -0.1, "meter"),
        lambda: from_limits(-1.0),
    ],
)
def test_what_is_no_value_is_refused(make: Callable[[], Any]) -> None:
    """Not a number, infinite and negative uncertainties."""
    with pytest.raises(ValueError, match=r"usable|negative"):
        make()


def test_it_is_no_arithmetic_with_words() -> None:
    """A text is no operand."""
    with pytest.raises(TypeError):
        _ = exact(1.0) + "1"  # type: ignore[operator]


def test_values_are_frozen() -> None:
    """The contributions do not change with the dict they came from; values are equal, hashed and sent by content."""
    given_parts = {"meter": 0.5}
    x = Uncertain(3.0, given_parts)
    given_parts["meter"] = 9.0
    assert x.standard == 0.5
    with pytest.raises(TypeError):
        x.parts["meter"] = 1.0  # type: ignore[index]
    assert x == measured(3.0, 0.5, "meter")
    assert hash(x) == hash(measured(3.0, 0.5, "meter"))
    assert pickle.loads(pickle.dumps(x)) == x


def test_a_contribution_of_no_weight_is_no_source() -> None:
    """A value measured without uncertainty is exact; exact terms leave nothing behind, whatever their slope."""
    assert measured(3.0, 0.0, "meter") == exact(3.0)
    assert propagated(1.0, ((math.inf, exact(2.0)),)) == exact(1.0)
