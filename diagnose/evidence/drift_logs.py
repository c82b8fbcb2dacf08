"""Drift logs of a case: the fit at the oscillator and at the output, and the readings that it amounts to."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from diagnose.evidence.amounts import as_told
from diagnose.evidence.references import multiplication
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Drift, Observation
from diagnose.model.result import DerivedFigure
from diagnose.series.drift import CannotFit, DriftFit, Figure, Jump, fit_drift
from diagnose.units import factor

MOST_TOLD = 6  # jumps or misread readings that are named

# What a fit gives: words for the person, and its unit.
FIGURES: Final[Mapping[str, tuple[str, str]]] = {
    "warm_up": ("warm-up drift", "Hz"),
    "time_constant": ("time constant of the warm-up", "min"),
    "residual": ("residual drift in an hour", "Hz/h"),
    "jump_number": ("number of jumps", ""),
    "jump_size": ("largest jump", "Hz"),
    "per_volt": ("drift with each volt of the line", "Hz/V"),
    "mains_share": ("correlation with the line voltage", ""),
    "per_degree": ("drift with each degree", "Hz/K"),
}
_IN_PARTS: Final = ("warm_up", "residual")  # also shown as parts of the frequency
_NAME: Final = "drift_log"


@dataclass(frozen=True)
class Fitted:
    """A drift log and its fit at the oscillator; `output` is the frequency of the output over the oscillator's.

    `fit` is None where there is none, or where it cannot be brought to the oscillator: `notes` say why.
    """

    drift: Drift
    fit: DriftFit | None
    output: float | None
    notes: tuple[str, ...] = ()


def fitted(assembly: Assembly, case: Case) -> tuple[Fitted, ...]:
    """The drift logs of a case, fitted."""
    return tuple(_fitted(assembly, case, drift) for drift in case.drift)


def drift_figures(logs: Sequence[Fitted]) -> tuple[DerivedFigure, ...]:
    """What is to be shown of the logs: every figure at the oscillator, and again at the output."""
    return tuple(figure for log in logs for figure in _shown(log))


def drift_readings(assembly: Assembly, logs: Sequence[Fitted]) -> Iterator[Observation]:
    """Readings of the quantities that the kind of stage names, at the oscillator."""
    for log in logs:
        stage = assembly.rig.stages.get(log.drift.stage)
        kind = assembly.book.kinds[stage.kind] if stage is not None else None
        if kind is None or kind.drift_log is None or log.fit is None:
            continue
        for name, quantity in kind.drift_log.gives.items():
            placed = assembly.indications.get(f"{log.drift.stage}.{quantity}")
            figure = _figures(log.fit).get(name)
            scale = _scale(FIGURES[name][1], placed.indication.unit) if placed and name in FIGURES else None
            if placed is not None and figure is not None and scale is not None:
                yield _reading(placed.id, figure.times(scale), log)


def _fitted(assembly: Assembly, case: Case, drift: Drift) -> Fitted:
    stage = assembly.rig.stages.get(drift.stage)
    log = assembly.book.kinds[stage.kind].drift_log if stage is not None else None
    multiplied = log is None or log.multiplied
    output = multiplication(assembly, drift.band or case.band) if multiplied else 1.0
    try:
        fit = _fit(drift.times, drift.frequencies, drift.mains, drift.temperatures)
    except CannotFit as error:
        return Fitted(drift, None, output, (str(error),))
    notes = (*_left_out(drift, fit), *fit.cannot_tell)
    if not drift.at_output:
        return Fitted(drift, fit, output, notes)
    if output is None:
        said = "it was taken at the output, and the multiplication on its band is not known"
        return Fitted(drift, None, None, (said,))
    if output != 1.0:
        notes = (f"it was taken at the output: divided by {output:g} for the oscillator", *notes)
    return Fitted(drift, fit.at_output(1.0 / output), output, notes)


@lru_cache(maxsize=16)
def _fit(
    times: tuple[float, ...],
    frequencies: tuple[float, ...],
    mains: tuple[float, ...],
    temperatures: tuple[float, ...],
) -> DriftFit:
    return fit_drift(times, frequencies, mains or None, temperatures or None)


def _left_out(drift: Drift, fit: DriftFit) -> Iterator[str]:
    """The readings that the fit takes for misread."""
    for number in fit.misread[:MOST_TOLD]:
        kilohertz, minute = drift.frequencies[number] / 1e3, (drift.times[number]) / 60.0
        yield f"{kilohertz:.3f} kHz at minute {minute:.0f} stands alone and is left out as misread"
    more = len(fit.misread) - MOST_TOLD
    if more > 0:
        yield f"{more} more readings stand alone and are left out as misread"


def _figures(fit: DriftFit) -> dict[str, Figure | None]:
    """The figures of a fit by the names that rule files use."""
    return {
        "warm_up": fit.warm_up,
        "time_constant": fit.time_constant.times(1.0 / 60.0) if fit.time_constant is not None else None,
        "residual": fit.residual,
        "jump_number": Figure(float(fit.jump_number), 0.0) if fit.largest_jump is not None else None,
        "jump_size": fit.largest_jump,
        "per_volt": fit.per_volt,
        "mains_share": Figure(fit.mains.coefficient, 0.0) if fit.mains is not None else None,
        "per_degree": fit.per_degree,
    }


def _shown(log: Fitted) -> Iterator[DerivedFigure]:
    if log.fit is None:
        yield _row(log, "", "drift log", None, "")
        return
    notes = _notes(log.fit)
    for name, figure in _figures(log.fit).items():
        title, unit = FIGURES[name]
        if figure is not None:
            where = (
                ", at the oscillator" if unit.startswith("Hz") else ""
            )  # the others are the same at the output
            yield _row(log, f".{name}", f"{title}{where}", figure, unit, notes.get(name, ()))
    for name in _IN_PARTS:
        parts = log.fit.ppm(_figures(log.fit)[name] or Figure(0.0, 0.0))
        title, unit = FIGURES[name]
        yield _row(log, f".{name}.ppm", f"{title}, of its frequency", parts, unit.replace("Hz", "ppm"))
    if log.output is not None and log.output != 1.0:
        at_output = _figures(log.fit.at_output(log.output))
        for name, (title, unit) in FIGURES.items():
            figure = at_output[name]
            if figure is not None and unit.startswith("Hz"):
                yield _row(log, f".{name}.output", f"{title}, at the output", figure, unit)


def _row(
    log: Fitted, name: str, title: str, figure: Figure | None, unit: str, notes: tuple[str, ...] = ()
) -> DerivedFigure:
    """One figure to be shown; the first one says how the log was taken, and what cannot be told from it."""
    first = name in ("", f".{next(iter(FIGURES))}")
    return DerivedFigure(
        id=f"{log.drift.stage}.{_NAME}{name}",
        title=title,
        stage=log.drift.stage,
        unit=unit,
        value=figure.value if figure is not None else None,
        standard=figure.uncertainty if figure is not None else 0.0,
        band=log.drift.band,
        shown=_taken(log) if first else "",
        notes=(*notes, *log.notes) if first else notes,
    )


def _notes(fit: DriftFit) -> dict[str, tuple[str, ...]]:
    """What is to be said beside single figures."""
    jumps = [_jump(jump) for jump in fit.jumps[:MOST_TOLD]]
    if len(fit.jumps) > MOST_TOLD:
        jumps.append(f"and {len(fit.jumps) - MOST_TOLD} more")
    least = fit.largest_jump
    none = (
        f"none that is larger than {_rounded(2.0 * least.uncertainty, 2)} Hz" if least and not jumps else ""
    )
    chance = f"scatter alone shows as much in {_share(fit.mains.chance)}" if fit.mains is not None else ""
    told = {"jump_number": (*jumps, *([none] if none else [])), "mains_share": (chance,) if chance else ()}
    return {name: notes for name, notes in told.items() if notes}


def _jump(jump: Jump) -> str:
    size, within = jump.size.value, jump.size.uncertainty
    return f"{size:+.0f} Hz, give or take {_rounded(within, 1)}, at minute {jump.time / 60.0:.0f}"


def _rounded(value: float, figures: int) -> str:
    """A number to so many significant figures, without an exponent."""
    return f"{float(f'{value:.{figures}g}'):.12g}"


def _share(chance: float) -> str:
    return f"{100.0 * chance:.0f} of 100 logs" if chance >= 0.01 else "fewer than 1 of 100 logs"


def _taken(log: Fitted) -> str:
    """How the log was taken, in words."""
    if log.fit is None:
        return ""
    of = f" of {log.drift.file}" if log.drift.file else ""
    return f"fitted to {log.fit.readings} readings{of} over {log.fit.span / 60.0:.0f} minutes"


def _reading(name: str, figure: Figure, log: Fitted) -> Observation:
    """A figure of the fit as a reading of its size: which way it goes is not asked."""
    value, within = as_told(abs(figure.value), figure.uncertainty)
    return Observation(
        name,
        value=value,
        as_written="" if figure.value else "none found",
        within=within,
        band=log.drift.band,
        mains=_line(log.drift),
        made_of=(f"{log.drift.stage}.{_NAME}",),
        made_by=_taken(log),
        place=log.drift.place,
    )


def _line(drift: Drift) -> float | None:
    """The mean line voltage of a log, where it was read."""
    read = [volts for volts in drift.mains if not math.isnan(volts)]
    return math.fsum(read) / len(read) if read else None


def _scale(unit: str, wanted: str) -> float | None:
    """One of a figure's unit in that of a quantity, whose title may say the hour, volt or degree instead."""
    if unit == wanted:
        return 1.0
    mine, theirs = factor(unit.partition("/")[0]), factor(wanted)
    if mine[0] != theirs[0]:
        mine = factor(unit)
    return mine[1] / theirs[1] if mine[0] == theirs[0] else None
