"""Diagnoses written by hand, so that screens are tested without an engine."""

from __future__ import annotations

from dataclasses import replace

from diagnose.explanation.account import Account, ChainStep, Contribution
from diagnose.model.case import Case, Observation, Work
from diagnose.model.knowledge import Remedy
from diagnose.model.result import (
    FAULT,
    STOP,
    Advice,
    Conflict,
    DerivedFigure,
    Diagnosis,
    Explanation,
    Finding,
    Flag,
    NextCheck,
    Outcome,
    Path,
    RankedCause,
    RankedPart,
    StandingOrder,
    Verdict,
    Withheld,
)
from diagnose.problems import ERROR, Place, Problem
from diagnose.render.words import Words

WORDS = Words(
    stages={"hv": "high-voltage supply", "driver": "driver", "final": "final amplifier"},
    indications={"hv.voltage": "supply voltage under load"},
    states={("driver.drive_over_bands", "above_one"): "low above one multiplier"},
    parts={"hv.rectifier_tube": "rectifier tube"},
    modes={"hv.rectifier_tube.weak": "weak (low emission)"},
    safety={
        "bleeder_proven": "bleeder measured good and the high voltage seen to fall",
        "fused": "right fuse in the hot side of the primary",
    },
)


def cause(
    stage: str, part: str, mode: str, title: str, how: str, blame: float, probability: float, **more: object
) -> RankedCause:
    """A ranked cause with a remedy of its own."""
    return RankedCause(
        id=f"{stage}.{part}.{mode}",
        part=f"{stage}.{part}",
        title=f"{title}: {how}",
        part_title=title,
        mode_title=how,
        stage=stage,
        stage_title=WORDS.stages[stage],
        probability=probability,
        blame=blame,
        prior=0.012,
        remedy=Remedy(
            f"replace the {title}",
            35,
            0.95,
            f"one {title}",
            ("driver.output",),
            ("drive wants setting again",),
        ),
        **more,  # type: ignore[arg-type]  # flags of the dataclass
    )


def part(*causes: RankedCause, title: str = "", unnamed: bool = False) -> RankedPart:
    """The part of some causes."""
    first = causes[0]
    return RankedPart(
        id=first.part,
        title=title or first.part_title,
        stage=first.stage,
        stage_title=first.stage_title,
        probability=sum(c.probability for c in causes),
        blame=sum(c.blame for c in causes),
        causes=causes,
        unnamed=unnamed,
    )


POT_WORN = cause("driver", "drive_control", "worn", "drive control", "worn track", 0.512, 0.53, local=True)
POT_OPEN = cause("driver", "drive_control", "open", "drive control", "open at one end", 0.306, 0.31)
TUBE_WEAK = cause("driver", "tube", "weak", "driver tube", "low emission", 0.091, 0.12)
SCREEN = cause(
    "final", "screen_dropper", "high", "screen dropping resistor", "drifted high", 0.004, 0.61, first_aid=True
)
SOMETHING = RankedCause(
    "driver.unnamed.present",
    "driver.unnamed",
    "something else in the driver",
    "something else in the driver",
    "a fault that is not in this book",
    "driver",
    "driver",
    0.031,
    0.029,
    0.004,
    None,
    unnamed=True,
)


def finding(
    observation: Observation, title: str, state: str, likelihood: dict[str, float], **more: object
) -> Finding:
    """A counted finding."""
    return Finding(
        observation=observation,
        name=observation.name,
        title=title,
        states=tuple(likelihood),
        likelihood=tuple(likelihood.values()),
        state=state,
        abnormal=more.pop("abnormal", False),  # type: ignore[arg-type]
        counted=more.pop("counted", True),  # type: ignore[arg-type]
        **more,  # type: ignore[arg-type]
    )


