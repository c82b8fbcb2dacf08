"""The built-in book against statements published elsewhere, and against tests that tell two causes apart.

The statements are in `published_charts.yaml`, the tests in `which_of_two.yaml`, each with its source.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.outside.bench import RIGS, Bench, bench, blame, data, leaders, place, together

CHARTS = data("published_charts.yaml")
CHOICES = data("which_of_two.yaml")
STATEMENTS = CHARTS["statements"]
RULED_OUT = {id: said for id, said in STATEMENTS.items() if "falls" in said}
LISTED = {id: said for id, said in STATEMENTS.items() if id not in RULED_OUT}
OUTCOMES = [
    pytest.param(choice, outcome, id=f"{id}: {outcome['when']}")
    for id, choice in CHOICES["choices"].items()
    for outcome in choice["outcomes"]
]
WORTH_NAMING = 0.01  # a part blamed less than this is not named, whatever its place


def on_the_bench(said: dict[str, Any]) -> Bench:
    return Bench(said["rig"], said["vary"]) if "vary" in said else bench(said["rig"])


def test_there_are_enough_of_both_and_each_names_its_source() -> None:
    """At least thirty statements and thirty outcomes over every rig; no source is named in vain."""
    assert len(STATEMENTS) >= 30
    assert len(OUTCOMES) >= 30
    for file, entries in ((CHARTS, STATEMENTS), (CHOICES, CHOICES["choices"])):
        assert {said["rig"] for said in entries.values()} == set(RIGS)
        named = {said["source"] for said in entries.values()} - {"common practice"}
        assert named == set(file["sources"])
        assert all(source["title"] and source["url"] for source in file["sources"].values())
    assert not any(said["source"] == "common practice" for said in STATEMENTS.values())


@pytest.mark.parametrize("said", LISTED.values(), ids=list(LISTED))
def test_the_listed_causes_are_among_the_first(said: dict[str, Any]) -> None:
    """What a published statement gives as the cause holds one of the first places by blame."""
    found = on_the_bench(said).diagnose(said["case"])
    first = leaders(found, said["among"])
    hits = [part for part in said["listed"] if part in first and blame(found, part) >= WORTH_NAMING]
    assert len(hits) >= said.get("found", len(said["listed"])), first
    assert blame(found, *said["listed"]) > 0  # and no listed part is unknown to the rig
    for part in said.get("spared", ()):
        assert place(found, part) > said["among"], part


@pytest.mark.parametrize("said", RULED_OUT.values(), ids=list(RULED_OUT))
def test_what_is_ruled_out_falls(said: dict[str, Any]) -> None:
    """What a published statement rules out is blamed half as much at most once its fact is known."""
    before = on_the_bench(said).diagnose(said["case"])
    after = on_the_bench(said).diagnose(together(said["case"], said["adds"]))
    for part in said["falls"]:
        assert blame(before, part) >= WORTH_NAMING
        assert blame(after, part) <= blame(before, part) / 2


@pytest.mark.parametrize(("choice", "outcome"), OUTCOMES)
def test_the_outcome_of_a_test_tells_two_causes_apart(
    choice: dict[str, Any], outcome: dict[str, Any]
) -> None:
    """The side that the outcome speaks for comes among the first three, ahead of the other side."""
    found = on_the_bench(choice).diagnose(together(choice["shared"], outcome["case"]))
    best = min(place(found, part) for part in outcome["leads"])
    assert best <= 3, leaders(found, 5)
    assert best < min(place(found, part) for part in outcome["over"]), leaders(found, 5)
    assert blame(found, *outcome["leads"]) > blame(found, *outcome["over"])


@pytest.mark.parametrize(
    "choice",
    [choice for choice in CHOICES["choices"].values() if len(choice["outcomes"]) > 1],
    ids=[id for id, choice in CHOICES["choices"].items() if len(choice["outcomes"]) > 1],
)
def test_another_outcome_speaks_less_for_the_same_side(choice: dict[str, Any]) -> None:
    """It is the outcome that convicts: no other outcome leaves more blame on what it speaks for."""
    diagnoses = [
        on_the_bench(choice).diagnose(together(choice["shared"], outcome["case"]))
        for outcome in choice["outcomes"]
    ]
    for number, outcome in enumerate(choice["outcomes"]):
        own = blame(diagnoses[number], *outcome["leads"])
        for other, found in enumerate(diagnoses):
            if other != number and not set(outcome["leads"]) & set(choice["outcomes"][other]["leads"]):
                assert blame(found, *outcome["leads"]) <= own


def test_a_wrong_answer_would_be_noticed() -> None:
    """The measure is no rubber stamp: exchanged leaders of the outcomes fail in most of the choices."""
    noticed = 0
    pairs = [choice for choice in CHOICES["choices"].values() if len(choice["outcomes"]) == 2]
    for choice in pairs:
        one, two = choice["outcomes"]
        found = on_the_bench(choice).diagnose(together(choice["shared"], one["case"]))
        noticed += blame(found, *two["leads"]) <= blame(found, *one["leads"])
    assert noticed >= 0.9 * len(pairs)
