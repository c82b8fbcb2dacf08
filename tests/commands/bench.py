"""A small shop, cases for it, and the program run on them inside this process or in its own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
SHOP = Path(__file__).parent / "shop"

DIM = """\
case: dim
rig: marker
about: The lamp is dim.
readings: {light.voltage: 1.48 V}
symptoms: {light.dim: yes}
"""
SAGGING = DIM.replace("case: dim", "case: sagging").replace("1.48 V", "1.1 V")
HOT = """\
case: hot
rig: marker
symptoms: {light.hot_cell: yes}
"""
MISSPELT = DIM.replace("case: dim", "case: misspelt").replace("light.voltage", "light.voltags")
KILOVOLTS = DIM.replace("case: dim", "case: kilovolts").replace("1.48 V", "1.48 kV")
BROKEN = "case: [unfinished\n"
NO_RIG = "case: stray\nrig: narwhal\n"


@dataclass(frozen=True)
class Ran:
    """What a run of the program left."""

    status: int
    out: str
    err: str


def write_cases(folder: Path, texts: Mapping[str, str]) -> Path:
    """Case files by name."""
    for name, text in texts.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder


def run(*arguments: object, cwd: Path | None = None, **environ: str) -> Ran:
    """The program in a process of its own, with the small shop unless the arguments name one."""
    words = [str(argument) for argument in arguments]
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", *words],
        capture_output=True,
        check=False,
        cwd=cwd,
        encoding="utf-8",
        env=environment(**environ),
        timeout=120,
    )
    return Ran(done.returncode, done.stdout, done.stderr)


def environment(**more: str) -> dict[str, str]:
    """The environment of a run: the small shop, this checkout, and nothing about colours or widths."""
    kept = {
        name: value
        for name, value in os.environ.items()
        if name not in {"NO_COLOR", "FORCE_COLOR", "COLUMNS", "DIAGNOSE_DEBUG"}
    }
    return {**kept, "DIAGNOSE_SHOP": str(SHOP), "PYTHONPATH": str(ROOT), **more}
