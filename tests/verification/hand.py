"""Panels of the bundled samples by hand: docs/method/hand-calculations.md, and the numbers beside the run's.

    python -m tests.verification.hand

Plain Python from the formulas of the standards and statics; only what no hand calculation gives - the unit moments and
reactions of the plate, by finite elements - is taken from the run (docs/method/plate.md checks those), and held against
equilibrium and beams where these say something.
"""

from __future__ import annotations

import math
import re
import tempfile
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

import bimcheck
from bimcheck.cli import main as command
from bimcheck.explain.context import Context, find
from bimcheck.explain.quantity import UNITS, quantity
from bimcheck.result import Result
from tests.shared import ROOT

SAMPLES = ROOT / "sample_models"
PAGE = ROOT / "docs" / "method" / "hand-calculations.md"
G0, LBF, FOOT = 9.80665, 4.4482216152605, 304.8
WALL = {"A": (-1.2, -1.4), "B": (-0.8, -1.1), "C": (-0.5, -0.5)}  # EN 1991-1-4 Table 7.1: c_pe,10, c_pe,1
TOLERANCE = {"granite": 0.05, "porcelain": 0.05, "limestone": 0.05}  # share of the thickness, the invented rows
K_SPRING = 10e3  # N/mm, the default of [actions] spring_kN_mm


@dataclass(frozen=True)
class Line:
    """A step: what, formula with numbers, value by hand in the inside unit, where the run has it, and how near it must be."""

    what: str
    formula: str
    hand: float
    table: str
    column: str
    unit: str
    near: float = 1e-6
    context: Context | None = None

    @property
    def run(self) -> float:
        assert self.context is not None
        return self.context.number(self.column, self.table)

    def shown(self, value: float) -> str:
        assert self.context is not None
        return quantity(value, self.unit, self.column).shown(self.context.units) if self.unit in UNITS else f"{value:.5g} {self.unit}"


@dataclass(frozen=True)
class Case:
    """A panel with the function that calculates it."""

    title: str
    text: str
    context: Context
    steps: Callable[[Context], Iterator[Line]]

    def lines(self) -> list[Line]:
        return [line if line.context else replace(line, context=self.context) for line in self.steps(self.context)]


def run(folder: Path, model: str, changes: Mapping[str, str]) -> Result:
    """A run of a sample with the invented project file, some settings of it changed."""
    folder.mkdir(parents=True)
    command(["init", "--invented", "-o", str(folder / "p.toml")])
    text = (folder / "p.toml").read_text(encoding="utf-8")
    for key, value in changes.items():
        text = re.sub(rf"(?m)^{key} = .*$", f"{key} = {value}", text, count=1)
    (folder / "p.toml").write_text(text, encoding="utf-8")
    command(["run", str(SAMPLES / model), "-p", str(folder / "p.toml"), "-o", str(folder / "out"), "--quiet"])
    return bimcheck.load(folder / "out")


def cases(folder: Path) -> list[Case]:
    """The panels of the page: the first of each kind that passes."""
    en = run(folder / "en", "hollow_lane_midrise.ifc", {})
    us = run(folder / "us", "small_podium_metre.ifc", {"standard": '"asce7-16"', "format": '"asce-lrfd"', "units": '"us"'})
    p, c, layouts = en.tables["panels"], en.tables["candidates"], en.tables["layouts"]
    fine = (p["result"] == "pass") & (p["corners"] == 4) & (p["place"] == "field")
    sharp = np.isin(np.arange(len(fine)), c["panel"][np.isin(c["layout"], np.flatnonzero(layouts["m_corner"] > 0))]) & (p["corners"] == 6)
    return [
        Case("Four anchors", "Wind by EN 1991-1-4, combinations by EN 1990.", _first(en, fine & (p["pattern_selected"] == "2x2") & (p["zone"] == "A")), four_anchors),
        Case("Six anchors, rigid and on springs", "Reactions of three columns: equilibrium exactly, a beam for the order of size.",
             _first(en, fine & (p["pattern_selected"] == "3x2") & (p["zone"] != "A")), six_anchors),
        Case("An L with a re-entrant corner", "Area, centre of gravity and the share of the weight on either anchor; equilibrium of the reactions.", _first(en, sharp), ell),
        Case("Four anchors in US practice", "Wind by ASCE 7-16 chapter 30, LRFD, US units.", _first(us, us.tables["panels"]["n_anchors_selected"] == 4), asce),
    ]


