"""The code keeps its layers, and knowledge stays in YAML."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
CODE = ROOT / "diagnose"
FILES = sorted(CODE.rglob("*.py"))

# What each part of the code may import; everything may use problems, and nothing points back.
MAY_IMPORT = {
    "problems": set(),
    "units": set(),
    "uncertain": set(),
    "formula": {"units", "uncertain"},
    "circuits": set(),
    "series": {"uncertain"},
    "model": {"problems"},
    "files": {"model", "formula", "circuits", "problems", "units", "__init__"},
    "evidence": {"model", "formula", "circuits", "series", "uncertain", "units", "problems"},
    "inference": {"evidence", "model", "problems"},
    "advice": {"inference", "evidence", "model", "problems"},
    "explanation": {"advice", "inference", "evidence", "model", "problems"},
    "ranking": {"inference", "model", "problems"},
    "verdict": {"evidence", "model", "problems"},
    "repairs": {"evidence", "inference", "model", "problems"},
    "diagnosis": {"repairs", "ranking", "verdict", "advice", "inference", "evidence", "model", "problems"},
    "review": {"evidence", "model", "problems", "files"},
    "render": {"diagnosis", "explanation", "review", "model", "problems", "units", "__init__"},
    "interview": {
        "render",
        "explanation",
        "diagnosis",
        "verdict",
        "ranking",
        "advice",
        "inference",
        "evidence",
        "files",
        "model",
        "problems",
        "units",
        "__init__",
    },
}


def part_of(path: Path) -> str:
    """The layer a file belongs to: its folder below `diagnose`, or its own name."""
    first = path.relative_to(CODE).parts[0]
    return first.removesuffix(".py")


def imports(path: Path) -> set[str]:
    """The layers that a file imports."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        names = []
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module]
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        for name in names:
            parts = name.split(".")
            if parts[0] == "diagnose":
                found.add(parts[1] if len(parts) > 1 else "__init__")
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(CODE)))
def test_imports_go_one_way(path: Path) -> None:
    """No layer imports one that comes after it in the flow."""
    layer = part_of(path)
    if layer in ("commands", "__main__", "__init__"):
        return
    assert imports(path) - {layer} <= MAY_IMPORT[layer]


def test_the_kernel_knows_arrays_only() -> None:
    """The modules of exact inference import neither the model nor anything that names a radio part."""
    kernel = ["scale", "network", "gathering", "pruning", "contraction", "elimination", "structure"]
    kernel += ["solve", "twofold"]
    for name in kernel:
        assert imports(CODE / "inference" / f"{name}.py") <= {"inference"}


def names_of_the_book() -> set[str]:
    """Ids of parts, modes, quantities, checks and tube types that the book declares.

    Single plain words ("tubes", "kind") are left out: they are words of the program too.
    """
    from diagnose.files.read_book import load_book

    book, _ = load_book(ROOT / "rules")
    assert book is not None
    found: set[str] = set(book.tubes)
    for kind in book.kinds.values():
        found |= {part.id for part in kind.parts.values()}
        found |= set(kind.indications) | set(kind.checks) | set(kind.rules)
        found |= {kind.id}
    return {name for name in found if "_" in name or "-" in name or any(c.isdigit() for c in name)}


def test_no_knowledge_in_code() -> None:
    """No cause, stage, quantity or tube is named by a string in the code.

    The methods of `circuits` name their own arguments, volts and currents of a tube among them; which quantity
    of which stage these are is said in YAML.
    """
    names = names_of_the_book()
    for path in FILES:
        if part_of(path) == "circuits":
            names_here = {name for name in names if any(c.isdigit() or c.isupper() for c in name)}
        else:
            names_here = names
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                assert node.value not in names_here, f"{path}:{node.lineno}: {node.value}"


def test_modules_stay_small() -> None:
    """A module is one idea: under five hundred lines."""
    for path in [*FILES, *(ROOT / "tests").rglob("*.py")]:
        assert len(path.read_text(encoding="utf-8").splitlines()) < 500, path
