"""The file of an interview: whole at any moment, one program at a time, nothing of anybody lost."""

from __future__ import annotations

import contextlib
import errno
import os
import random
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from diagnose.files.read_book import load_book
from diagnose.files.read_case import read_case
from diagnose.interview.keep import Changed, Keeper, Locked, NotWritten, new_path
from diagnose.interview.lock import Held, Lock
from diagnose.model.case import Case, Observation
from diagnose.model.knowledge import Book
from tests.files import small

ROOT = Path(__file__).parents[2]
HAND = "# with a remark\nrig: finch\nabout: 'weak'\nreadings: {hv.voltage: 580 V}\n"
VOLTS = Observation("hv.voltage", value=580.0, as_written="580 V")
RIPPLE = Observation("hv.ripple", value=3.0, as_written="3 %")
WEAK = Case("set", "finch", "weak", observations=(VOLTS,))
MORE = replace(WEAK, observations=(VOLTS, RIPPLE))


@pytest.fixture(scope="module")
def rules(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small rules folder."""
    return small.rules(tmp_path_factory.mktemp("keep"))


@pytest.fixture(scope="module")
def book(rules: Path) -> Book:
    """The small book."""
    read, _ = load_book(rules)
    assert read is not None
    return read


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a case is to be."""
    return tmp_path / "set.yaml"


def in_file(path: Path, book: Book) -> Case:
    """The case in a file, which must be without problems."""
    case, problems = read_case(path, book)
    assert problems == (), path.read_text(encoding="utf-8")
    assert case is not None
    return case


def names(case: Case) -> list[str]:
    """What was observed, in order."""
    return [observation.name for observation in case.observations]


def left_in(path: Path) -> set[str]:
    """What lies in the folder of a case beside it."""
    return {entry.name for entry in path.parent.iterdir()} - {path.name}


# what is kept


def test_a_new_case(path: Path, book: Book) -> None:
    """It is in the file after the first write, alone in the folder at the end, and goes on there."""
    with Keeper.open(path, book, fresh=True) as keeper:
        assert keeper.case is None
        assert not path.exists()
        keeper.write(WEAK)
        assert names(in_file(path, book)) == ["hv.voltage"]
        keeper.write(MORE)
        assert names(in_file(path, book)) == ["hv.voltage", "hv.ripple"]
    assert left_in(path) == set()
    with Keeper.open(path, book) as keeper:
        assert keeper.case is not None
        assert names(keeper.case) == ["hv.voltage", "hv.ripple"]
        keeper.write(WEAK)
    assert names(in_file(path, book)) == ["hv.voltage"]
    assert left_in(path) == set()


def test_a_file_of_a_person_is_copied_first(path: Path, book: Book) -> None:
    """Its remarks are in the copy; what the interview wrote itself is not copied again."""
    path.write_text(HAND, encoding="utf-8")
    for _ in range(2):
        with Keeper.open(path, book) as keeper:
            keeper.write(MORE)
            keeper.write(WEAK)
    assert left_in(path) == {"set.yaml.kept"}
    assert path.with_name("set.yaml.kept").read_text(encoding="utf-8") == HAND


def test_a_copy_is_never_written_over(path: Path, book: Book) -> None:
    """The next one gets a number; one with the same content is there already."""
    texts = [HAND, HAND.replace("580", "590"), HAND.replace("580", "595")]
    for text in texts:
        for _ in range(2):
            path.write_text(text, encoding="utf-8")
            with Keeper.open(path, book) as keeper:
                keeper.write(MORE)
    kept = ["set.yaml.kept", "set.yaml.kept.2", "set.yaml.kept.3"]
    assert left_in(path) == set(kept)
    assert [path.with_name(name).read_text(encoding="utf-8") for name in kept] == texts


def test_a_remark_put_into_a_file_of_the_interview(path: Path, book: Book) -> None:
    """Such a file is a person's again."""
    with Keeper.open(path, book) as keeper:
        keeper.write(WEAK)
    path.write_text(path.read_text(encoding="utf-8") + "# look at the bleeder\n", encoding="utf-8")
    with Keeper.open(path, book) as keeper:
        keeper.write(MORE)
    assert "bleeder" in path.with_name("set.yaml.kept").read_text(encoding="utf-8")


def test_nothing_new_is_not_written(path: Path, book: Book) -> None:
    """The file stays the very same."""
    with Keeper.open(path, book) as keeper:
        keeper.write(WEAK)
        before = path.stat()
        keeper.write(WEAK)
        assert path.stat() == before


@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664, 0o666])
def test_the_mode_stays(mode: int, path: Path, book: Book) -> None:
    """Who may read and write it is as the person left it."""
    path.write_text(HAND, encoding="utf-8")
    path.chmod(mode)
    with Keeper.open(path, book) as keeper:
        keeper.write(MORE)
    assert stat.S_IMODE(path.stat().st_mode) == mode
    assert stat.S_IMODE(path.with_name("set.yaml.kept").stat().st_mode) == mode


