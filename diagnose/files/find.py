"""Where things are: the built-in rules, the person's shop folder, the cache folder."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path

from diagnose.problems import ERROR, Place, Problem, Unusable

PROGRAM = "diagnose"
SHOP_VARIABLE = "DIAGNOSE_SHOP"
CACHE_VARIABLE = "DIAGNOSE_CACHE"
_OFF = frozenset({"off", "no", "none", "0"})


def rules_folder() -> Path:
    """The built-in rules: inside the installed package, or beside it in a checkout."""
    package = Path(__file__).resolve().parent.parent
    for folder in (package / "rules", package.parent / "rules"):
        if (folder / "stages").is_dir():
            return folder
    said = "the built-in rules are missing; install the program again"
    raise Unusable(said, (Problem(Place(str(package / "rules")), ERROR, "no-rules", said),))


def schema_folder() -> Path:
    """The JSON Schemas of all files."""
    return rules_folder() / "schemas"


def shop_folder(argument: str | None = None, environ: Mapping[str, str] | None = None) -> Path | None:
    """The shop folder: as given, else by DIAGNOSE_SHOP, else the usual one if it is there.

    A folder that was asked for and is none raises Unusable; an empty DIAGNOSE_SHOP means no shop.
    """
    environ = os.environ if environ is None else environ
    asked = argument if argument is not None else environ.get(SHOP_VARIABLE)
    if asked is None:
        usual = usual_shop(environ)
        return usual if usual is not None and usual.is_dir() else None
    if not asked and argument is None:
        return None
    folder = Path(asked).expanduser()
    if not asked or not folder.is_dir():
        by = "--shop" if argument is not None else SHOP_VARIABLE
        said = f"the shop folder given by {by} is no folder"
        raise Unusable(said, (Problem(Place(asked), ERROR, "no-shop", said, "make it first"),))
    return folder


def usual_shop(environ: Mapping[str, str] | None = None) -> Path | None:
    """Where this system keeps a person's data, whether the shop is there yet or not."""
    environ = os.environ if environ is None else environ
    base = _base(environ, "XDG_DATA_HOME", "APPDATA", ("Library", "Application Support"), (".local", "share"))
    return base / PROGRAM / "shop" if base is not None else None


def cache_folder(environ: Mapping[str, str] | None = None) -> Path | None:
    """Where compiled books are kept; None when the person switched that off or has no home."""
    environ = os.environ if environ is None else environ
    asked = environ.get(CACHE_VARIABLE)
    if asked:
        return None if asked.lower() in _OFF else Path(asked).expanduser()
    base = _base(environ, "XDG_CACHE_HOME", "LOCALAPPDATA", ("Library", "Caches"), (".cache",))
    return base / PROGRAM if base is not None else None


def _base(
    environ: Mapping[str, str],
    xdg: str,
    windows: str,
    mac: tuple[str, ...],
    unix: tuple[str, ...],
) -> Path | None:
    """The folder of the desktop conventions of this system."""
    if sys.platform == "win32":
        folder = environ.get(windows)
        return Path(folder) if folder else None
    given = environ.get(xdg)
    if given and Path(given).is_absolute():
        return Path(given)
    try:
        home = Path(environ["HOME"]) if environ.get("HOME") else Path.home()
    except RuntimeError:
        return None
    return home.joinpath(*(mac if sys.platform == "darwin" else unix))
