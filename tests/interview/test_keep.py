"""The file of an interview: what is kept, and what someone else changed meanwhile."""

from __future__ import annotations

import os
import stat
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from diagnose.interview.keep import Changed, Keeper, Locked, NotWritten, new_path
from diagnose.model.knowledge import Book
from tests.interview.kept import HAND, MORE, RIPPLE, WEAK, in_file, left_in, names


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
