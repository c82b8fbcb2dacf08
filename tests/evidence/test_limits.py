"""Ratings and rules of the trade: judged on today's figures, whatever the mains, with the chance of being beyond."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.diagnosis import diagnose
from diagnose.evidence.collect import collect
from diagnose.evidence.derived import Workings
from diagnose.evidence.limits import flags
from diagnose.files.read_book import load_book
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation, Work
from diagnose.model.result import Flag
from tests.evidence.workbook import assembled, case_of, figure, kind, quantity, rig_of
from tests.small_book import RULES

TUBES = """\
tubes:
  small:
    kind: beam
    heater: {volts: 6.3 V, amps: 0.9 A}
    ratings: {plate_voltage: 400 V, plate_dissipation: 25 W}
    typical: {cw: {plate_voltage: 350 V}}
    source: from memory
  large:
    kind: beam
    heater: {volts: 6.3 V, amps: 1.2 A}
    ratings: {plate_voltage: 750 V, plate_dissipation: 30 W}
    typical: {cw: {plate_voltage: 600 V}}
    source: from memory
"""
FINAL = kind(
    "final",
    f"""\
figures:
  current: {figure("mA", "reads_within: 2 %")}
  output: {figure("W", "reads_within: 5 %")}
quantities:
  volts: {
        quantity(
            "V",
            "reads_within: 3 %, follows_mains: 1, "
            "limit: {most: {tube: ratings.plate_voltage, which: -1}, says: the insulation goes, source: common practice}",
        )
    }
  heater: {
        quantity(
            "V", "reads_within: 1 %, follows_mains: 1, limit: {most: {amount: 6.9 V}, least: {amount: 5.7 V}}"
        )
    }
  least: {quantity("V", "reads_within: 3 %, limit: {least: volts}")}
derived:
  heat:
    title: plate dissipation of each tube
    unit: W
    formula: (volts * current - output) / 2
    from: {{volts: volts, current: current, output: output}}
    limit: {{most: {{tube: ratings.plate_dissipation, which: 2}}, says: red plates, source: common practice}}
    source: common practice
  same: {{title: the volts again, unit: kV, formula: volts, from: {{volts: volts}}, limit: {{most: volts}},
         source: common practice}}
""",
)
STAGES = "final: {kind: final, title: final, tubes: [small, large]}\n"
CHART = "{quantity: final.volts, value: 600 V}\n{quantity: final.heater, value: 6.3 V}\n"


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    files = {"final.yaml": FINAL, "rig.yaml": rig_of(STAGES, CHART), "tubes.yaml": TUBES}
    return assembled(tmp_path_factory.mktemp("book"), files)


def raised(assembly: Assembly, case: Case) -> tuple[Flag, ...]:
    return flags(Workings(assembly, case), collect(assembly, case).all)


def one(name: str, value: float, **more: object) -> Observation:
    return Observation(f"final.{name}", value=value, **more)  # type: ignore[arg-type]


def test_a_reading_beyond_a_rating_is_flagged(assembly: Assembly) -> None:
    """820 V on a tube rated 750 V, with the tube's own limit and what follows from it."""
    (flag,) = raised(assembly, case_of(one("volts", 820.0)))
    assert (flag.name, flag.side, flag.value, flag.limit, flag.unit) == (
        "final.volts",
        "most",
        820.0,
        750.0,
        "V",
    )
    assert flag.limit_title == "plate voltage of the large (ratings)"
    assert flag.text == "the insulation goes"
    assert flag.source == "common practice"
    assert not flag.near
    # the chance by the normal distribution: 70 V beyond, 24.6 V uncertain
    assert flag.chance == pytest.approx(NormalDist().cdf(70.0 / (0.03 * 820.0)))


def test_what_is_within_a_rating_is_not_flagged(assembly: Assembly) -> None:
    """600 V of 750 V is fine."""
    assert raised(assembly, case_of(one("volts", 600.0))) == ()


def test_a_reading_too_near_to_tell_says_so(assembly: Assembly) -> None:
    """740 V, known to 22 V, may be beyond 750 V: one chance of three."""
    (flag,) = raised(assembly, case_of(one("volts", 740.0)))
    assert flag.near
    assert flag.chance == pytest.approx(NormalDist().cdf(-10.0 / (0.03 * 740.0)))
    assert 0.16 < flag.chance < 0.5


def test_ratings_hold_today_and_faults_at_the_mains_of_the_chart(assembly: Assembly) -> None:
    """7.1 V at 131 V of line: the supply is good, for 6.3 V at 117 V; the heaters burn at 7.1 V all the same."""
    case = case_of(one("heater", 7.1), mains=131.0)
    assert collect(assembly, case).counted["final.heater"].state == "normal"
    line, flag = raised(assembly, case)
    assert line.name == "mains"
    assert (flag.name, flag.value, flag.limit) == ("final.heater", 7.1, 6.9)


def test_the_least_and_the_most(assembly: Assembly) -> None:
    """5.5 V on a heater is too little: below the least it may be."""
    (flag,) = raised(assembly, case_of(one("heater", 5.5)))
    assert (flag.side, flag.limit) == ("least", 5.7)
    assert flag.chance > 0.99