def _first(r: Result, wanted: np.ndarray) -> Context:
    return find(r, str(r.tables["panels"]["guid"][np.flatnonzero(wanted)[0]]))


def c_pe(zone: str, area_m2: float) -> float:
    """EN 1991-1-4 Figure 7.2: c_pe,1 - (c_pe,1 - c_pe,10) log10 A between 1 and 10 m2."""
    ten, one = WALL[zone]
    return one - (one - ten) * math.log10(min(max(area_m2, 1.0), 10.0))


def wind(x: Context) -> tuple[list[Line], float, float]:
    """Suction on the panel and on the anchor in MPa: v_b 25 m/s, terrain II (z0 0.05 m), reference height = building."""
    z, zone, area = x.number("h_building") / 1e3, str(x.value("panels", "zone")), x.number("net_area") / 1e6
    v_m = 0.19 * math.log(z / 0.05) * 25.0
    I_v = 1 / math.log(z / 0.05)
    q_p = (1 + 7 * I_v) * 0.5 * 1.25 * v_m**2 / 1e6
    part = x.number("tributary", "anchors") / 1e6
    w, w_1 = q_p * c_pe(zone, area), min(q_p * c_pe(zone, part), q_p * c_pe(zone, area))
    return [
        Line("mean velocity", f"v_m = 0.19 ln({z:.3f} / 0.05) 25", v_m, "panels", "v_m_h", "m/s"),
        Line("peak pressure", f"q_p = (1 + 7 x {I_v:.4f}) 0.5 x 1.25 x {v_m:.3f}^2 Pa", q_p, "panels", "q_p_h", "MPa"),
        Line("suction", f"w = {q_p * 1e3:.4f} kPa x {c_pe(zone, area):.4f} (zone {zone}, {area:.3f} m2)", w, "panels", "w_suction", "MPa"),
        Line("suction on the anchor", f"w = {q_p * 1e3:.4f} kPa x {w_1 / q_p:.4f} ({part:.3f} m2)", w_1, "anchors", "w_anchor_suction", "MPa"),
    ], w, w_1


def weight(x: Context, area: float) -> tuple[list[Line], float, float]:
    """Weight in N with the greatest thickness, and its eccentricity in mm."""
    t, rho = x.number("thickness") * (1 + TOLERANCE[str(x.value("panels", "material"))]), x.number("density")
    W, e = rho * G0 * area * t * 1e-9, t / 2 + x.number("stand_off")
    return [Line("weight", f"W = {rho:.0f} kg/m3 x 9.80665 x {area / 1e6:.4f} m2 x {t / 1e3:.4f} m", W, "panels", "W", "N"),
            Line("eccentricity", f"e = {t:.2f} / 2 + {x.number('stand_off'):.2f} mm", e, "panels", "e_G", "mm")], W, e


def plate(x: Context, w: float, W_1: float, e: float, gamma: tuple[float, float]) -> Iterator[Line]:
    """Moment, stress and utilisation from the plate's two unit moments; gamma: on weight and wind."""
    support, field = x.number("m_support", "candidates"), x.number("m_field", "candidates")
    clip = (1 + x.number("nu")) * W_1 * e / (4 * math.pi * x.number("clip_contact") / 2)
    m = max(gamma[1] * abs(w) * support + gamma[0] * clip, gamma[1] * abs(w) * field)
    t = x.number("thickness") * (1 - TOLERANCE[str(x.value("panels", "material"))])
    sigma, f_d = 6 * m / t**2, x.number("f_k") / x.number("gamma_flex")
    yield Line("moment of the clip", f"(1 + nu) {W_1:.1f} x {e:.2f} / (4 pi {x.number('clip_contact') / 2:.0f})", clip, "candidates", "m_clip", "N")
    yield Line("moment", f"max({gamma[1]} x {abs(w) * 1e3:.4f}e-3 x {support:.0f} + {gamma[0]} x {clip:.2f}, {gamma[1]} x {abs(w) * 1e3:.4f}e-3 x {field:.0f}) N mm/mm", m, "candidates", "m_Ed", "N")
    yield Line("stress", f"6 x {m:.2f} / {t:.2f}^2 MPa", sigma, "candidates", "sigma_Ed", "MPa")
    yield Line("bending", f"{sigma:.3f} / ({x.number('f_k'):g} / {x.number('gamma_flex'):g})", sigma / f_d, "candidates", "u_bending", "1")


