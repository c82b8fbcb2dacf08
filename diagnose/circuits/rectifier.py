"""Rectifiers: the drop of one leg at a current, and how legs are joined to a transformer winding.

The law of a leg is written with a parameter p >= 0, so that no slope is infinite: the leg conducts
`amps * p**power` and drops `threshold + volts * p`. Where it does not conduct, p is zero.

* vacuum: the three-halves power law of space charge (Child 1911, Langmuir 1913), I = K V**1.5, with K from
  one published pair of drop and current per plate;
* mercury vapour: an arc, whose drop hardly depends on the current;
* silicon, selenium: a threshold and a resistance, split so that the drop is right at the stated current.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from diagnose.circuits.method import CannotCompute

Array = NDArray[np.float64]

VACUUM = "vacuum"
MERCURY_VAPOUR = "mercury_vapour"
SILICON = "silicon"
SELENIUM = "selenium"

# Usual drop of one unit (one silicon diode, one mercury tube, one plate of a selenium stack), the share of it
# that is there at any current, and the current at which it has that drop: None where a stack is chosen for its
# load. From memory; an arc is quoted as 12 to 15 V, 15 V on the sheets of the 83 and the 866A.
USUAL = {MERCURY_VAPOUR: (15.0, 1.0, None), SILICON: (0.9, 0.8, 1.0), SELENIUM: (1.0, 0.6, None)}
RECTIFIERS = (VACUUM, *USUAL)


@dataclass(frozen=True)
class Law:
    """Current and drop of a leg: amps, volts per unit of p; threshold in V; power without unit."""

    amps: float
    volts: float
    power: float
    threshold: float

    def drop(self, amps: float) -> float:
        """Volts across the leg while it conducts that current."""
        return float(self.threshold + self.volts * (amps / self.amps) ** (1.0 / self.power))

    def joined(self, in_series: float = 1.0, in_parallel: float = 1.0) -> Law:
        """The law of equal legs in series or with their plates tied together."""
        return replace(
            self,
            amps=self.amps * in_parallel,
            volts=self.volts * in_series,
            threshold=self.threshold * in_series,
        )


def three_halves(volts: float, amps: float) -> Law:
    """A vacuum rectifier that drops `volts` at `amps` per plate."""
    return Law(amps=amps, volts=volts, power=1.5, threshold=0.0)


def nearly_constant(volts: float, amps: float, share: float) -> Law:
    """A rectifier that drops `volts` at `amps`, of which `share` is threshold and the rest resistance."""
    return Law(amps=amps, volts=volts * (1.0 - share), power=1.0, threshold=volts * share)


def law_of(rectifier: str, volts: float | None, amps: float | None, typical: float) -> Law:
    """The law of one unit from its published drop, or the usual drop of its kind at a `typical` current.

    Raises CannotCompute for a vacuum rectifier without a published pair.
    """
    if rectifier == VACUUM:
        if volts is None or amps is None:
            raise CannotCompute("a vacuum rectifier needs its drop and the current at which it has that drop")
        return three_halves(volts, amps)
    usual, share, at = USUAL[rectifier]
    return nearly_constant(usual if volts is None else volts, amps or at or typical, share)


@dataclass(frozen=True)
class Circuit:
    """How the legs are joined to the winding.

    pulses: charging pulses in one cycle of the mains that go through the modelled leg.
    legs: units in series in the path of the current. tiers: capacitors charged in turn and stacked.
    inverse: peak inverse voltage of a unit over the peak of the winding, at no load (2 and 1 as in the
    textbooks; Basic Electronics and Linear Circuits, example 4.2).
    """

    pulses: int
    legs: int
    tiers: int
    inverse: float

    def ripple_frequency(self, mains: float) -> float:
        """Hz of the lowest component of the ripple."""
        return mains * self.pulses * self.tiers


CIRCUITS = {
    "centre_tap": Circuit(pulses=2, legs=1, tiers=1, inverse=2.0),
    "bridge": Circuit(pulses=2, legs=2, tiers=1, inverse=1.0),
    "half_wave": Circuit(pulses=1, legs=1, tiers=1, inverse=2.0),
    "doubler": Circuit(pulses=1, legs=1, tiers=2, inverse=2.0),
}
