"""The entries of the book by the names that `rules show` takes, and those that have certain words."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.model.knowledge import Book, Check, Indication, Rule, StageKind
from diagnose.render.book import Entry, entry_line

Named = tuple[str, Entry]


def entries(book: Book) -> dict[str, Entry]:
    """Every entry by its name: KIND, KIND/RULE, KIND.NAME, KIND.PART.MODE, a tube type, a source.

    Where a tube or source is called as something else in the book, the name means the other.
    """
    known: dict[str, Entry] = {**book.sources, **book.tubes}
    for kind in book.kinds.values():
        known.update(_of_kind(kind))
        for part in kind.parts.values():
            known.update({f"{kind.id}.{part.id}.{mode.id}": part for mode in part.modes})
    return known


def with_words(book: Book, kind: StageKind | None, words: str) -> list[Named]:
    """The entries that have all of the words, in any order and case; of one kind of stage if that is given."""
    wanted = words.casefold().split()
    found = _of_kind(kind) if kind is not None else _all(book)
    return [
        (name, entry)
        for name, entry in found
        if all(word in f"{name} {_said_of(entry)}".casefold() for word in wanted)
    ]


def _all(book: Book) -> Iterator[Named]:
    for kind in book.kinds.values():
        yield from _of_kind(kind)
    yield from book.tubes.items()
    yield from book.sources.items()


def _of_kind(kind: StageKind) -> Iterator[Named]:
    """The kind itself and all that it declares."""
    yield kind.id, kind
    for part in kind.parts.values():
        yield f"{kind.id}.{part.id}", part
    for indication in kind.indications.values():
        yield f"{kind.id}.{indication.id}", indication
    for check in kind.checks.values():
        yield f"{kind.id}.{check.id}", check
    for rule in kind.rules.values():
        yield rule.id, rule


def _said_of(entry: Entry) -> str:
    """What an entry is found by beside its name: its line in a list, and what that leaves out."""
    more: tuple[str, ...] = ()
    if isinstance(entry, Rule):
        more = (entry.because,)
    elif isinstance(entry, Indication):
        more = entry.words
    elif isinstance(entry, Check):
        more = entry.reveals
    return " ".join((entry_line(entry), *more))
