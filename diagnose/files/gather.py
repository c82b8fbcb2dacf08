"""The rule files of the built-in folder and of the shop, with their content, in a fixed order."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from diagnose.files.limits import MAX_BYTES

# Folders of a shop that hold no rules: closed cases, and cases in work.
NOT_RULES = frozenset({"ledger", "cases"})
SUFFIXES = (".yaml", ".yml")


@dataclass(frozen=True)
class RuleFile:
    """One file of rules; `content` is None where it cannot be read."""

    name: str  # as it stands in places: from the rules folder, or under the shop as given
    path: Path
    content: bytes | None
    local: bool


def gather(rules_dir: Path, shop: Path | None) -> tuple[RuleFile, ...]:
    """All rule files: the built-in ones first, each folder in the order of its names."""
    built_in = _files(rules_dir, rules_dir.name, local=False)
    local = _files(shop, str(shop), local=True) if shop is not None else ()
    return (*built_in, *local)


def _files(folder: Path, name: str, *, local: bool) -> Iterator[RuleFile]:
    found = [path for path in folder.rglob("*") if path.suffix in SUFFIXES and not path.is_dir()]
    for path in sorted(found, key=lambda path: path.relative_to(folder).as_posix()):
        relative = path.relative_to(folder)
        if local and NOT_RULES & set(relative.parts[:-1]):
            continue
        yield RuleFile(f"{name}/{relative.as_posix()}", path, _content(path), local)


def _content(path: Path) -> bytes | None:
    try:
        with path.open("rb") as stream:
            return stream.read(MAX_BYTES + 1)
    except OSError:
        return None


def digest(files: Iterable[RuleFile]) -> str:
    """A fingerprint of names and contents; any change of a file changes it."""
    sum = hashlib.sha256()
    for file in files:
        content = file.content
        head = f"{file.name}\0{file.local}\0{-1 if content is None else len(content)}\0"
        sum.update(head.encode("utf-8", "surrogateescape"))
        sum.update(content or b"")
    return sum.hexdigest()
