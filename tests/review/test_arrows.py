"""Checks of the rules beside each other, each on a book in which two of them do not fit."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.review import arrows
from diagnose.review.survey import Check, survey
from tests.review.books import RIG, STAGE, after, found, line_of, rule, told, without
from tests.small_book import read_small

ALL: tuple[Check, ...] = (
    arrows.contradictions,
    arrows.doubled_rules,
    arrows.short_cuts,
    arrows.missing_degrees,
    arrows.repeated_sentences,
)


@pytest.mark.parametrize("check", ALL, ids=lambda check: check.__name__)
def test_a_sound_book_has_nothing_to_find(check: Check, tmp_path: Path) -> None:
    assert found(check, tmp_path) == []


def both_ways(down: str, up: str) -> str:
    """The stage with a cause that pushes the voltage down so often, and up so often."""
    stage = STAGE.replace("chance: 9 of 10, because: nothing left", f"chance: {down}, because: nothing left")
    return stage.replace("checks:", rule("flat-lifts", "cell flat", "voltage high", up) + "checks:")


def test_a_cause_that_often_pushes_both_ways(tmp_path: Path) -> None:
    stage = both_ways("6 of 10", "4 of 10")
    (problem,) = found(arrows.contradictions, tmp_path, stage)
    file, line, id, text = told(problem)
    assert (file, line, id, problem.level) == (
        "lantern.yaml",
        line_of(stage, "flat-lifts:"),
        "both-ways",
        "warning",
    )
    assert text.startswith("lantern/flat-lifts pushes voltage the other way than lantern/flat-sags (")
    assert text.endswith("so that it says next to nothing")


TWICE_FED = """\
kind: bulb
title: bulb
about: Fed through two ports that a rig may bind to one stage.
ports:
  feed: {title: feed, gives: [voltage]}
  screen: {title: screen feed, gives: [voltage]}
quantities:
  light: {title: light, ask: How bright?, unit: V, grading: level, tolerance: 10 %}
rules:
  feed-dims:
    {from: {feed.voltage: low}, to: {light: low}, chance: 7 of 10, because: less power, source: common practice}
  screen-lifts:
    {from: {screen.voltage: low}, to: {light: high}, chance: 6 of 10, because: less shade, source: common practice}
checks:
  see: {title: see the bulb, reveals: [light], how: See., instrument: eyes, minutes: 1, good: bright}
"""


def test_more_than_all_sets_cannot_go_both_ways(tmp_path: Path) -> None:
    """Within a kind the reader refuses it; here two ports of a rig meet: 7 of 10 low and 6 of 10 high."""
    bound = RIG.replace(
        "chart:", "  bulb: {kind: bulb, title: bulb, fed_by: {feed: light, screen: light}}\nchart:"
    )
    files = {"lantern.yaml": STAGE, "bulb.yaml": TWICE_FED, "marker.yaml": bound}
    (problem,) = arrows.contradictions(survey(read_small(tmp_path, files)))
    file, line, id, text = told(problem)
    assert (file, line, id) == ("bulb.yaml", line_of(TWICE_FED, "screen-lifts:"), "contradiction")
    assert problem.level == "error"
    assert text.startswith("bulb/screen-lifts pushes light the other way than bulb/feed-dims (")
    assert text.endswith("together more than all sets")


def test_a_rare_push_the_other_way_is_no_contradiction(tmp_path: Path) -> None:
    assert found(arrows.contradictions, tmp_path, both_ways("8 of 10", "1 of 10")) == []


def test_one_arrow_stated_twice(tmp_path: Path) -> None:
    again = rule("flat-sags-again", "cell flat", "voltage low", "1 of 100")
    stage = STAGE.replace("checks:", again + "checks:")
    (problem,) = found(arrows.doubled_rules, tmp_path, stage)
    file, line, id, text = told(problem)
    assert (file, line, id) == ("lantern.yaml", line_of(stage, "flat-sags-again:"), "doubled-rule")
    assert text.startswith("lantern/flat-sags-again states the same arrow as lantern/flat-sags (")


def test_a_short_cut_past_the_nearest_consequence(tmp_path: Path) -> None:
    stage = after(STAGE, "rules", rule("flat-dims", "cell flat", "dim yes", "8 of 10"))
    (problem,) = found(arrows.short_cuts, tmp_path, stage)
    assert told(problem) == (
        "lantern.yaml",
        line_of(stage, "flat-dims:"),
        "short-cut",
        "lantern/flat-dims passes over light.voltage: lantern/low-dims leads on from there to dim",
    )


def test_a_way_round_that_explains_little_is_no_short_cut(tmp_path: Path) -> None:
    """9 of 10 times 1 of 10 is less than half of 8 of 10: there must be a second mechanism."""
    stage = after(STAGE, "rules", rule("flat-dims", "cell flat", "dim yes", "8 of 10"))
    stage = stage.replace("chance: 9 of 10, because: light falls", "chance: 1 of 10, because: light falls")
    assert found(arrows.short_cuts, tmp_path, stage) == []


def test_a_cause_that_shows_about_half_the_time_in_three_places(tmp_path: Path) -> None:
    signs = "".join(
        f"  sign_{n}: {{title: sign {n}, ask: Is it there?, leak: 1 of 1000}}\n" for n in range(3)
    )
    links = "".join(rule(f"half-{n}", "cell gassing", f"sign_{n} yes", "5 of 10") for n in range(3))
    stage = after(after(STAGE, "symptoms", signs), "rules", links)
    (problem,) = found(arrows.missing_degrees, tmp_path / "a", stage)
    assert told(problem) == (
        "lantern.yaml",
        line_of(stage, "gassing:"),
        "missing-degrees",
        "cell.gassing has 3 middling chances in one direction: lantern/half-0, lantern/half-1, lantern/half-2",
    )
    clear = without(stage, "half-2:")
    assert found(arrows.missing_degrees, tmp_path / "b", clear) == []


def test_a_sentence_that_stands_in_two_reasons(tmp_path: Path) -> None:
    first = rule("gas-a", "cell gassing", "dim yes", "8 of 10", "'It swells badly. The plates part.'")
    second = rule("gas-b", "cell gassing", "voltage low", "8 of 10", "'The plates  part. So it drops.'")
    third = rule("gas-c", "cell flat", "hot yes", "8 of 10", "'It swells badly, the plates part.'")
    stage = after(STAGE, "rules", first + second + third)
    (problem,) = found(arrows.repeated_sentences, tmp_path, stage)
    file, line, id, text = told(problem)
    assert (file, line, id) == ("lantern.yaml", line_of(stage, "gas-b:"), "same-sentence")
    assert text.startswith("lantern/gas-b repeats a sentence of lantern/gas-a (")
    assert text.endswith(": the plates part")
