"""What a good set shows where its chart says nothing: from its parts, with an honest uncertainty."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest
import uncertainties
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.circuits.method import Argument, CannotCompute, Method, Result, Value
from diagnose.circuits.methods import METHODS
from diagnose.evidence import figures
from diagnose.evidence.collect import collect
from diagnose.evidence.figures import computed_values, ohms_of, why_not
from diagnose.model.assembly import Assembly, assemble
from diagnose.model.case import Observation
from diagnose.model.measuring import Computed, Reference
from tests.evidence.workbook import assembled, case_of, kind, quantity, rig_of

FINAL = kind(
    "final",
    f"""\
features: {{screen: [dropper, bleeder]}}
values:
  dropper: {{title: screen resistor, unit: kohm, within: 10 %}}
  divider: {{title: each of two equal resistors, unit: kohm, within: 20 %}}
  plain: {{title: a resistor, unit: ohm}}
quantities:
  supply: {quantity("V")}
  screen_current: {quantity("mA")}
  screen:
    title: screen volts
    ask: what
    unit: V
    grading: level
    tolerance: 10 %
    plausible: [0, 2000]
    computed:
      - {{by: screen_dropper, gives: screen_voltage, when: {{screen: dropper}},
         from: {{screen_supply: supply, screen_resistance: {{value: dropper}}, screen_current: screen_current}}}}
      - {{by: bias_divider, gives: grid_voltage, when: {{screen: bleeder}},
         from: {{supply_voltage: supply, series_resistance: {{value: divider}}, shunt_resistance: {{value: divider}}}}}}
  heat:
    title: heat in the resistor
    ask: what
    unit: mW
    grading: level
    tolerance: 10 %
    computed: {{by: bleeder, gives: power,
               from: {{voltage: screen, bleeder_ohms: {{value: plain}}, capacitance: {{amount: 1 uF}}}}}}
