"""The book kept compiled: data only, in the cache folder, rebuilt in silence when it does not fit.

The key is a fingerprint of every rule file, the program's version and the form of the data, so a
stale file is simply never found. What cannot be read or written costs time, never an error.
"""

from __future__ import annotations

import contextlib
import gc
import hashlib
import json
import os
import tempfile
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Final

from diagnose import __version__
from diagnose.files.convert import ShapeError, from_plain, outline, to_plain
from diagnose.files.find import cache_folder
from diagnose.files.gather import digest, gather
from diagnose.model.knowledge import Book
from diagnose.problems import Problem

FORM: Final = 2  # of the data; raise it when the converters change
KEPT: Final = 8  # compiled books that stay in the cache folder

Loaded = tuple[Book | None, tuple[Problem, ...]]


def open_book(rules_dir: Path, shop: Path | None = None, cache: Path | None = None) -> Loaded:
    """The book, from the cache folder if it is there, otherwise read from its files and kept."""
    folder = cache if cache is not None else cache_folder()
    files = gather(rules_dir, shop)
    fingerprint = digest(files)
    path = _path(folder, fingerprint, shop) if folder is not None else None
    if path is not None:
        kept = load_compiled(path, fingerprint)
        if kept is not None:
            return kept
    from diagnose.files.read_book import read_files  # noqa: PLC0415 - YAML and schemas, only here

    book, problems = read_files(files, rules_dir, shop)
    if path is not None and book is not None:
        save_compiled(path, book, problems)
    return book, problems


def load_compiled(path: Path, fingerprint: str) -> Loaded | None:
    """The compiled book of this fingerprint; None where it is absent, damaged or another one."""
    with _no_collection():
        try:
            content = path.read_bytes()
            head, _, body = content.partition(b"\n")
            if head != _head(body):
                return None
            data = json.loads(body)
            book: Book = from_plain(Book, data[0])
            problems: tuple[Problem, ...] = from_plain(tuple[Problem, ...], data[1])
        except (OSError, ValueError, ShapeError, LookupError, TypeError, RecursionError):
            return None
    return (book, problems) if book.digest == fingerprint else None


def save_compiled(path: Path, book: Book, problems: tuple[Problem, ...]) -> bool:
    """Keep a book; False where the folder cannot be written."""
    data = [to_plain(book), to_plain(problems)]
    body = json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode()
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".book-", suffix=".tmp")
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(_head(body) + b"\n" + body)
            Path(temporary).replace(path)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
        _clear_old(path.parent)
    except (OSError, UnicodeError):
        return False
    return True


def _path(folder: Path, fingerprint: str, shop: Path | None) -> Path:
    """The file of one book; the shop's path counts, because places name it."""
    key = f"{fingerprint}\0{__version__}\0{FORM}\0{shop or ''}"
    return folder / f"book-{hashlib.sha256(key.encode('utf-8', 'surrogateescape')).hexdigest()[:32]}.json"


def _head(body: bytes) -> bytes:
    """A first line that says what follows, in which outline, and whether all of it arrived."""
    return f"diagnose book {_outline()} {hashlib.sha256(body).hexdigest()}".encode()


@lru_cache(maxsize=1)
def _outline() -> str:
    """A fingerprint of the model: a book of another version of the program does not fit."""
    return hashlib.sha256(f"{FORM}\n{outline(Book)}".encode()).hexdigest()[:16]


def _clear_old(folder: Path) -> None:
    """Only the latest few compiled books stay."""
    books = sorted(folder.glob("book-*.json"), key=lambda path: path.stat().st_mtime)
    for path in books[:-KEPT]:
        path.unlink(missing_ok=True)


@contextlib.contextmanager
def _no_collection() -> Iterator[None]:
    """No garbage collection while thousands of lasting values are made: it doubles the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
