"""`diagnose explain`: which cause is meant, and that its account adds up."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from tests.commands import bench
from tests.commands.conftest import Call


@pytest.fixture
def dim(cases: Path) -> Path:
    return bench.write_cases(cases, {"dim.yaml": bench.DIM}) / "dim.yaml"


@pytest.mark.parametrize(
    ("named", "cause"),
    [
        (None, "light.lamp.blackened"),
        ("light.lamp.shorted", "light.lamp.shorted"),
        ("light.lamp", "light.lamp.blackened"),
        ("cell", "light.cell.flat"),
        ("FLAT", "light.cell.flat"),
        ("shorted at its", "light.lamp.shorted"),
    ],
)
def test_a_cause_may_be_named_by_id_part_or_piece(
    call: Call, dim: Path, named: str | None, cause: str
) -> None:
    arguments = [dim] if named is None else [dim, named]
    ran = call("explain", *arguments, "--format", "json")
    assert ran.status == 0
    assert json.loads(ran.out)["cause"]["id"] == cause


def test_an_unknown_cause_is_wrong_usage_with_the_nearest_named(call: Call, dim: Path) -> None:
    ran = call("explain", dim, "light.lmap.blackened")
    assert (ran.status, ran.out) == (2, "")
    assert "`light.lmap.blackened` is no cause of this rig; name one of: " in ran.err
    assert "light.lamp.blackened" in ran.err


def test_a_piece_that_fits_several_parts_lists_them(call: Call, dim: Path) -> None:
    ran = call("explain", dim, "light")
    assert ran.status == 2
    assert "fits 3 parts" in ran.err
    for part in ("light.lamp", "light.cell", "light.unnamed"):
        assert part in ran.err


def test_nothing_like_it_points_to_the_report(call: Call, dim: Path) -> None:
    ran = call("explain", dim, "zzzzzz")
    assert ran.status == 2
    assert "`diagnose report" in ran.err


def test_contributions_and_residual_are_the_change_of_the_log_odds(call: Call, dim: Path) -> None:
    """log2(posterior odds) - log2(prior odds), from the numbers of the same record."""
    made = json.loads(call("explain", dim, "--format", "json").out)
    prior, now = made["prior"], made["cause"]["probability"]
    change = math.log2(now / (1 - now)) - math.log2(prior / (1 - prior))
    total = sum(line["bits"] for line in made["evidence"]) + made["residual_bits"]
    assert total == pytest.approx(change, abs=1e-5)


def test_the_page_names_the_rule_its_file_and_its_line(call: Call, dim: Path) -> None:
    out = " ".join(call("explain", dim).out.split())
    line = (bench.SHOP / "stages/lantern.yaml").read_text(encoding="utf-8").splitlines()
    number = 1 + next(n for n, text in enumerate(line) if "black-glass-dims" in text)
    assert "lantern/black-glass-dims" in out
    assert f"lantern.yaml:{number}:3" in out
    assert "Metal on the glass swallows the light." in out
    assert "local rule" in out


def test_a_stop_order_is_said_first_and_is_the_status(call: Call, cases: Path) -> None:
    bench.write_cases(cases, {"hot.yaml": bench.HOT})
    ran = call("explain", cases / "hot.yaml")
    assert ran.status == 3
    assert ran.out.startswith("STOP  Remove power now.")


def test_a_case_that_cannot_be_read_is_not_explained(call: Call, cases: Path) -> None:
    ran = call("explain", cases / "none.yaml")
    assert (ran.status, ran.out) == (1, "")
    assert "there is no such file" in ran.err
