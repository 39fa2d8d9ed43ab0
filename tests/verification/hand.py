"""Three panels of the small sample by hand: docs/method/hand-calculations.md, and the numbers beside the run's.

    python -m tests.verification.hand

Plain Python from the formulas of the standards; only the plate's two unit moments are taken from the run, since no hand
calculation gives them (docs/method/plate.md checks those).
"""

from __future__ import annotations

import math
import tempfile
from collections.abc import Iterator
from pathlib import Path

import numpy as np

import bimcheck
from bimcheck.cli import main as command
from bimcheck.result import Result
from tests.shared import ROOT

SAMPLE = ROOT / "sample_models" / "small_podium_metre.ifc"
PAGE = ROOT / "docs" / "method" / "hand-calculations.md"
Line = tuple[str, str, float, float, str]  # what, formula with numbers, by hand, by the run, unit
WALL = {"A": (-1.2, -1.4), "B": (-0.8, -1.1), "C": (-0.5, -0.5)}  # EN 1991-1-4 Table 7.1: c_pe,10, c_pe,1


def result(folder: Path) -> Result:
    """A run of the sample with the invented project file."""
    command(["init", "--invented", "-o", str(folder / "p.toml")])
    command(["run", str(SAMPLE), "-p", str(folder / "p.toml"), "-o", str(folder / "out"), "--quiet"])
    return bimcheck.load(folder / "out")


def chosen(r: Result) -> list[int]:
    """The first panel of each of zone A and B and of the second material, four anchors each."""
    p = r.tables["panels"]
    wanted = [(p["zone"] == "A"), (p["zone"] == "B"), (p["material"] != p["material"][0])]
    free = (p["n_anchors_selected"] == 4) & (p["result"] == "pass")
    return [int(np.flatnonzero(w & free)[0]) for w in wanted]


def c_pe(zone: str, area_m2: float) -> float:
    """EN 1991-1-4 Figure 7.2: c_pe,1 - (c_pe,1 - c_pe,10) log10 A between 1 and 10 m2."""
    ten, one = WALL[zone]
    return one - (one - ten) * math.log10(min(max(area_m2, 1.0), 10.0))