""",
)
STAGES = """\
final: {kind: final, title: final, tubes: [6E5], values: {dropper: 25 kohm, divider: 10 kohm, plain: 50 kohm}}
"""
CHART = """\
{quantity: final.supply, value: 600 V}
{quantity: final.screen_current, value: 11 mA, mode: cw}
{quantity: final.screen_current, value: 8 mA, mode: phone}
"""


def set_of(folder: Path, stages: str = STAGES, chart: str = CHART) -> Assembly:
    return assembled(folder, {"final.yaml": FINAL, "rig.yaml": rig_of(stages, chart)})


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    return set_of(tmp_path_factory.mktemp("book"))


def test_the_screen_behind_its_resistor(assembly: Assembly) -> None:
    """600 V less 25 kohm x 11 mA is 325 V, and less 8 mA on phone 400 V (Ohm's law)."""
    assert computed_values(assembly, "cw")["final.screen"].value == pytest.approx(325.0)
    assert computed_values(assembly, "phone")["final.screen"].value == pytest.approx(400.0)


def test_its_uncertainty_is_that_of_its_parts_and_of_the_method(assembly: Assembly) -> None:
    """The same by the package `uncertainties`: good sets differ by half the tolerance, the resistor by 10 %."""
    supply, ohms = uncertainties.ufloat(600, 30), uncertainties.ufloat(25e3, 2.5e3)
    expected = supply - ohms * uncertainties.ufloat(11e-3, 0.55e-3)
    own = METHODS["screen_dropper"].results["screen_voltage"].within
    within = ((expected.s / expected.n) ** 2 + own**2) ** 0.5
    found = computed_values(assembly, "cw")["final.screen"]
    assert found.within == pytest.approx(within, rel=1e-9)
    assert found.by == METHODS["screen_dropper"].title


def test_a_part_that_stands_in_two_places_is_one_part(tmp_path: Path) -> None:
    """Two arms of a divider that are one resistor type, off together, halve the supply exactly."""
    divided = set_of(tmp_path, STAGES.replace("tubes:", "features: {screen: bleeder}, tubes:"))
    found = computed_values(divided, "cw")["final.screen"]
    own = METHODS["bias_divider"].results["grid_voltage"].within
    assert found.value == pytest.approx(300.0)  # by its size, though the method gives -300 V
    assert found.within == pytest.approx((0.05**2 + own**2) ** 0.5, rel=1e-6)


def test_what_is_computed_may_rest_on_what_is_computed(assembly: Assembly) -> None:
    """Heat in 50 kohm at the computed 325 V: E^2 / R, with twice the uncertainty of the volts."""
    values = computed_values(assembly, "cw")
    found = values["final.heat"]
    own = METHODS["bleeder"].results["power"].within
    assert found.value == pytest.approx(1e3 * 325.0**2 / 50e3)
    assert found.within == pytest.approx(((2 * values["final.screen"].within) ** 2 + own**2) ** 0.5, rel=1e-3)


def test_the_chart_comes_first(tmp_path: Path) -> None:
    """A row of the chart is believed before anything computed, as an input too."""
    charted = set_of(tmp_path, chart=CHART + "{quantity: final.screen, value: 250 V, tolerance: 4 %}\n")
    found = computed_values(charted, "cw")["final.heat"]
    own = METHODS["bleeder"].results["power"].within
    assert found.value == pytest.approx(1e3 * 250.0**2 / 50e3)
    assert found.within == pytest.approx(((2 * 0.02) ** 2 + own**2) ** 0.5, rel=1e-3)


def test_why_not_says_what_is_missing(tmp_path: Path) -> None:
    """Without the resistor's value nothing is claimed, and the reason is kept; so it is for what rests on it."""
    bare = set_of(tmp_path, "final: {kind: final, title: final, values: {plain: 50 kohm}}\n")
    assert dict(computed_values(bare, "cw")) == {}
    reasons = why_not(bare, "cw")
    assert reasons["final.screen"].endswith("resistor: the screen resistor is not known")
    assert "screen resistor is not known" in reasons["final.heat"]


def test_what_the_method_refuses_is_not_claimed(tmp_path: Path) -> None:
    """A resistor that would drop more than the supply makes no working screen."""
    wrong = set_of(tmp_path, STAGES.replace("25 kohm", "250 kohm"))
    assert "final.screen" not in computed_values(wrong, "cw")
    assert why_not(wrong, "cw")["final.screen"]


def test_a_circle_ends(assembly: Assembly) -> None:
    """Two quantities computed from each other are refused in a file; in memory they claim nothing."""
    final = assembly.book.kinds["final"]
    indications = dict(final.indications)
    indications["supply"] = replace(
        indications["supply"],
        computed=(Computed("audio_power_needed", "audio_voltage", {"plate_voltage": Reference("screen")}),),
    )
    book = replace(
        assembly.book, kinds={**assembly.book.kinds, "final": replace(final, indications=indications)}
    )
    circular = assemble(book, replace(assembly.rig, chart=assembly.rig.chart[1:]))
    assert dict(computed_values(circular, "cw")) == {}
    assert "rests on itself" in why_not(circular, "cw")["final.screen"]


def counted(
    runs: list[Mapping[str, Value]], run: Callable[[Mapping[str, Value]], Mapping[str, float]]
) -> Method:
    """A method that keeps what it was run with."""

    def kept(values: Mapping[str, Value]) -> Mapping[str, float]:
        runs.append(values)
        return run(values)

    return Method(
        "screen_dropper",
        "counted",
        "",
        {
            "screen_supply": Argument("supply", "V"),
            "screen_resistance": Argument("resistor", "ohm"),
            "screen_current": Argument("current", "A"),
        },
        {"screen_voltage": Result("volts", "V", 0.0)},
        kept,
    )


def number(values: Mapping[str, Value], name: str) -> float:
    found = values[name]
    assert isinstance(found, float)
    return found


def use(monkeypatch: pytest.MonkeyPatch, method: Method) -> None:
    monkeypatch.setattr(figures, "METHODS", MappingProxyType({**METHODS, method.id: method}))


def test_nothing_is_computed_that_is_not_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Readings that the chart has rows for run no method; one that it has none for runs its own, once a case."""
    runs: list[Mapping[str, Value]] = []
    use(monkeypatch, counted(runs, lambda values: {"screen_voltage": 325.0}))
    fresh = set_of(tmp_path)
    charted = case_of(
        Observation("final.supply", value=600.0), Observation("final.screen_current", value=11.0)
    )
    collect(fresh, charted)
    assert not runs
    asked = case_of(Observation("final.screen", value=325.0), mode="cw")
    assert collect(fresh, asked).counted["final.screen"].state == "normal"
    once = len(runs)
    collect(fresh, asked)
    assert len(runs) == once > 0


def test_a_method_is_given_si_units(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Kilohms and milliamperes of the book are ohms and amperes to a method."""
    runs: list[Mapping[str, Value]] = []
    use(monkeypatch, counted(runs, lambda values: {"screen_voltage": 325.0}))
    computed_values(set_of(tmp_path), "cw")["final.screen"]
    assert runs[0] == pytest.approx(
        {"screen_supply": 600.0, "screen_resistance": 25e3, "screen_current": 11e-3}
    )


def test_where_one_way_is_no_circuit_the_other_one_counts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A method that works only up to the resistor's nominal value is moved downwards alone."""

    def only_below(values: Mapping[str, Value]) -> Mapping[str, float]:
        ohms = number(values, "screen_resistance")
        if ohms > 25e3:
            raise CannotCompute("too much")
        return {"screen_voltage": 100.0 + 0.001 * ohms}

    use(monkeypatch, counted([], only_below))
    found = computed_values(set_of(tmp_path), "cw")["final.screen"]
    assert found.value == pytest.approx(125.0)
    assert found.within == pytest.approx(2.5 / 125.0)


def test_an_impossible_figure_is_not_claimed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A method that ends in no number claims nothing."""
    use(monkeypatch, counted([], lambda values: {"screen_voltage": float("nan")}))
    assert "final.screen" not in computed_values(set_of(tmp_path), "cw")


@pytest.mark.parametrize(
    ("reference", "found"),
    [
        (Reference(value="dropper"), (25e3, 0.1)),
        (Reference(value="dropper", within=0.05), (25e3, 0.05)),
        (Reference(value="plain"), (50e3, 0.2)),  # nothing is said
        (Reference(amount=2.2, unit="kohm"), (2200.0, 0.2)),
        (Reference(amount=2.2, unit="kohm", within=0.0), (2200.0, 0.0)),
        (Reference(value="missing", other=Reference(amount=1.0, unit="Mohm")), (1e6, 0.2)),
        (Reference(value="missing"), None),
        (Reference(amount=5.0, unit="V"), None),
        (Reference(quantity="supply"), None),
        (None, None),
    ],
)
def test_ohms_of_a_test_point(
    assembly: Assembly, reference: Reference | None, found: tuple[float, float] | None
) -> None:
    """A resistance in ohms, 20 % either way where nothing is said of it; what is no resistance is none."""
    ohms = ohms_of(assembly, "final", reference)
    assert ohms == (None if found is None else pytest.approx(found))


def test_what_the_rig_says_of_a_part_comes_before_what_the_kind_says(tmp_path: Path) -> None:
    """The rig may state how far a value is known."""
    said = set_of(tmp_path, STAGES.replace("dropper: 25 kohm", "dropper: {amount: 25000 ohm, within: 2 %}"))
    assert ohms_of(said, "final", Reference(value="dropper")) == pytest.approx((25e3, 0.02))


def test_a_straight_law_carries_its_uncertainty_as_the_package_does(assembly: Assembly) -> None:
    """For V = E - R I, finite differences give what `uncertainties` gives."""
    own = METHODS["screen_dropper"].results["screen_voltage"].within
    share = st.floats(0.001, 0.2)

    @given(st.floats(1.0, 5000.0), st.floats(0.01, 1e3), st.floats(1e-3, 100.0), share, share, share)
    def agrees(volts: float, kohms: float, current: float, of_e: float, of_r: float, of_i: float) -> None:
        assume(kohms * current * (1 + of_r) * (1 + of_i) < 0.99 * volts * (1 - of_e))
        supply, screen_current = assembly.rig.chart[:2]
        chart = (
            replace(supply, value=volts, tolerance=2 * of_e),
            replace(screen_current, value=current, tolerance=2 * of_i),
        )
        part = {"dropper": Reference(amount=kohms, within=of_r)}
        stages = {"final": replace(assembly.rig.stages["final"], values=part)}
        other = replace(assembly, rig=replace(assembly.rig, chart=chart, stages=stages))
        law = uncertainties.ufloat(volts, of_e * volts)
        law -= uncertainties.ufloat(kohms, of_r * kohms) * uncertainties.ufloat(current, of_i * current)
        found = computed_values(other, "cw")["final.screen"]
        assert found.value == pytest.approx(law.n, rel=1e-9)
        assert found.within * found.value == pytest.approx(((own * law.n) ** 2 + law.s**2) ** 0.5, rel=1e-6)

    agrees()
