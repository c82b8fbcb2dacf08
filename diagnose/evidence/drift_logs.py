"""Drift logs of a case: the fit at the oscillator and at the output, and the readings that it amounts to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from diagnose.evidence.amounts import as_told
from diagnose.evidence.references import multiplication
from diagnose.model.assembly import Assembly
from diagnose.model.case import Case, Drift, Observation
from diagnose.model.result import DerivedFigure
from diagnose.series.drift import CannotFit, DriftFit, Figure, fit_drift
from diagnose.units import factor

# What a fit gives: words for the person, and its unit.
FIGURES: Final[Mapping[str, tuple[str, str]]] = {
    "warm_up": ("warm-up drift", "Hz"),
    "time_constant": ("time constant of the warm-up", "s"),
    "residual": ("residual drift in an hour", "Hz/h"),
    "jump_number": ("number of jumps", ""),
    "largest_jump": ("largest jump", "Hz"),
    "per_volt": ("drift with each volt of the line", "Hz/V"),
    "per_degree": ("drift with each degree", "Hz/K"),
}
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
    if not drift.at_output:
        return Fitted(drift, fit, output, fit.cannot_tell)
    if output is None:
        said = "it was taken at the output, and the multiplication on its band is not known"
        return Fitted(drift, None, None, (said,))
    return Fitted(drift, fit.at_output(1.0 / output), output, fit.cannot_tell)


@lru_cache(maxsize=16)
def _fit(
    times: tuple[float, ...],
    frequencies: tuple[float, ...],
    mains: tuple[float, ...],
    temperatures: tuple[float, ...],
) -> DriftFit:
    return fit_drift(times, frequencies, mains or None, temperatures or None)


def _figures(fit: DriftFit) -> dict[str, Figure | None]:
    """The figures of a fit by the names that rule files use."""
    return {
        "warm_up": fit.warm_up,
        "time_constant": fit.time_constant,
        "residual": fit.residual,
        "jump_number": Figure(float(fit.jump_number), 0.0),
        "largest_jump": fit.largest_jump,
        "per_volt": fit.per_volt,
        "per_degree": fit.per_degree,
    }


def _shown(log: Fitted) -> Iterator[DerivedFigure]:
    if log.fit is None:
        yield DerivedFigure(
            id=f"{log.drift.stage}.{_NAME}",
            title="drift log",
            stage=log.drift.stage,
            unit="",
            band=log.drift.band,
            notes=log.notes,
        )
        return
    places = [("oscillator", "", log.fit)]
    if log.output is not None and log.output != 1.0:
        places.append(("output", ".output", log.fit.at_output(log.output)))
    for place, suffix, fit in places:
        for name, figure in _figures(fit).items():
            title, unit = FIGURES[name]
            if figure is not None:
                yield DerivedFigure(
                    id=f"{log.drift.stage}.{_NAME}.{name}{suffix}",
                    title=f"{title}, at the {place}",
                    stage=log.drift.stage,
                    unit=unit,
                    value=figure.value,
                    standard=figure.uncertainty,
                    band=log.drift.band,
                    shown=_taken(log),
                    notes=log.notes if place == "oscillator" else (),
                )


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
        within=within,
        band=log.drift.band,
        made_of=(f"{log.drift.stage}.{_NAME}",),
        made_by=_taken(log),
        place=log.drift.place,
    )


def _scale(unit: str, wanted: str) -> float | None:
    """One of a figure's unit in that of a quantity, whose title may say the hour, volt or degree instead."""
    if unit == wanted:
        return 1.0
    mine, theirs = factor(unit.partition("/")[0]), factor(wanted)
    if mine[0] != theirs[0]:
        mine = factor(unit)
    return mine[1] / theirs[1] if mine[0] == theirs[0] else None
