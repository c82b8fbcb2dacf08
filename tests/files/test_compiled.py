"""The compiled book: the same as the read one, rebuilt whenever it does not fit, never an error."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.files import compiled, read_book
from diagnose.files.compiled import load_compiled, open_book, save_compiled
from diagnose.files.gather import digest, gather
from diagnose.files.read_book import load_book
from tests.files.small import FEED, FILES, rules, said, swapped, write

TWIN = swapped(FEED, "because: the same load on less filter", "because: without emission nothing flows")


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """One entry for each time that the files themselves were read."""
    seen: list[int] = []
    original = read_book.read_files

    def counting(*arguments: object) -> object:
        seen.append(1)
        return original(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(read_book, "read_files", counting)
    return seen


def test_the_second_time_comes_from_the_cache_and_is_the_same(tmp_path: Path, reads: list[int]) -> None:
    """Book and warnings are kept; the files are read once."""
    folder = rules(tmp_path, {"stages/feed.yaml": TWIN})
    cache = tmp_path / "cache"
    first = open_book(folder, None, cache)
    second = open_book(folder, None, cache)
    assert first[0] is not None
    assert second == first
    assert [problem.id for problem in second[1]] == ["same-reason"]
    assert len(reads) == 1
    assert load_book(folder) == first


def test_any_change_of_a_file_is_seen(tmp_path: Path, reads: list[int]) -> None:
    """Content, names, new files and the shop all count."""
    folder, cache = rules(tmp_path), tmp_path / "cache"
    shop = write(tmp_path / "shop", {"s.yaml": "kind: feed\nwithdraw: {rules: [low-ripples]}\n"})
    digests = {digest(gather(folder, None)), digest(gather(folder, shop))}
    open_book(folder, None, cache)
    book, _ = open_book(folder, shop, cache)
    assert book is not None
    assert "low-ripples" not in book.kinds["feed"].rules
    write(folder, {"stages/feed.yaml": FEED.replace("8.5 of 10", "8.6 of 10")})
    book, _ = open_book(folder, None, cache)
    assert book is not None
    assert book.kinds["feed"].rules["weak-sags"].chance == pytest.approx(0.86)
    digests.add(digest(gather(folder, None)))
    (folder / "stages" / "feed.yaml").rename(folder / "stages" / "feeds.yaml")
    digests.add(digest(gather(folder, None)))
    write(folder, {"more.yaml": "sources: {other: {title: other}}\n"})
    digests.add(digest(gather(folder, None)))
    assert len(digests) == 5
    assert len(reads) == 3


def _kept(tmp_path: Path) -> tuple[Path, Path, Path]:
    folder, cache = rules(tmp_path), tmp_path / "cache"
    open_book(folder, None, cache)
    (path,) = cache.glob("book-*.json")
    return folder, cache, path


def _again(body: bytes) -> bytes:
    """A body under a first line that fits it."""
    return compiled._head(body) + b"\n" + body


DAMAGES: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda content: b"",
    "cut short": lambda content: content[: len(content) // 2],
    "one byte": lambda content: content[:-9] + b"#" + content[-8:],
    "no head": lambda content: content.partition(b"\n")[2],
    "other form": lambda content: content.replace(b"diagnose book ", b"diagnose book 9", 1),
    "not json": lambda content: _again(b"{"),
    "another thing": lambda content: _again(b"[]"),
    "deep": lambda content: _again(b"[" * 100_000),
    "wrong shape": lambda content: _again(json.dumps([[1, 2, 3], []]).encode()),
    "wrong inside": lambda content: _again(content.partition(b"\n")[2].replace(b'"weak-sags":[', b'"weak-sags":[0,', 1)),
    "wrong scalar": lambda content: _again(content.partition(b"\n")[2].replace(b"0.85", b'"often"', 1)),
    "not text": lambda content: _again(b'["\xff"]'),
}  # fmt: skip


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_cache_is_rebuilt_in_silence(damage: str, tmp_path: Path, reads: list[int]) -> None:
    """Whatever lies there, the book is right, and the file is whole again afterwards."""
    folder, cache, path = _kept(tmp_path)
    whole = path.read_bytes()
    spoilt = DAMAGES[damage](whole)
    assert spoilt != whole
    path.write_bytes(spoilt)
    assert open_book(folder, None, cache) == load_book(folder)
    assert path.read_bytes() == whole
    assert len(reads) == 3  # at first, because of the damage, and for the comparison


def test_a_compiled_book_of_other_files_is_not_taken(tmp_path: Path) -> None:
    """A file copied under the wrong name does not pass for another book."""
    folder, _, path = _kept(tmp_path)
    assert load_compiled(path, digest(gather(folder, None))) is not None
    assert load_compiled(path, "another") is None
    assert load_compiled(tmp_path / "gone", "another") is None


def test_a_cache_folder_that_cannot_be_used_costs_nothing(tmp_path: Path) -> None:
    """A file in its place, or no permission: the book is read all the same."""
    folder = rules(tmp_path)
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    book, problems = open_book(folder, None, tmp_path / "file")
    assert book is not None
    assert problems == ()
    assert not save_compiled(tmp_path / "file" / "book.json", book, ())


def test_a_book_with_errors_is_not_kept(tmp_path: Path, reads: list[int]) -> None:
    """Errors are found anew each time, until they are put right."""
    folder, cache = (
        rules(tmp_path, {"stages/feed.yaml": FEED.replace("8.5 of 10", "often")}),
        tmp_path / "cache",
    )
    for _ in range(2):
        book, problems = open_book(folder, None, cache)
        assert book is None
        assert [problem.id for problem in problems] == ["frequency"]
    assert len(reads) == 2
    assert not cache.exists()


def test_only_the_latest_books_stay_and_nothing_half_written(tmp_path: Path) -> None:
    """Old fingerprints are cleared away, temporary files are gone."""
    folder, cache = rules(tmp_path), tmp_path / "cache"
    for number in range(12):
        write(folder, {"more.yaml": f"sources: {{other_{number}: {{title: other}}}}\n"})
        open_book(folder, None, cache)
        for age, path in enumerate(sorted(cache.glob("book-*.json"), key=lambda p: p.stat().st_mtime_ns)):
            os.utime(path, (1000 + age, 1000 + age))
    assert len(list(cache.iterdir())) == compiled.KEPT


def test_the_variable_moves_the_cache_or_switches_it_off(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, reads: list[int]
) -> None:
    """DIAGNOSE_CACHE is honoured when no folder is given."""
    folder = rules(tmp_path)
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path / "mine"))
    open_book(folder)
    assert len(list((tmp_path / "mine").glob("book-*.json"))) == 1
    monkeypatch.setenv("DIAGNOSE_CACHE", "off")
    open_book(folder)
    assert len(reads) == 2


def test_a_compiled_book_needs_neither_yaml_nor_schemas_nor_pint(tmp_path: Path) -> None:
    """Opening from the cache imports none of what reading needs."""
    folder, cache, _ = _kept(tmp_path)
    code = (
        "import sys; from pathlib import Path; from diagnose.files.compiled import open_book; "
        f"book, _ = open_book(Path({str(folder)!r}), None, Path({str(cache)!r})); "
        "print(len(book.kinds), [m for m in ('yaml', 'jsonschema', 'pint', 'numpy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "2 []"


def test_the_order_of_files_in_a_folder_does_not_matter(tmp_path: Path) -> None:
    """Folders list their files in any order; the fingerprint and the book stay the same."""
    one = write(tmp_path / "one" / "rules", FILES)
    two = write(tmp_path / "two" / "rules", dict(reversed(list(FILES.items()))))
    assert digest(gather(one, None)) == digest(gather(two, None))
    assert load_book(one) == load_book(two)
    assert said(load_book(one)[1]) == []
