"""YAML text to plain data with places; hostile and broken files end in one message each."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from diagnose.files import yaml_build
from diagnose.files.limits import MAX_BYTES, MAX_DEPTH, MAX_NODES, MAX_SCALAR
from diagnose.files.yaml_parse import parse, parse_bytes, read_document
from diagnose.problems import Place
from tests.files.small import FILES, said

TEXT = """\
first: 010
second:
  - no
  - {deep: '5', "quoted key": 1e-3}
third: >
  folded
  text
"""


@pytest.fixture(params=["c", "pure"])
def either_parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str:
    """Both parsers of the YAML library: the fast one is not there on every machine."""
    if request.param == "pure":
        monkeypatch.delattr(yaml, "CLoader", raising=False)
    return str(request.param)


@pytest.mark.usefixtures("either_parser")
def test_plain_data_and_places() -> None:
    """Values are resolved by our own rules, and keys and values know where they stand."""
    found, problems = parse(TEXT, "f.yaml")
    assert problems == ()
    assert found is not None
    assert found.data == {
        "first": 10,
        "second": ["no", {"deep": "5", "quoted key": 0.001}],
        "third": "folded text\n",
    }
    assert found.place(("second", 1, "deep")) == Place("f.yaml", 4, 12)
    assert found.place(("second", 1, "deep"), key=True) == Place("f.yaml", 4, 6)
    assert found.place(("second", 1)) == Place("f.yaml", 4, 5)
    assert found.place(("second", 1, "not there")) == Place("f.yaml", 4, 5)
    assert found.place(()) == Place("f.yaml", 1, 1)
    assert found.find(("second", 7)) is None
    assert found.find(("first", "below a scalar")) is None


def test_a_scalar_keeps_its_spelling() -> None:
    """The tube 6E5 is a number to YAML; the spelling is what was meant."""
    found, _ = parse("tubes: [6E5, 807, '0A2']", "f.yaml")
    assert found is not None
    assert [node.written for node in found.root.entries["tubes"].members] == ["6E5", "807", "0A2"]


def test_keys_are_texts_as_written() -> None:
    """A key is never a number or a truth value."""
    found, _ = parse("{807: a, yes: b, true: c, 1e3: d, ~: e}", "f.yaml")
    assert found is not None
    assert found.data == {"807": "a", "yes": "b", "true": "c", "1e3": "d", "~": "e"}


def test_an_alias_is_written_out() -> None:
    """An alias repeats the value; its key is its own, and what is inside stays where it was written."""
    found, problems = parse("a: &x {b: [1]}\nc: *x\n", "f.yaml")
    assert problems == ()
    assert found is not None
    assert found.data == {"a": {"b": [1]}, "c": {"b": [1]}}
    assert found.place(("c",), key=True) == Place("f.yaml", 2, 1)
    assert found.place(("c", "b")) == Place("f.yaml", 1, 11)


def _bomb() -> str:
    """Ten of ten of ten ..., ten levels deep."""
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 10)}]" for n in range(1, 10)]
    return "\n".join(lines)


BROKEN = {
    "python tag": (
        "a: !!python/object/apply:os.system [x]",
        "f.yaml:1:4 error tag: the tag tag:yaml.org,2002:python/object/apply... is not used in these"
        " files | remove it",
    ),
    "own tag": (
        "- !foo x",
        "f.yaml:1:3 error tag: the tag !foo is not used in these files | remove it",
    ),
    "plain tag": (
        "a: !!str 5",
        "f.yaml:1:4 error tag: the tag tag:yaml.org,2002:str is not used in these files | remove it",
    ),
    "bomb": (
        _bomb(),
        "f.yaml:6:10 error too-large: more than 200000 values in one file, repeated ones included",
    ),
    "alias of nothing": (
        "a: *x",
        "f.yaml:1:4 error alias: nothing complete stands before this under the name &x | write it out",
    ),
    "alias in itself": (
        "a: &x [*x]",
        "f.yaml:1:8 error alias: nothing complete stands before this under the name &x | write it out",
    ),
    "deep aliases": (
        "\n".join(["b0: &a0 [x]", *(f"b{n}: &a{n} [*a{n - 1}]" for n in range(1, 60))]),
        "f.yaml:40:12 error too-deep: nested more than 40 deep",
    ),
    "two documents": (
        "a: 1\n---\nb: 2\n",
        "f.yaml:2:1 error several-documents: a second document starts here"
        " | one file holds one document: remove the line ---",
    ),
    "empty": ("", "f.yaml error empty: the file is empty"),
    "only a comment": ("# nothing\n", "f.yaml error empty: the file is empty"),
    "mapping as key": ("? {a: b}\n: c", "f.yaml:1:3 error odd-key: a list or mapping cannot be a key"),
    "nul": (
        "a: b\nc: \x00",
        "f.yaml:2:4 error encoding: a character that a text file cannot hold (code 0)",
    ),
    "deep blocks": ("- " * 200, "f.yaml:1:81 error too-deep: nested more than 40 deep"),
    "deep mappings": ("{a: " * 60 + "}" * 60, "f.yaml:1:161 error too-deep: nested more than 40 deep"),
    "long scalar": (
        "a: " + "x" * 1_000_000,
        "f.yaml:1:4 error too-large: a single value of more than 20000 characters",
    ),
    "long key": (
        "a: 1\n? " + "x" * 30_000 + "\n: b",
        "f.yaml:2:3 error too-large: a single value of more than 20000 characters",
    ),
    "many values": (
        "[" + "1," * (MAX_NODES + 1) + "]",
        "f.yaml:1:400000 error too-large: more than 200000 values in one file, repeated ones included",
    ),
}


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize("kind", [kind for kind in BROKEN if kind != "many values"])
def test_a_broken_file_gets_one_message(kind: str) -> None:
    """One problem with its place, from either parser."""
    text, expected = BROKEN[kind]
    found, problems = parse(text, "f.yaml")
    assert found is None
    assert said(problems) == [expected]


@pytest.mark.usefixtures("either_parser")
def test_a_key_that_stands_twice_is_said_and_the_first_kept() -> None:
    """The file can still be read; which of the two was meant, nobody knows."""
    found, problems = parse("a: 1\nb: 2\na: [3]\n", "f.yaml")
    assert found is not None
    assert found.data == {"a": 1, "b": 2}
    assert said(problems) == [
        "f.yaml:3:1 error duplicate-key: the key a stands here twice (first on line 1) | rename or remove one of them"
    ]


def test_too_many_values_get_one_message() -> None:
    """A long flat list stops at the bound."""
    text, expected = BROKEN["many values"]
    assert said(parse(text, "f.yaml")[1]) == [expected]


MALFORMED = {
    "tab": ("a:\n\tb: 1\n", 2, "use spaces instead of tabs"),
    "colon in text": ("a: b\nc: d: e\n", 2, "put a text that holds a colon and a space in quotes"),
    "open list": ("a: [1, 2\nb: 3\n", 2, ""),
    "open quote": ("a: 'b\n", 2, ""),
    "odd start": ("a: @b", 1, "put a text that starts with this character in quotes"),
}


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize("kind", MALFORMED)
def test_malformed_yaml_names_the_line(kind: str) -> None:
    """The parsers word it differently; file and line, id and our advice are the same."""
    text, line, hint = MALFORMED[kind]
    found, problems = parse(text, "f.yaml")
    assert found is None
    assert [(p.place.file, p.id, p.suggestion) for p in problems] == [("f.yaml", "yaml", hint)]
    assert abs(problems[0].place.line - line) <= (1 if kind.startswith("open") else 0)
    assert problems[0].text.startswith("this is not well-formed YAML: ")


def test_a_hundred_thousand_brackets_are_one_message() -> None:
    """Neither parser nor reader runs out of stack."""
    for text in ("[" * 100_000, "{a: " * 100_000, "- " * 100_000, "[" * 100_000 + "]" * 100_000):
        found, problems = parse(text, "f.yaml")
        assert found is None
        assert [problem.id for problem in problems] == ["too-deep"]


def test_as_deep_as_allowed_is_read() -> None:
    """The bound itself is still good."""
    found, problems = parse("[" * MAX_DEPTH + "x" + "]" * MAX_DEPTH, "f.yaml")
    assert problems == ()
    assert found is not None
    assert parse("x" * MAX_SCALAR, "f.yaml")[1] == ()


def test_bytes_that_are_no_text() -> None:
    """Not UTF-8, too large, with a byte order mark, in UTF-16."""
    assert said(parse_bytes("ä: 1\nb: ö".encode("latin-1"), "f")[1]) == [
        "f:1:1 error encoding: the file is not UTF-8 text | save it as UTF-8"
    ]
    assert said(parse_bytes(b"a: 1\nb: \xff", "f")[1]) == [
        "f:2:4 error encoding: the file is not UTF-8 text | save it as UTF-8"
    ]
    assert said(parse_bytes(b" " * (MAX_BYTES + 1), "f")[1]) == [
        "f error too-large: the file is larger than 4 MB"
    ]
    assert parse_bytes("\ufeffa: 1".encode(), "f")[1] == ()
    assert [p.id for p in parse_bytes("a: 1".encode("utf-16"), "f")[1]] == ["encoding"]


def test_paths_that_hold_no_file(tmp_path: Path) -> None:
    """A missing file, a folder, an impossible name: one problem each at the path."""
    missing = tmp_path / "gone.yaml"
    assert said(read_document(missing)[1]) == [
        f"{missing} error unreadable: cannot read this: no such file or directory"
    ]
    assert said(read_document(tmp_path, "here")[1]) == [
        "here error unreadable: cannot read this: is a directory"
    ]
    assert [p.id for p in read_document(Path("a\0b"), "here")[1]] == ["unreadable"]


def test_a_file_is_read_under_its_name(tmp_path: Path) -> None:
    """Places carry the name that was given, or the path."""
    path = tmp_path / "a.yaml"
    path.write_text("a: 1", encoding="utf-8")
    named, _ = read_document(path, "short.yaml")
    plain, _ = read_document(path)
    assert named is not None
    assert plain is not None
    assert named.place(("a",)).file == "short.yaml"
    assert plain.place(("a",)).file == os.fspath(path)


_PIECES = st.sampled_from(
    ["a", "b: ", "- ", "\n", "  ", "[", "]", "{", "}", "&x ", "*x", "!t ", "'", '"', "|", ">", "#", ",", "?", "\t",
     "---", "%YAML 1.2\n", "\x07", "é", ":", "<<: *x", "\u2028", "0", "\\"]
)  # fmt: skip


@pytest.mark.parametrize("pure", [False, True])
def test_any_text_gives_a_document_or_problems(pure: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Scraps of YAML in any order never raise."""
    if pure:
        monkeypatch.delattr(yaml, "CLoader", raising=False)

    @given(st.lists(_PIECES, max_size=25).map("".join))
    def check(text: str) -> None:
        found, problems = parse(text, "f.yaml")
        assert found is not None or problems
        for problem in problems:
            assert problem.place.file == "f.yaml"
            assert problem.text

    check()


@given(st.binary(max_size=200))
def test_any_bytes_give_a_document_or_problems(content: bytes) -> None:
    """Neither do bytes."""
    found, problems = parse_bytes(content, "f.yaml")
    assert found is not None or problems


@given(
    st.sampled_from(sorted(FILES)),
    st.integers(0, 5000),
    st.sampled_from(["", "\n", "[", ":", "\t", "'", "*a"]),
)
def test_a_slip_of_the_hand_in_a_good_file(name: str, position: int, slip: str) -> None:
    """One character lost or added gives a document or a problem with a line."""
    text = FILES[name]
    position %= len(text)
    found, problems = parse(text[:position] + slip + text[position + 1 :], "f.yaml")
    assert found is not None or problems
    assert all(problem.place.line for problem in problems)


def test_the_fast_parser_is_used_where_it_is_there() -> None:
    """A book is five times as slow without it."""
    assert (type(yaml_build._loader("a: 1")).__name__ == "CLoader") == hasattr(yaml, "CLoader")
