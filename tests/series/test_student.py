"""Student's t held to scipy."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats  # type: ignore[import-untyped]

from diagnose.series.student import FOR_95_PERCENT, two_sided, widening


@given(st.floats(0.0, 1e6), st.floats(0.5, 5000.0))
def test_the_chance_of_a_t_agrees_with_scipy(t: float, freedom: float) -> None:
    """Both tails together, over all sizes that a log can bring about."""
    assert two_sided(t, freedom) == pytest.approx(2.0 * stats.t.sf(t, freedom), rel=1e-8, abs=1e-280)
    assert two_sided(-t, freedom) == two_sided(t, freedom)


@pytest.mark.parametrize(
    ("freedom", "quantile"),
    [(1, 12.706), (2, 4.303), (3, 3.182), (5, 2.571), (10, 2.228), (30, 2.042), (120, 1.980)],
)
def test_the_widening_is_the_printed_quantile(freedom: int, quantile: float) -> None:
    """The 0.975 column of the table of Student's t that every textbook prints."""
    assert widening(freedom) * FOR_95_PERCENT == pytest.approx(quantile, rel=0.01)


@given(st.floats(1.0, 3000.0), st.floats(1.0, 3000.0))
def test_more_readings_never_widen_more(one: float, other: float) -> None:
    """The widening falls towards 1, but for the joint of its two ways at three degrees of freedom."""
    fewer, more = sorted((one, other))
    assert widening(fewer) >= widening(more) - 0.01
    assert widening(more) >= 1.0


def test_no_freedom_is_refused() -> None:
    """Without a degree of freedom there is no scatter to compare with."""
    with pytest.raises(ValueError, match="degree of freedom"):
        two_sided(1.0, 0.0)
