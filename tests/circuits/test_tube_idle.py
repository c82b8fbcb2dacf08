"""Currents without signal: against published rows, and their laws."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.circuits import tube_idle
from diagnose.circuits.method import CannotCompute, Method
from tests.circuits.tables import root_mean_square
from tests.circuits.tube_idle_rows import RUN, checks, known
from tests.circuits.tube_rows import points, rows

BEAM = known("6L6GC")
STAGE = {"plate_voltage": 450.0, "screen_voltage": 400.0, "grid_voltage": -37.0}

# Cathode-biased rows: tube, volts against ground (plate, screen), resistor, tubes, plate current of all.
# The 12AT7 by the RCA data sheet of March 1954, as quoted by a public circuit reference
# (github.com/TheAnalogMaker/circuit-codex); the others by receiving tube manuals, from memory.
CATHODE_BIASED = [
    ("12AT7", 250.0, None, 200.0, 1, 10e-3),
    ("12AT7", 100.0, None, 270.0, 1, 3.7e-3),
    ("6L6", 250.0, 250.0, 170.0, 1, 75e-3),
    ("6L6", 360.0, 270.0, 248.0, 2, 88e-3),
    ("6L6", 270.0, 270.0, 125.0, 2, 134e-3),
    ("6V6GT", 250.0, 250.0, 240.0, 1, 47e-3),
    ("6V6GT", 285.0, 285.0, 260.0, 2, 70e-3),
    ("2A3", 345.0, None, 780.0, 2, 80e-3),
]


def test_the_stated_uncertainty_is_what_was_measured() -> None:
    """Not less than the root mean square over the published rows, and not much more."""
    off = [check.astray for check in checks() if check.made is not None]
    assert len(off) >= 15
    measured = root_mean_square(off)
    assert measured <= tube_idle.WITHIN <= 1.2 * measured


@pytest.mark.parametrize(
    ("plate", "screen", "bias", "published"), [(360.0, 270.0, -22.5, 0.088), (450.0, 400.0, -37.0, 0.116)]
)
def test_the_pair_of_large_beam_tubes(plate: float, screen: float, bias: float, published: float) -> None:
    """Class AB1 rows of the 6L6GC from its class A point (RCA sheet, 8-60): within 5 percent."""
    stage = {"plate_voltage": plate, "screen_voltage": screen, "grid_voltage": bias, "tubes": 2.0}
    assert RUN["idle_current"]({**BEAM, **stage})["plate_current"] == pytest.approx(published, rel=0.05)


@pytest.mark.parametrize("row", CATHODE_BIASED, ids=lambda row: f"{row[0]} {row[1]:.0f} V")
def test_cathode_biased_rows(row: tuple[str, float, float | None, float, int, float]) -> None:
    """Within 15 percent each."""
    assert cathode_biased(row) == pytest.approx(row[5], rel=0.15)


def test_the_stated_uncertainty_of_cathode_bias_is_what_was_measured() -> None:
    """Not less than the root mean square over the rows above, and not much more."""
    measured = root_mean_square([cathode_biased(row) / row[5] - 1.0 for row in CATHODE_BIASED])
    (method,) = (method for method in tube_idle.METHODS if method.id == "cathode_bias")
    assert measured <= method.results["plate_current"].within <= 1.3 * measured


def cathode_biased(row: tuple[str, float, float | None, float, int, float]) -> float:
    """The plate current that the method gives for a row."""
    tube, plate, screen, ohms, tubes, _ = row
    stage = {"plate_voltage": plate, "cathode_resistance": ohms, "tubes": float(tubes)}
    if screen is not None:
        stage["screen_voltage"] = screen
    return RUN["cathode_bias"]({**known(tube), **stage})["plate_current"]


@pytest.mark.parametrize("tube", [tube for tube in rows() if "transconductance" in known(tube)])
def test_a_known_point_gives_itself(tube: str) -> None:
    """At its own volts the published current comes out exactly."""
    point = dict(points(tube))["class_a"]
    stage = {
        name: point[name] for name in ("plate_voltage", "screen_voltage", "grid_voltage") if name in point
    }
    made = RUN["idle_current"]({**known(tube), **stage})
    assert made["plate_current"] == pytest.approx(point["plate_current"])
    assert made["plate_dissipation"] == pytest.approx(point["plate_voltage"] * point["plate_current"])


@given(st.floats(-35.0, -10.0), st.floats(0.1, 8.0))
def test_less_bias_and_more_volts_draw_more(bias: float, more: float) -> None:
    """Idle current rises with each of grid, screen and plate."""

    def idle(**changed: float) -> float:
        return RUN["idle_current"]({**BEAM, **STAGE, "grid_voltage": bias, **changed})["plate_current"]

    assert idle(grid_voltage=bias + more) > idle()
    assert idle(screen_voltage=400.0 + more) > idle()
    assert idle(plate_voltage=450.0 + more) > idle()


@given(st.floats(50.0, 1000.0))
def test_the_cathode_settles_at_its_own_current(ohms: float) -> None:
    """Voltage over resistor is the current of plate and screen; the fixed method agrees with the bias found."""
    given_ = {
        **BEAM,
        "plate_voltage": 360.0,
        "screen_voltage": 270.0,
        "cathode_resistance": ohms,
        "tubes": 2.0,
    }
    found = RUN["cathode_bias"](given_)
    raised = found["cathode_voltage"]
    assert raised / ohms == pytest.approx(found["cathode_current"], rel=1e-5)
    assert found["grid_voltage"] == -raised
    fixed = RUN["idle_current"]({
        **BEAM, "plate_voltage": 360.0 - raised, "screen_voltage": 270.0 - raised, "grid_voltage": -raised,
        "tubes": 2.0,
    })  # fmt: skip
    assert fixed["plate_current"] == pytest.approx(found["plate_current"], rel=1e-5)


@given(st.floats(1e3, 100e3))
def test_the_screen_settles_behind_its_resistor(ohms: float) -> None:
    """Supply less current times resistor; a larger resistor leaves less."""
    base = {**BEAM, "plate_voltage": 300.0, "grid_voltage": -10.0, "screen_supply": 300.0}
    found = RUN["screen_dropper_with_tube"]({**base, "screen_resistance": ohms})
    left = 300.0 - ohms * found["screen_current"]
    assert found["screen_voltage"] == pytest.approx(left, rel=1e-5)
    more = RUN["screen_dropper_with_tube"]({**base, "screen_resistance": 1.5 * ohms})
    assert more["screen_voltage"] < found["screen_voltage"]


def test_the_screen_resistor_of_an_audio_pentode() -> None:
    """6SJ7: 250 V, screen 100 V and 0.8 mA, bias 3 V (RCA sheet, June 1948): 187.5 kilohms from 250 V."""
    given_ = {**known("6SJ7"), "mu_screen": 19.0, "screen_supply": 250.0, "screen_resistance": 187.5e3}
    if "known_plate_voltage" not in given_:
        point = dict(points("6SJ7"))["class_a"]
        given_ |= {f"known_{name}": value for name, value in point.items() if name != "transconductance"}
        given_["transconductance"] = point["transconductance"]
    found = RUN["screen_dropper_with_tube"]({**given_, "plate_voltage": 250.0, "grid_voltage": -3.0})
    assert found["screen_voltage"] == pytest.approx(100.0, rel=0.01)
    assert found["screen_current"] == pytest.approx(0.8e-3, rel=0.01)


@pytest.mark.parametrize(
    ("method", "changed", "why"),
    [
        ("idle_current", {"grid_voltage": -60.0}, "so near to cut-off"),
        ("idle_current", {"grid_voltage": 5.0}, "biased negative"),
        ("idle_current", {"screen_voltage": None}, "screen voltage is not known"),
        ("idle_current", {"mu": None, "mu_screen": None}, "amplification factor"),
        ("idle_current", {"known_plate_current": 0.0}, "known plate current must be known and above zero"),
        (
            "idle_current",
            {"transconductance": None, "known_grid_voltage": -32.0},
            "known working point lies too near",
        ),
        ("cathode_bias", {"cathode_resistance": None}, "cathode resistance must be known"),
        ("screen_dropper_with_tube", {"known_screen_current": None}, "screen current is known"),
    ],
)
def test_what_cannot_be_told_is_refused_with_the_reason(
    method: str, changed: dict[str, float | None], why: str
) -> None:
    """Beyond and near cut-off, and where a figure is missing or impossible."""
    full = {
        **BEAM, **STAGE, "cathode_resistance": 250.0, "screen_supply": 400.0, "screen_resistance": 1e3, **changed
    }  # fmt: skip
    with pytest.raises(CannotCompute, match=why):
        RUN[method]({name: value for name, value in full.items() if value is not None})


@pytest.mark.parametrize("method", tube_idle.METHODS, ids=lambda method: method.id)
def test_a_method_gives_what_it_declares(method: Method) -> None:
    """Exactly the declared results, from arguments that are all declared."""
    extra = {
        "idle_current": STAGE,
        "cathode_bias": {"plate_voltage": 360.0, "screen_voltage": 270.0, "cathode_resistance": 250.0},
        "screen_dropper_with_tube": {
            "plate_voltage": 250.0, "grid_voltage": -14.0, "screen_supply": 300.0, "screen_resistance": 10e3
        },
    }  # fmt: skip
    given_ = {**BEAM, **extra[method.id]}
    assert set(given_) <= set(method.arguments)
    assert set(method.run(given_)) == set(method.results)