def strength(x: Context, N: float, V: float) -> Iterator[Line]:
    N_Rd, V_Rd = x.number("N_Rd", "anchors"), x.number("V_Rd", "anchors")
    yield Line("tension with shear", f"{N:.1f} / {N_Rd:.1f} + {V:.1f} / {V_Rd:.1f} N", N / N_Rd + V / V_Rd, "anchors", "u_interaction", "1")


def four_anchors(x: Context) -> Iterator[Line]:
    """A rectangle on four anchors, doubly symmetric: a quarter of the wind each, half the weight on either upper one."""
    area, h_v = x.number("width") * x.number("height"), x.number("y_lever", "anchors")
    by_wind, w, w_1 = wind(x)
    by_weight, W, e = weight(x, area)
    yield from (*by_wind, *by_weight)
    N_G = W / 2 * e / h_v
    N, V = 1.5 * abs(w_1) * area / 4 + 1.35 * N_G, 1.35 * W / 2
    yield Line("pull by the weight", f"N_G = {W / 2:.1f} x {e:.2f} / {h_v:.1f}", N_G, "anchors", "N_G", "N")
    yield Line("tension", f"N_Ed = 1.5 x {abs(w_1) * 1e3:.4f} kPa x {area / 4e6:.4f} m2 + 1.35 x {N_G:.2f} N", N, "anchors", "N_Ed", "N")
    yield Line("shear", f"V_Ed = 1.35 x {W:.1f} / 2", V, "anchors", "V_Ed", "N")
    yield from plate(x, w, W / 2, e, (1.35, 1.5))
    yield from strength(x, N, V)


def six_anchors(x: Context) -> Iterator[Line]:
    """Three columns of two: corner and middle anchors, rigid and on springs; a beam over three supports beside them."""
    b, h = x.number("width"), x.number("height")
    by_wind, w, _ = wind(x)
    by_weight, W, e = weight(x, b * h)
    yield from (*by_wind, *by_weight)
    of = {int(x.at(int(r)).value("anchors", "slot")): x.at(int(r)) for r in x.anchors}
    corner, middle = of[4], of[5]  # A4 to A6 from the left of the upper row, seen from the rear
    stiff, soft = (corner.number("share_min", "anchors"), middle.number("share", "anchors")), (corner.number("share", "anchors"), middle.number("share_min", "anchors"))
    yield Line("equilibrium, rigid", f"R_m = (A - 4 R_c) / 2 = ({b * h:.0f} - 4 x {stiff[0]:.0f}) / 2 mm2", (b * h - 4 * stiff[0]) / 2, "anchors", "share", "mm2", 1e-8, middle)
    yield Line("equilibrium, on springs", f"R_m = ({b * h:.0f} - 4 x {soft[0]:.0f}) / 2 mm2", (b * h - 4 * soft[0]) / 2, "anchors", "share_min", "mm2", 1e-8, middle)
    c = b - corner.number("x", "anchors")
    rigid, elastic = beam(b, h, c, x.number("E_mod") * (x.number("t_min") ** 3) / 12)
    yield Line("middle support of a beam", f"(q L + 2 (M_A - M_B) / L) / 2 of spans {b / 2 - c:.0f} mm, overhang {c:.0f} mm", rigid, "anchors", "share", "mm2", 0.06, middle)
    yield Line("the same on springs", f"k = {K_SPRING / 1e3:g} kN/mm each", elastic, "anchors", "share_min", "mm2", 0.06, middle)
    w_m = middle.number("w_anchor_suction", "anchors")
    yield Line("tension in the middle", f"N_Ed = 1.5 x {abs(w_m) * 1e3:.4f} kPa x {stiff[1] / 1e6:.4f} m2", 1.5 * abs(w_m) * stiff[1], "anchors", "N_Ed", "N", 1e-6, middle)
    h_v, w_c = corner.number("y_lever", "anchors"), corner.number("w_anchor_suction", "anchors")
    N, V = 1.5 * abs(w_c) * soft[0] + 1.35 * W / 2 * e / h_v, 1.35 * W / 2
    yield Line("tension at the corner", f"N_Ed = 1.5 x {abs(w_c) * 1e3:.4f} kPa x {soft[0] / 1e6:.4f} m2 + 1.35 x {W / 2:.1f} x {e:.2f} / {h_v:.1f}", N, "anchors", "N_Ed", "N", 1e-6, corner)
    yield from plate(x, w, W / 2, e, (1.35, 1.5))
    yield from (replace(line, context=corner) for line in strength(corner, N, V))


