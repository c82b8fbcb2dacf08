"""Signs that worked-out figures answer: yes beyond the limit, as sure as the reading tells, and counted once."""

from __future__ import annotations

from pathlib import Path
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.diagnosis import diagnose
from diagnose.evidence.collect import collect
from diagnose.model.assembly import Assembly
from diagnose.model.case import Observation
from diagnose.model.result import Finding
from tests.evidence.workbook import assembled, case_of, figure, kind, quantity, rig_of
from tests.small_book import rule

SECTIONS = f"""\
figures:
  unloaded: {figure("V", "reads_within: 2 %, read_with: meter")}
  before: {figure("V")}
  after: {figure("V")}
  heard: {figure("Hz")}
quantities:
  loaded: {quantity("V", "read_with: meter, reads_within: 1 %, follows_mains: 1")}
  current: {quantity("mA")}
derived:
  rise:
    title: rise without load
    unit: percent
    formula: (unloaded - loaded) / loaded
    from: {{unloaded: unloaded, loaded: loaded}}
    gives: rises
    limit: {{most: {{amount: 12 %}}}}
    source: common practice
  left:
    title: what is left
    unit: V
    formula: volts
    from: {{volts: unloaded}}
    gives: stays
    limit: {{most: {{amount: 50 V}}}}
    source: common practice
  shift:
    title: shift
    unit: percent
    formula: (after - before) / before
    from: {{after: after, before: before}}
    gives: {{most: up, least: {{tilt: down}}}}
    limit: {{most: {{amount: 5 %}}, least: {{amount: -5 %}}}}
    source: common practice
  once_more: {{title: the shift again, unit: percent, formula: once, from: {{once: shift}}, gives: again,
          limit: {{most: {{amount: 5 %}}}}, source: common practice}}
  power:
    title: power
    unit: W
    formula: volts * current
    from: {{volts: loaded, current: current}}
    gives: hot
    limit: {{most: {{amount: 50 W}}}}
    source: common practice
  pitch:
    title: pitch on phone
    unit: Hz
    formula: heard
    from: {{heard: heard}}
    in_mode: phone
    gives: hums
    limit: {{most: {{amount: 100 Hz}}, in_mode: {{phone: {{most: {{amount: 50 Hz}}}}}}}}
    source: common practice
symptoms:
  rises: {{title: rises, ask: 'does it rise?', leak: 1 of 1000}}
  stays: {{title: stays, ask: 'does it stay?', leak: 1 of 1000}}
  up: {{title: up, ask: 'is it up?', leak: 1 of 1000}}
  again: {{title: again, ask: 'again?', leak: 1 of 1000}}
  hot: {{title: hot, ask: 'is it hot?', leak: 1 of 1000}}
  hums: {{title: hums, ask: 'does it hum?', leak: 1 of 1000}}
patterns:
  tilt: {{title: tilt, ask: 'which way?', states: {{sideways: to a side, down: downward}}, leak: 1 of 1000}}
"""
PUSHES = f"  a: {rule('tube weak', 'rises yes', '9 of 10', 'one')}\n"
STAGES = "s: {kind: s, title: s}\nmeter: {kind: meter, title: meter}\n"
CHART = "{quantity: s.loaded, value: 600 V}\n{quantity: s.current, value: 80 mA}\n"


@pytest.fixture(scope="module")
def assembly(tmp_path_factory: pytest.TempPathFactory) -> Assembly:
    folder: Path = tmp_path_factory.mktemp("book")
    return assembled(folder, {"s.yaml": kind("s", SECTIONS, PUSHES), "rig.yaml": rig_of(STAGES, CHART)})


def seen(name: str, value: float, **more: object) -> Observation:
    return Observation(f"s.{name}", value=value, **more)  # type: ignore[arg-type]


def answered(assembly: Assembly, name: str, *observations: Observation, mode: str = "cw") -> Finding | None:
    found = collect(assembly, case_of(*observations, mode=mode)).all
    return next((finding for finding in found if finding.name == f"s.{name}"), None)


def yes(finding: Finding | None) -> float:
    """Likelihood of yes against no."""
    assert finding is not None
    assert finding.counted
    return finding.likelihood[1] / finding.likelihood[0]


def test_a_figure_well_beyond_its_limit_is_a_yes(assembly: Assembly) -> None:
    """720 V without load, 600 V with it: 20 percent where 12 are allowed; the sign convicts as an answer does."""
    read = (seen("unloaded", 720.0, within=0.003), seen("loaded", 600.0, within=0.003))
    found = answered(assembly, "rises", *read)
    assert found is not None
    assert found.state == "yes"
    assert found.abnormal
    assert yes(found) > 20.0
    assert any("worked out" in note for note in found.notes)
    weak = diagnose(assembly, case_of(*read, mode="cw"), advice=False).causes
    assert next(c for c in weak if c.id == "s.tube.weak").blame > 0.5


