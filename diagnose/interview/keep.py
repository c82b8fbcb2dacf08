"""Where the case of an interview is kept: one file, written whole after every entry.

At any moment the file is either the old one or the new one, never a piece. One program at a time writes it.
What someone else changed meanwhile is not overwritten, and a file that a person wrote is copied beside it
(`NAME.yaml.kept`) before it is written over, because its remarks do not survive.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from itertools import count
from pathlib import Path

from diagnose.files.read_case import assembly_of, case_of
from diagnose.files.write_case import case_text
from diagnose.files.yaml_parse import parse_bytes
from diagnose.interview.lock import Held, Lock
from diagnose.model.case import Case
from diagnose.model.knowledge import Book
from diagnose.problems import Problem, errors

_MARK = "# Written by diagnose interview ({}). Remarks do not stay: a changed file is copied first.\n"
_MARKED = re.compile(rb"# Written by diagnose interview \(([0-9a-f]{16})\)[^\n]*\n")
# Folders of some file systems cannot be synchronised, or not be opened by one who may only write into them.
_NO_SYNC = frozenset({errno.EINVAL, errno.ENOTSUP, errno.EACCES, errno.EPERM})


class Locked(Exception):
    """The case cannot be taken up by this program; the text says why."""


class NotWritten(Exception):
    """The case is not in the file; the text says why. The file is as it was."""


class Changed(Exception):
    """Someone else changed the file; it was not written, and `case` is what stands there now."""

    def __init__(self, case: Case) -> None:
        super().__init__("the case file was changed by someone else")
        self.case = case


def new_path(folder: Path, rig: str, day: date | None = None) -> Path:
    """A path for a new case, named after rig and day, where there is neither a file nor a program about to write one."""
    name = f"{rig}-{(day or date.today()).isoformat()}"
    for number in count(1):
        path = folder / (f"{name}.yaml" if number == 1 else f"{name}-{number}.yaml")
        if not os.path.lexists(path) and not os.path.lexists(_beside(path, "lock")):
            return path
    raise AssertionError("counting ends")


class Keeper:
    """The file of one case. `case` and `problems`: what stood in it when it was opened; None for a new one."""

    def __init__(self, path: Path, book: Book) -> None:
        self.path, self.book = path, book
        self.case: Case | None = None
        self.problems: tuple[Problem, ...] = ()
        self._target = Path(os.path.realpath(path))  # a link stays a link
        self._lock = Lock(_beside(self._target, "lock"))
        self._known: set[bytes | None] = set()  # content that may be written over: as read, or our own

    @classmethod
    @contextmanager
    def open(cls, path: Path, book: Book, *, fresh: bool = False) -> Iterator[Keeper]:
        """The keeper of a case file until the block ends; a `fresh` one must not be there yet. Raises Locked.

        Where the folder cannot be written, the case can be read all the same, and each write says why.
        """
        keeper = cls(path, book)
        try:
            with contextlib.suppress(OSError):  # tried again at each write
                keeper._lock.take()
            keeper._read(fresh=fresh)
            yield keeper
        except Held as held:
            raise Locked(keeper._said_held(held)) from None
        finally:
            keeper._lock.release()

    def write(self, case: Case) -> None:
        """Put the case into the file. Raises Changed and NotWritten; the file is whole in any case."""
        text = case_text(case, assembly_of(self.book, case.rig, tuple(case.meters.values())))
        content = _marked(text)
        try:
            self._lock.take()
            now = self._looked()
            if now == content:
                return
            self._check_writable()
            if now is not None and not _is_ours(now):
                self._keep_original(now)
            self._replace(content)
        except Held as held:
            raise NotWritten(self._said_held(held)) from None
        except OSError as error:
            raise NotWritten(f"{self.path}: {_reason(error)}") from error

    def _read(self, *, fresh: bool) -> None:
        try:
            content = _content(self._target)
        except OSError as error:
            raise Locked(f"{self.path} cannot be read: {_reason(error)}") from error
        if fresh and content is not None:
            raise Locked(f"there is a file {self.path} already")
        self._known = {content}
        if content is not None:
            self.case, self.problems = self._case_in(content)

    def _case_in(self, content: bytes) -> tuple[Case | None, tuple[Problem, ...]]:
        document, problems = parse_bytes(content, str(self.path))
        if document is None:
            return None, problems
        return case_of(document, self.book, problems, self.path.parent)

    def _looked(self) -> bytes | None:
        """What is in the file, if nobody else wrote it; what is no case is left alone until it is one again."""
        content = _content(self._target)
        if content is None or content in self._known:
            return content
        case, problems = self._case_in(content)
        if case is None:
            why = next(iter(errors(problems)), None)
            raise NotWritten(f"{self.path} was changed meanwhile and is no case now ({why})")
        self._known = {content}
        raise Changed(case)

    def _check_writable(self) -> None:
        """A file that its owner protected from writing is not replaced either."""
        mine = os.access in os.supports_effective_ids
        if self._target.exists() and not os.access(self._target, os.W_OK, effective_ids=mine):
            raise PermissionError(errno.EACCES, "the file may not be written")

    def _keep_original(self, content: bytes) -> None:
        """A copy beside the file under the first name that is free, unless there is one already."""
        for number in count(1):
            beside = self._target.with_name(f"{self._target.name}.kept{f'.{number}' if number > 1 else ''}")
            try:
                os.link(self._target, beside)
            except FileExistsError:
                if beside.is_file() and beside.read_bytes() == content:
                    return
                continue
            except OSError:
                if os.path.lexists(beside):
                    continue
                self._write_to(beside, content)  # a file system without links
            return

    def _replace(self, content: bytes) -> None:
        new = _beside(self._target, "new")
        try:
            self._write_to(new, content)
            self._looked()  # once more: writing may have taken its time
            self._known.add(content)  # whatever interrupts the next lines, this is our own
            os.replace(new, self._target)
        finally:
            with contextlib.suppress(OSError):
                os.unlink(new)
        self._known = {content}
        _sync_folder(self._target.parent)

    def _write_to(self, path: Path, content: bytes) -> None:
        """A new file with the content on the disk, with the owner and mode of the one that it stands for."""
        with contextlib.suppress(FileNotFoundError):
            os.unlink(path)  # of a program that was killed
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o666)
        try:
            self._like_the_old(handle)
            left = memoryview(content)
            while left:
                left = left[os.write(handle, left) :]
            os.fsync(handle)
        finally:
            os.close(handle)

    def _like_the_old(self, handle: int) -> None:
        try:
            old = os.stat(self._target)
        except FileNotFoundError:
            return
        mine = os.fstat(handle)
        if (old.st_uid, old.st_gid) != (mine.st_uid, mine.st_gid):
            with contextlib.suppress(PermissionError):  # only the superuser gives files away
                os.fchown(handle, old.st_uid, old.st_gid)
        os.fchmod(handle, stat.S_IMODE(old.st_mode))

    def _said_held(self, held: Held) -> str:
        by = f" (process {held.by})" if held.by else ""
        return f"{self.path} is open in another interview{by}"


def _beside(path: Path, what: str) -> Path:
    """A hidden file of ours beside a case file."""
    return path.with_name(f".{path.name}.{what}")


def _content(path: Path) -> bytes | None:
    """What is in a file; None if there is none."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None


def _marked(text: str) -> bytes:
    """The text behind a first line that tells whether anybody changed it since."""
    content = text.encode("utf-8")
    return _MARK.format(_digest(content)).encode("utf-8") + content


def _is_ours(content: bytes) -> bool:
    """Whether a file is as the interview wrote it."""
    found = _MARKED.match(content)
    return found is not None and found.group(1).decode() == _digest(content[found.end() :])


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:16]


def _sync_folder(folder: Path) -> None:
    """Put the names in a folder on the disk."""
    try:
        handle = os.open(folder, os.O_RDONLY | os.O_CLOEXEC)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError as error:
        if error.errno not in _NO_SYNC:
            raise


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