def lines(r: Result, row: int) -> Iterator[Line]:
    """The calculation of one panel."""
    p, c, a = r.tables["panels"], r.tables["candidates"], r.tables["anchors"]
    of = int(np.flatnonzero(c["panel"] == row)[0])
    layout, mine = r.tables["layouts"], np.flatnonzero(a["candidate"] == of)
    top = int(mine[np.argmax(a["N_Ed"][mine])])
    b, h, t, z = (float(p[k][row]) for k in ("width", "height", "thickness", "h_building"))
    area, zone = b * h, str(p["zone"][row])
    # wind, EN 1991-1-4: v_b 25 m/s, terrain II (z0 0.05 m, z_min 2 m), reference height = height of the building
    k_r, z0 = 0.19, 0.05
    v_m = k_r * math.log(z / 1e3 / z0) * 25.0
    I_v = 1 / math.log(z / 1e3 / z0)
    q_p = (1 + 7 * I_v) * 0.5 * 1.25 * v_m**2
    yield "mean velocity", f"v_m = 0.19 ln({z / 1e3:.3f}/0.05) 25", v_m, float(p["v_m_h"][row]), "m/s"
    yield "peak pressure", f"q_p = (1 + 7 x {I_v:.4f}) 0.5 x 1.25 x {v_m:.3f}^2", q_p, float(p["q_p_h"][row]) * 1e6, "Pa"
    w = q_p * c_pe(zone, area / 1e6) / 1e6
    yield "suction", f"w = {q_p:.1f} x {c_pe(zone, area / 1e6):.4f} (zone {zone}, {area / 1e6:.3f} m2)", w * 1e3, float(p["w_suction"][row]) * 1e3, "kPa"
    w_1 = q_p * c_pe(zone, float(a["tributary"][top]) / 1e6) / 1e6
    yield "suction on the anchor", f"c_pe,1 below 1 m2: w = {q_p:.1f} x {WALL[zone][1]}", w_1 * 1e3, float(a["w_anchor_suction"][top]) * 1e3, "kPa"
    # weight, greatest thickness t (1 + tolerance)
    tolerance = 0.05
    W = float(p["density"][row]) * 9.80665 * area * t * (1 + tolerance) * 1e-9
    yield "weight", f"W = {p['density'][row]:.0f} x 9.80665 x {area / 1e6:.4f} x {t * (1 + tolerance) / 1e3:.4f}", W, float(p["W"][row]), "N"
    e = t * (1 + tolerance) / 2 + float(p["stand_off"][row])
    lever = float(a["y_lever"][top])
    N_G = W * e / (2 * lever)
    yield "pull by eccentric weight", f"N_G = {W:.1f} x {e:.2f} / (2 x {lever:.1f})", N_G, float(a["N_G"][top]), "N"
    # four anchors, doubly symmetric: a quarter of the wind each (equilibrium)
    N = 1.5 * abs(w_1) * area / 4 + 1.35 * N_G
    yield "tension", f"N_Ed = 1.5 x {abs(w_1) * 1e3:.4f} kPa x {area / 4e6:.4f} m2 + 1.35 x {N_G:.2f}", N, float(a["N_Ed"][top]), "N"
    V = 1.35 * W / 2
    yield "shear", f"V_Ed = 1.35 x {W:.1f} / 2", V, float(a["V_Ed"][top]), "N"
    # bending: unit moments of the plate by finite elements; local moment of the clip by hand
    k = int(c["layout"][of])
    m_clip = 1.2 * W * e / 2 / (4 * math.pi * float(p["clip_contact"][row]) / 2)
    support, field = float(layout["m_support"][k]), float(layout["m_field"][k])
    m = max(1.5 * abs(w) * support + 1.35 * m_clip, 1.5 * abs(w) * field)
    yield "moment", f"m_Ed = max(1.5 x {abs(w) * 1e3:.4f}e-3 x {support:.0f} + 1.35 x {m_clip:.2f}, 1.5 x {abs(w) * 1e3:.4f}e-3 x {field:.0f})", m, float(c["m_Ed"][of]), "N mm/mm"
    t_min = t * (1 - tolerance)
    sigma = 6 * m / t_min**2
    yield "stress", f"sigma = 6 x {m:.2f} / {t_min:.2f}^2", sigma, float(c["sigma_Ed"][of]), "MPa"
    f_d = float(p["f_k"][row]) / float(p["gamma_flex"][row])
    yield "bending", f"u = {sigma:.3f} / ({p['f_k'][row]:g} / {p['gamma_flex'][row]:g})", sigma / f_d, float(c["u_bending"][of]), ""
    N_Rd, V_Rd = float(a["N_Rd"][top]), float(a["V_Rd"][top])
    yield "tension with shear", f"u = {N:.1f} / {N_Rd:.1f} + {V:.1f} / {V_Rd:.1f}", N / N_Rd + V / V_Rd, float(a["u_interaction"][top]), ""


def page(r: Result) -> str:
    """The page: a table a panel."""
    out = ["<!-- made by `python -m tests.verification.hand`; do not edit -->", "", "# Three panels by hand", "",
           "Panels of the bundled sample `small_podium_metre.ifc` with the invented project file (`bimcheck init --invented`): v_b 25 m/s,",
           "terrain II, strengths invented. Formulas: EN 1991-1-4 (4.3, 4.7, 4.8, Table 7.1, Figure 7.2), EN 1990 (6.10), statics. Only the unit",
           "moments of the plate come from the finite elements. `bimcheck explain GUID` prints the right-hand column.", ""]
    p = r.tables["panels"]
    for row in chosen(r):
        out += [f"## {p['mark'][row]} ({p['guid'][row]}), {p['material'][row]} {p['width'][row]:.0f} x {p['height'][row]:.0f} x {p['thickness'][row]:.0f} mm, zone {p['zone'][row]}", "",
                "| step | by hand | value | run |", "|---|---|---|---|"]
        out += [f"| {what} | {formula} | {hand:.4g} {unit} | {run:.4g} {unit} |" for what, formula, hand, run, unit in lines(r, row)]
        out.append("")
    return "\n".join(out)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        PAGE.write_text(page(result(Path(name))), encoding="utf-8", newline="\n")
