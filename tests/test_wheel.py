"""The program as people install it: a wheel in an empty environment, used from somewhere else."""

from __future__ import annotations

import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from collections.abc import Mapping, Sequence
from email.parser import Parser
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
CASE = ROOT / "cases" / "kestrel_good.yaml"


def done(
    words: Sequence[object], cwd: Path | None = None, env: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """A finished process; its messages belong to the failure when there is one."""
    return subprocess.run(
        [str(word) for word in words],
        check=False,
        capture_output=True,
        text=True,
        timeout=600,
        cwd=cwd,
        env=env,
    )


def pip(*words: object) -> subprocess.CompletedProcess[str]:
    """pip of the environment that runs the tests, without a look for a newer one."""
    return done([sys.executable, "-m", "pip", "--disable-pip-version-check", "--quiet", *words])


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built with what the test extra has installed: no network is needed."""
    folder = tmp_path_factory.mktemp("wheel")
    built = pip("wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", folder, ROOT)
    assert built.returncode == 0, built.stderr
    (file,) = folder.glob("*.whl")
    return file


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of programs of a new environment with the wheel in it.

    The dependencies come from the registry; where that cannot be reached, from the environment of the tests,
    behind the wheel on the path.
    """
    place = tmp_path_factory.mktemp("empty")
    venv.create(place, with_pip=False, symlinks=os.name != "nt")
    programs = place / ("Scripts" if os.name == "nt" else "bin")
    python = programs / "python"
    tried = pip("--python", python, "install", "--retries", "1", "--timeout", "20", wheel)
    if tried.returncode != 0:
        alone = pip("--python", python, "install", "--no-deps", "--no-index", wheel)
        assert alone.returncode == 0, f"{tried.stderr}\n{alone.stderr}"
        asked = done([python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"])
        borrowed = Path(asked.stdout.strip()) / "borrowed.pth"
        borrowed.write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return programs


def run(installed: Path, cwd: Path, program: str, *words: str) -> subprocess.CompletedProcess[str]:
    """A run in another folder, with nothing of the checkout in the environment."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "DIAGNOSE_"))}
    env = {**kept, "DIAGNOSE_CACHE": str(cwd / "cache"), "DIAGNOSE_SHOP": ""}
    return done([installed / program, *words], cwd, env)


def test_the_wheel_holds_the_rules_and_the_schemas_and_no_tests(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    rules = {f"diagnose/{path.relative_to(ROOT).as_posix()}" for path in (ROOT / "rules").rglob("*.*")}
    assert rules <= names
    assert not {name for name in names if name.startswith(("tests/", "cases/"))}


def test_the_wheel_says_what_it_needs_and_under_which_licence(wheel: Path) -> None:
    archive = zipfile.ZipFile(wheel)
    (metadata,) = (name for name in archive.namelist() if name.endswith(".dist-info/METADATA"))
    said = Parser().parsestr(archive.read(metadata).decode("utf-8"))
    needed = {
        line.partition(">")[0].lower() for line in said.get_all("Requires-Dist", []) if "extra" not in line
    }
    assert needed == {"pyyaml", "jsonschema", "rich", "pint", "numpy"}
    assert said["License-Expression"] == "MIT"
    assert any(name.endswith("licenses/docs/LICENSE") for name in archive.namelist())


def test_the_installed_program_is_the_wheel(installed: Path, tmp_path: Path) -> None:
    ran = run(installed, tmp_path, "python", "-c", "import diagnose; print(diagnose.__file__)")
    assert Path(ran.stdout.strip()).is_relative_to(installed.parent)


def test_the_installed_program_reports_on_a_case_from_another_folder(installed: Path, tmp_path: Path) -> None:
    (tmp_path / "set.yaml").write_bytes(CASE.read_bytes())
    ran = run(installed, tmp_path, "diagnose", "report", "set.yaml")
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert ran.stderr == ""
    assert "Safe?" in ran.stdout
    assert "Next" in ran.stdout


def test_the_installed_program_finds_its_rules_in_order(installed: Path, tmp_path: Path) -> None:
    ran = run(installed, tmp_path, "diagnose", "rigs", "list")
    assert ran.returncode == 0
    listed = {line.split()[0] for line in ran.stdout.splitlines() if not line.startswith(" ")}
    assert listed == {path.stem for path in (ROOT / "rules" / "rigs").glob("*.yaml")}