def test_a_new_file_has_the_usual_mode(path: Path, book: Book) -> None:
    """As any program of the person makes it."""
    other = path.with_name("other")
    other.touch()
    with Keeper.open(path, book) as keeper:
        keeper.write(WEAK)
    assert path.stat().st_mode == other.stat().st_mode


def test_a_link_stays_a_link(tmp_path: Path, book: Book) -> None:
    """What it points to is written, and kept from others by either name."""
    target, link = tmp_path / "far" / "real.yaml", tmp_path / "link.yaml"
    target.parent.mkdir()
    target.write_text(HAND, encoding="utf-8")
    link.symlink_to(target)
    with Keeper.open(link, book) as keeper:
        keeper.write(MORE)
        with pytest.raises(Locked), Keeper.open(target, book):
            pass
    assert link.is_symlink()
    assert names(in_file(target, book)) == ["hv.voltage", "hv.ripple"]
    assert left_in(target) == {"real.yaml.kept"}


# others


def test_a_change_by_hand_is_not_written_over(path: Path, book: Book) -> None:
    """It comes out as the case that now counts; the next write has it, and its text stays beside."""
    with Keeper.open(path, book) as keeper:
        keeper.write(WEAK)
        path.write_text(HAND + "symptoms: {hv.flashes: yes}\n", encoding="utf-8")
        with pytest.raises(Changed) as changed:
            keeper.write(MORE)
        now = changed.value.case
        assert names(now) == ["hv.voltage", "hv.flashes"]
        assert path.read_text(encoding="utf-8").startswith(HAND)
        keeper.write(replace(now, observations=(*now.observations, RIPPLE)))
        assert names(in_file(path, book)) == ["hv.voltage", "hv.flashes", "hv.ripple"]
    assert path.with_name("set.yaml.kept").read_text(encoding="utf-8").startswith(HAND)


