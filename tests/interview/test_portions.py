"""What does not go on one screen is shown in portions where someone reads along, and whole through a pipe."""

from __future__ import annotations

import io
from collections.abc import Iterable

import pytest
from rich.console import Console

from diagnose.interview.cure import SHOWN, cured, proof_page
from diagnose.interview.dialogue import Dialogue, Ended
from diagnose.interview.screen import LEAST, Turn, turn
from diagnose.render.page import Page
from diagnose.render.words import words_of
from tests.interview.bench import course, entered

HEIGHT = 24


def reader(lines: Iterable[str], *, portions: bool = True) -> tuple[Dialogue, io.StringIO, list[int]]:
    """A dialogue on a screen of 24 lines, what it writes, and how many lines that was before each line read."""
    stream, waiting, counts = io.StringIO(), iter(list(lines)), [0]
    looked = [0]

    def read() -> str | None:
        written = stream.getvalue()[looked[0] :]
        looked[0] = len(stream.getvalue())
        counts.append(written.count("\n") + (not written.endswith("\n")))
        return next(waiting, None)

    console = Console(file=stream, width=80, height=HEIGHT, color_system=None, markup=False, highlight=False)
    return Dialogue(console, read, portions=portions), stream, counts


def long_page(lines: int) -> Page:
    """A page of so many lines."""
    page = Page(80)
    for number in range(lines):
        page.say(f"line {number}")
    return page


@pytest.mark.parametrize("lines", [1, 22, 23, 24, 25, 46, 93])
def test_every_line_is_shown_and_no_portion_is_longer_than_the_screen(lines: int) -> None:
    """Enter goes on."""
    spoken, stream, counts = reader([""] * 10)
    spoken.show(long_page(lines))
    assert spoken.ask("And now?") == ""
    shown = stream.getvalue()
    assert [f"line {n}\n" in shown for n in range(lines)] == [True] * lines
    assert max(counts) <= HEIGHT


def test_what_was_said_since_the_last_answer_takes_its_room() -> None:
    """Paragraphs and empty lines count too."""
    spoken, _, counts = reader([""] * 10)
    for _ in range(5):
        spoken.say("something")
        spoken.gap()
    spoken.show(long_page(20))
    spoken.ask("And now?")
    assert max(counts) <= HEIGHT


def test_nothing_to_show_waits_for_no_one() -> None:
    """However full the screen is."""
    spoken, stream, counts = reader([])
    spoken.show(long_page(HEIGHT - 1))
    spoken.gap()
    spoken.show(Page(80))
    assert "more line" not in stream.getvalue()
    assert len(counts) == 1


def test_another_line_leaves_the_rest_out_and_is_the_answer() -> None:
    """Nothing that was typed is lost."""
    spoken, stream, _ = reader(["145 mA"])
    spoken.show(long_page(60))
    assert spoken.ask("What does it read?") == "145 mA"
    assert "line 59" not in stream.getvalue()
    with pytest.raises(Ended):
        spoken.ask("And now?")


def test_through_a_pipe_nothing_waits() -> None:
    """All in one go."""
    spoken, stream, counts = reader(["x"], portions=False)
    spoken.show(long_page(60))
    assert spoken.ask("And now?") == "x"
    assert "line 59" in stream.getvalue()
    assert len(counts) == 2


def test_a_turn_leaves_room_for_what_stands_above_it() -> None:
    """It is cut shorter then, down to what cannot be left out."""
    now = entered(course(), output_network__power="low", final__plate_current="low")
    words, step = words_of(now.assembly), now.options[0]
    sizes = []
    for room in (24, 20, LEAST):
        page = Page(80)
        turn(page, Turn(now, words, step, step.names[0], step.advised.cautions, room=room))
        sizes.append(len(page.lines))
        assert len(page.lines) < max(room, 18)
    assert sizes == sorted(sizes, reverse=True)


def test_a_long_list_of_proof_is_told_in_short_and_whole_at_a_word() -> None:
    """With how many there are beside."""
    now = entered(course(), output_network__power="low").did("new final tube", ["final.final_tube"])
    for name in (*now.to_prove, *now.unseen):
        now = entered(now, **{name.replace(".", "__"): "normal"})
    assert now.cured
    words = words_of(now.assembly)
    short, whole = Page(80), Page(80)
    cured(short, now, words)
    proof_page(whole, now, words)
    missing = len(now.proof_missing)
    assert missing > SHOWN + 1
    assert f"and {missing - SHOWN} more: `proof` lists all" in short.text()
    for name in now.proof_missing:
        assert words.placed(name) in " ".join(whole.text().split())


@pytest.mark.parametrize("line", ["y", "n", "Yes", "no."])
def test_a_yes_or_no_answers_no_question_that_is_not_on_the_screen(line: str) -> None:
    """It shows the next portion; the question is answered when it was seen."""
    spoken, stream, _ = reader([line, "", "no"])
    spoken.show(long_page(60))
    assert spoken.ask("Was it brought up slowly?") == "no"
    assert "line 59" in stream.getvalue()
