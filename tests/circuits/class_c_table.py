"""The tables of docs/final-amplifier.md: what the methods make of published working points.

python -m tests.circuits.class_c_table            prints them
python -m tests.circuits.class_c_table --write    puts them into the page
"""

from __future__ import annotations

import sys
from collections.abc import Iterator

from tests.circuits import class_c_rows, tube_idle_rows
from tests.circuits.tables import DOCS, Tables, root_mean_square, table
from tests.circuits.tube_rows import source

_LEFT = ("tube", "tubes", "point", "source", "quantity")


def _pair(made: float, published: float, digits: int = 0) -> str:
    return f"{made:.{digits}f} / {published:.{digits}f}"


def _off(deviation: float) -> str:
    return f"{100.0 * deviation:+.0f} %"


def class_c() -> str:
    """Each published point of class C: computed / published, and the deviation."""
    lines = []
    for check in class_c_rows.checks():
        made, published = check.made, check.published
        lines.append((
            *_named(check.point),
            str(check.others),
            _pair(made["plate_input"], published["plate_input"]),
            _off(check.astray("plate_input")),
            _pair(made["output"], published["output"]),
            _off(check.astray("output")),
            _pair(100 * made["efficiency"], 100 * published["efficiency"]),
            _off(check.astray("efficiency")),
        ))  # fmt: skip
    heads = ("tube", "point", "volts", "others", "input, W", "", "output, W", "", "efficiency, %", "")
    return table(heads, lines, _LEFT)


def class_c_rest() -> str:
    """The same for heat in plate and tank, and the currents of the grids."""
    lines = []
    for check in class_c_rows.checks():
        made, published = check.made, check.published
        screen = ("", "")
        if not check.point.triode:
            amount = _pair(1e3 * made["screen_current"], 1e3 * published["screen_current"])
            screen = (amount, _off(check.astray("screen_current")))
        lines.append((
            *_named(check.point)[:2],
            _pair(made["plate_input"] - made["output"], published["loss"]),
            _off(check.astray("loss")),
            *screen,
            _pair(1e3 * made["grid_current"], 1e3 * published["grid_current"], 1),
            _off(check.astray("grid_current")),
            source(check.point.tube, f"typical.{check.point.name}"),
        ))  # fmt: skip
    heads = ("tube", "point", "heat, W", "", "screen, mA", "", "grid, mA", "", "source")
    return table(heads, lines, _LEFT)


def _named(point: class_c_rows.Point) -> tuple[str, str, str]:
    return point.tube, point.name.replace("_", " "), f"{point.plate:.0f}"


def spreads() -> Iterator[tuple[str, str, list[float]]]:
    """Kind of tube, quantity, and the deviations of all points; for every result whose spread a method states."""
    for title, triode in (("screen grid", False), ("triode", True)):
        found = [check for check in class_c_rows.checks() if check.point.triode is triode]
        for name in ("plate_input", "output", "efficiency", "loss", "screen_current", "grid_current"):
            if not (triode and name == "screen_current"):
                yield title, name, [check.astray(name) for check in found]
        told = [(check, class_c_rows.driven(check.point, check.figures)) for check in found]
        name = "peak_grid_voltage"
        yield f"{title}, drive from grid current", name, [check.astray(name, made) for check, made in told]
    fed = [(check, class_c_rows.dropped(check.point, check.figures)) for check in class_c_rows.checks()
           if not check.point.triode]  # fmt: skip
    for name in ("plate_input", "output", "screen_voltage", "screen_current"):
        yield "screen behind its resistor", name, [check.astray(name, made) for check, made in fed]


def spread() -> str:
    """Root mean square and largest deviation over the points of the table above."""
    lines = []
    for title, name, off in spreads():
        near = sum(abs(value) <= 0.10 for value in off)
        shown = "heat in plate and tank" if name == "loss" else name.replace("_", " ")
        lines.append((
            title, shown, f"{100 * root_mean_square(off):.0f} %", f"{100 * max(map(abs, off)):.0f} %",
            f"{near} of {len(off)}",
        ))  # fmt: skip
    return table(("tubes", "quantity", "root mean square", "largest", "within 10 %"), lines, _LEFT)


def idle() -> str:
    """Each published point without signal: computed / published, and the deviation."""
    lines = []
    for check in tube_idle_rows.checks():
        figures = check.figures
        volts = f"{figures['plate_voltage']:.0f}"
        if "screen_voltage" in figures:
            volts += f", {figures['screen_voltage']:.0f}"
        refused = check.made is None
        made = "not computed" if check.made is None else _pair(1e3 * check.made, 1e3 * check.published, 1)
        lines.append((
            check.tube,
            check.name.replace("_", " "),
            volts,
            f"{figures['grid_voltage']:g}",
            str(check.tubes),
            made + (f" / {1e3 * check.published:.1f}" if refused else ""),
            "too near cut-off" if refused else _off(check.astray),
            source(check.tube, f"typical.{check.name}"),
        ))  # fmt: skip
    heads = ("tube", "point", "plate, screen volts", "bias, volts", "tubes", "mA", "", "source")
    return table(heads, lines, _LEFT)


TABLES = Tables(
    DOCS / "final-amplifier.md",
    {"class_c": class_c, "class_c_rest": class_c_rest, "spread": spread, "idle": idle},
)


if __name__ == "__main__":
    TABLES.main(sys.argv[1:])