def beam(b: float, h: float, c: float, EI: float) -> tuple[float, float]:
    """Reaction of one of the two middle anchors per unit pressure [mm2]: a beam b long under h per length on supports c
    from its ends and in the middle, rigid (three-moment equation) and on springs (two anchors a column; EI per width)."""
    L = b / 2 - c
    M_A, M_B = -h * c**2 / 2, -h * L**2 / 8 + h * c**2 / 4
    rigid = h * L + 2 * (M_A - M_B) / L
    give, column = (2 * L) ** 3 / (48 * EI * h), 2 * K_SPRING
    elastic = (rigid * give + b * h / (2 * column)) / (give + 1 / column + 1 / (2 * column))
    return rigid / 2, elastic / 2


def ell(x: Context) -> Iterator[Line]:
    """A rectangle less a rectangle at one corner: statics alone, the reactions from the plate."""
    outline = x.result.tables["panels"]["outline"][x.rows["panels"]][:, :2]
    b, h = outline.max(axis=0).tolist()
    inner = next((px, py) for px, py in outline.tolist() if 1 < px < b - 1 and 1 < py < h - 1)
    gone = next(k for k in ((0.0, 0.0), (b, 0.0), (0.0, h), (b, h)) if not (np.abs(outline - k) < 1e-6).all(axis=1).any())
    cut = (abs(gone[0] - inner[0]), abs(gone[1] - inner[1]))
    area, minus = b * h - cut[0] * cut[1], cut[0] * cut[1]
    x_G, y_G = ((b * h * s / 2 - minus * (g + i) / 2) / area for s, g, i in zip((b, h), gone, inner, strict=True))
    yield Line("area", f"{b:.0f} x {h:.0f} - {cut[0]:.0f} x {cut[1]:.0f} mm2", area, "panels", "net_area", "mm2")
    yield Line("centre of gravity, x", f"({b * h:.0f} x {b / 2:.1f} - {minus:.0f} x {(gone[0] + inner[0]) / 2:.1f}) / {area:.0f}", x_G, "panels", "x_G", "mm")
    yield Line("centre of gravity, y", f"({b * h:.0f} x {h / 2:.1f} - {minus:.0f} x {(gone[1] + inner[1]) / 2:.1f}) / {area:.0f}", y_G, "panels", "y_G", "mm")
    by_weight, W, e = weight(x, area)
    yield from by_weight
    fixed, sliding = x.number("x_fixed", "candidates"), x.number("x_sliding", "candidates")
    for at in (x.at(int(r)) for r in x.anchors):
        if at.value("anchors", "hangs"):
            own, other = (fixed, sliding) if at.value("anchors", "role") == "fixed" else (sliding, fixed)
            V, h_v = W * abs(x_G - other) / abs(own - other), at.number("y_lever", "anchors")
            name = f"A{at.value('anchors', 'slot')} ({at.value('anchors', 'role')})"
            yield Line(f"weight on {name}", f"{W:.2f} x |{x_G:.1f} - {other:.1f}| / |{own:.1f} - {other:.1f}|", V, "anchors", "V_Gk", "N", 1e-6, at)
            yield Line(f"its pull on {name}", f"{V:.2f} x {e:.2f} / {h_v:.1f}", V * e / h_v, "anchors", "N_G", "N", 1e-6, at)
    everyone = [x.at(int(r)) for r in x.anchors]
    last = everyone[-1]
    X, Y = ([a.number(k, "anchors") for a in everyone] for k in ("x", "y"))
    # Rigid and elastic differ by the one self-stress of four supports, whose signs alternate round the panel: the greatest
    # of the envelope at A1 and A4 goes with the least at A2 and A3.
    R = [a.number(k, "anchors") for a, k in zip(everyone, ("share", "share_min", "share_min", "share"), strict=True)]
    yield Line("equilibrium: A4 from the others", f"A - R_1 - R_2 - R_3 = {area:.0f} - {sum(R[:-1]):.0f} mm2", area - sum(R[:-1]), "anchors", "share", "mm2", 1e-6, last)
    for axis, centre, place in (("x", x_G, X), ("y", y_G, Y)):
        arm = (area * centre - sum(r * v for r, v in zip(R[:-1], place[:-1], strict=True))) / place[-1]
        yield Line(f"the same by moments about {axis} = 0", f"({area:.0f} x {centre:.1f} - sum R {axis}) / {place[-1]:.1f} mm2", arm, "anchors", "share", "mm2", 1e-6, last)


