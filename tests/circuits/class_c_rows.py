"""Published working points of class C and AB, and what the figures of a tube are by the other ones.

A published point of full current fixes the perveance, because all currents go with it; the shares of screen and
grid fix the division factors. For the check of one point the figures are those that the other points of the
same tube give (geometric mean), so that nothing of the point enters its own prediction. Points of class C are
nearest in kind; audio points are taken as well only where fewer than two of class C are left.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache

from diagnose.circuits import class_c
from diagnose.circuits.class_c_operation import TANK_EFFICIENCY, Volts, operate
from diagnose.circuits.tube_law import USUAL_GRID_DIVISION, USUAL_SCREEN_DIVISION, TubeLaw, tube_law
from diagnose.circuits.tube_solve import crossing
from tests.circuits.tube_rows import characteristics, points, rows

RUN = {method.id: method.run for method in class_c.METHODS}
SERVICES = {"cw": "telegraph", "phone": "phone", "audio": "audio"}
_WIDE = (math.log(0.05), math.log(2000.0))


@dataclass(frozen=True)
class Point:
    """One working point of one tube, in SI units; `output` is None for audio, where grid current is not given."""

    tube: str
    name: str
    plate: float
    screen: float
    bias: float
    drive: float
    plate_current: float
    screen_current: float
    grid_current: float
    output: float | None
    tank: bool = True  # whether the output is that behind the tank

    @property
    def service(self) -> str:
        """Telegraph, phone or audio, by the first word of the name."""
        return self.name.split("_")[0]

    @property
    def triode(self) -> bool:
        """Without a screen."""
        return not self.screen


@dataclass(frozen=True)
class Found:
    """What a point says of its tube: amperes at 100 V in the plane of the grid, and the division factors."""

    current_at_100_volts: float
    screen_division: float | None
    grid_division: float | None


def point_of(tube: str, name: str, block: Mapping[str, float]) -> Point | None:
    """The point that a block describes, or None where it gives no drive or is no service of these."""
    service = name.split("_", maxsplit=1)[0]
    if service not in SERVICES or "peak_grid_voltage" not in block:
        return None
    audio = service == "audio"  # of two tubes
    return Point(
        tube,
        name,
        block["plate_voltage"],
        block.get("screen_voltage", 0.0),
        block["grid_voltage"],
        block["peak_grid_voltage"],
        block["full_current"] / 2 if audio else block["plate_current"],
        block.get("full_screen_current", 0.0) / 2 if audio else block.get("screen_current", 0.0),
        block.get("grid_current", 0.0),
        None if audio else block["output"],
        rows()[tube]["typical"][name].get("output_at") != "plate",
    )


def all_points(tube: str) -> list[Point]:
    """The points of a tube with their drive; none of a triode that has only audio points, seldom to the knee."""
    found = [point for name, block in points(tube) if (point := point_of(tube, name, block)) is not None]
    return found if any(point.output is not None or point.screen for point in found) else []


def checked() -> Iterator[Point]:
    """Every published point of class C that gives its drive, in the order of the tube data."""
    for tube in rows():
        yield from (point for point in all_points(tube) if point.output is not None)


def _law(point: Point, screen_division: float, grid_division: float) -> TubeLaw:
    known = characteristics(point.tube)
    return tube_law(1e-6, known.get("mu"), known.get("mu_screen"), screen_division, grid_division)


@lru_cache(maxsize=256)
def found_by(point: Point) -> Found:
    """The figures of the tube with which the law gives exactly the currents of this point."""
    screen, grid = math.log(USUAL_SCREEN_DIVISION), math.log(USUAL_GRID_DIVISION)
    volts = Volts(point.plate, point.bias, point.screen)

    def share(log_screen: float, log_grid: float, which: str) -> float:
        here = operate(_law(point, math.exp(log_screen), math.exp(log_grid)), volts, point.drive)
        return float(getattr(here, which)) / here.plate_current

    for _ in range(40):  # the two hardly depend on each other
        if point.screen_current:
            wanted = point.screen_current / point.plate_current
            screen = crossing(lambda at: wanted - share(at, grid, "screen_current"), *_WIDE, "screen")  # noqa: B023
        if point.grid_current:
            taken = point.grid_current / point.plate_current
            grid = crossing(lambda at: taken - share(screen, at, "grid_current"), *_WIDE, "grid")  # noqa: B023
    law = _law(point, math.exp(screen), math.exp(grid))
    now = operate(law, volts, point.drive).plate_current
    return Found(
        1e-6 * 1000.0 * point.plate_current / now,
        math.exp(screen) if point.screen_current and point.output is not None else None,
        math.exp(grid) if point.grid_current else None,
    )


def _middle(values: list[float]) -> float | None:
    return math.exp(sum(map(math.log, values)) / len(values)) if values else None


def counted(points_of_tube: list[Point]) -> list[Point]:
    """The points that say what the figures of their tube are: of class C if there are two, else all."""
    class_c_points = [point for point in points_of_tube if point.output is not None]
    return class_c_points if len(class_c_points) > 1 else points_of_tube


def figures_from(points_of_tube: list[Point]) -> dict[str, float]:
    """The figures of a tube from several of its points: their geometric means."""
    found = [found_by(point) for point in counted(points_of_tube)]
    means = {
        "current_at_100_volts": _middle([one.current_at_100_volts for one in found]),
        "screen_division": _middle([one.screen_division for one in found if one.screen_division is not None]),
        "grid_division": _middle([one.grid_division for one in found if one.grid_division is not None]),
    }
    return {name: value for name, value in means.items() if value is not None}


def arguments(point: Point, figures: Mapping[str, float]) -> dict[str, float]:
    """What the methods of class C are given for a point, with these figures of its tube."""
    known = {
        name: value for name, value in characteristics(point.tube).items() if name in ("mu", "mu_screen")
    }
    given = {
        **known,
        **figures,
        "plate_voltage": point.plate,
        "grid_voltage": point.bias,
        "peak_grid_voltage": point.drive,
        "tank_efficiency": TANK_EFFICIENCY if point.tank else 1.0,
    }
    return given if point.triode else {**given, "screen_voltage": point.screen}


def computed(point: Point, figures: Mapping[str, float]) -> Mapping[str, float]:
    """What the method gives for the volts and the drive of a point with these figures of its tube."""
    return RUN["class_c_triode" if point.triode else "class_c_amplifier"](arguments(point, figures))


def driven(point: Point, figures: Mapping[str, float]) -> Mapping[str, float]:
    """The same where the grid current is given instead of the drive."""
    given = {**arguments(point, figures), "grid_current": point.grid_current}
    del given["peak_grid_voltage"]
    return RUN["class_c_triode" if point.triode else "class_c_amplifier"](given)


def dropped(point: Point, figures: Mapping[str, float]) -> Mapping[str, float]:
    """The same with the screen fed from the plate supply by the resistor that the point needs."""
    given = arguments(point, figures)
    resistance = (point.plate - point.screen) / point.screen_current
    return RUN["class_c_dropped_screen"](
        {**given, "screen_supply": point.plate, "screen_resistance": resistance}
    )


@dataclass(frozen=True)
class Check:
    """A published point, what was computed for it, and the figures of its tube from how many other points."""

    point: Point
    made: Mapping[str, float]
    figures: Mapping[str, float]
    others: int

    @property
    def published(self) -> Mapping[str, float]:
        """The same quantities as published; `loss` is what stays in plate and tank."""
        point = self.point
        assert point.output is not None
        power = point.plate * point.plate_current
        return {
            "plate_input": power,
            "output": point.output,
            "efficiency": point.output / power,
            "screen_current": point.screen_current,
            "grid_current": point.grid_current,
            "loss": power - point.output,
            "peak_grid_voltage": point.drive,
            "screen_voltage": point.screen,
        }

    def astray(self, name: str, made: Mapping[str, float] | None = None) -> float:
        """Relative deviation of what was computed (or else of `made`) from what was published."""
        found = self.made if made is None else made
        found = {**found, "loss": found["plate_input"] - found["output"]}
        return found[name] / self.published[name] - 1.0


@lru_cache(maxsize=1)
def checks() -> tuple[Check, ...]:
    """Every published point of class C with its prediction from the other points of its tube."""
    made = []
    for point in checked():
        others = [other for other in all_points(point.tube) if other != point]
        assert others, f"{point.tube} {point.name} has no other point to take the figures of the tube from"
        figures = figures_from(others)
        made.append(Check(point, computed(point, figures), figures, len(counted(others))))
    return tuple(made)
