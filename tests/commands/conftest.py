"""What the tests of the commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.commands.main import main
from tests.commands.bench import SHOP, Ran

Call = Callable[..., Ran]


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Call:
    """The program inside this process, with the small shop: fast, and with the same funnel."""
    for name in ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "DIAGNOSE_DEBUG"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("DIAGNOSE_SHOP", str(SHOP))

    def run(*arguments: object) -> Ran:
        status = main([str(argument) for argument in arguments])
        caught = capsys.readouterr()
        return Ran(status, caught.out, caught.err)

    return run


@pytest.fixture
def cases(tmp_path: Path) -> Path:
    """An empty folder for cases."""
    folder = tmp_path / "cases"
    folder.mkdir()
    return folder
