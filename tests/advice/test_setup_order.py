"""The order of set-ups: what the bench as it is allows comes first where it is worth about as much."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.advice.gates import setup_cost
from diagnose.advice.judging import SCREENED, Judged, screened
from diagnose.advice.picking import in_order
from diagnose.advice.prospects import Prospect
from diagnose.files.read_book import load_book
from diagnose.files.read_case import assembly_of
from diagnose.model.assembly import Assembly, PlacedCheck

LIVE: Mapping[str, str] = {"power": "hv", "cover": "on", "position": "upright"}


@lru_cache(maxsize=1)
def rig() -> Assembly:
    """The network of one rig."""
    loaded, _ = load_book(Path(__file__).parents[2] / "rules")
    assert loaded is not None
    return assembly_of(loaded, "gannet_60")


def check(setup: Mapping[str, str], name: str, minutes: float = 5.0) -> PlacedCheck:
    """A check without hazard in a set-up."""
    some = rig().checks["final.read_grid_current"]
    return replace(some, id=name, check=replace(some.check, setup=setup, minutes=minutes, hazard=""))


def judged(setup: Mapping[str, str], saved: float, name: str) -> Judged:
    """One that saves so many minutes."""
    return Judged(check(setup, name), None, saved, 0.3)


def order(now: Mapping[str, str], *found: Judged) -> list[str]:
    """The names in the order of the advice."""
    return [j.placed.id for j in in_order(rig(), now, found, len(found))]


def test_what_shares_the_set_up_comes_first_where_the_worth_is_close() -> None:
    """A change is to be undone for what is left here, and is reckoned with its way back."""
    here = judged(LIVE, 12.0, "here")
    away = judged({"power": "off", "cover": "off"}, 20.0, "away")
    assert order(LIVE, away, here) == ["here", "away"]
    assert order({"power": "off", "cover": "off", "position": "upright"}, away, here) == ["away", "here"]


def test_what_is_worth_much_more_is_not_put_off() -> None:
    """The set-up is a cost like any other."""
    here = judged(LIVE, 6.0, "here")
    away = judged({"power": "off", "cover": "off"}, 60.0, "away")
    assert order(LIVE, here, away) == ["away", "here"]


def test_high_voltage_that_is_up_is_not_taken_down_for_a_cold_check_that_tells_less() -> None:
    """Cold comes before live where power is still to be put on; where it is on, its round is finished first."""
    some = rig().checks["final.read_screen_voltage"]
    live = Judged(replace(some, id="live", check=replace(some.check, setup=LIVE)), None, 30.0, 0.5)
    cold = Judged(check({"power": "off", "cover": "on"}, "cold"), None, 15.0, 0.4)
    assert order(LIVE, cold, live)[0] == "live"
    assert order({"power": "off", "cover": "on"}, cold, live)[0] == "cold"


@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(["hv", "off", "rf", "heaters"]), st.sampled_from(["on", "off"])),
        min_size=2,
        max_size=6,
    )
)
def test_equal_checks_take_the_fewest_changes(wanted: list[tuple[str, str]]) -> None:
    """Of checks that are worth the same each set-up is visited once."""
    found = [
        judged({"power": power, "cover": cover}, 40.0, f"check_{number}")
        for number, (power, cover) in enumerate(wanted)
    ]
    now: Mapping[str, str] = LIVE
    visited: list[tuple[tuple[str, str], ...]] = []
    by_name = {j.placed.id: j.placed.check.setup for j in found}
    for name in order(LIVE, *found):
        if setup_cost(rig().book.bench, now, by_name[name])[1] or not visited:
            visited.append(tuple(by_name[name].items()))
        now = {**now, **by_name[name]}
    assert len(visited) == len(set(wanted))


def test_some_of_what_is_judged_is_near() -> None:
    """However far down they stand by what they could tell: they cost little more than a look."""
    far = [Prospect(check({"power": "off", "cover": "off"}, f"far_{n}"), (), 1.0) for n in range(20)]
    near = [Prospect(check(LIVE, f"near_{n}", 1.0), (), 0.3) for n in range(3)]
    kept = [prospect.check.id for prospect in screened(rig().book.bench, LIVE, [*far, *near])]
    assert len(kept) == SCREENED
    assert kept[-3:] == ["near_0", "near_1", "near_2"]
    assert kept[:7] == [f"far_{n}" for n in range(7)]
