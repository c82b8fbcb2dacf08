"""The VFO of the book: its drift log, its frequency error, and its steps with the line and the key, as readings."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from diagnose.diagnosis import diagnose
from diagnose.evidence.collect import collect
from diagnose.evidence.drift_logs import FIGURES
from diagnose.files.read_book import load_book
from diagnose.files.read_series import DRIFT_FIGURES
from diagnose.model.assembly import Assembly, assemble
from diagnose.model.case import Case, Drift, Observation
from diagnose.model.result import DerivedFigure
from diagnose.units import factor

ROOT = Path(__file__).parents[2]
RIG = "petrel_90"


@pytest.fixture(scope="module")
def petrel() -> Assembly:
    """A set with a VFO on a regulated supply."""
    book, problems = load_book(ROOT / "rules")
    assert book is not None, "\n".join(map(str, problems))
    return assemble(book, book.rigs[RIG])


def drift(seed: int = 1, **more: object) -> Drift:
    """Two hours, every two minutes: -300 Hz of warm-up, 90 Hz up at minute 61, 6 Hz for each volt of the line."""
    minutes = np.arange(0.0, 121.0, 2.0)
    rng = np.random.default_rng(seed)
    volts = np.round(120.0 + 1.5 * np.sin(minutes / 9.0) + rng.normal(0.0, 0.3, len(minutes)), 1)
    hertz = 7e6 - 300.0 * (1.0 - np.exp(-minutes / 20.0)) + 6.0 * (volts - 120.0)
    hertz = np.round(hertz + np.where(minutes > 61.0, 90.0, 0.0) + rng.normal(0.0, 2.0, len(minutes)))
    given = {"mains": tuple(map(float, volts)), **more}
    return Drift("vfo", tuple(60.0 * minutes), tuple(map(float, hertz)), **given)  # type: ignore[arg-type]


def figures(assembly: Assembly, case: Case) -> dict[str, DerivedFigure]:
    """What is worked out of a case, by the name within the VFO."""
    found = diagnose(assembly, case, advice=False, details=False).derived
    return {figure.id.removeprefix("vfo."): figure for figure in found if figure.stage == "vfo"}


def states(assembly: Assembly, case: Case) -> dict[str, str]:
    """The states of what was counted in the VFO."""
    found = collect(assembly, case).counted
    return {name.removeprefix("vfo."): finding.state for name, finding in found.items() if "vfo." in name}


def test_the_figures_of_a_fit_have_the_same_names_and_units_wherever_they_are_listed() -> None:
    """A rule file may give what the fit has, in a unit of the dimension that it has it in."""
    assert set(DRIFT_FIGURES) <= set(FIGURES)
    for name, units in DRIFT_FIGURES.items():
        assert factor(FIGURES[name][1])[0] in [factor(unit)[0] for unit in units]


def test_a_log_says_how_far_how_often_and_with_what(petrel: Assembly) -> None:
    """Warm-up, residual, jumps with their time, line: at the oscillator, at the output, and as parts of it."""
    log = drift(band="20m")
    found = figures(petrel, Case("c", RIG, mains=120.0, drift=(log,)))
    warm_up, standard = found["drift_log.warm_up"].value, found["drift_log.warm_up"].standard
    assert warm_up is not None
    assert warm_up == pytest.approx(-300.0, abs=4.0 * standard)
    assert found["drift_log.warm_up.output"].value == pytest.approx(2.0 * warm_up)
    assert found["drift_log.warm_up.ppm"].value == pytest.approx(warm_up / 7.0, rel=1e-3)
    assert found["drift_log.time_constant"].value == pytest.approx(20.0, abs=3.0)
    assert found["drift_log.residual"].value == pytest.approx(0.0, abs=12.0)
    number = found["drift_log.jump_number"]
    assert number.value == 1.0
    assert number.notes[0].endswith("at minute 61")
    assert found["drift_log.jump_size"].value == pytest.approx(90.0, abs=5.0)
    assert found["drift_log.per_volt"].value == pytest.approx(6.0, abs=2.0)
    assert found["drift_log.mains_share"].value == pytest.approx(0.9, abs=0.1)
    assert found["drift_log.mains_share"].notes == (
        "scatter alone shows as much in fewer than 1 of 100 logs",
    )
    at_output = {name for name in found if name.endswith(".output")}
    assert at_output == {
        f"drift_log.{name}.output" for name in ("warm_up", "residual", "jump_size", "per_volt")
    }


def test_what_the_log_cannot_tell_is_said_once(petrel: Assembly) -> None:
    """Beside the first figure: a misread reading, too few readings for jumps."""
    log = drift()
    misread = (*log.frequencies[:20], log.frequencies[20] + 10_000.0, *log.frequencies[21:])
    found = figures(petrel, Case("c", RIG, drift=(replace(log, frequencies=misread),)))
    said = [note for figure in found.values() for note in figure.notes]
    (told,) = [note for note in said if "misread" in note]
    assert told.startswith("70")
    assert "at minute 40 stands alone" in told
    few = Drift("vfo", log.times[::10], log.frequencies[::10])
    found = figures(petrel, Case("c", RIG, drift=(few,)))
    assert "drift_log.jump_number" not in found  # not looked for is not none
    assert "drift_log.jump_size" not in found
    said = [note for figure in found.values() for note in figure.notes]
    assert said.count("7 readings are too few to look for jumps") == 1


def test_each_sign_of_a_log_is_a_reading_of_its_own(petrel: Assembly) -> None:
    """The step is high, the rest is not; the warm-up is carried from the line of the log, not that of the case."""
    case = Case("c", RIG, mains=117.0, drift=(drift(),))
    counted = states(petrel, case)
    assert counted["largest_jump"] == "high"
    assert [counted[name] for name in ("drift", "residual_drift", "mains_drift")] == ["normal"] * 3
    path = collect(petrel, case).counted["vfo.drift"].path
    assert path is not None
    assert path.mains == pytest.approx(120.0, abs=0.5)


def test_a_log_without_a_jump_says_that_none_was_found(petrel: Assembly) -> None:
    """No jump has a size of its own: what the log could have missed is the uncertainty of nought."""
    minutes = np.arange(0.0, 121.0, 5.0)
    hertz = (
        7e6
        - 300.0 * (1.0 - np.exp(-minutes / 20.0))
        + np.random.default_rng(3).normal(0.0, 2.0, len(minutes))
    )
    log = Drift("vfo", tuple(60.0 * minutes), tuple(map(float, np.round(hertz))))
    found = collect(petrel, Case("c", RIG, drift=(log,))).counted["vfo.largest_jump"]
    assert found.observation.as_written == "none found"
    assert found.state == "normal"


def test_a_log_taken_at_the_output_says_by_what_it_was_divided(petrel: Assembly) -> None:
    """On 10 m the VFO is multiplied by four."""
    log = drift()
    at_output = replace(
        log, frequencies=tuple(4.0 * hertz for hertz in log.frequencies), at_output=True, band="10m"
    )
    found = figures(petrel, Case("c", RIG, drift=(at_output,)))
    straight = figures(petrel, Case("c", RIG, drift=(log,)))
    for name in ("warm_up", "residual", "jump_size", "per_volt"):
        one, other = found[f"drift_log.{name}"], straight[f"drift_log.{name}"]
        assert one.value == pytest.approx(other.value, abs=0.1 * other.standard), name
    assert "it was taken at the output: divided by 4 for the oscillator" in found["drift_log.warm_up"].notes


def read(name: str, value: float, **more: object) -> Observation:
    """A reading in the VFO."""
    return Observation(f"vfo.{name}", value=value, **more)  # type: ignore[arg-type]


def test_an_error_of_the_dial_in_hertz_in_ppm_and_at_the_output(petrel: Assembly) -> None:
    """7 kHz too high at 7000 kHz are 1000 ppm; on 15 m, three times as far (21 kHz) and still 1000 ppm.

    US Element 4 pool, E4B03 to E4B05: hertz over megahertz are ppm; Element 3 pool, G8B07: hertz grow with the
    multiplication.
    """
    case = Case(
        "c", RIG, band="15m", observations=(read("dial_frequency", 7000.0), read("counted_frequency", 7007.0))
    )
    found = figures(petrel, case)
    assert found["frequency_error"].value == pytest.approx(7000.0)
    assert found["frequency_error_ppm"].value == pytest.approx(1000.0)
    assert found["frequency_error_output"].value == pytest.approx(21000.0)
    # reading the dial to one part in ten thousand is 700 Hz of it
    assert found["frequency_error"].standard == pytest.approx(700.0, rel=0.05)


@pytest.mark.parametrize(("moved", "state"), [(0.06, "normal"), (0.25, "high")])
def test_a_step_of_the_line_gives_the_drift_with_the_mains(
    petrel: Assembly, moved: float, state: str
) -> None:
    """Six volts down: 60 Hz are 10 Hz a volt, 250 Hz are 42; either way, only the size counts."""
    for sign in (1.0, -1.0):
        case = Case("c", RIG, mains=117.0, observations=(
            read("frequency_line_up", 7000.0), read("frequency_line_down", 7000.0 + sign * moved),
            read("line_up", 117.0), read("line_down", 111.0),
        ))  # fmt: skip
        assert figures(petrel, case)["line_step"].value == pytest.approx(moved * 1000.0 / 6.0)
        assert states(petrel, case)["mains_drift"] == state


@pytest.mark.parametrize(("down", "state"), [(149.0, "normal"), (140.0, "high")])
def test_a_step_of_the_plate_supply_with_the_key(petrel: Assembly, down: float, state: str) -> None:
    """150 V that fall to 140 V are 6.7 percent; a meter that shows too much shows it in both."""
    case = Case("c", RIG, observations=(read("plate_key_up", 150.0), read("plate_key_down", down)))
    assert figures(petrel, case)["key_step"].value == pytest.approx(100.0 * (150.0 - down) / 150.0)
    assert states(petrel, case)["supply_step"] == state
    (step,) = [f for f in collect(petrel, case).all if f.name == "vfo.supply_step"]
    assert not step.observation.read_with
