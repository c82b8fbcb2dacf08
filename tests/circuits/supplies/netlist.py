"""The netlist of a supply: every winding, rectifier, choke and capacitor as it stands in the cabinet.

Nothing is shared with the method that is to be checked: both halves of a winding are there, all the rectifiers
of a bridge, both capacitors of a doubler, and a transformer that is known by its resistances has its primary.
Vacuum rectifiers are current sources after the three-halves power law; mercury vapour is 13 V and a few ohms;
a plate of selenium follows the square of what is beyond half a volt; silicon is the simulator's own diode. An
input choke has 500 pF and 300 kilohms of iron loss, as large ones have.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

STEP = 2e-5  # s, the longest that the simulator may take
WINDOW = 0.2  # s, whole cycles at 50 and at 60 Hz
SECONDS = 3.0

SILICON = ".model rect d(is=2.5n n=1.75 rs=0.04 cjo=20p)"  # 0.9 V at 1 A


@dataclass
class Netlist:
    """A netlist being written."""

    given: Mapping[str, Any]
    lines: list[str] = field(default_factory=list)

    def add(self, *lines: str) -> None:
        self.lines.extend(lines)

    def rectifier(self, name: str, plate: str, cathode: str) -> None:
        """One leg, from plate to cathode."""
        given = self.given
        series, parallel = given.get("in_series", 1), given.get("in_parallel", 1)
        amps, drop = given.get("drop_current", 0.0), given.get("drop_volts", 0.0)
        across = f"v({plate},{cathode})"
        match given["rectifier"]:
            case "vacuum":
                law = f"{parallel * amps / drop**1.5:.9g}*pow(max({across},0),1.5)"
            case "mercury_vapour":
                law = f"{amps / (drop - 13.0):.9g}*max({across}-13,0)"
            case "selenium":
                law = f"{amps:.9g}*pow(max({across}/{series}-0.5,0)/{drop - 0.5:.9g},2)"
            case _:
                nodes = [plate, *(f"{name}_{k}" for k in range(1, series)), cathode]
                for k, (above, below) in enumerate(itertools.pairwise(nodes), start=1):
                    self.add(f"d{name}{k} {above} {below} rect")
                    if series > 1:  # the usual parts that make the diodes of a string share the reverse volts
                        self.add(f"r{name}{k} {above} {below} 470k", f"c{name}{k} {above} {below} 1n")
                return
        self.add(f"b{name} {plate} {cathode} i={law}")

    def winding(self, name: str, start: str, end: str, sign: int = 1) -> None:
        """A winding from `end` to `start` behind its resistance, with a meter `vs_name` in it."""
        given = self.given
        peak = sign * math.sqrt(2.0) * given["winding_volts"]
        if "secondary_ohms" in given:
            ratio = sign * given["winding_volts"] / given["primary_volts"]
            self.add(
                f"e_{name} {name}0 {end} prim 0 {ratio:.9g}",
                f"f_{name} prim 0 vs_{name} {ratio:.9g}",
            )
            ohms = given["secondary_ohms"]
        else:
            self.add(f"v_{name} {name}0 {end} sin(0 {peak:.9g} {given['mains_frequency']})")
            ohms = given.get("source_ohms") or self.by_regulation()
        self.add(f"r_{name} {name}0 {name}1 {ohms:.9g}", f"vs_{name} {name}1 {start} 0")

    def by_regulation(self) -> float:
        """Ohms that take off that share of the volts at the rated current."""
        given = self.given
        return float(given["regulation"] * given["winding_volts"] / given["rated_current"])

    def primary(self) -> None:
        """The mains and the resistance of the primary, where the transformer is known by its resistances."""
        given = self.given
        if "secondary_ohms" in given:
            peak = math.sqrt(2.0) * given["primary_volts"]
            self.add(
                f"v_mains line 0 sin(0 {peak:.9g} {given['mains_frequency']})",
                f"r_primary line prim {given['primary_ohms']}",
            )

    def source(self) -> None:
        """Windings and rectifiers, with the rectified output at node k and the return at ground."""
        self.primary()
        match self.given["circuit"]:
            case "centre_tap":
                self.winding("a", "pa", "0")
                self.winding("b", "pb", "0", sign=-1)
                self.rectifier("ra", "pa", "k")
                self.rectifier("rb", "pb", "k")
            case "bridge":
                self.winding("a", "pa", "pb")
                self.add("r_leak pb 0 1e8")
                for name, plate, cathode in (
                    ("ra", "pa", "k"),
                    ("rb", "pb", "k"),
                    ("rc", "0", "pa"),
                    ("rd", "0", "pb"),
                ):
                    self.rectifier(name, plate, cathode)
            case "half_wave":
                self.winding("a", "pa", "0")
                self.rectifier("ra", "pa", "k")
            case "doubler":
                self.winding("a", "pa", "mid")
                self.rectifier("ra", "pa", "k")
                self.rectifier("rb", "0", "pa")

    def smoothing(self, start: float) -> str:
        """The filter from node k, its capacitors charged to `start` volts; gives the output node."""
        given, node = self.given, "k"
        if given["filter"] == "choke_input":
            self.add(f"l_in k l1 {given['choke_inductance']} ic=0", f"r_in l1 c1 {given['choke_ohms']}")
            # A choke has strays. Without them nothing would hold node k while all the rectifiers are off.
            self.add("r_iron k l1 300k", "c_stray k 0 500p")
            node = "c1"
        farads = given["capacitance"]
        if given["circuit"] == "doubler":
            self.add(
                f"c_1 {node} mid {farads:.9g} ic={start / 2:.9g}",
                f"c_2 mid 0 {farads:.9g} ic={start / 2:.9g}",
            )
        else:
            self.add(f"c_1 {node} 0 {farads:.9g} ic={start:.9g}")
        if "section_capacitance" in given:
            henries = given.get("section_inductance", 0)
            ahead = node if not henries else "l2"
            if henries:
                self.add(f"l_section {node} l2 {henries} ic=0")
            self.add(f"r_section {ahead} c2 {given['section_ohms']}")
            self.add(f"c_section c2 0 {given['section_capacitance']:.9g} ic={start:.9g}")
            node = "c2"
        return node


def netlist_of(name: str, supply: Mapping[str, Any], loaded: bool) -> str:
    """The netlist of a supply with its load, or with its bleeder only, and the orders to measure it.

    The simulator prints lines `RESULT name number`: direct volts in the last window and in the one before it,
    ripple volts (rms), and the peak current of one winding, which is that of one leg.
    """
    given = dict(supply["given"])
    if not loaded:
        given["load_current"] = 0.0
        given["choke_inductance"] = given.get("choke_inductance_unloaded", given.get("choke_inductance"))
    text = Netlist(given)
    text.add(f"{supply['title']}, {'with its load' if loaded else 'with its bleeder only'} ({name})")
    text.source()
    out = text.smoothing(supply["start"][0 if loaded else 1])
    text.add(f"r_bleeder {out} 0 {given['bleeder_ohms']}")
    if given["load_current"]:
        # A steady current, except that nothing is drawn from a supply that is not up.
        text.add(f"b_load {out} 0 i={given['load_current']}*max(0,min(1,v({out})/10))")
    if given["rectifier"] == "silicon":
        text.add(SILICON)
    end = supply.get("seconds", SECONDS)
    before, last = f"{end - 2 * WINDOW:.9g}", f"{end - WINDOW:.9g}"
    text.add(
        ".options reltol=1e-4 abstol=1e-8 vntol=1e-5",
        ".control",
        "set numdgt=9",
        f"tran {STEP:g} {end:g} {before} {STEP:g} uic",
        f"meas tran before avg v({out}) from={before} to={last}",
        f"meas tran dc avg v({out}) from={last} to={end:g}",
        f"let wave = v({out}) - dc",
        f"meas tran ripple rms wave from={last} to={end:g}",
        f"meas tran peak max i(vs_a) from={last} to={end:g}",
        "echo RESULT before $&before",
        "echo RESULT dc $&dc",
        "echo RESULT ripple $&ripple",
        "echo RESULT peak $&peak",
        ".endc",
        ".end",
    )
    return "\n".join(text.lines) + "\n"
