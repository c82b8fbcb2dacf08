"""Published currents without signal, each against what the law makes of another published point of the type."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.circuits import tube_idle
from diagnose.circuits.method import CannotCompute
from tests.circuits.tube_rows import Figures, characteristics, points, rows

RUN = {method.id: method.run for method in tube_idle.METHODS}


@dataclass(frozen=True)
class Check:
    """A published point without signal: amperes of its tubes together, and what was computed, None if refused."""

    tube: str
    name: str
    figures: Figures
    tubes: int
    published: float
    made: float | None

    @property
    def astray(self) -> float:
        """Relative deviation; only of what was not refused."""
        assert self.made is not None
        return self.made / self.published - 1.0


def known(tube: str) -> dict[str, float]:
    """The arguments that describe a tube by its class A point; empty where the row has none with its bias."""
    point = dict(points(tube)).get("class_a", {})
    factors = {name: value for name, value in characteristics(tube).items() if name in ("mu", "mu_screen")}
    if "grid_voltage" not in point or not factors:
        return {}
    given = {
        f"known_{name}": value
        for name, value in point.items()
        if name.split("_")[-1] in ("voltage", "current")
    }
    slope = {"transconductance": point["transconductance"]} if "transconductance" in point else {}
    return {**given, **slope, **factors}


def checks() -> Iterator[Check]:
    """Every point without signal of the tube data besides the known one, in the order of the tube data."""
    for tube in rows():
        given = known(tube)
        if not given:
            continue
        for name, figures in points(tube):
            pair = "idle_current" in figures
            if not pair and (not name.startswith("class_a_") or "plate_current" not in figures):
                continue
            same = figures["plate_voltage"] == given["known_plate_voltage"]
            if same and figures["grid_voltage"] == given["known_grid_voltage"]:
                continue  # the known point itself, of two tubes
            tubes = 2 if pair else 1
            stage = {
                key: figures[key]
                for key in ("plate_voltage", "grid_voltage", "screen_voltage")
                if key in figures
            }
            try:
                made = RUN["idle_current"]({**given, **stage, "tubes": tubes})["plate_current"]
            except CannotCompute:
                made = None
            published = figures["idle_current"] if pair else figures["plate_current"]
            yield Check(tube, name, figures, tubes, published, made)
