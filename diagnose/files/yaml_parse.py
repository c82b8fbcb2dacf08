"""YAML files and texts as documents, or the problems that make them unreadable."""

from __future__ import annotations

import re
from pathlib import Path

import yaml

from diagnose.files.document import Document
from diagnose.files.limits import MAX_BYTES
from diagnose.files.yaml_build import Builder, RefusedError
from diagnose.problems import ERROR, Place, Problem

# Characters that YAML does not allow in a file (YAML 1.2, section 5.1), the NUL among them.
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

Read = tuple[Document | None, tuple[Problem, ...]]


def read_document(path: Path, name: str | None = None) -> Read:
    """The document in a file, or the problems that make it unreadable. `name` is used in places."""
    file = str(path) if name is None else name
    try:
        with path.open("rb") as stream:
            content = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or str(error)).lower()
        return None, (Problem(Place(file), ERROR, "unreadable", f"cannot read this: {reason}"),)
    return parse_bytes(content, file)


def parse_bytes(content: bytes, file: str) -> Read:
    """The document in the bytes of a file."""
    if len(content) > MAX_BYTES:
        text = f"the file is larger than {MAX_BYTES // 1_000_000} MB"
        return None, (Problem(Place(file), ERROR, "too-large", text),)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        good = content[: error.start].decode("utf-8-sig", errors="replace")
        return None, (
            Problem(
                _place_after(good, file),
                ERROR,
                "encoding",
                "the file is not UTF-8 text",
                "save it as UTF-8",
            ),
        )
    return parse(text, file)


def parse(text: str, file: str) -> Read:
    """The document in a text; of a key that stands there twice the first value, and a problem."""
    odd = _UNPRINTABLE.search(text)
    if odd is not None:
        said = f"a character that a text file cannot hold (code {ord(odd.group())})"
        where = _place_after(text[: odd.start()], file)
        return None, (Problem(where, ERROR, "encoding", said),)
    builder = Builder(file)
    try:
        root = builder.build(text)
    except RefusedError as refused:
        return None, (*builder.problems, refused.problem)
    except yaml.MarkedYAMLError as error:
        return None, (*builder.problems, _malformed(error, text, file))
    except yaml.YAMLError as error:
        said = f"this is not well-formed YAML: {error}"
        return None, (*builder.problems, Problem(Place(file), ERROR, "yaml", said))
    return Document(file, root), tuple(builder.problems)


def _place_after(text: str, file: str) -> Place:
    lines = text.split("\n")
    return Place(file, len(lines), len(lines[-1]) + 1)


_HINTS = (
    ("mapping values are not allowed", "put a text that holds a colon and a space in quotes"),
    ("cannot start any token", "put a text that starts with this character in quotes"),
    ("block end", "look at the indentation of this line and of those above it"),
)


def _malformed(error: yaml.MarkedYAMLError, content: str, file: str) -> Problem:
    mark = error.problem_mark or error.context_mark
    where = Place(file, mark.line + 1, mark.column + 1) if mark else Place(file)
    said = " ".join(str(part) for part in (error.problem, error.context) if part)
    hint = next((hint for sign, hint in _HINTS if sign in said), "")
    if mark and content[mark.index : mark.index + 1] == "\t":
        hint = "use spaces instead of tabs"
    text = f"this is not well-formed YAML: {error.problem or error.context}"
    id = "too-deep" if "nesting" in said else "yaml"
    return Problem(where, ERROR, id, text, hint)
