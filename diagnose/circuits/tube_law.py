"""The law of a tube: what its cathode emits at given volts, and how plate, screen and grid share it.

* Space charge (C. D. Child 1911, I. Langmuir 1913) for a tube with grids, by its equivalent diode: the cathode
  emits I = P E**1.5 with E = Vg + Vs/mu_screen + Vp/mu, the potential that cathode sees in the plane of the
  control grid; without a screen, E = Vg + Vp/mu. P is the perveance, in A/V**1.5.
* Sharing (F. Tank 1922; B. D. H. Tellegen 1925; K. R. Spangenberg, Vacuum Tubes, 1948, chapter 9): two
  electrodes at positive potentials take currents whose ratio goes as the root of the ratio of the potentials:
  Ip/Is = D sqrt(Vp/Vs), and (what passes the grid)/Ig = D' sqrt(V/Vg) with V the potential behind the grid,
  of the screen or else of the plate. D and D' depend on how much of the way the wires block. As the plate
  falls under the screen its share falls: that is the knee.

Everything is in volts and amperes against the cathode; arrays of volts give arrays of amperes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from diagnose.circuits.method import CannotCompute

Array = NDArray[np.float64]

# Amplification factor of the plate over that of the screen, where none is published: how far a screen of usual
# pitch shields. 17 for the 6L6 family, 21 for the 6V6 and the 6550 (transconductance times plate resistance).
MU_OVER_MU_SCREEN = 20.0
# Division factors where none are known: middle of those found from published working points of class C.
USUAL_SCREEN_DIVISION = 16.0
USUAL_GRID_DIVISION = 6.0
_NOTHING = 1e-9  # volts: an electrode that is not above this takes nothing


@dataclass(frozen=True)
class Shares:
    """Currents of the electrodes in amperes; together what the cathode emits."""

    plate: Array
    screen: Array
    grid: Array


@dataclass(frozen=True)
class TubeLaw:
    """A tube by a handful of figures. `mu_screen` is None for a triode.

    perveance: A/V**1.5. mu: amplification factor of the plate. mu_screen: of the screen, against the grid.
    """

    perveance: float
    mu: float
    mu_screen: float | None = None
    screen_division: float = USUAL_SCREEN_DIVISION
    grid_division: float = USUAL_GRID_DIVISION

    def potential(self, grid: float, plate: float, screen: float = 0.0) -> float:
        """The potential in the plane of the grid, in volts."""
        behind = plate / self.mu
        return grid + behind if self.mu_screen is None else grid + behind + screen / self.mu_screen

    def space_current(self, grid: Array, plate: Array, screen: float = 0.0) -> Array:
        """Amperes from the cathode; none beyond cut-off."""
        behind = plate / self.mu
        if self.mu_screen is not None:
            behind = behind + screen / self.mu_screen
        current: Array = self.perveance * np.maximum(grid + behind, 0.0) ** 1.5
        return current

    def shares(self, grid: Array, plate: Array, screen: float = 0.0) -> Shares:
        """How the electrodes share the space current. The plate must not be negative."""
        emitted = self.space_current(grid, plate, screen)
        beyond = plate if self.mu_screen is None else np.full_like(plate, max(screen, 0.0))
        positive = np.maximum(grid, _NOTHING)
        to_grid = np.where(
            grid > _NOTHING, emitted / (1.0 + self.grid_division * np.sqrt(beyond / positive)), 0.0
        )
        passed = emitted - to_grid
        if self.mu_screen is None or screen <= _NOTHING:
            return Shares(passed, np.zeros_like(passed), to_grid)
        to_screen = passed / (1.0 + self.screen_division * np.sqrt(plate / screen))
        return Shares(passed - to_screen, to_screen, to_grid)


def tube_law(
    perveance: float,
    mu: float | None = None,
    mu_screen: float | None = None,
    screen_division: float | None = None,
    grid_division: float | None = None,
) -> TubeLaw:
    """A law from what is known, the usual figures for the rest. Raises CannotCompute where too little is."""
    if mu is None and mu_screen is None:
        raise CannotCompute("the amplification factor of the tube is not known")
    figures = (perveance, mu, mu_screen, screen_division, grid_division)
    if any(figure is not None and figure <= 0.0 for figure in figures):
        raise CannotCompute("the characteristics of a tube are above zero")
    return TubeLaw(
        perveance,
        mu if mu is not None else MU_OVER_MU_SCREEN * (mu_screen or 0.0),
        mu_screen,
        USUAL_SCREEN_DIVISION if screen_division is None else screen_division,
        USUAL_GRID_DIVISION if grid_division is None else grid_division,
    )


def perveance_from_transconductance(transconductance: float, current: float) -> float:
    """Perveance (A/V**1.5) from the transconductance (S) that a tube has at a space current (A).

    From I = P E**1.5: gm = dI/dE = 1.5 P**(2/3) I**(1/3), hence P = (gm/1.5)**1.5 / sqrt(I). Both of the
    cathode: where figures of the plate are given, take both times cathode current over plate current.
    """
    if transconductance <= 0.0 or current <= 0.0:
        raise CannotCompute("a transconductance needs a current at which it holds")
    return float((transconductance / 1.5) ** 1.5 / current**0.5)
