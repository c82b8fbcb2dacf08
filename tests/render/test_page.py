"""Lines of text: wrapped, without trailing blanks, and never steering the terminal."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from rich.text import Text

from diagnose.render.page import Page, listed, plain, sentence, styled


@given(st.text(max_size=300), st.integers(min_value=30, max_value=100), st.integers(min_value=0, max_value=9))
def test_no_line_is_too_long_and_none_ends_in_a_blank(text: str, width: int, indent: int) -> None:
    page = Page(width)
    page.say(text, indent=indent)
    page.row((text, text, "x"), (8, -8, 8), indent=2)
    for line in page.lines:
        assert line.cell_len <= width
        assert line.plain == line.plain.rstrip(" ")


@given(st.text(max_size=80))
def test_no_control_character_reaches_the_page(text: str) -> None:
    for character in plain(text):
        assert character.isprintable()


def test_a_terminal_sequence_in_a_text_is_shown_and_not_obeyed() -> None:
    assert plain("volts\x1b[2J\x07 low\n") == "volts\N{REPLACEMENT CHARACTER}[2J\N{REPLACEMENT CHARACTER} low"


def test_brackets_are_text_and_no_markup() -> None:
    page = Page(60)
    page.say("[red]rules/a.yaml[/red] [/etc]")
    assert page.text() == "[red]rules/a.yaml[/red] [/etc]\n"


def test_pieces_keep_the_blanks_between_them() -> None:
    assert styled("a ", ("b", "stop"), " c", Text("  d")).plain == "a b c  d"


def test_cells_wrap_in_their_own_columns() -> None:
    page = Page(40)
    page.row(("7", "high voltage is low", "x"), (-3, 12, 4), indent=2)
    assert page.text() == "    7  high voltage  x\n       is low\n"


def test_first_stands_inside_the_indent_of_the_first_line_only() -> None:
    page = Page(30)
    page.say("one two three four five six seven", first="Next", indent=9)
    assert page.text() == "Next     one two three four\n         five six seven\n"


def test_blank_lines_are_never_doubled_and_never_lead() -> None:
    page = Page(30)
    page.blank()
    page.say("a")
    page.blank()
    page.heading("B")
    assert page.text() == "a\n\nB\n"


def test_lists_and_sentences_read_as_spoken() -> None:
    assert [listed("a"), listed("ab"), listed("abc", "or")] == ["a", "a and b", "a, b or c"]
    assert [sentence("fit a tube "), sentence("Done!")] == ["Fit a tube.", "Done!"]
