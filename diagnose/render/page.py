"""A page under construction: lines of styled text, wrapped to a width, without trailing blanks."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from rich.console import Console
from rich.text import Text

Said = str | Text


def plain(text: str) -> str:
    """The text on one line, without characters that could steer a terminal."""
    kept = (
        character if character.isspace() or character.isprintable() else "\N{REPLACEMENT CHARACTER}"
        for character in text
    )
    return " ".join("".join(kept).split())


def styled(*pieces: Said | tuple[str, str]) -> Text:
    """One text of pieces; a pair is a text and the meaning that styles it."""
    whole = Text()
    for piece in pieces:
        if isinstance(piece, Text):
            whole.append_text(piece)
        elif isinstance(piece, tuple):
            whole.append(plain_keep_ends(piece[0]), style=piece[1])
        else:
            whole.append(plain_keep_ends(piece))
    return whole


def plain_keep_ends(text: str) -> str:
    """Like `plain`, but a blank at either end stays one, so that pieces can be joined."""
    if not text.strip():
        return " " if text else ""
    lead = " " if text[0].isspace() else ""
    tail = " " if text[-1].isspace() else ""
    return f"{lead}{plain(text)}{tail}"


@dataclass
class Page:
    """Collects lines; `width` is the last column that may be used."""

    width: int = 80
    lines: list[Text] = field(default_factory=list)

    def blank(self) -> None:
        """One empty line, never two, and none at the top."""
        if self.lines and self.lines[-1].plain:
            self.lines.append(Text())

    def heading(self, text: str) -> None:
        """A heading with an empty line above it."""
        self.blank()
        self.lines.append(Text(plain(text), style="heading"))

    def say(self, said: Said, *, first: Said = "", indent: int = 0) -> None:
        """A paragraph; `first` stands before its first line, inside the indent."""
        body = said if isinstance(said, Text) else Text(plain(said))
        head = first if isinstance(first, Text) else Text(first)
        room = max(self.width - indent, 20)
        for number, line in enumerate(wrap(body, room)):
            lead = head if number == 0 else Text()
            padded = Text(" " * max(indent - lead.cell_len, 0))
            whole = Text.assemble(lead, padded, line)
            whole.rstrip()
            self.lines.append(whole)

    def row(self, cells: Sequence[Said], widths: Sequence[int], *, first: Said = "", indent: int = 2) -> None:
        """Cells side by side, each wrapped in its own column; negative widths align right."""
        head = first if isinstance(first, Text) else Text(first)
        columns = [
            wrap(cell if isinstance(cell, Text) else Text(plain(cell)), abs(width))
            for cell, width in zip(cells, widths, strict=True)
        ]
        for number in range(max(len(column) for column in columns)):
            lead = head if number == 0 else Text()
            line = Text.assemble(lead, Text(" " * max(indent - lead.cell_len, 0)))
            for position, (column, width) in enumerate(zip(columns, widths, strict=True)):
                piece = column[number] if number < len(column) else Text()
                gap = Text(" " * (abs(width) - piece.cell_len))
                line.append_text(Text.assemble(gap, piece) if width < 0 else Text.assemble(piece, gap))
                if position < len(widths) - 1:
                    line.append("  ")
            line.rstrip()
            self.lines.append(line)

    def print(self, console: Console) -> None:
        """All lines, without trailing blanks."""
        for line in self.lines:
            line.rstrip()
            console.print(line, soft_wrap=True)

    def text(self) -> str:
        """The page as plain text, for tests and files."""
        return "".join(f"{line.plain.rstrip()}\n" for line in self.lines)


def wrap(text: Text, width: int) -> list[Text]:
    """The text in lines of at most `width` columns; a longer word is cut."""
    lines = list(text.wrap(_RULER, width, justify="left", overflow="fold"))
    for line in lines:
        line.rstrip()
    return lines or [Text()]


def listed(words: Iterable[str], last: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`."""
    items = list(words)
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def capital(text: str) -> str:
    """The text with a capital in front."""
    text = text.strip()
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """The text as a sentence: a capital in front, a stop behind."""
    text = capital(text)
    return text if text.endswith((".", "!", "?")) else f"{text}."


_RULER = Console(width=80, color_system=None)
