"""What the fit of a drift log says: its figures with their uncertainties, at the oscillator or after multiplication."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from diagnose.series.beside import Correlation


@dataclass(frozen=True)
class Figure:
    """A value with its standard uncertainty, both in one unit."""

    value: float
    uncertainty: float

    def times(self, factor: float) -> Figure:
        """The figure in another unit, or after multiplication."""
        return Figure(self.value * factor, self.uncertainty * abs(factor))


@dataclass(frozen=True)
class Jump:
    """A step of the frequency: at `time` (s from the first reading, between two readings) by `size` (Hz)."""

    time: float
    size: Figure


@dataclass(frozen=True)
class DriftFit:
    """What a drift log says; frequencies in Hz, upward positive, at the oscillator times `multiplication`.

    `warm_up`: from the first reading to the settled frequency. `warm_up_seen` and `residual_seen`: the
    probability that there is a warm-up, and a slope beside it, at all; without one the figure is near zero and
    its uncertainty says how much may hide. `time_constant` (s) is None where no warm-up is seen.
    `residual`: Hz per hour once warm. `largest_jump` is zero with an uncertainty where none is found,
    and None where there are too few readings to look. `per_volt` (Hz/V), `mains` and `per_degree` (Hz/degC)
    are None where nothing can be said. `scatter`: Hz rms about the curve. `misread`: numbers (from 0) of
    readings left out. `cannot_tell`: sentences for the person.
    """

    frequency: float
    span: float
    readings: int
    warm_up: Figure
    warm_up_seen: float
    time_constant: Figure | None
    residual: Figure
    residual_seen: float
    jumps: tuple[Jump, ...]
    largest_jump: Figure | None
    misread: tuple[int, ...]
    per_volt: Figure | None
    mains: Correlation | None
    per_degree: Figure | None
    scatter: float
    cannot_tell: tuple[str, ...]
    multiplication: float = 1.0

    @property
    def jump_number(self) -> int:
        """How many jumps were found."""
        return len(self.jumps)

    def ppm(self, figure: Figure) -> Figure:
        """A figure in Hz (or Hz per hour, volt or degree) as parts per million of the frequency."""
        return figure.times(1e6 / self.frequency)

    def at_output(self, multiplication: float) -> DriftFit:
        """The same after frequency multiplication: every movement grows with the frequency.

        A log taken at the output is brought to the oscillator with 1/multiplication.
        """
        if not 0.0 < multiplication < math.inf:
            raise ValueError("a multiplication is a number above zero")

        def scaled(figure: Figure | None) -> Figure | None:
            return figure.times(multiplication) if figure is not None else None

        return replace(
            self,
            frequency=self.frequency * multiplication,
            warm_up=self.warm_up.times(multiplication),
            residual=self.residual.times(multiplication),
            jumps=tuple(Jump(jump.time, jump.size.times(multiplication)) for jump in self.jumps),
            largest_jump=scaled(self.largest_jump),
            per_volt=scaled(self.per_volt),
            per_degree=scaled(self.per_degree),
            scatter=self.scatter * multiplication,
            multiplication=self.multiplication * multiplication,
        )
