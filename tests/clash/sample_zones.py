"""Zones before panels of the sample building, as tables and as elements put into its IFC model."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import ifcopenshell
import ifcopenshell.geom
import ifcopenshell.guid
import ifcopenshell.util.unit
import numpy as np

from bimcheck.clash.frames import Frames, frames_of
from bimcheck.clash.zones import Zone
from bimcheck.core.tables import Table
from bimcheck.read import read_models
from bimcheck.relate.facts import SiteFacts
from bimcheck.relate.settings import Relate
from bimcheck.relate.stage import relate

SAMPLE = Path(__file__).resolve().parents[2] / "sample_models" / "hollow_lane_midrise.ifc"
INSETS_X, INSETS_Y = (0.1, 0.5, 0.86), (0.07, 0.14, 0.5, 0.86)  # shares of the panel's sides


@dataclass(frozen=True)
class Sample:
    """Frames of the zones' mouths on the rear faces; axes (k, 3, 3) u, v, -n of each; bodies as read."""

    frames: Frames
    axes: np.ndarray
    obstacles: Table


def sample(every: int) -> Sample:
    """Twelve places on every so-many-th panel and on those that have a body within 40 mm behind them."""
    read = read_models([SAMPLE])
    related = relate(read.elements, read.obstacles, SiteFacts(ground_setting=0.0), Relate())
    elements, close = related.elements, related.behind["panel"][related.behind["near"] < 40]
    panel = np.flatnonzero(elements["status"] == "panel")
    panel = np.union1d(panel[::every], np.intersect1d(panel, close))
    row = np.repeat(panel, len(INSETS_X) * len(INSETS_Y))
    x, y = (np.tile(g.ravel(), len(panel)) for g in np.meshgrid(INSETS_X, INSETS_Y))
    e = {k: elements[k][row] for k in ("origin", "u", "v", "n", "width", "height", "thickness")}
    mouth = e["origin"] + (x * e["width"])[:, None] * e["u"] + (y * e["height"])[:, None] * e["v"] - e["thickness"][:, None] * e["n"]
    return Sample(frames_of(mouth, elements, row), np.stack([e["u"], e["v"], -e["n"]], axis=1), read.obstacles)


def tree_hits(found: Sample, zone: Zone) -> set[tuple[int, str]]:
    """Zones (by number) and bodies (by GlobalId) that ifcopenshell's tree calls colliding, touching left out."""
    model = ifcopenshell.open(str(SAMPLE))
    zones = _put(model, found, zone)
    bodies = [model.by_guid(g) for g in found.obstacles["guid"].tolist()]
    tree = ifcopenshell.geom.tree(backend="opencascade.trianglebvh")
    tree.add_iterator(ifcopenshell.geom.iterator(ifcopenshell.geom.settings(), model, num_threads=1, include=[*zones, *bodies],
                                                 geometry_library="hybrid-manifold-opencascade"))
    number = {z.GlobalId: k for k, z in enumerate(zones)}
    hits = set()
    for clash in tree.clash_collision_many(zones, bodies, allow_touching=False):
        a, b = clash.a.get_argument(0), clash.b.get_argument(0)
        hits.add((number[a], b) if a in number else (number[b], a))
    return hits


def _put(f: Any, found: Sample, zone: Zone) -> list[Any]:
    """The zones as extrusions along the normal, from the rear face backwards."""
    scale = 1e-3 / ifcopenshell.util.unit.calculate_unit_scale(f)
    context = next(c for c in f.by_type("IfcGeometricRepresentationContext") if c.ContextType == "Model")
    flat = f.createIfcAxis2Placement2D(f.createIfcCartesianPoint((0.0, 0.0)))
    hx, hy = (2 * h * scale for h in zone.half)
    profile = f.createIfcCircleProfileDef("AREA", None, flat, hx / 2) if zone.round else f.createIfcRectangleProfileDef("AREA", None, flat, hx, hy)
    zero = f.createIfcAxis2Placement3D(f.createIfcCartesianPoint((0.0, 0.0, 0.0)))
    body = f.createIfcExtrudedAreaSolid(profile, zero, f.createIfcDirection((0.0, 0.0, 1.0)), zone.depth * scale)
    made = []
    for mouth, axes in zip(found.frames.mouth * scale, found.axes, strict=True):
        at = f.createIfcAxis2Placement3D(f.createIfcCartesianPoint(mouth.tolist()), f.createIfcDirection(axes[2].tolist()), f.createIfcDirection(axes[0].tolist()))
        shape = f.createIfcProductDefinitionShape(None, None, [f.createIfcShapeRepresentation(context, "Body", "SweptSolid", [body])])
        made.append(f.create_entity("IfcBuildingElementProxy", GlobalId=ifcopenshell.guid.new(), ObjectPlacement=f.createIfcLocalPlacement(None, at), Representation=shape))
    return made
