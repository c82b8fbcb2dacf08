"""Programs that die while they keep a case: the file is whole, and nothing but the entry in hand is lost."""

from __future__ import annotations

import contextlib
import os
import random
import shutil
import signal
import subprocess
import sys
import time
import warnings
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from diagnose.interview.keep import Keeper, Locked
from diagnose.interview.lock import Held, Lock
from diagnose.model.knowledge import Book
from tests.interview.kept import HAND, MORE, ROOT, WEAK, in_file, left_in, names


@contextlib.contextmanager
def writer(rules: Path, path: Path) -> Iterator[subprocess.Popen[str]]:
    """A program that adds reading after reading."""
    command = [sys.executable, "-m", "tests.interview.writer", str(rules), str(path)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as running:
        try:
            yield running
        finally:
            running.kill()


def last_line(running: subprocess.Popen[str], many: int) -> int:
    """The number in the last of so many lines that a writer says."""
    assert running.stdout is not None
    return [int(running.stdout.readline()) for _ in range(many)][-1]


def test_killed_again_and_again(rules: Path, book: Book, path: Path) -> None:
    """Whenever it is killed the file loads, with everything it was told to be in, and the next one goes on."""
    rng = random.Random(7)
    path.write_text(HAND, encoding="utf-8")
    done = 1
    for _ in range(6):
        with writer(rules, path) as running:
            said = last_line(running, rng.randint(1, 30))
            assert said > done
            time.sleep(rng.uniform(0, 0.005))
            running.kill()
            assert running.stdout is not None
            after = [int(line) for line in running.stdout.read().split()]
        said = after[-1] if after else said
        done = len(in_file(path, book).observations)
        assert said <= done <= said + 1
        values = [observation.value for observation in in_file(path, book).observations[1:]]
        assert values == [500.0 + number for number in range(2, done + 1)]
    assert path.with_name("set.yaml.kept").read_text(encoding="utf-8") == HAND
    with Keeper.open(path, book) as keeper:
        keeper.write(MORE)
    assert left_in(path) == {"set.yaml.kept"}


STEPS = ("open", "write", "fsync", "replace", "rename", "link", "unlink", "fchmod")


def test_killed_at_each_step(book: Book, path: Path) -> None:
    """Killed before any of its calls to the system, a write has happened as a whole or not at all."""
    outcomes = []
    for step in range(100):
        shutil.rmtree(path.parent)
        path.parent.mkdir()
        path.write_text(HAND, encoding="utf-8")
        child = _fork()
        if child == 0:
            _write_and_die(book, path, step)
        _, status = os.waitpid(child, 0)
        text = path.read_text(encoding="utf-8")
        found = names(in_file(path, book))
        assert (text == HAND) == (found == ["hv.voltage"])
        if text != HAND:
            assert found == ["hv.voltage", "hv.ripple"]
            assert path.with_name("set.yaml.kept").read_text(encoding="utf-8") == HAND
        outcomes.append(text != HAND)
        with Keeper.open(path, book) as keeper:  # the next program can begin, and clears up
            keeper.write(WEAK)
        assert left_in(path) == {"set.yaml.kept"}
        if not os.WIFSIGNALED(status):
            assert os.waitstatus_to_exitcode(status) == 0
            break
    else:
        raise AssertionError("it never came to an end")
    assert not outcomes[0]
    assert outcomes[-1]
    assert outcomes == sorted(outcomes)
    assert len(outcomes) > 7  # calls there were, of seven kinds


def _fork() -> int:
    """A copy of this process; that it has threads of the arithmetic does not matter, they are idle."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        return os.fork()


def _write_and_die(book: Book, path: Path, step: int) -> None:
    """In a process of its own: one write, killed before the call of this number."""
    left = step

    def dying(call: Any) -> Any:
        def counted(*args: Any, **kwargs: Any) -> Any:
            nonlocal left
            if left == 0:
                os.kill(os.getpid(), signal.SIGKILL)
            left -= 1
            return call(*args, **kwargs)

        return counted

    try:
        for name in STEPS:
            setattr(os, name, dying(getattr(os, name)))
        with Keeper.open(path, book) as keeper:
            keeper.write(MORE)
        os._exit(0)
    finally:
        os._exit(1)


def test_a_dead_program_holds_nothing(rules: Path, book: Book, path: Path) -> None:
    """While it lives the case is its own, to be read by all; when it was killed the next may go on."""
    with writer(rules, path) as running:
        last_line(running, 3)
        told = rf"open in another interview \(process {running.pid}\)"
        with pytest.raises(Locked, match=told), Keeper.open(path, book):
            pass
        assert in_file(path, book).observations
        running.send_signal(signal.SIGKILL)
        running.wait()
    with Keeper.open(path, book) as keeper:
        assert keeper.case is not None
        keeper.write(WEAK)
    assert left_in(path) == set()


def test_an_interrupt_after_the_file_was_put_in_place(
    path: Path, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C at that moment: what stands there is our own, and the next write goes on."""
    put = os.replace

    def interrupted(source: Path, target: Path) -> None:
        put(source, target)
        raise KeyboardInterrupt

    with Keeper.open(path, book) as keeper:
        keeper.write(WEAK)
        with monkeypatch.context() as patch:
            patch.setattr(os, "replace", interrupted)
            with pytest.raises(KeyboardInterrupt):
                keeper.write(MORE)
        keeper.write(replace(MORE, about="weak and low"))
    assert in_file(path, book).about == "weak and low"
    assert left_in(path) == set()


def test_many_take_turns(tmp_path: Path) -> None:
    """Five programs count together, each when it holds the lock, and no count is lost though the file comes and goes."""
    total, each = tmp_path / "total", 40
    total.write_text("0", encoding="utf-8")
    children = []
    for _ in range(5):
        child = _fork()
        if child == 0:
            _count(tmp_path / "lock", total, each)
        children.append(child)
    assert [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children] == [0] * 5
    assert total.read_text(encoding="utf-8") == str(5 * each)
    assert not (tmp_path / "lock").exists()


def _count(path: Path, total: Path, each: int) -> None:
    """In a process of its own."""
    try:
        done = 0
        while done < each:
            lock = Lock(path)
            try:
                lock.take()
            except Held:
                time.sleep(0.0005)
                continue
            number = int(total.read_text(encoding="utf-8"))
            time.sleep(0.0002)
            total.write_text(str(number + 1), encoding="utf-8")
            lock.release()
            done += 1
        os._exit(0)
    finally:
        os._exit(1)