FINDINGS = (
    finding(
        Observation("hv.voltage", value=585.0, as_written="585 V", mode="cw"),
        "supply voltage under load",
        "normal",
        {"absent": 0.0, "low": 0.021, "normal": 1.0, "high": 0.0004},
        unit="V",
        expected=600.0,
        at_chart=595.3,
        limits=(540.0, 660.0),
        notes=("read at 115 V of mains, chart at 117 V",),
    ),
    finding(
        Observation("driver.drive_over_bands", state="above_one"),
        "drive over the bands",
        "above_one",
        {"normal": 0.01, "one_band": 0.01, "above_one": 1.0},
        abnormal=True,
    ),
    finding(
        Observation("final.grid_current", value=1.1, as_written="1.1 mils", band="40m"),
        "final grid current",
        "low",
        {"absent": 0.0, "low": 1.0, "normal": 0.0},
        abnormal=True,
        unit="mA",
        expected=3.0,
        at_chart=1.1,
        limits=(2.4, 3.6),
    ),
    finding(
        Observation("hv.ripple", value=2.0),
        "ripple on the supply",
        "normal",
        {"normal": 1.0, "high": 0.0},
        unit="percent",
        limits=(0.0, 3.0),
    ),
    finding(
        Observation("final.hum", state="no"),
        "hum on the carrier",
        "no",
        {"no": 1.0, "yes": 0.01},
        counted=False,
        notes=("not counted: cannot be judged: radio-frequency power delivered is absent",),
    ),
)

READ_POT = NextCheck(
    check="driver.measure_drive_control",
    title="measure the drive control over its travel",
    how="Unsolder the wiper. Read it to either end while you turn the shaft slowly through its whole travel.",
    instrument="ohmmeter, power off",
    good="a smooth run from end to end, without a jump",
    minutes=6,
    setup_minutes=9,
    setup_changes=("power off, plug out, discharged", "chassis on its side or turned over"),
    minutes_saved=31.4,
    gain_bits=0.83,
    hazard="",
    separates=("driver.drive_control", "driver.tube"),
    cautions=("Pull the plug, wait for the bleeder, then discharge every filter capacitor.",),
    outcomes=(
        Outcome(
            (("driver.pot_jumps", "yes"),),
            "the wiper jumps: yes",
            0.55,
            "driver.drive_control",
            "drive control",
            0.97,
        ),
        Outcome(
            (("driver.pot_jumps", "no"),), "the wiper jumps: no", 0.45, "driver.tube", "driver tube", 0.48
        ),
    ),
)
READ_ENDS = replace(
    READ_POT,
    check="driver.measure_end_resistor",
    title="measure the resistor below the drive control",
    setup_minutes=0.0,
    setup_changes=(),
    minutes_saved=4.0,
    gain_bits=0.05,
    separates=("driver.drive_control",),
    outcomes=(),
)
SWAP = replace(
    READ_POT,
    check="driver.swap_tube",
    title="put in a known good driver tube",
    setup_changes=("covers off",),
    setup_minutes=5.0,
    cautions=("With the covers off the interlock is your only guard.",),
    swap_warning="screen dropper shorted: it would ruin the good tube as well",
)

CASE = Case(
    "weak_on_forty",
    "gannet_60",
    about="Half the usual output on 40 m and above since the VFO cover was lifted.",
    safety=("fused",),
    inspected={"hv.rectifier_tube": "weak"},
    work=(Work("new filter capacitors"),),
)

FAULTY = Diagnosis(
    case=CASE,
    unproven=("bleeder_proven",),
    rig_title="Gannet 60, 60 W CW and phone transmitter with VFO",
    verdict=Verdict(FAULT, "The drive control (driver; worn track) is the probable cause."),
    exact=True,
    stop_orders=(),
    findings=FINDINGS,
    parts=(part(POT_WORN, POT_OPEN), part(TUBE_WEAK), part(SOMETHING, unnamed=True), part(SCREEN)),
    causes=(POT_WORN, POT_OPEN, TUBE_WEAK, SOMETHING, SCREEN),
    also_due=(SCREEN,),
    explanations=(
        Explanation(("driver.drive_control",), ("driver.drive_control.worn",), 0.74),
        Explanation(
            ("driver.drive_control", "driver.tube"), ("driver.drive_control.worn", "driver.tube.weak"), 0.004
        ),
    ),
    unexplained=0.031,
    unexplained_stages=(("driver", 0.029),),
    conflict=Conflict(0.41, "final.grid_current"),
    log10_evidence=-3.27,
    advice=Advice(
        next=(READ_POT, READ_ENDS, SWAP),
        withheld=(
            Withheld(
                "final.read_plate_voltage", "read the plate voltage", "not yet proven on this bench: bleeder"
            ),
            Withheld(
                "final.read_screen_voltage",
                "read the screen voltage",
                "not yet proven on this bench: bleeder",
            ),
        ),
        minutes_expected=68.0,
        first_aid=(SCREEN,),
    ),
    local_rules=("driver/worn-drive-control",),
    messages=(
        Problem(
            Place("cases/weak_on_forty.yaml", 14, 3),
            ERROR,
            "unknown-name",
            "`final.grid_curent` is no reading of this rig",
            "did you mean `final.grid_current`?",
        ),
    ),
)

