"""Writing a file so that it is either the old one or the whole new one, never a piece."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from diagnose.problems import Unusable


@contextmanager
def replaced(path: Path) -> Iterator[TextIO]:
    """A stream whose content takes the place of `path` when the block ends well."""
    if path.is_dir():
        raise Unusable(f"{path} is a folder; name a file to write to.")
    target = path.resolve()
    if not target.parent.is_dir():
        raise Unusable(f"there is no folder {path.parent} to write {path.name} into. Make it first.")
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".part")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            yield stream
        os.chmod(name, _mode(target))
        os.replace(name, target)
    except BaseException:
        os.unlink(name)
        raise


def _mode(target: Path) -> int:
    """The mode of the file that is replaced; for a new one what the umask leaves."""
    if target.exists():
        return target.stat().st_mode & 0o7777
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
