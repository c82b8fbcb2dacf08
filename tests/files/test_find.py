"""Where the rules, the shop and the cache are."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from diagnose.files import find
from diagnose.files.find import cache_folder, rules_folder, schema_folder, shop_folder, usual_shop
from diagnose.problems import Unusable

CONVENTIONS = [
    ("linux", {"HOME": "/h"}, "/h/.local/share/diagnose/shop", "/h/.cache/diagnose"),
    (
        "linux",
        {"HOME": "/h", "XDG_DATA_HOME": "/d", "XDG_CACHE_HOME": "/c"},
        "/d/diagnose/shop",
        "/c/diagnose",
    ),
    # The convention: a relative path in these variables is to be ignored.
    ("linux", {"HOME": "/h", "XDG_DATA_HOME": "d"}, "/h/.local/share/diagnose/shop", "/h/.cache/diagnose"),
    (
        "darwin",
        {"HOME": "/h"},
        "/h/Library/Application Support/diagnose/shop",
        "/h/Library/Caches/diagnose",
    ),
    ("win32", {"APPDATA": "/roaming", "LOCALAPPDATA": "/local"}, "/roaming/diagnose/shop", "/local/diagnose"),
]


@pytest.mark.parametrize(("platform", "environ", "shop", "cache"), CONVENTIONS)
def test_conventions_of_each_system(
    platform: str, environ: dict[str, str], shop: str, cache: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each system keeps a person's data and caches in its own place."""
    monkeypatch.setattr(sys, "platform", platform)
    assert usual_shop(environ) == Path(shop)
    assert cache_folder(environ) == Path(cache)


def test_a_system_that_says_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the variables there is no shop and no cache, and that is no error."""
    monkeypatch.setattr(sys, "platform", "win32")
    assert usual_shop({}) is None
    assert cache_folder({}) is None
    assert shop_folder(None, {}) is None


def test_the_argument_comes_before_the_variable_and_that_before_the_usual_place(tmp_path: Path) -> None:
    """`--shop`, DIAGNOSE_SHOP, then the usual folder if it is there."""
    asked, varied = tmp_path / "asked", tmp_path / "varied"
    usual = tmp_path / "data" / "diagnose" / "shop"
    for folder in (asked, varied, usual):
        folder.mkdir(parents=True)
    environ = {"HOME": str(tmp_path), "XDG_DATA_HOME": str(tmp_path / "data")}
    assert shop_folder(None, environ) == usual
    assert shop_folder(None, {**environ, "DIAGNOSE_SHOP": str(varied)}) == varied
    assert shop_folder(str(asked), {**environ, "DIAGNOSE_SHOP": str(varied)}) == asked
    assert shop_folder(None, {**environ, "DIAGNOSE_SHOP": ""}) is None
    usual.rmdir()
    assert shop_folder(None, environ) is None


@pytest.mark.parametrize(
    ("argument", "environ", "by"),
    [
        ("/nowhere/at/all", {}, "--shop"),
        (None, {"DIAGNOSE_SHOP": "/nowhere/at/all"}, "DIAGNOSE_SHOP"),
        ("", {}, "--shop"),
    ],
)
def test_a_shop_that_was_asked_for_must_be_there(
    argument: str | None, environ: dict[str, str], by: str
) -> None:
    """A missing folder is said with who asked for it."""
    with pytest.raises(Unusable) as caught:
        shop_folder(argument, environ)
    assert [p.text for p in caught.value.problems] == [f"the shop folder given by {by} is no folder"]


def test_the_cache_can_be_moved_and_switched_off() -> None:
    """DIAGNOSE_CACHE names a folder or says off."""
    assert cache_folder({"DIAGNOSE_CACHE": "/elsewhere"}) == Path("/elsewhere")
    for word in ("off", "OFF", "no", "0"):
        assert cache_folder({"DIAGNOSE_CACHE": word}) is None


def test_the_built_in_rules_are_found() -> None:
    """In a checkout they lie beside the package."""
    assert (rules_folder() / "bench.yaml").is_file()
    assert (schema_folder() / "case.schema.json").is_file()


def test_rules_inside_the_package_come_first_and_missing_ones_are_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An installed package holds its rules; with none at all the program cannot go on."""
    package = tmp_path / "diagnose"
    (package / "files").mkdir(parents=True)
    monkeypatch.setattr(find, "__file__", str(package / "files" / "find.py"))
    with pytest.raises(Unusable, match="built-in rules are missing"):
        rules_folder()
    (tmp_path / "rules" / "stages").mkdir(parents=True)
    assert rules_folder() == tmp_path / "rules"
    (package / "rules" / "stages").mkdir(parents=True)
    assert rules_folder() == package / "rules"