def test_a_change_while_it_is_written(path: Path, book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last look is when everything is ready to take the place of the file."""
    sync = os.fsync

    def slow(handle: int) -> None:
        sync(handle)
        path.write_text(HAND, encoding="utf-8")

    with Keeper.open(path, book) as keeper:
        keeper.write(WEAK)
        monkeypatch.setattr(os, "fsync", slow)
        with pytest.raises(Changed):
            keeper.write(MORE)
        assert path.read_text(encoding="utf-8") == HAND
    assert left_in(path) == set()


@pytest.mark.parametrize("text", ["rig: [unfinished", "rig: nightjar\n", "", "\0"])
def test_what_is_no_case_now_is_left_alone(text: str, path: Path, book: Book) -> None:
    """Somebody is at work on it: it is told, not written, until it is a case again."""
    with Keeper.open(path, book) as keeper:
        keeper.write(WEAK)
        path.write_text(text, encoding="utf-8")
        for _ in range(2):
            with pytest.raises(NotWritten, match=r"set\.yaml was changed meanwhile and is no case now"):
                keeper.write(MORE)
            assert path.read_text(encoding="utf-8") == text
        path.write_text(HAND, encoding="utf-8")
        with pytest.raises(Changed):
            keeper.write(MORE)
        keeper.write(MORE)
    assert names(in_file(path, book)) == ["hv.voltage", "hv.ripple"]


def test_a_file_that_was_taken_away_is_made_again(path: Path, book: Book) -> None:
    """There is nothing to write over."""
    with Keeper.open(path, book) as keeper:
        keeper.write(WEAK)
        path.unlink()
        keeper.write(MORE)
    assert names(in_file(path, book)) == ["hv.voltage", "hv.ripple"]


def test_a_file_that_turns_up(path: Path, book: Book) -> None:
    """A new case does not write over a file that came meanwhile, nor begin where there is one."""
    with Keeper.open(path, book, fresh=True) as keeper:
        path.write_text(HAND, encoding="utf-8")
        with pytest.raises(Changed):
            keeper.write(MORE)
    with (
        pytest.raises(Locked, match=r"there is a file .*set\.yaml already"),
        Keeper.open(path, book, fresh=True),
    ):
        pass
    assert path.read_text(encoding="utf-8") == HAND


def test_two_in_one_program(path: Path, book: Book) -> None:
    """The second is refused, and may read; when the first is done it may write."""
    with Keeper.open(path, book) as keeper:
        keeper.write(WEAK)
        with pytest.raises(Locked) as locked, Keeper.open(path, book):
            pass
        assert str(locked.value) == f"{path} is open in another interview (process {os.getpid()})"
        assert names(in_file(path, book)) == ["hv.voltage"]
        keeper.write(MORE)
    with Keeper.open(path, book) as keeper:
        keeper.write(WEAK)


# programs that die


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


STEPS = ("open", "write", "fsync", "replace", "link", "unlink", "fchmod")


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
    assert len(outcomes) > len(STEPS)


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


# places that cannot be written


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


@pytest.fixture
def tiny(tmp_path: Path) -> Iterator[Path]:
    """A disk of 32 kB, where this machine lets us have one."""
    folder = tmp_path / "tiny"
    folder.mkdir()
    mount = shutil.which("mount")
    command = [mount or "mount", "-t", "tmpfs", "-o", "size=32k", "tmpfs", str(folder)]
    if mount is None or subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("no file system may be mounted here")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def _fill(path: Path) -> None:
    """A file that takes all room that is left."""
    with path.open("wb", buffering=0) as stream, contextlib.suppress(OSError):
        while True:
            stream.write(b"x" * 4096)


def test_a_full_disk(tiny: Path, book: Book) -> None:
    """The old file stays whole; with room again the case is written."""
    path = tiny / "set.yaml"
    with Keeper.open(path, book) as keeper:
        keeper.write(WEAK)
        filler = tiny / "filler"
        _fill(filler)
        before = path.read_bytes()
        with pytest.raises(NotWritten, match="no space left on device"):
            keeper.write(replace(MORE, about="weak " * 3000))
        assert path.read_bytes() == before
        assert left_in(path) == {"filler", ".set.yaml.lock"}
        filler.unlink()
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


# the lock itself


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


# names


def test_names_of_new_cases(tmp_path: Path, book: Book) -> None:
    """After rig and day, with a number where the name is taken or about to be."""
    day = date(2026, 11, 29)
    found = []
    for _ in range(3):
        path = new_path(tmp_path, "finch", day)
        found.append(path.name)
        path.write_text(HAND, encoding="utf-8")
    assert found == ["finch-2026-11-29.yaml", "finch-2026-11-29-2.yaml", "finch-2026-11-29-3.yaml"]
    free = tmp_path / "finch-2026-11-29-4.yaml"
    with Keeper.open(free, book, fresh=True):
        assert new_path(tmp_path, "finch", day).name == "finch-2026-11-29-5.yaml"
    assert new_path(tmp_path, "finch", day) == free
    assert new_path(tmp_path, "owl").name == f"owl-{date.today().isoformat()}.yaml"
