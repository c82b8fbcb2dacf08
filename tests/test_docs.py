"""The documentation held to the program: commands print what the pages show, files shown are good ones.

How a page marks what is tested:

* a fenced block ``console`` holds commands (`$ ...`) and what they print, standard error included. The
  commands of a page run one after another in one empty folder, in which the folder `cases` lies too.
  `...` stands for anything that is left out.
* `<!-- file: PATH -->` before a fenced block writes the block to that file, and `<!-- add to: PATH -->` adds
  to it. Both must be good as a whole, unless the mark ends in `, with faults`; a CSV file is judged with the
  case that names it.
* other fenced blocks ``yaml`` are pieces; they must be well formed.

To accept what the program prints now, run with DIAGNOSE_GOLDEN=write and read the difference. Where it cannot
be told which lines to show instead of the old ones, the page is left to a person.
"""

from __future__ import annotations

import io
import json
import os
import re
import shlex
import shutil
import tomllib
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import pytest

from diagnose.commands import status
from diagnose.commands.main import main
from diagnose.files import compiled
from diagnose.files.document import Node
from diagnose.files.find import rules_folder, schema_folder
from diagnose.files.read_book import MARKS
from diagnose.files.read_case import read_case
from diagnose.files.read_references import RIG_UNITS
from diagnose.files.read_series import DRIFT_FIGURES
from diagnose.files.schema import validate
from diagnose.files.yaml_parse import parse
from diagnose.formula.parse import KNOWN_FUNCTIONS
from diagnose.formula.tree import CONSTANTS
from diagnose.problems import errors
from diagnose.series.over_bands import KINDS
from tests import methods_page
from tests.test_layers import MAY_IMPORT

ROOT = Path(__file__).parents[1]
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
SHOP = "my_shop"
LEFT_OUT = "..."
EXPLAINED = {
    "case": "case-file.md",
    "rig": "rig-file.md",
    "stage": "rule-file.md",
    "bench": "rule-file.md",
    "sources": "rule-file.md",
    "tubes": "rule-file.md",
    "meters": "case-file.md",
    "result": "json-result.md",
}


@dataclass(frozen=True)
class Block:
    """A fenced block: its language, its lines, the number of the first of them, and the mark before it."""

    language: str
    lines: tuple[str, ...]
    start: int
    mark: str = ""

    @property
    def text(self) -> str:
        """The block as the content of a file."""
        return "".join(f"{line}\n" for line in self.lines)


@dataclass(frozen=True)
class Shown:
    """A command of a page with what the page says it prints; `start` is the line after the command."""

    command: str
    lines: tuple[str, ...]
    start: int


def blocks(page: Path) -> Iterator[Block]:
    """The fenced blocks of a page."""
    mark, inside = "", None
    for number, line in enumerate(page.read_text(encoding="utf-8").splitlines(), start=1):
        if inside is None and line.startswith("```"):
            inside = Block(line[3:].strip(), (), number + 1, mark)
        elif inside is not None and line == "```":
            yield inside
            mark, inside = "", None
        elif inside is not None:
            inside = replace(inside, lines=(*inside.lines, line))
        elif line.strip():
            comment = re.fullmatch(r"<!--\s*(.*?)\s*-->", line.strip())
            mark = comment.group(1) if comment else ""
    assert inside is None, f"{page.name}: a block is not closed"


def shown(block: Block) -> Iterator[Shown]:
    """The commands of a console block."""
    found: Shown | None = None
    for number, line in enumerate(block.lines, start=block.start):
        if line.startswith("$ "):
            if found is not None:
                yield found
            found = Shown(line[2:], (), number + 1)
        else:
            assert found is not None, f"line {number} stands before any command"
            found = replace(found, lines=(*found.lines, line))
    if found is not None:
        yield found


