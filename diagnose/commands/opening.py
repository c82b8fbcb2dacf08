"""Opening the book and the cases of a run, with plain words for what cannot be opened."""

from __future__ import annotations

import gc
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Final

from diagnose.files import compiled
from diagnose.files.find import rules_folder, shop_folder
from diagnose.files.read_case import assembly_of, read_case
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case
from diagnose.model.knowledge import Book
from diagnose.problems import ERROR, Place, Problem, Unusable, errors

_SELDOM: Final = (20_000, 20, 50)  # objects made before a search for garbage, and searches before a wider one


@dataclass(frozen=True)
class Opened:
    """One case file as far as it could be read; `case` is None where it could not."""

    path: Path
    case: Case | None
    problems: tuple[Problem, ...]

    @property
    def complete(self) -> bool:
        """Whether everything in it could be used."""
        return self.case is not None and not errors(self.problems)


def open_book(asked: str | None) -> Book:
    """The book, with the shop folder over it: the one asked for, else the usual one. Raises Unusable."""
    shop = shop_folder(asked)
    book, problems = compiled.open_book(rules_folder(), shop)
    if book is None:
        where = f" with {shop} over them" if shop is not None else ""
        raise Unusable(f"the rules{where} cannot be used. See `diagnose rules check`.", errors(problems))
    _settle()
    return book


def _settle() -> None:
    """Takes what there is so far, the book above all, out of the search for garbage: it stays as long as the run.

    Walking it again and again would take longer than most answers.
    """
    gc.freeze()
    gc.set_threshold(*_SELDOM)


def open_case(path: Path, book: Book) -> Opened:
    """The case in a file."""
    said = _no_file(path)
    if said is not None:
        return Opened(path, None, (said,))
    case, problems = read_case(path, book)
    return Opened(path, case, problems)


def assembly_for(case: Case, book: Book) -> Assembly:
    """The network of the case's rig."""
    return assembly_of(book, case.rig, tuple(case.meters.values()))


def nearest(wrong: str, known: Iterable[str], many: int = 3) -> str:
    """`did you mean ...?` with the nearest names, or nothing."""
    found = get_close_matches(wrong, list(known), n=many, cutoff=0.6)
    return f"did you mean {' or '.join(f'`{name}`' for name in found)}?" if found else ""


def _no_file(path: Path) -> Problem | None:
    """Why a path cannot hold a case at all."""
    place = Place(str(path))
    if path.is_dir():
        hint = f"for all cases in it: `diagnose batch {path}`"
        return Problem(place, ERROR, "folder", "this is a folder, not a case file", hint)
    if not path.exists():
        names = _names_in(path.parent)
        close = get_close_matches(path.name, names, n=1, cutoff=0.6)
        hint = f"did you mean `{path.parent / close[0]}`?" if close else "look at the path"
        return Problem(place, ERROR, "no-file", "there is no such file", hint)
    return None


def _names_in(folder: Path) -> list[str]:
    try:
        return sorted(entry.name for entry in folder.iterdir())[:2000]
    except OSError:
        return []
