"""Smoothing filters as impedances: what the rectifier works into, and what reaches the output.

All functions take the complex frequency s in rad/s (an array), and ohms, henries, farads.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from diagnose.circuits.supply_wave import Complex


@dataclass(frozen=True)
class Section:
    """A series choke (or a resistor, with no inductance) and the capacitor after it."""

    inductance: float
    ohms: float
    capacitance: float

    def series(self, s: Complex) -> Complex:
        """Ohms of the series part."""
        total: Complex = s * self.inductance + self.ohms
        return total


@dataclass(frozen=True)
class Filter:
    """An optional input choke, the first capacitor, an optional further section, and a bleeder at the output.

    tiers: capacitors stacked in a doubler; the first capacitor is then each of them.
    """

    capacitance: float
    choke: Section | None = None  # its capacitor is the first one, so its own is not used
    section: Section | None = None
    bleeder: float = 0.0  # siemens
    tiers: int = 1

    @property
    def ohms(self) -> float:
        """Resistance in the path of the direct current, from the rectifier to the output."""
        parts = (self.choke, self.section)
        return sum(part.ohms for part in parts if part is not None)

    def with_choke(self, inductance: float) -> Filter:
        """The same filter, its input choke having that inductance."""
        if self.choke is None:
            return self
        return replace(self, choke=replace(self.choke, inductance=inductance))

    def after(self, s: Complex) -> Complex:
        """Admittance in siemens of what hangs on the first capacitor (on the stack of them)."""
        if self.section is None:
            return s * 0.0 + self.bleeder
        end = s * self.section.capacitance + self.bleeder
        admittance: Complex = end / (1.0 + self.section.series(s) * end)
        return admittance

    def passes(self, s: Complex) -> Complex:
        """Volts at the output for one volt at the first capacitor."""
        if self.section is None:
            return s * 0.0 + 1.0
        passed: Complex = 1.0 / (1.0 + self.section.series(s) * (s * self.section.capacitance + self.bleeder))
        return passed

    def at_capacitor(self, s: Complex, odd: Complex) -> Complex:
        """Volts at one first capacitor per ampere of the rectifier that charges it.

        The two halves of a doubler are alike, half a cycle apart. So the stack shows only the even harmonics
        of the mains, twice over, and only these drive a current through what hangs on it; `odd` is 1 at the
        odd ones and 0 elsewhere.
        """
        hung = self.after(s) if self.tiers == 1 else 2.0 * self.after(s) * (1.0 - odd)
        volts: Complex = 1.0 / (s * self.capacitance + hung)
        return volts

    def input(self, s: Complex, odd: Complex) -> Complex:
        """Ohms that the rectifier works into."""
        volts = self.at_capacitor(s, odd)
        return volts if self.choke is None else volts + self.choke.series(s)

    def output(self, s: Complex, odd: Complex) -> Complex:
        """Volts at the output per ampere of the rectifier."""
        stacked = self.at_capacitor(s, odd) * self.passes(s)
        if self.tiers == 1:
            return stacked
        both: Complex = 2.0 * stacked * (1.0 - odd)
        return both