STOPPED = replace(
    FAULTY,
    verdict=Verdict(STOP, "Remove power now. The orders below come before any diagnosis."),
    stop_orders=(
        StandingOrder(
            "hv.discharge_slow",
            "Hands out. Pull the plug, wait, and discharge every capacitor with the earthing stick.",
            ("voltage stays after switch-off: yes",),
        ),
    ),
    advice=Advice(),
)

ACCOUNT = Account(
    cause=POT_WORN,
    prior=0.012,
    prior_because="because of the history: years in storage, at least 20",
    chain=(
        ChainStep(
            "drive control",
            "worn track",
            "driver: driver output",
            "low",
            0.85,
            "driver/worn-drive-control",
            "a worn track leaves the screen of the driver at a fraction of its voltage",
            "common practice",
            Place("rules/stages/driver.yaml", 210, 3),
            True,
        ),
    ),
    evidence=(
        Contribution(
            "final.grid_current",
            "final amplifier: final grid current",
            "low",
            3.94,
            ("driver/worn-drive-control",),
        ),
        Contribution("hv.voltage", "high-voltage supply: supply voltage under load", "normal", -0.02, ()),
    ),
    residual=0.15,
    would_change=("measure the drive control: if it runs smoothly, the driver tube leads with 48 of 100",),
    contrast="The driver tube stands lower chiefly because it is the rarer fault.",
)

# 300 V behind 50 kohm: 200 V on a meter of 100 kohm, all of it at 130 V of mains instead of 117 V.
LOADED_NOTES = (
    "300 V without the load of the old test set",
    "read at 130 V of mains: 270 V at the chart's 117 V",
)
LOADED = finding(
    Observation("final.screen_voltage", value=200.0, as_written="200 V", meter="old_set"),
    "screen voltage",
    "high",
    {"normal": 0.2, "low": 0.0004, "high": 1.0},
    abnormal=True,
    unit="V",
    expected=240.0,
    at_chart=270.0,
    limits=(220.0, 260.0),
    notes=(*LOADED_NOTES, "told by owner"),
    read_with=(("old_set.shows", 1.0), ("line_meter.shows", -1.0)),
    path=Path(
        as_read=200.0,
        corrected=300.0,
        at_chart=270.0,
        meter="old test set",
        meter_ohms=100e3,
        source_ohms=50e3,
        mains=130.0,
        chart_mains=117.0,
        follows=1.0,
        expected=240.0,
        expected_raw=210.0,
        expected_by="the chart",
        budget=(("reading it", 0.01), ("accuracy of the old test set", 0.04), ("load of the meter", 0.03)),
        spread=0.051,
        notes=LOADED_NOTES,
    ),
)

INPUT = DerivedFigure(
    id="final.plate_input",
    title="plate input",
    stage="final",
    unit="W",
    value=87.04,
    standard=3.72,
    mode="cw",
    budget=(("reading hv.voltage", 3.0), ("accuracy of the panel meter", -2.2), ("screen current", 0.04)),
    shown="595 V x (160 mA - 14 mA) = 87.04 W",
    inputs=("hv.voltage", "final.plate_current"),
    gives="final.input_power",
    source="common practice",
)
NO_EFFICIENCY = DerivedFigure(
    id="final.efficiency",
    title="efficiency",
    stage="final",
    unit="percent",
    notes=("the output over hv.voltage has no value",),
)
REGULATION = DerivedFigure(id="hv.regulation", title="regulation", stage="hv", unit="percent", value=9.0)

HOT = Flag(
    name="final.plate_dissipation",
    title="heat in the plate",
    value=31.2,
    unit="W",
    limit=25.0,
    limit_title="the plate dissipation of the 6146",
    side="most",
    chance=0.995,
    near=False,
    text="the plate glows and the tube goes soft",
    source="from memory",
    band="40m",
)
LINE = Flag(
    name="mains",
    title="line voltage",
    value=107.0,
    unit="V",
    limit=107.64,
    limit_title="8 % below the 117 V that this set is made for",
    side="least",
    chance=0.31,
    near=True,
)

MEASURED = replace(
    FAULTY,
    findings=(*FINDINGS, LOADED),
    derived=(INPUT, REGULATION, NO_EFFICIENCY),
    flags=(LINE, HOT),
    left_out=3e-8,
)
