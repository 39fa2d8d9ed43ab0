"""The tested values that an anchor's resistance is read from."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from bimcheck.explain.context import Context, Rule
from bimcheck.explain.quantity import Quantity, quantity
from bimcheck.materials.catalogue import Row, TestGroup, test_groups
from bimcheck.materials.settings import Material
from bimcheck.resistances.anchors import resistance, tested


def groups(context: Context) -> list[TestGroup]:
    """All tested combinations of the run, from the material rows that the store keeps."""
    rows = context.result.facts.get("given", {}).get("materials", [])
    return test_groups([Row(r["name"], Material(**r["data"]), tuple(r["assumed"])) for r in rows])


def look_up(context: Context, rule: Rule) -> dict[str, Quantity]:
    """N_Rk and V_Rk at the anchor's place, before conditioning, and the factor on them."""
    every, at = groups(context), int(context.number("test_group", "anchors"))
    if not 0 <= at < len(every):
        return {}
    same = [g for g in every if (g.material, g.thickness, g.embedment) == (every[at].material, every[at].thickness, every[at].embedment)]
    edge, spacing = (np.array([context.number(k, "anchors")]) for k in ("edge", "spacing"))
    format = rule["settings"]["actions.format"]
    found: dict[str, Quantity] = {}
    for symbol, which in (("N_Rk", "tension"), ("V_Rk", "shear")):
        value = float(resistance(edge, spacing, same, lambda t, which=which: tested(t, which, format, 1.0))[0])
        found[symbol] = quantity(value, "N")
    conditioned = all(t.conditioned for t in every[at].tests)
    return {**found, "eta": Quantity(1.0 if conditioned else every[at].eta)}


def lines(context: Context) -> Iterator[str]:
    """A line a test of the combination that covers the panel."""
    every, at = groups(context), int(context.number("test_group", "anchors"))
    if not 0 <= at < len(every):
        return
    group, u = every[at], context.units
    yield f"tested at t = {quantity(group.thickness, 'mm').shown(u)}, embedment {quantity(group.embedment, 'mm').shown(u)} (the greatest tested that the panel reaches):"
    for t in group.tests:
        shear = "" if t.shear_kN is None else f", shear {quantity(t.shear_kN, 'kN').shown(u)}"
        spacing = "" if t.spacing_mm is None else f", spacing {quantity(t.spacing_mm, 'mm').shown(u)}"
        state = "conditioned" if t.conditioned else f"not conditioned, eta {group.eta:g}"
        yield (f"  edge {quantity(t.edge_mm, 'mm').shown(u)}{spacing}: tension {quantity(t.tension_kN, 'kN').shown(u)} ({t.kind}){shear}; "
               f"{state}; {t.source or t.series or 'no source stated'}")
    yield "  linear between edge distances (and spacings) that were tested, the last one held beyond, nothing below the first"
