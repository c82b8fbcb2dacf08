"""A real terminal of 80 columns and 24 lines with the program in it: keys are typed, the screen is read.

Waiting ends when what is waited for is on the screen, or the program has ended. The one bound on it is so
generous that only a program that hangs meets it.
"""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

HANGS: Final = 300.0  # seconds
AGAIN: Final = 10.0  # seconds after which keys are pressed once more
PROMPT: Final = "> "
_STYLE = re.compile(r"\x1b\[[0-9;]*m")


@dataclass
class Terminal:
    """One run of the program."""

    process: subprocess.Popen[bytes]
    master: int
    raw: str = ""  # all that was written, with the styles
    looked: int = 0  # up to where it was waited for
    status: int | None = None
    _bytes: bytearray = field(default_factory=bytearray)

    @property
    def screen(self) -> str:
        """All that was written, styles left out, line ends as in files."""
        return _STYLE.sub("", self.raw).replace("\r\n", "\n")

    @property
    def words(self) -> str:
        """The screen on one line."""
        return " ".join(self.screen.split())

    def until(self, text: str = PROMPT) -> str:
        """Reads until the text is written after what was waited for before; gives what came meanwhile."""
        began = time.monotonic()
        while text not in self.screen[self.looked :]:
            assert time.monotonic() - began < HANGS, f"no {text!r} in:\n{self.screen[-3000:]}"
            assert self._read(), f"ended without {text!r}:\n{self.screen[-3000:]}"
        found = self.screen.index(text, self.looked) + len(text)
        new, self.looked = self.screen[self.looked : found], found
        return new

    def type(self, line: str) -> str:
        """Types a line and gives what is shown up to the next prompt."""
        self.send(f"{line}\n")
        self.until("\n")
        return self.until()

    def send(self, keys: str) -> None:
        """Presses keys."""
        os.write(self.master, keys.encode())

    def end(self, keys: str = "") -> int:
        """Reads to the end of the program, and gives its exit status.

        `keys` have been pressed to end it, and are pressed again where nothing comes of them: a signal that arrives
        between the prompt and the wait for keys is only seen by the interpreter when the next key comes.
        """
        began = pressed = time.monotonic()
        while self._read():
            assert time.monotonic() - began < HANGS, f"does not end:\n{self.screen[-3000:]}"
            if keys and time.monotonic() - pressed > AGAIN:
                self.send(keys)
                pressed = time.monotonic()
        self.status = self.process.wait(HANGS)
        return self.status

    def kill(self) -> None:
        """Ends it as a power cut would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(HANGS)

    def _read(self) -> bool:
        """Whether the program can still write; what it wrote is taken in."""
        if not select.select([self.master], [], [], 1.0)[0]:
            return self.process.poll() is None
        try:
            new = os.read(self.master, 65536)
        except OSError:  # the other end is closed
            return False
        self._bytes += new
        self.raw = self._bytes.decode("utf-8", "ignore")
        return bool(new)


@contextmanager
def terminal(folder: Path, *arguments: str, **environ: str) -> Iterator[Terminal]:
    """The program run with these arguments in a folder, on a terminal of its own."""
    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    process = subprocess.Popen(
        [sys.executable, "-m", "diagnose", *arguments],
        cwd=folder,
        env=_environ() | environ,
        stdin=slave,
        stdout=slave,
        stderr=slave,
        start_new_session=True,
        preexec_fn=_own_terminal,  # noqa: PLW1509 - the tests have no threads
    )
    os.close(slave)
    try:
        yield Terminal(process, master)
    finally:
        process.kill()
        process.wait()
        os.close(master)


def _own_terminal() -> None:
    """Makes the terminal the one that Ctrl-C is sent through, also where the tests themselves do not heed it."""
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)
    for keys in (signal.SIGINT, signal.SIGQUIT, signal.SIGHUP):
        signal.signal(keys, signal.SIG_DFL)


def _environ() -> dict[str, str]:
    kept = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLUMNS", "LINES", "DIAGNOSE_SHOP")}
    root = str(Path(__file__).parents[2])
    return kept | {"TERM": "xterm", "PYTHONPATH": root, "DIAGNOSE_SHOP": "", "LC_ALL": "C.UTF-8"}


def piped(folder: Path, text: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    """The program with its answers from a pipe."""
    return subprocess.run(
        [sys.executable, "-m", "diagnose", *arguments],
        cwd=folder,
        env=_environ(),
        input=text,
        capture_output=True,
        encoding="utf-8",
        check=False,
        timeout=HANGS,
    )
