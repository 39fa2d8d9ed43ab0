"""What another reader sees: bodies measured by the geometry kernel, messages of the schema validator."""

from __future__ import annotations

from pathlib import Path

import ifcopenshell
import ifcopenshell.geom
import ifcopenshell.validate
import numpy as np


def messages(path: Path, rules: bool = False) -> list[str]:
    """What the schema validator has to say; rules: also the schema's own WHERE rules."""
    log = ifcopenshell.validate.json_logger()
    ifcopenshell.validate.validate(ifcopenshell.open(str(path)), log, express_rules=rules)
    return [s["message"] for s in log.statements]


def boxes(path: Path, world: bool) -> dict[str, np.ndarray]:
    """Bounding box (low, high) in mm of every element with a body, by its Tag; in world or in its own placement."""
    return {tag: np.array([corners.min(axis=(0, 1)), corners.max(axis=(0, 1))]) for tag, corners in triangles(path, world).items()}


def volume(corners: np.ndarray) -> float:
    """Signed volume in mm3 of a closed body of triangles (n, 3, 3): positive where they look outward (divergence theorem).

    Taken about a point in no plane of the body, so that no face drops out.
    """
    return float(np.linalg.det(corners - [-211.0, 457.0, 891.0]).sum() / 6)


def triangles(path: Path, world: bool) -> dict[str, np.ndarray]:
    """(n, 3, 3) triangles in mm of every element with a body, by its Tag."""
    model = ifcopenshell.open(str(path))
    settings = ifcopenshell.geom.settings()
    settings.set("use-world-coords", world)
    tagged = [e for e in model.by_type("IfcElement") if e.Tag and e.Representation]
    bodies = ifcopenshell.geom.iterator(settings, model, 1, include=tagged, geometry_library="hybrid-manifold-opencascade")
    found = {}
    for body in bodies:
        points = np.array(body.geometry.verts).reshape(-1, 3) * 1000.0
        found[model.by_id(body.id).Tag] = points[np.array(body.geometry.faces).reshape(-1, 3)]
    assert set(found) == {e.Tag for e in tagged}  # the kernel drops nothing
    return found
