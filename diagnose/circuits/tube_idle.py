"""Methods: the steady current of a tube without signal, from one published working point of its type.

Near a known point the three-halves law needs no perveance: with E the potential in the plane of the grid,

    I = I_known (E / E_known)**1.5,   E = E_known + dVg + dVs/mu_screen + dVp/mu

and E_known follows from the transconductance at the known point, E = 1.5 I / gm (gm = dI/dE = 1.5 I/E; plate
current and transconductance of the plate, whose shares of the cathode's are the same), or else from the volts.

Near cut-off real grids let current through between their wires (the islands of F. Below, Zeitschrift fuer
Fernmeldetechnik 1928, described by K. R. Spangenberg, Vacuum Tubes, 1948, section 7.7): below NEAR_CUT_OFF of
the bias that would cut the tube off, the law is not used.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from diagnose.circuits.method import Argument, CannotCompute, Method, Result, Value
from diagnose.circuits.tube_figures import MU, TUBES, above_zero, bias, needed, number
from diagnose.circuits.tube_law import MU_OVER_MU_SCREEN
from diagnose.circuits.tube_solve import crossing

NEAR_CUT_OFF = 0.10
# Root mean square of what was found against published rows: docs/final-amplifier.md and its test.
WITHIN = 0.12
WITHIN_BIASED = 0.09  # the cathode resistor steadies its own tube

_KNOWN = {
    "known_plate_voltage": Argument("plate voltage at a published working point of one tube", "V"),
    "known_grid_voltage": Argument("bias there, negative", "V"),
    "known_screen_voltage": Argument("screen voltage there", "V", optional=True),
    "known_plate_current": Argument("plate current there", "A"),
    "known_screen_current": Argument("screen current there", "A", optional=True, default=0.0),
    "transconductance": Argument("transconductance there", "S", optional=True),
    "mu": MU,
    "mu_screen": Argument("amplification factor of the screen against the grid", optional=True),
    "tubes": TUBES,
}
_CURRENTS = {
    "plate_current": Result("plate current of all tubes", "A", WITHIN),
    "plate_current_each": Result("plate current of each tube", "A", WITHIN),
    "screen_current": Result("screen current of all tubes", "A", 2 * WITHIN),
    "cathode_current": Result("plate and screen current of all tubes", "A", WITHIN),
    "plate_dissipation": Result("plate dissipation of each tube", "W", WITHIN),
}


@dataclass(frozen=True)
class Known:
    """A published working point of one tube and how its potential follows the volts. SI units."""

    plate: float
    grid: float
    screen: float
    plate_current: float
    screen_current: float
    mu: float
    mu_screen: float | None
    potential: float  # in the plane of the grid

    def behind(self, plate: float, screen: float) -> float:
        """What plate and screen add in the plane of the grid: the bias that would cut the tube off."""
        return plate / self.mu + (screen / self.mu_screen if self.mu_screen is not None else 0.0)

    def share(self, plate: float, grid: float, screen: float) -> float:
        """The current over that at the known point. Raises CannotCompute near and beyond cut-off."""
        moved = self.behind(plate, screen) - self.behind(self.plate, self.screen) + grid - self.grid
        at = self.potential + moved
        if at < NEAR_CUT_OFF * self.behind(plate, screen):
            raise CannotCompute("the tube is biased so near to cut-off that its current cannot be told")
        return float((at / self.potential) ** 1.5)


def known_point(given: Mapping[str, Value]) -> Known:
    """The known point from its arguments. Raises CannotCompute where it says too little."""
    mu, mu_screen = number(given, "mu"), number(given, "mu_screen")
    if mu is None and mu_screen is None:
        raise CannotCompute("the amplification factor of the tube is not known")
    factor = mu if mu is not None else MU_OVER_MU_SCREEN * (mu_screen or 0.0)
    screen = needed(given, "known_screen_voltage") if mu_screen is not None else 0.0
    point = Known(
        above_zero(given, "known_plate_voltage"),
        bias(given, "known_grid_voltage"),
        screen,
        above_zero(given, "known_plate_current"),
        number(given, "known_screen_current") or 0.0,
        factor,
        mu_screen,
        0.0,
    )
    slope = number(given, "transconductance")
    if slope is not None:
        potential = 1.5 * point.plate_current / above_zero(given, "transconductance")
    else:
        potential = point.grid + point.behind(point.plate, point.screen)
        if potential < NEAR_CUT_OFF * point.behind(point.plate, point.screen):
            raise CannotCompute("the known working point lies too near to cut-off")
    return replace(point, potential=potential)


def _screen_volts(given: Mapping[str, Value], known: Known) -> float:
    return needed(given, "screen_voltage") if known.mu_screen is not None else 0.0


def _said(known: Known, share: float, tubes: float, plate: float) -> dict[str, float]:
    each = known.plate_current * share
    to_screen = known.screen_current * share
    return {
        "plate_current": tubes * each,
        "plate_current_each": each,
        "screen_current": tubes * to_screen,
        "cathode_current": tubes * (each + to_screen),
        "plate_dissipation": plate * each,
    }


def _idle(given: Mapping[str, Value]) -> Mapping[str, float]:
    known, tubes = known_point(given), above_zero(given, "tubes", 1.0)
    plate = above_zero(given, "plate_voltage")
    share = known.share(plate, bias(given), _screen_volts(given, known))
    return _said(known, share, tubes, plate)


def _cathode_biased(given: Mapping[str, Value]) -> Mapping[str, float]:
    known, tubes = known_point(given), above_zero(given, "tubes", 1.0)
    plate, screen = above_zero(given, "plate_voltage"), _screen_volts(given, known)
    resistance = above_zero(given, "cathode_resistance")
    fixed = number(given, "grid_voltage") or 0.0
    each = known.plate_current + known.screen_current

    def at(volts: float) -> float:
        """The current share with the cathode that many volts up."""
        return known.share(plate - volts, fixed - volts, max(screen - volts, 0.0))

    raised = _settled(lambda volts: volts - resistance * tubes * each * _or_nothing(at, volts), plate)
    share = at(raised)
    return {
        **_said(known, share, tubes, plate - raised),
        "cathode_voltage": raised,
        "grid_voltage": fixed - raised,
    }


def _or_nothing(at: Callable[[float], float], volts: float) -> float:
    """A current share, counted as nothing where the law refuses: so near to cut-off that little flows."""
    try:
        return at(volts)
    except CannotCompute:
        return 0.0


def _settled(rising: Callable[[float], float], most: float) -> float:
    return crossing(rising, 0.0, most, "no voltage of the cathode satisfies its resistor")


def _dropped(given: Mapping[str, Value]) -> Mapping[str, float]:
    known, tubes = known_point(given), above_zero(given, "tubes", 1.0)
    if known.mu_screen is None or known.screen_current <= 0.0:
        raise CannotCompute("a screen resistor needs a tube whose screen current is known")
    plate, grid = above_zero(given, "plate_voltage"), bias(given)
    supply, resistance = above_zero(given, "screen_supply"), above_zero(given, "screen_resistance")

    def drawn(volts: float) -> float:
        return tubes * known.screen_current * _or_nothing(lambda at: known.share(plate, grid, at), volts)

    volts = crossing(lambda at: at - supply + resistance * drawn(at), 0.0, supply, "no screen voltage fits")
    return {**_said(known, known.share(plate, grid, volts), tubes, plate), "screen_voltage": volts}


_STAGE = {
    "plate_voltage": Argument("plate voltage", "V"),
    "grid_voltage": Argument("bias, negative", "V"),
    "screen_voltage": Argument("screen voltage", "V", optional=True),
}
_LAW = "The three-halves law from a published working point of the type (Child 1911, Langmuir 1913)"

METHODS = (
    Method(
        "idle_current",
        "steady current of an amplifier without signal",
        _LAW + ", not used near cut-off.",
        {**_STAGE, **_KNOWN},
        _CURRENTS,
        _idle,
    ),
    Method(
        "cathode_bias",
        "steady current and bias of an amplifier biased by a cathode resistor",
        _LAW + ", where its current through the resistor gives the bias that it needs.",
        {
            "plate_voltage": Argument("plate voltage against ground", "V"),
            "screen_voltage": Argument("screen voltage against ground", "V", optional=True),
            "grid_voltage": Argument("grid against ground, negative", "V", optional=True, default=0.0),
            "cathode_resistance": Argument("resistor in the common cathode lead", "ohm"),
            **_KNOWN,
        },
        {
            **{name: Result(result.title, result.unit, WITHIN_BIASED) for name, result in _CURRENTS.items()},
            "cathode_voltage": Result("cathode against ground", "V", WITHIN_BIASED),
            "grid_voltage": Result("grid against cathode", "V", WITHIN_BIASED),
        },
        _cathode_biased,
    ),
    Method(
        "screen_dropper_with_tube",
        "screen voltage behind its resistor, without signal",
        _LAW + ", where the screen current through the resistor leaves the voltage that draws it.",
        {
            "plate_voltage": Argument("plate voltage", "V"),
            "grid_voltage": Argument("bias, negative", "V"),
            "screen_supply": Argument("supply of the dropping resistor", "V"),
            "screen_resistance": Argument("the dropping resistor", "ohm"),
            **_KNOWN,
        },
        {**_CURRENTS, "screen_voltage": Result("screen voltage", "V", 0.08)},
        _dropped,
    ),
)