class Bench:
    """A folder in which the commands of a page run, inside this process."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.ended = 0

    def run(self, command: str) -> str:
        """What a command prints, standard error included."""
        name, *words = shlex.split(command)
        if name == "diagnose":
            stream = io.StringIO()
            with redirect_stdout(stream), redirect_stderr(stream):
                self.ended = main(words)
            return stream.getvalue()
        if name == "cat":
            return "".join((self.folder / word).read_text(encoding="utf-8") for word in words)
        if name == "mkdir":
            for word in words:
                (self.folder / word).mkdir(parents=True)
            return ""
        assert command == "echo $?", f"no page may use `{command}`"
        return f"{self.ended}\n"

    def write(self, block: Block) -> None:
        """Carries out the mark of a block, and looks whether the file is a good one then."""
        mark, _, faults = block.mark.partition(", ")
        order, _, path = mark.partition(": ")
        file = self.folder / path
        file.parent.mkdir(parents=True, exist_ok=True)
        kept = file.read_text(encoding="utf-8") if order == "add to" else ""
        file.write_text(kept + block.text, encoding="utf-8")
        if not faults and file.suffix != ".csv":  # a table is judged with the case that names it
            self.judge(file)

    def judge(self, file: Path) -> None:
        """A whole file keeps to its schema, and a case to the book as well."""
        root = good_yaml(file.read_text(encoding="utf-8"), file.name)
        assert [str(problem) for problem in validate(root, sort_of(root))] == []
        if sort_of(root) == "case":
            book, _ = compiled.open_book(rules_folder(), self.shop())
            assert book is not None
            assert [str(problem) for problem in read_case(file, book)[1]] == []

    def shop(self) -> Path | None:
        """The shop folder that the page has made so far, as the page names it: so it is compiled only once."""
        return Path(SHOP) if (self.folder / SHOP).is_dir() else None


def good_yaml(text: str, name: str) -> Node:
    """The root of a well-formed text."""
    document, problems = parse(text, name)
    assert [str(problem) for problem in problems] == []
    assert document is not None
    return document.root


def sort_of(root: Node) -> str:
    """Which schema a file keeps to, by the keys at its top."""
    if "case" in root.entries:
        return "case"
    return next(sort for sort, marks in MARKS.items() if any(mark in root.entries for mark in marks))


def fits(expected: str, printed: str) -> bool:
    """Whether the text is as expected, `...` standing for anything."""
    pieces = [re.escape(piece) for piece in expected.split(LEFT_OUT)]
    return re.fullmatch("(?:.*?)".join(pieces), printed, re.DOTALL) is not None


def accepted(lines: tuple[str, ...], printed: list[str]) -> list[str]:
    """The lines to show from now on; the old ones where only a person can decide.

    What was left out stays left out: the beginning is kept at its length, and of lines shown between others
    the nearest of the new ones is shown.
    """
    if not any(LEFT_OUT in line for line in lines):
        return printed
    if not any(LEFT_OUT in line for line in lines[:-1]):
        return [*printed[: len(lines) - 1], LEFT_OUT]
    kept, left = [], list(printed)
    for line in lines:
        near = [line] if LEFT_OUT in line else get_close_matches(line, left, n=1)
        if near and near[0] in left:
            del left[: left.index(near[0]) + 1]
        kept.extend(near)
    return kept if fits("\n".join(kept), "\n".join(printed)) else list(lines)


def rewrite(page: Path, changed: list[tuple[Shown, list[str]]]) -> None:
    """The page with other outputs; from the end, so that line numbers stay right."""
    text = page.read_text(encoding="utf-8").splitlines()
    for command, lines in reversed(changed):
        text[command.start - 1 : command.start - 1 + len(command.lines)] = lines
    page.write_text("".join(f"{line}\n" for line in text), encoding="utf-8")


@pytest.fixture
def bench(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Bench:
    """An empty folder with the demo cases in it, and the environment of a person with no shop."""
    shutil.copytree(ROOT / "cases", tmp_path / "cases")
    monkeypatch.chdir(tmp_path)
    for name in ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "DIAGNOSE_DEBUG"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("DIAGNOSE_SHOP", "")
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path_factory.getbasetemp() / "docs_cache"))
    return Bench(tmp_path)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_the_commands_of_a_page_print_what_it_shows(page: Path, bench: Bench) -> None:
    """Files are written and commands run in the order of the page; a shop made by it has no errors at the end."""
    wrong: list[tuple[Shown, str]] = []
    for block in blocks(page):
        if block.mark.startswith(("file: ", "add to: ")):
            bench.write(block)
        elif block.language == "yaml":
            good_yaml(block.text, page.name)
        for command in shown(block) if block.language == "console" else ():
            printed = bench.run(command.command).rstrip("\n")
            if not fits("\n".join(command.lines).rstrip("\n"), printed):
                wrong.append((command, printed))
    if os.environ.get("DIAGNOSE_GOLDEN") == "write":
        rewrite(page, [(it, accepted(it.lines, printed.splitlines())) for it, printed in wrong])
        wrong = [(it, p) for it, p in wrong if accepted(it.lines, p.splitlines()) == list(it.lines)]
    told = [f"{page.name}:{it.start}: $ {it.command}\n{printed}" for it, printed in wrong]
    assert not told, "\n\n".join(told)
    _, problems = compiled.open_book(rules_folder(), bench.shop())
    assert [str(problem) for problem in errors(problems)] == []


def test_the_elision_mark_leaves_out_and_nothing_else_does() -> None:
    assert fits("one\n...\nfour", "one\ntwo\nthree\nfour")
    assert fits("one ... four\nfive", "one two three four\nfive")
    assert fits("one\n...", "one\ntwo")
    assert not fits("one\ntwo", "one\ntwo\nthree")
    assert not fits("one\n...\nfour", "one\ntwo\nfive")
    assert not fits("a.c", "abc")


def keys_of(schema: Any) -> set[str]:
    """Every key that a schema names."""
    if isinstance(schema, list):
        return {key for part in schema for key in keys_of(part)}
    if not isinstance(schema, dict):
        return set()
    named = schema.get("properties")
    found = set(named) if isinstance(named, dict) else set()
    return found | {key for part in schema.values() for key in keys_of(part)}


@pytest.mark.parametrize("sort", sorted(EXPLAINED))
def test_every_key_of_a_file_is_explained_on_its_page(sort: str) -> None:
    schema = json.loads((schema_folder() / f"{sort}.schema.json").read_text(encoding="utf-8"))
    text = (ROOT / "docs" / EXPLAINED[sort]).read_text(encoding="utf-8")
    missing = {key for key in keys_of(schema) if not re.search(rf"`\{{?{key}[`:]", text)}
    assert not missing


def test_every_schema_has_a_page() -> None:
    assert {path.name.removesuffix(".schema.json") for path in schema_folder().glob("*.json")} == set(
        EXPLAINED
    )


def test_the_page_of_the_case_file_names_what_the_bench_knows(bench: Bench) -> None:
    """Facts with their words, safety facts, states of the bench and reports: all that a case may say of them."""
    book, _ = compiled.open_book(rules_folder(), bench.shop())
    assert book is not None
    known = {*book.bench.facts, *book.bench.safety, *book.bench.setups, *book.bench.reports}
    known |= {word for fact in book.bench.facts.values() for word in fact.values}
    known |= {state for setup in book.bench.setups.values() for state in setup.states}
    text = (ROOT / "docs" / "case-file.md").read_text(encoding="utf-8")
    assert not {word for word in known if f"`{word}`" not in text}


def test_the_page_of_methods_is_made_of_the_methods() -> None:
    """Make it anew with `python -m tests.methods_page --write`."""
    if os.environ.get("DIAGNOSE_GOLDEN") == "write":
        methods_page.PAGE.write_text(methods_page.page(), encoding="utf-8")
    assert methods_page.PAGE.read_text(encoding="utf-8") == methods_page.page()


def test_the_page_of_the_rule_file_names_what_formulas_and_drift_logs_know() -> None:
    """Every function, and every figure of the fit of a drift log."""
    text = (ROOT / "docs" / "rule-file.md").read_text(encoding="utf-8")
    known = {*KNOWN_FUNCTIONS, *CONSTANTS, *DRIFT_FIGURES, *RIG_UNITS, *KINDS}
    assert not {word for word in known if f"`{word}`" not in text}


def test_every_exit_status_is_explained() -> None:
    known = {value for name, value in vars(status).items() if name.isupper()}
    text = (ROOT / "docs" / "json-result.md").read_text(encoding="utf-8")
    assert {int(found) for found in re.findall(r"^\| (\d+) \|", text, re.MULTILINE)} == known


def slug(heading: str) -> str:
    """The anchor that a heading gets."""
    return re.sub(r"[^\w\- ]", "", heading.lower()).strip().replace(" ", "-")


def prose(page: Path) -> str:
    """A page without its fenced blocks."""
    return re.sub(r"^```.*?^```$", "", page.read_text(encoding="utf-8"), flags=re.DOTALL | re.MULTILINE)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    for target, anchor in re.findall(r"\]\(([^)#\s]*)(?:#([^)\s]*))?\)", prose(page)):
        assert not target.startswith("/")
        if "://" in target:
            continue
        there = page.parent / target if target else page
        assert there.exists(), f"{page.name} leads to {target}, which is not there"
        if anchor:
            headings = re.findall(r"^#+ (.*)$", prose(there), re.MULTILINE)
            assert anchor in [slug(heading) for heading in headings], f"{page.name}: no heading #{anchor}"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_a_page_is_plain_text_of_this_project_only(page: Path) -> None:
    """No place of one machine, no trailing blanks, no line that needs a wide window but rows of tables."""
    text = page.read_text(encoding="utf-8")
    assert not re.findall(r"(?<![\w./])/(?:home|root|tmp|usr|opt|var|mnt|work|Users)\b|\b[A-Z]:\\", text)
    for number, line in enumerate(text.splitlines(), start=1):
        most = 160 if line.startswith("|") else 110
        assert len(line) <= most, f"{page.name}:{number} is {len(line)} long"
        assert line == line.rstrip(), f"{page.name}:{number} ends in blanks"


def test_the_readme_is_short_and_its_two_lines_are_what_they_say(bench: Bench) -> None:
    """The first makes an environment and reports on a demo case, the second installs an extra that exists."""
    page = ROOT / "README.md"
    assert len(page.read_text(encoding="utf-8").splitlines()) < 150
    lines = [line for block in blocks(page) if block.language == "sh" for line in block.lines]
    first, second = (line for line in lines if line.startswith(("python", ".venv")))
    steps = [step.strip() for step in first.split("&&")]
    assert steps[0].endswith("-m venv .venv")
    bench.run(steps[-1].removeprefix(".venv/bin/"))
    assert bench.ended == status.DONE
    extras = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    for extra in re.findall(r"\[(\w+)\]", second):
        assert extra in extras["optional-dependencies"]
    assert second.endswith("pytest -n auto")
    assert ".venv/" in (ROOT / ".gitignore").read_text(encoding="utf-8").splitlines()


def modules() -> Iterator[Path]:
    """Every module with something in it, as a path below the package."""
    package = ROOT / "diagnose"
    for path in sorted(package.rglob("*.py")):
        if path.name != "__init__.py":
            yield path.relative_to(package)


def test_developers_md_has_a_line_for_each_module() -> None:
    """And none for a module that is gone."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    listed = set()
    for head, body in re.findall(r"^#### `diagnose/(.*?)`$(.*?)(?=^#)", text, re.DOTALL | re.MULTILINE):
        listed |= {f"{head}{name}" for name in re.findall(r"^- `(\S+\.py)`", body, re.MULTILINE)}
    assert listed == {path.as_posix() for path in modules()}


def test_developers_md_shows_the_layers_as_they_are_tested() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `(\w+)` \| (.*?) \|$", text, re.MULTILINE)
    drawn = {part: set(re.findall(r"`(\w+)`", listed)) for part, listed in rows}
    assert drawn == {part: allowed - {"__init__"} for part, allowed in MAY_IMPORT.items()}
