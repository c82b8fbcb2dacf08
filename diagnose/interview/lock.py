"""A lock that one program at a time holds, and that the kernel releases when the program dies."""

from __future__ import annotations

import contextlib
import errno
import fcntl
import os
from pathlib import Path

# A file system that knows no locks: the look at the file before each write must do.
_NO_LOCKS = frozenset({errno.ENOLCK, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS})


class Held(Exception):
    """Another program holds the lock; `by` is its process, 0 where it is not told."""

    def __init__(self, by: int) -> None:
        super().__init__(f"held by process {by}" if by else "held by another process")
        self.by = by


class Lock:
    """A lock file, taken with flock; the file says who holds it, and goes when it is released."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._handle: int | None = None

    @property
    def held(self) -> bool:
        """Whether this program holds it."""
        return self._handle is not None

    def take(self) -> None:
        """Take it, unless it is held already. Raises Held, and OSError where no lock file can be made."""
        while self._handle is None:
            handle = os.open(self.path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o666)
            try:
                self._lock(handle)
                if not self._is_there(handle):
                    continue  # the one before removed the file while this one waited for it
                with contextlib.suppress(OSError):  # on a full disk it holds without a name
                    os.ftruncate(handle, 0)
                    os.write(handle, f"{os.getpid()}\n".encode())
                self._handle, handle = handle, -1
            finally:
                if handle >= 0:
                    os.close(handle)

    def release(self) -> None:
        """Give it up; the file goes first, so that nobody takes a lock on what is about to go."""
        if self._handle is None:
            return
        with contextlib.suppress(OSError):
            os.unlink(self.path)
        os.close(self._handle)
        self._handle = None

    def _lock(self, handle: int) -> None:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            written = os.read(handle, 20).strip()
            raise Held(int(written) if written.isdigit() else 0) from None
        except OSError as error:
            if error.errno not in _NO_LOCKS:
                raise

    def _is_there(self, handle: int) -> bool:
        """Whether the file is still the one of that name."""
        try:
            return os.path.samestat(os.fstat(handle), os.stat(self.path))
        except FileNotFoundError:
            return False