def asce(x: Context) -> Iterator[Line]:
    """ASCE 7-16 30.3.2 (h <= 60 ft): V 115 mph, exposure C, K_d 0.85, enclosed; LRFD."""
    b, h, height = (x.number(k) for k in ("width", "height", "h_building"))
    A_ft2 = max(b, h) * max(min(b, h), max(b, h) / 3) / FOOT**2
    K_h = 2.01 * (max(height / FOOT, 15.0) / 900.0) ** (2 / 9.5)
    q = 0.00256 * K_h * 0.85 * 115.0**2 * LBF / FOOT**2
    zone = str(x.value("panels", "zone"))
    GC_p = from_graph(zone, A_ft2)
    w = q * (GC_p - 0.18)
    yield Line("exposure", f"K_h = 2.01 (max({height / FOOT:.2f}, 15) / 900)^(2/9.5) = {K_h:.4f}; q_h = 0.00256 K_h x 0.85 x 115^2 psf", q, "panels", "q_h", "MPa")
    yield Line("coefficient", f"zone {zone}, A = {A_ft2:.2f} ft2: -1.{4 if zone == '5' else 1} at 10 ft2 to -0.8 at 500 ft2, linear in log A (Figure 30.3-1)", GC_p, "panels", "GC_p_suction", "1")
    yield Line("suction", f"q_h ({GC_p:.4f} - 0.18)", w, "panels", "w_suction", "MPa")
    by_weight, W, e = weight(x, b * h)
    yield from by_weight
    part = x.number("tributary", "anchors") / FOOT**2
    GC_1 = from_graph(zone, part)
    w_1, h_v = min(q * (GC_1 - 0.18), w), x.number("y_lever", "anchors")
    yield Line("suction on the anchor", f"{part:.2f} ft2: q_h ({GC_1:.4f} - 0.18)", w_1, "anchors", "w_anchor_suction", "MPa")
    N_G = W / 2 * e / h_v
    N, V = abs(w_1) * b * h / 4 + 1.2 * N_G, 1.4 * W / 2
    yield Line("tension", f"N = 1.0 x {abs(w_1) * FOOT**2 / LBF:.3f} psf x {b * h / 4 / FOOT**2:.4f} ft2 + 1.2 x {N_G / LBF:.3f} lbf", N, "anchors", "N_Ed", "N")
    yield Line("shear", f"V = 1.4 x {W / LBF:.2f} / 2 lbf", V, "anchors", "V_Ed", "N")
    yield from plate(x, w, W / 2, e, (1.2, 1.0))
    yield from strength(x, N, 1.2 * W / 2)


def from_graph(zone: str, A_ft2: float) -> float:
    """ASCE 7-16 Figure 30.3-1, suction on walls: zone 4 -1.1, zone 5 -1.4 at 10 ft2, -0.8 at 500 ft2, linear in log A."""
    first = {"4": -1.1, "5": -1.4}[zone]
    return first + (-0.8 - first) * math.log10(min(max(A_ft2, 10.0), 500.0) / 10.0) / math.log10(50.0)


def page(found: list[Case]) -> str:
    """The page: a table a panel."""
    out = ["<!-- made by `python -m tests.verification.hand`; do not edit -->", "", "# Panels by hand", "",
           "Panels of the bundled samples with the invented project file (`bimcheck init --invented`): v_b 25 m/s and terrain II, or 115 mph and",
           "exposure C; strengths invented. Formulas: EN 1991-1-4 (4.3, 4.7, 4.8, Table 7.1, Figure 7.2), EN 1990 (6.10), ASCE 7-16 (26.10, 30.3), statics.",
           "Only the plate's unit moments and reactions come from the finite elements; equilibrium and a beam are held against them. Figures in",
           "formulas are rounded for print, the arithmetic is not. `bimcheck explain GUID` prints the right-hand column to the same digits.", ""]
    for case in found:
        x = case.context
        size = " x ".join(x.shown("panels", k) for k in ("width", "height", "thickness"))
        out += [f"## {case.title}: {x.value('panels', 'mark')} ({x.value('panels', 'guid')}), {x.value('panels', 'material')} {size}, zone {x.value('panels', 'zone')}", "",
                case.text, "", "| step | by hand | value | run |", "|---|---|---|---|"]
        out += [f"| {k.what} | {k.formula.replace('|', chr(92) + '|')} | {k.shown(k.hand)} | {k.shown(k.run)} |" for k in case.lines()] + [""]
    return "\n".join(out)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        PAGE.write_text(page(cases(Path(name))), encoding="utf-8", newline="\n")
