"""Places that cannot be written: it is told, nothing is lost, and it is tried again."""

from __future__ import annotations

import contextlib
import errno
import os
import resource
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from diagnose.interview.keep import Changed, Keeper, Locked, NotWritten
from diagnose.model.knowledge import Book
from tests.interview.kept import HAND, MORE, WEAK, in_file, left_in, names


@pytest.mark.parametrize(
    ("call", "code"), [("write", errno.ENOSPC), ("fsync", errno.EIO), ("replace", errno.EROFS)]
)
def test_a_write_that_fails(
    call: str, code: int, path: Path, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The file stays as it was, nothing is left over, the reason is told; when there is room again it is written."""

    def fails(*args: object) -> int:
        raise OSError(code, os.strerror(code))

    path.write_text(HAND, encoding="utf-8")
    with Keeper.open(path, book) as keeper:
        for _ in range(2):
            with monkeypatch.context() as patch:
                patch.setattr(os, call, fails)
                with pytest.raises(NotWritten) as failed:
                    keeper.write(MORE)
            assert str(failed.value) == f"{path}: {os.strerror(code).lower()}"
            assert path.read_text(encoding="utf-8") == HAND
            assert left_in(path) - {".set.yaml.lock"} == {"set.yaml.kept"}
        keeper.write(MORE)
    assert names(in_file(path, book)) == ["hv.voltage", "hv.ripple"]
    assert left_in(path) == {"set.yaml.kept"}


def test_a_disk_that_takes_little_at_a_time(path: Path, book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """A write may take less than it was given."""
    write = os.write
    monkeypatch.setattr(os, "write", lambda handle, content: write(handle, bytes(content[:7])))
    with Keeper.open(path, book) as keeper:
        keeper.write(MORE)
    assert names(in_file(path, book)) == ["hv.voltage", "hv.ripple"]


@dataclass(frozen=True)
class Tight:
    """A folder in which there may be no more room for a while, and what the system says then."""

    folder: Path
    full: Callable[[], AbstractContextManager[None]]
    says: str


@pytest.fixture
def tight(tmp_path: Path) -> Iterator[Tight]:
    """A disk of 32 kB, where this machine lets us have one; else files that may not grow beyond 4 kB."""
    folder = tmp_path / "tiny"
    folder.mkdir()
    mount = shutil.which("mount")
    command = [mount or "mount", "-t", "tmpfs", "-o", "size=32k", "tmpfs", str(folder)]
    if mount is None or subprocess.run(command, capture_output=True, check=False).returncode:
        yield _limited(folder)
        return
    yield Tight(folder, lambda: _filled(folder / "filler"), os.strerror(errno.ENOSPC))
    subprocess.run(["umount", str(folder)], check=True)


@contextlib.contextmanager
def _filled(filler: Path) -> Iterator[None]:
    """A file that takes all room that is left."""
    with filler.open("wb", buffering=0) as stream, contextlib.suppress(OSError):
        while True:
            stream.write(b"x" * 4096)
    yield
    filler.unlink()


def _limited(folder: Path) -> Tight:
    return Tight(folder, _held_short, os.strerror(errno.EFBIG))


@contextlib.contextmanager
def _held_short() -> Iterator[None]:
    """The system refuses this process any file of more than 4 kB."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


def test_a_full_disk(tight: Tight, book: Book) -> None:
    """The old file stays whole; with room again the case is written."""
    _stays_whole(tight, book)


def test_a_file_that_may_not_grow(tmp_path: Path, book: Book) -> None:
    """So it is where the system sets the limit, and not the disk."""
    _stays_whole(_limited(tmp_path), book)


def _stays_whole(tight: Tight, book: Book) -> None:
    path = tight.folder / "set.yaml"
    with Keeper.open(path, book) as keeper:
        keeper.write(WEAK)
        beside = left_in(path)
        before = path.read_bytes()
        with tight.full():
            with pytest.raises(NotWritten, match=tight.says.lower()):
                keeper.write(replace(MORE, about="weak " * 3000))
            assert path.read_bytes() == before
            assert left_in(path) - {"filler"} == beside
        keeper.write(MORE)
    assert names(in_file(path, book)) == ["hv.voltage", "hv.ripple"]


@pytest.fixture
def unprivileged() -> Iterator[Path]:
    """A folder of somebody who is not the superuser, and this process as that person."""
    folder = Path(tempfile.mkdtemp())
    nobody, root = 65534, os.geteuid() == 0
    if root:
        os.chown(folder, nobody, nobody)
        os.seteuid(nobody)
    try:
        yield folder
    finally:
        if root:
            os.seteuid(0)
        folder.chmod(0o700)
        shutil.rmtree(folder)


def test_a_folder_that_may_not_be_written(unprivileged: Path, book: Book) -> None:
    """The case can be read, each write says why it is none, and all is well when the folder may be written."""
    path = unprivileged / "set.yaml"
    path.write_text(HAND, encoding="utf-8")
    unprivileged.chmod(0o500)
    with Keeper.open(path, book) as keeper:
        assert keeper.case is not None
        assert names(keeper.case) == ["hv.voltage"]
        with pytest.raises(NotWritten) as failed:
            keeper.write(MORE)
        assert str(failed.value) == f"{path}: permission denied"
        assert path.read_text(encoding="utf-8") == HAND
        unprivileged.chmod(0o700)
        keeper.write(MORE)
        with pytest.raises(Locked), Keeper.open(path, book):
            pass
    assert names(in_file(path, book)) == ["hv.voltage", "hv.ripple"]
    assert left_in(path) == {"set.yaml.kept"}


def test_a_lock_that_another_took_meanwhile(unprivileged: Path, book: Book) -> None:
    """Whoever could not lock at first does not write where another now does."""
    path = unprivileged / "set.yaml"
    path.write_text(HAND, encoding="utf-8")
    unprivileged.chmod(0o500)
    with Keeper.open(path, book) as late:
        unprivileged.chmod(0o700)
        with Keeper.open(path, book) as first:
            first.write(MORE)
            with pytest.raises(NotWritten, match="open in another interview"):
                late.write(WEAK)
        with pytest.raises(Changed):
            late.write(WEAK)


def test_a_file_that_its_owner_protected(unprivileged: Path, book: Book) -> None:
    """A file that may not be written is not replaced either."""
    path = unprivileged / "set.yaml"
    path.write_text(HAND, encoding="utf-8")
    path.chmod(0o444)
    with Keeper.open(path, book) as keeper, pytest.raises(NotWritten, match="may not be written"):
        keeper.write(MORE)
    assert path.read_text(encoding="utf-8") == HAND
    assert left_in(path) == set()


def test_a_folder_that_is_gone(tmp_path: Path, book: Book) -> None:
    """It is told, and nothing is made in its place."""
    path = tmp_path / "gone" / "set.yaml"
    with Keeper.open(path, book) as keeper, pytest.raises(NotWritten, match="no such file or directory"):
        keeper.write(WEAK)
    path.parent.mkdir()
    path.mkdir()
    with pytest.raises(Locked, match="cannot be read: is a directory"), Keeper.open(path, book):
        pass
