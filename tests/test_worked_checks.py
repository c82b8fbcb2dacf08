"""Small diagnoses whose outcome is plain to a technician, worked through the whole program.

The figures are common practice; the reasoning they test is that of a causal network.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.diagnosis import diagnose
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Observation
from diagnose.model.result import OPEN, UNLISTED, Diagnosis
from tests.small_book import cause, rig_text, rule, small_assembly

RIG = rig_text(
    "small",
    {"set": "kind: whole, title: whole set"},
    {
        "set.hv": "600 V",
        "set.output": "55 W",
        "set.plate_current": "145 mA",
        "set.idle_current": "55 mA",
    },
)


def level(name: str, unit: str) -> str:
    leaks = "leak: {absent: 1 of 1000, low: 2 of 100, high: 1 of 1000}"
    return (
        f"  {name}: {{title: {name}, ask: what is it, unit: {unit}, grading: level, "
        f"tolerance: 10 %, {leaks}}}\n"
    )


def sign(name: str, leak: str = "2 of 100", extra: str = "") -> str:
    return f"  {name}: {{title: {name}, ask: is it so, leak: {leak}{extra}}}\n"


def whole(*, signs: str = "", parts: str, rules: str, unnamed: str = "{prior: 0, pushes: 0}") -> str:
    symptoms = f"symptoms:\n{signs}" if signs else ""
    return (
        "kind: whole\ntitle: whole set\nabout: for tests\n"
        f"unnamed: {unnamed}\nquantities:\n"
        + level("hv", "V")
        + level("output", "W")
        + level("plate_current", "mA")
        + level("idle_current", "mA")
        + symptoms
        + f"parts:\n{parts}rules:\n{rules}checks: {{}}\n"
    )


def part(name: str, prior: str) -> str:
    return f"  {name}: {{title: {name}, modes: {{bad: {cause(prior)}}}}}\n"


def rules(*lines: tuple[str, str, str]) -> str:
    return "".join(
        f"  r{i}: {rule(source, target, chance, f'reason {i}')}\n"
        for i, (source, target, chance) in enumerate(lines)
    )


def case(**states: str) -> Case:
    observations = tuple(Observation(f"set.{name}", state) for name, state in states.items())
    return Case("test", "small", observations=observations)


def blame(diagnosis: Diagnosis, name: str) -> float:
    return next(part.blame for part in diagnosis.parts if part.id == f"set.{name}")


def probability(diagnosis: Diagnosis, name: str) -> float:
    return next(part.probability for part in diagnosis.parts if part.id == f"set.{name}")


@pytest.fixture
def supply(tmp_path: Path) -> Assembly:
    """A weak rectifier lowers the high voltage, which lowers the rest; no drive lowers two of the rest."""
    text = whole(
        parts=part("rectifier", "0.10") + part("drive", "0.02"),
        rules=rules(
            ("rectifier bad", "hv low", "8.5 of 10"),
            ("hv low", "output low", "9 of 10"),
            ("hv low", "plate_current low", "9 of 10"),
            ("hv low", "idle_current low", "9 of 10"),
            ("drive bad", "output low", "9 of 10"),
            ("drive bad", "plate_current low", "9 of 10"),
        ),
    )
    return small_assembly(tmp_path / "book", {"whole.yaml": text, "small.yaml": RIG})


def test_a_normal_high_voltage_acquits_the_rectifier(supply: Assembly) -> None:
    """The supply is not convicted by low output when its own voltage was just read as normal."""
    found = diagnose(supply, case(hv="normal", output="low", plate_current="low", idle_current="low"))
    assert probability(found, "rectifier") < 0.05
    assert probability(found, "drive") > 0.9


def test_an_unmeasured_high_voltage_leaves_the_rectifier_in_the_lead(supply: Assembly) -> None:
    """Three low readings that share a supply point to it while it is unmeasured."""
    found = diagnose(supply, case(output="low", plate_current="low", idle_current="low"))
    assert found.parts[0].id == "set.rectifier"
    assert found.parts[0].blame > blame(found, "drive")


def test_a_latent_fault_does_not_lead(tmp_path: Path) -> None:
    """An old capacitor that is probably leaky has nothing to do with low output, and is listed as also due."""
    text = whole(
        signs=sign("hum"),
        parts=part("old_capacitor", "0.6") + part("driver", "0.02"),
        rules=rules(("old_capacitor bad", "hum yes", "3 of 10"), ("driver bad", "output low", "9 of 10")),
    )
    assembly = small_assembly(tmp_path / "book", {"whole.yaml": text, "small.yaml": RIG})
    found = diagnose(assembly, case(output="low"))
    assert found.parts[0].id == "set.driver"
    assert blame(found, "old_capacitor") == 0
    assert probability(found, "old_capacitor") == pytest.approx(0.6)
    assert [cause.part for cause in found.also_due] == ["set.old_capacitor"]


def test_five_unrelated_signs_are_not_in_this_book(tmp_path: Path) -> None:
    """When no listed cause explains the signs, the unnamed part leads and the verdict says so."""
    names = ["one", "two", "three", "four", "five"]
    text = whole(
        signs="".join(sign(name, "1 of 100") for name in names),
        parts="".join(part(f"cause_{name}", "0.01") for name in names),
        rules=rules(*[(f"cause_{name} bad", f"{name} yes", "5 of 10") for name in names]),
        unnamed="{prior: 5 of 1000, pushes: 4 of 10}",
    )
    assembly = small_assembly(tmp_path / "book", {"whole.yaml": text, "small.yaml": RIG})
    found = diagnose(assembly, case(**dict.fromkeys(names, "yes")))
    assert found.parts[0].unnamed
    assert found.verdict.word == UNLISTED
    assert found.unexplained > 0.5


def test_no_hum_from_a_dead_set_acquits_no_filter(tmp_path: Path) -> None:
    """Hum needs a carrier; a set without output cannot hum, so its silence says nothing."""
    text = whole(
        signs=sign("hum", extra=", needs: {output: [low, normal, high]}"),
        parts=part("filter", "0.1") + part("fuse", "0.02"),
        rules=rules(("filter bad", "hum yes", "9 of 10"), ("fuse bad", "output absent", "9 of 10")),
    )
    assembly = small_assembly(tmp_path / "book", {"whole.yaml": text, "small.yaml": RIG})
    dead = diagnose(assembly, case(output="absent"))
    silent = diagnose(assembly, case(output="absent", hum="no"))
    assert probability(silent, "filter") == pytest.approx(probability(dead, "filter"), abs=1e-12)
    hum = next(f for f in silent.findings if f.name == "set.hum")
    assert not hum.counted
    assert "cannot be judged" in hum.notes[0]
    running = diagnose(assembly, case(output="normal", hum="no"))
    assert probability(running, "filter") < 0.02


def test_nothing_observed_leaves_every_prior(supply: Assembly) -> None:
    """Without evidence the posterior is the prior and the verdict says that not enough is known."""
    found = diagnose(supply, case())
    assert found.verdict.word == OPEN
    assert probability(found, "rectifier") == pytest.approx(0.10)
    assert all(part.blame == 0 for part in found.parts)


def test_observations_that_exclude_each_other_are_doubted_not_lost(tmp_path: Path) -> None:
    """Hum was heard, so there was a carrier; the carrier was certainly absent: one of the two is wrong."""
    text = whole(
        signs=sign("hum", leak="0", extra=", needs: {output: [low, normal, high]}")
        + sign("click", leak="0", extra=", needs: {hum: [yes]}")
        + sign("thump", leak="0", extra=", needs: {hum: [no]}"),
        parts=part("filter", "0.1") + part("key", "0.1"),
        rules=rules(
            ("filter bad", "hum yes", "1 of 1"),
            ("key bad", "click yes", "1 of 1"),
            ("key bad", "thump yes", "1 of 1"),
        ),
    )
    assembly = small_assembly(tmp_path / "book", {"whole.yaml": text, "small.yaml": RIG})
    found = diagnose(assembly, case(click="yes", thump="yes"))
    assert all(part.blame == part.blame for part in found.parts), "no number is lost"
    assert "exclude each other" in found.conflict.text
    assert found.parts[0].id == "set.key"


def test_the_order_of_rules_parts_and_files_does_not_matter(tmp_path: Path) -> None:
    """The same book written backwards, in files of other names, gives the same figures."""
    lines = [
        ("rectifier bad", "hv low", "8.5 of 10"),
        ("hv low", "output low", "9 of 10"),
        ("hv low", "plate_current low", "9 of 10"),
        ("drive bad", "output low", "9 of 10"),
        ("drive bad", "plate_current low", "9 of 10"),
    ]
    parts = [part("rectifier", "0.10"), part("drive", "0.02"), part("tube", "0.03")]
    figures = []
    for name, order in (("one", 1), ("two", -1)):
        text = whole(parts="".join(parts[::order]), rules=rules(*lines[::order]))
        files = {f"{name}_kind.yaml": text, f"a_{name}.yaml": RIG}
        assembly = small_assembly(tmp_path / name, files)
        found = diagnose(assembly, case(output="low", plate_current="low"))
        figures.append({p.id: (p.probability, p.blame) for p in found.parts})
    assert figures[0].keys() == figures[1].keys()
    for name, pair in figures[0].items():
        assert pair == pytest.approx(figures[1][name], abs=1e-12)
