"""A drift log that can be worked with: checked, in seconds, hertz, volts and degrees Celsius."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FEWEST = 4  # readings: three for the shape of the warm-up, one more to be wrong by
MOST = 20_000
LARGEST = 1e12  # of any number in a log: beyond it is a slip, and would cost the arithmetic its digits
COARSEST = 1000.0  # Hz: no coarser last digit is looked for in the readings
ODD_VOLTS = 2.0  # times the usual line voltage, or its half: a slip of the pen, and it would carry the fit
RESTING = 1.0  # Hz: what a frequency that never moved is taken to be read to


class CannotFit(ValueError):
    """The log cannot be fitted; the text says why, for the person, with the number of the reading."""


@dataclass(frozen=True, eq=False)
class Log:
    """Readings in order of time: `time` (s) from the first, `frequency` (Hz), `mains` (V), `temperature` (degC).

    `filled` counts the readings without a line voltage or temperature of their own, which stand between
    neighbours that have one. `resolution` (Hz) is the last digit of the frequencies.
    """

    time: Array
    frequency: Array
    mains: Array | None
    temperature: Array | None
    filled: int
    resolution: float

    def __len__(self) -> int:
        return len(self.time)

    @property
    def span(self) -> float:
        """Seconds from the first reading to the last."""
        return float(self.time[-1])

    @property
    def floor(self) -> float:
        """Standard uncertainty (Hz) that the last digit leaves: resolution / sqrt(12)."""
        return self.resolution / math.sqrt(12.0)


def checked(
    time: Sequence[float] | Array,
    frequency: Sequence[float] | Array,
    mains: Sequence[float] | Array | None = None,
    temperature: Sequence[float] | Array | None = None,
    *,
    resolution: float | None = None,
) -> Log:
    """The log, or CannotFit with the reason.

    Times (s) must not go back, for a time out of order is a slip of the pen that only the person can put
    right; two readings at one time are allowed. `mains` (V) and `temperature` (degC) may hold NaN where
    nothing was read. `resolution` (Hz) is taken from the readings if it is not given.
    """
    seconds, hertz = _numbers(time, "time"), _numbers(frequency, "frequency")
    if len(seconds) != len(hertz):
        raise CannotFit(f"{len(seconds)} times and {len(hertz)} frequencies do not go together")
    if len(seconds) < FEWEST:
        raise CannotFit(f"{len(seconds)} readings are too few: {FEWEST} are the least, a dozen are better")
    if len(seconds) > MOST:
        raise CannotFit(f"{len(seconds)} readings are more than {MOST}: keep one of several")
    _refuse(~np.isfinite(seconds) | (np.abs(seconds) > LARGEST), "time", "is no usable number")
    _refuse(~np.isfinite(hertz) | (hertz > LARGEST), "frequency", "is no usable number")
    _refuse(hertz <= 0.0, "frequency", "is not above zero")
    _refuse(np.diff(seconds, prepend=seconds[0]) < 0.0, "time", "is earlier than the one before it")
    if seconds[-1] <= seconds[0]:
        raise CannotFit("all readings stand at one time")
    if resolution is not None and not 0.0 < resolution <= LARGEST:
        raise CannotFit("the resolution must be above zero")
    volts, without_volts = _beside(mains, seconds, "line voltage")
    degrees, without_degrees = _beside(temperature, seconds, "temperature")
    if volts is not None:
        _refuse(volts <= 0.0, "line voltage", "is not above zero")
        usual = float(np.median(volts))
        _refuse(
            np.abs(np.log(volts / usual)) > math.log(ODD_VOLTS), "line voltage", f"is far from {usual:g} V"
        )
    return Log(
        time=seconds - seconds[0],
        frequency=hertz,
        mains=volts,
        temperature=degrees,
        filled=without_volts + without_degrees,
        resolution=resolution or last_digit(hertz),
    )


def last_digit(hertz: Array) -> float:
    """The power of ten (Hz) that all differences between the readings are multiples of."""
    differences = np.abs(hertz - hertz[0])
    largest = float(differences.max())
    if largest == 0.0:
        return RESTING
    rounding = 4.0 * float(np.spacing(hertz.max()))
    # rounding may leave a difference of one digit just below it
    step = min(COARSEST, 10.0 ** math.floor(math.log10(largest + rounding)))
    while step > 1e-6 * largest and step > 10.0 * rounding:
        if np.all(np.abs(differences - step * np.round(differences / step)) <= rounding):
            return step
        step /= 10.0
    return max(rounding, 1e-9 * largest)


def _numbers(values: Sequence[float] | Array, what: str) -> Array:
    try:
        numbers = np.array(values, dtype=np.float64)
    except (TypeError, ValueError, OverflowError) as error:
        raise CannotFit(f"the column of {what} holds something that is no number") from error
    if numbers.ndim != 1:
        raise CannotFit(f"the column of {what} is not one row of numbers")
    return numbers


def _refuse(bad: NDArray[np.bool_], what: str, why: str) -> None:
    if bad.any():
        raise CannotFit(f"the {what} of reading {int(np.argmax(bad)) + 1} {why}")


def _beside(values: Sequence[float] | Array | None, seconds: Array, what: str) -> tuple[Array | None, int]:
    """A column read beside the frequency, its gaps filled from the neighbours in time; None if it is empty."""
    if values is None or len(values) == 0:
        return None, 0
    numbers = _numbers(values, what)
    if len(numbers) != len(seconds):
        raise CannotFit(f"{len(numbers)} figures of {what} do not go with {len(seconds)} readings")
    known = ~np.isnan(numbers)
    if not known.any():
        return None, 0
    _refuse(known & ~(np.abs(numbers) <= LARGEST), what, "is no usable number")
    return np.interp(seconds, seconds[known], numbers[known]), int(np.sum(~known))
