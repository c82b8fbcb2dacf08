"""Files that a case names: beside it or in folders below, never anywhere else."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath

from diagnose.files import values
from diagnose.files.csv_text import CsvError, Rows, read_csv
from diagnose.files.document import Node
from diagnose.files.faults import Faults


@dataclass(frozen=True)
class Folder:
    """The folder of a case: where it is (None for a case that is in no file) and what it is called in places."""

    path: Path | None
    name: str


def table_beside(node: Node, folder: Folder, faults: Faults) -> Rows | None:
    """The records of the table that an entry names; None, with one problem, where there is none."""
    written = values.text(node)
    path = _path(node, written, folder, faults)
    if path is None:
        return None
    try:
        return read_csv(path, str(PurePosixPath(folder.name) / written.replace("\\", "/")))
    except CsvError as error:
        if error.problem.id == "unreadable":
            faults.error(
                node, "unreadable", f"cannot read `{written}`: {error.problem.text.partition(': ')[2]}"
            )
        else:
            faults.found.append(error.problem)
        return None


def _path(node: Node, written: str, folder: Folder, faults: Faults) -> Path | None:
    if folder.path is None:
        faults.error(node, "outside", "this case is in no folder, so it cannot name other files")
        return None
    if PurePosixPath(written).is_absolute() or PureWindowsPath(written).anchor:
        faults.error(
            node, "outside", f"`{written}` is no path from the case's folder", "keep it beside the case"
        )
        return None
    try:
        base = folder.path.resolve()
        path = (base / written.replace("\\", "/")).resolve()
        inside = path.is_relative_to(base)
    except (OSError, ValueError, RuntimeError):
        inside = False
    if not inside:
        faults.error(node, "outside", f"`{written}` is outside the case's folder", "keep it beside the case")
        return None
    if not path.is_file():
        said = f"there is no file `{written}` beside the case"
        faults.unknown(node, "no-file", said, written, _names(base))
        return None
    return path


def _names(folder: Path) -> list[str]:
    """The tables that lie there, for a hint."""
    try:
        return sorted(path.name for path in folder.iterdir() if path.suffix.lower() == ".csv")[:100]
    except OSError:
        return []