def test_a_derived_figure_has_its_limit_too(assembly: Assembly) -> None:
    """600 V x 200 mA less 50 W are 35 W for each of two tubes rated 30 W, by condition."""
    case = case_of(one("volts", 600.0), one("current", 200.0, band="80m"), one("output", 50.0, band="80m"))
    (flag,) = raised(assembly, case)
    assert (flag.name, flag.limit, flag.band) == ("final.heat", 30.0, "80m")
    assert flag.value == pytest.approx(35.0)
    assert flag.title == "plate dissipation of each tube"


def test_what_a_figure_shares_with_its_limit_cancels(assembly: Assembly) -> None:
    """A figure that is its own limit is not beyond it by chance, though each is uncertain; units do not matter."""
    assert raised(assembly, case_of(one("volts", 600.0))) == ()


def test_a_limit_may_be_another_reading(assembly: Assembly) -> None:
    """One supply must not be below another; where the other was not read nothing is said."""
    (flag,) = raised(assembly, case_of(one("least", 500.0), one("volts", 600.0)))
    assert (flag.name, flag.limit, flag.limit_title) == ("final.least", 600.0, "what is read in V")
    assert raised(assembly, case_of(one("least", 500.0))) == ()


@pytest.mark.parametrize(
    ("mode", "tubes", "limit"),
    [("cw", "large", 750.0), ("", "large", 750.0), ("phone", "large", 500.0), ("phone", "small", 400.0)],
)
def test_a_mode_may_have_a_limit_of_its_own(tmp_path: Path, mode: str, tubes: str, limit: float) -> None:
    """On phone the phone row of the tube holds, where it has one; in any other mode the usual row."""
    volts = quantity(
        "V",
        "reads_within: 1 %, limit: {most: {tube: ratings.plate_voltage}, says: too much, "
        "in_mode: {phone: {most: {tube: ratings_phone.plate_voltage, or: {tube: ratings.plate_voltage}}}}}",
    )
    files = {
        "final.yaml": kind("final", f"quantities:\n  volts: {volts}\n"),
        "rig.yaml": rig_of(f"final: {{kind: final, title: final, tubes: [{tubes}]}}\n"),
        "tubes.yaml": TUBES.replace(
            "typical: {cw: {plate_voltage: 600 V}}", "ratings_phone: {plate_voltage: 500 V}"
        ),
    }
    found = raised(assembled(tmp_path, files), case_of(one("volts", 900.0), mode=mode))
    assert [(flag.limit, flag.text) for flag in found] == [(limit, "too much")]


def test_readings_from_before_the_work_are_not_flagged(assembly: Assembly) -> None:
    """The set as it is now counts."""
    case = case_of(one("volts", 820.0, period=0), one("volts", 600.0), work=(Work("bled the supply"),))
    assert raised(assembly, case) == ()


@pytest.mark.parametrize(
    ("volts", "side"), [(128.0, "most"), (126.0, "near"), (117.0, ""), (110.0, ""), (105.0, "least")]
)
def test_the_line_itself_is_a_caution(assembly: Assembly, volts: float, side: str) -> None:
    """8 % of 117 V either way: 107.6 to 126.4 V; a volt is what a line can be read to."""
    found = raised(assembly, case_of(mains=volts))
    if not side:
        assert found == ()
        return
    (flag,) = found
    assert flag.name == "mains"
    assert flag.near == (side == "near")
    assert flag.side == ("least" if side == "least" else "most")
    assert "8 % " in flag.limit_title
    assert "117 V" in flag.limit_title


def test_without_a_line_voltage_or_a_share_nothing_is_said_of_the_line(assembly: Assembly) -> None:
    """A bench that states no share asks no caution."""
    assert raised(assembly, case_of()) == ()
    bench = replace(assembly.book.bench, advice={})
    silent = replace(assembly, book=replace(assembly.book, bench=bench))
    assert raised(silent, case_of(mains=140.0)) == ()


def test_flags_and_figures_come_with_the_diagnosis(assembly: Assembly) -> None:
    """The diagnosis carries both, the line first."""
    case = case_of(one("volts", 820.0), one("current", 200.0), one("output", 50.0), mains=130.0)
    found = diagnose(assembly, case, advice=False)
    assert [flag.name for flag in found.flags] == ["mains", "final.volts", "final.heat"]
    assert [figure.id for figure in found.derived] == ["final.heat", "final.same"]


def test_the_built_in_bench_cautions_beyond_8_percent() -> None:
    """Old sets are run within some 5 to 10 % of the line they were made for (common practice)."""
    book, _ = load_book(RULES)
    assert book is not None
    assert book.bench.advice["mains_caution"] == 0.08


def test_the_chance_is_even_at_the_limit_and_grows_beyond(assembly: Assembly) -> None:
    """A reading at its limit is beyond it with one chance in two; the larger it is, the surer."""

    def chance(volts: float, within: float) -> float:
        found = raised(assembly, case_of(one("volts", volts, within=within)))
        return found[0].chance if found else 0.0

    @given(st.floats(0.002, 0.3))
    def grows(within: float) -> None:
        assert chance(750.0, within) == pytest.approx(0.5)
        chances = [chance(750.0 * (1.0 + share * within), within) for share in (-3.0, -0.5, 0.5, 1.0, 2.0)]
        assert chances[0] == 0.0
        assert chances == sorted(chances)

    grows()
