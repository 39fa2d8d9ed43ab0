"""What an anchor in its panel can take: tested values, read only where tests reach.

Over embedment and thickness the lower tested value (never a chord); over edge distance and spacing linear between tests
that bracket them, held at the last test beyond it, nothing below the first.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.columns import Column
from bimcheck.core.rule import rule
from bimcheck.core.units import Array, count, mm, ratio

Ints = NDArray[np.int64]
_TOLERANCE = 0.01  # mm: a tested thickness is reached within this


def covering_group(material: Ints, t: Array, embedment: Array, groups: Sequence[Any]) -> Ints:
    """(n,) the first of the tested combinations (material, thickness, embedment) that the panel reaches, -1 where none.

    Among combinations of its material with tested thickness <= t and tested embedment <= embedment, the greatest
    thickness, then the greatest embedment: the lower tested value in both, never a chord between them.
    """
    best = np.full(len(t), -1, dtype=np.int64)
    rank = np.full(len(t), -np.inf)
    for i, g in enumerate(groups):
        here = (material == g.material) & (t >= g.thickness - _TOLERANCE) & (embedment >= g.embedment - _TOLERANCE)
        better = here & (g.thickness * 1e3 + g.embedment > rank)
        best[better], rank[better] = i, g.thickness * 1e3 + g.embedment
    return best


def interpolate(edge: Array, edges: Sequence[float], values: Sequence[float]) -> Array:
    """Linear between tests over the edge distance; nan below the first, the last value beyond the last."""
    return np.interp(edge, edges, values, left=np.nan)


def resistance(edge: Array, spacing: Array, families: Sequence[Any], value: Any) -> Array:
    """Resistance by edge distance and spacing from families of one (material, thickness, embedment).

    families: by spacing (nan = tested singly); value: test -> N.  Linear between bracketing spacings, nothing below the
    least spacing tested, the last beyond; a single family applies at any spacing.
    """
    rows = sorted(families, key=lambda f: np.nan_to_num(f.spacing, nan=np.inf))
    curves = np.array([interpolate(edge, [t.edge_mm for t in f.tests], [value(t) for t in f.tests]) for f in rows])
    if len(rows) == 1:
        return curves[0]
    steps = np.array([f.spacing for f in rows])
    steps = np.where(np.isnan(steps), np.nanmax(steps), steps)
    place = np.clip(np.searchsorted(steps, spacing, side="right") - 1, 0, len(steps) - 2)
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.clip((spacing - steps[place]) / (steps[place + 1] - steps[place]), 0, 1)
    rows_at = np.arange(len(edge))
    mixed = curves[place, rows_at] + np.nan_to_num(part, nan=1.0) * (curves[place + 1, rows_at] - curves[place, rows_at])
    return np.where(spacing < steps[0], np.nan, mixed)


@rule("panels",
      adds=[Column("test_group", "count", "tested combination that covers thickness and embedment, -1 where none does"),
            Column("edge_tested", "mm", "smallest edge distance tested in that combination"),
            Column("spacing_tested", "mm", "smallest spacing tested in that combination, 0 where singly")],
      clause="project tests; method: the lower tested value", formula="tested t <= t_bending, tested h <= embedment, greatest of them",
      settings={"tests": "materials.tests"})
def covering_tests(material_index: count, t_bending: mm, embedment: mm, *, tests: Sequence[Any] = ()) -> tuple[Ints, Array, Array]:
    """The tests a panel's anchors stand on."""
    group = covering_group(material_index, t_bending, embedment, tests)
    edge = np.array([g.tests[0].edge_mm for g in tests] + [np.nan])
    spacing = np.array([np.nan_to_num(g.spacing, nan=0.0) for g in tests] + [np.nan])
    return group, edge[group], spacing[group]


def tested(test: Any, which: str, format: str, eta: float) -> float:
    """N, times the conditioning factors where the series was not conditioned itself; nan where the test does not state what the safety format asks for."""
    if which == "shear":
        stated = test.shear_kN
    elif format == "global":
        stated = test.tension_kN if test.kind == "mean" else test.mean_kN or test.tension_kN
    else:
        stated = test.tension_kN if test.kind == "characteristic" else None
    return np.nan if stated is None else stated * 1e3 * (1.0 if test.conditioned else eta)


def _look_up(which: str, group: Ints, edge: Array, spacing: Array, tests: Sequence[Any], format: str) -> Array:
    out = np.full(len(edge), np.nan)
    for g in np.unique(group[group >= 0]):
        rows = group == g
        same = [t for t in tests if (t.material, t.thickness, t.embedment) == (tests[g].material, tests[g].thickness, tests[g].embedment)]
        out[rows] = resistance(edge[rows], spacing[rows], same, lambda t, g=g: tested(t, which, format, tests[g].eta))
    return out


@rule("anchors",
      adds=[Column("N_Rd", "N", "design resistance in tension", file="tension_resistance_N", file_unit="N"),
            Column("V_Rd", "N", "design resistance in shear", file="shear_resistance_N", file_unit="N")],
      clause="EN 1990 6.3.5, D.7; project tests", formula="N_Rd = N_Rk eta / gamma_anchor; V_Rd = V_Rk eta / gamma_anchor; R_k read from the tests at this edge distance and spacing; "
              "eta = eta_wet eta_frost eta_age eta_direction, 1 for a conditioned series",
      settings={"tests": "materials.tests", "format": "actions.format"})
def anchor_resistance(test_group: count, edge: mm, spacing: mm, gamma_anchor: ratio, *, format: str, tests: Sequence[Any] = ()) -> tuple[Array, Array]:
    """Tested resistance at the anchor's own edge distance and spacing over the factor."""
    tension = _look_up("tension", test_group, edge, spacing, tests, format)
    shear = _look_up("shear", test_group, edge, spacing, tests, format)
    return tension / gamma_anchor, shear / gamma_anchor


@rule("panels", adds=[Column("W_bolt", "mm3", "section modulus of the bolt"), Column("A_bolt", "mm2", "stress area of the bolt")],
      clause="statics; project data", formula="A_bolt = pi d^2 / 4; W_bolt = pi d^3 / 32", symbols={"d": "bolt_diameter"})
def bolt_section(bolt_diameter: mm) -> tuple[Array, Array]:
    """Section of the bolt at its stress diameter."""
    return np.pi * bolt_diameter**3 / 32, np.pi * bolt_diameter**2 / 4