def test_a_figure_within_its_limit_is_a_no(assembly: Assembly) -> None:
    """3 percent of rise acquits what makes it rise."""
    read = (seen("unloaded", 618.0, within=0.003), seen("loaded", 600.0, within=0.003))
    found = answered(assembly, "rises", *read)
    assert found is not None
    assert found.state == "no"
    assert yes(found) < 0.05


def test_on_the_limit_itself_it_says_nothing(assembly: Assembly) -> None:
    """50 V where 50 V are the limit: as likely yes as no, and none of a fault."""
    found = answered(assembly, "stays", seen("unloaded", 50.0))
    assert yes(found) == pytest.approx(1.0)
    assert found is not None
    assert not found.abnormal


def test_the_likelihood_is_the_chance_of_being_beyond(assembly: Assembly) -> None:
    """By the normal distribution of the figure, softened: no figure settles a sign for good."""

    @given(st.floats(30.0, 80.0), st.floats(0.01, 0.2))
    def follows(volts: float, within: float) -> None:
        found = answered(assembly, "stays", seen("unloaded", volts, within=within, meter="other"))
        beyond = NormalDist().cdf((volts - 50.0) / (within * volts))
        top = max(beyond, 1.0 - beyond)
        right = 0.98 * assembly.book.bench.reports["bench"]
        wrong = 1.0 - right
        wanted = (right * beyond / top + wrong) / (right * (1.0 - beyond) / top + wrong)
        assert yes(found) == pytest.approx(wanted)

    follows()


def test_each_side_of_a_limit_has_its_sign(assembly: Assembly) -> None:
    """Up is a symptom, down a state of a pattern; beyond one side the other is a no."""
    read = seen("before", 100.0, within=0.002)
    up = answered(assembly, "up", read, seen("after", 115.0, within=0.002))
    assert up is not None
    assert up.state == "yes"
    tilt = answered(assembly, "tilt", read, seen("after", 85.0, within=0.002))
    assert tilt is not None
    assert tilt.state == "down"
    assert tilt.likelihood[0] == tilt.likelihood[1] < 0.05  # nothing tells the other states apart
    none = answered(assembly, "tilt", read, seen("after", 115.0, within=0.002))
    assert none is not None
    assert not none.abnormal


def test_the_arithmetic_of_an_answer_is_told(assembly: Assembly) -> None:
    """Of a figure that only passes another on, that of the other."""
    read = (seen("before", 100.0), seen("after", 115.0))
    for name in ("up", "again"):
        found = answered(assembly, name, *read)
        assert found is not None
        assert found.notes[0] == "worked out: (115 V - 100 V) / 100 V = 15 %"


def test_an_answer_of_the_person_stands(assembly: Assembly) -> None:
    """Where the sign was answered itself, the figure does not answer it again."""
    read = (seen("unloaded", 720.0), seen("loaded", 600.0), Observation("s.rises", "no"))
    found = [f for f in collect(assembly, case_of(*read, mode="cw")).all if f.name == "s.rises"]
    assert [f.state for f in found] == ["no"]


def test_a_sign_that_rests_on_what_counts_already_is_not_counted(assembly: Assembly) -> None:
    """Volts and current are witnesses themselves; their product is none beside them."""
    found = answered(assembly, "hot", seen("loaded", 600.0), seen("current", 120.0))
    assert found is not None
    assert found.state == "yes"
    assert not found.counted
    assert any("rests on" in note for note in found.notes)


def test_the_meter_is_a_suspect_of_what_it_makes(assembly: Assembly) -> None:
    """60 V by a meter that reads high may be less than 50 V; of a ratio by one meter its gain cancels."""
    found = answered(assembly, "stays", seen("unloaded", 56.0, within=0.01))
    assert found is not None
    assert [power for _, power in found.read_with] == [1.0]
    assert found.through is not None
    low, high, dead = found.through
    assert high > 0.9
    assert low < 0.05
    assert dead < 0.05
    blamed = diagnose(assembly, case_of(seen("unloaded", 56.0, within=0.01), mode="cw"), advice=False)
    assert next(p for p in blamed.parts if p.id.startswith("meter.movement")).blame > 0.1
    ratio = answered(assembly, "rises", seen("unloaded", 720.0), seen("loaded", 600.0))
    assert ratio is not None
    assert ratio.read_with == ()


def test_a_figure_and_its_sign_are_of_their_mode_only(assembly: Assembly) -> None:
    """The pitch is worked out on phone alone, against the limit for phone."""
    assert answered(assembly, "hums", seen("heard", 80.0)) is None
    found = answered(assembly, "hums", seen("heard", 80.0), mode="phone")
    assert found is not None
    assert found.state == "yes"
    unknown = answered(assembly, "hums", seen("heard", 80.0), mode="")
    assert unknown is not None
    assert unknown.state == "no"  # of a mode that is not known the limit of none in particular holds
