"""What write-back needs to know of the author's model; everything else comes from the tables."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import ifcopenshell
import numpy as np
from numpy.typing import NDArray

from bimcheck.write.ifc_units import Units, read_units

_OBJECT_PLACEMENT = 5  # attribute of IfcProduct in every schema; by number, for names are looked up far slower


@dataclass(frozen=True)
class ModelFacts:
    """schema: IFC2X3, IFC4 or IFC4X3; project, body_context: entity numbers, 0 where there is none."""

    schema: str
    project: int
    project_guid: str
    body_context: int
    units: Units


def facts(model: ifcopenshell.file, length_unit: str = "") -> ModelFacts:
    """Raises InputError where the length unit is unknown."""
    projects = model.by_type("IfcProject")
    project = projects[0] if projects else None
    return ModelFacts(
        model.schema, project.id() if project else 0, project.GlobalId if project else "",
        _body_context(model), read_units(model, length_unit),
    )


def _body_context(model: ifcopenshell.file) -> int:
    """The 3D context solids belong to: the sub-context Body, else the model context itself."""
    subs = [c for c in model.by_type("IfcGeometricRepresentationSubContext")
            if c.ContextIdentifier == "Body" and c.TargetView == "MODEL_VIEW"]
    roots = [c for c in model.by_type("IfcGeometricRepresentationContext", include_subtypes=False)
             if c.CoordinateSpaceDimension == 3]
    named = [c for c in roots if c.ContextType == "Model"]
    return next((c.id() for c in (*subs, *named, *roots)), 0)


@dataclass(frozen=True)
class Author:
    """All that write-back needs of a model once its file is closed.

    taken: (element, set name in lower case) of the author's sets and quantities that have one of our names; placed: of the
    elements step_ids, which rise; written: time stamp of the file's header.
    """

    facts: ModelFacts
    written: str
    taken: frozenset[tuple[int, str]]
    step_ids: NDArray[np.int64]
    placed: Placements

    def placements(self, step_ids: NDArray[np.int64]) -> Placements:
        at = np.searchsorted(self.step_ids, step_ids)
        return Placements(self.placed.number[at], self.placed.world[at])


@dataclass(frozen=True)
class Placements:
    """number: (n,) placement entity of each element, 0 where it has none; world: (n, 4, 4) in the author's length unit."""

    number: NDArray[np.int64]
    world: NDArray[np.float64]


def placements(model: ifcopenshell.file, step_ids: Sequence[int]) -> Placements:
    """Placements of elements; parents are read once."""
    known: dict[int, NDArray[np.float64]] = {0: np.eye(4)}
    numbers, world = np.zeros(len(step_ids), np.int64), np.tile(np.eye(4), (len(step_ids), 1, 1))
    own: list[tuple[Any, int]] = []
    for i, step_id in enumerate(step_ids):
        place = model.by_id(int(step_id))[_OBJECT_PLACEMENT]
        if place is not None and place.is_a("IfcLocalPlacement"):
            numbers[i] = place.id()
            own.append((place, i))
    parents = np.array([_world(place[0], known) for place, _ in own]).reshape(-1, 4, 4)
    local = _axes([place[1] for place, _ in own])
    world[[i for _, i in own]] = parents @ local
    return Placements(numbers, world)


def _world(place: Any, known: dict[int, NDArray[np.float64]]) -> NDArray[np.float64]:
    """The world matrix of a placement; none, or one along an alignment or grid, counts as the world's own axes."""
    if place is None or not place.is_a("IfcLocalPlacement"):
        return known[0]
    if place.id() not in known:
        known[place.id()] = _world(place[0], known) @ _axes([place[1]])[0]
    return known[place.id()]


def _axes(placed: Sequence[Any]) -> NDArray[np.float64]:
    """(n, 4, 4) of IfcAxis2Placement2D or 3D; absent axes are z and x, the second is made square to the first."""
    parts = [_three(p) if len(p) == 3 else (p[0], None, p[1]) for p in placed]
    origin = np.array([_filled(at[0]) for at, _, _ in parts], float).reshape(-1, 3)
    z = np.array([_filled(z[0]) if z else (0, 0, 1) for _, z, _ in parts], float).reshape(-1, 3)
    x = np.array([_filled(x[0]) if x else _first_axis(z) for _, z, x in parts], float).reshape(-1, 3)
    z = z / np.linalg.norm(z, axis=1, keepdims=True)
    x = x - z * (x * z).sum(axis=1, keepdims=True)
    x = x / np.linalg.norm(x, axis=1, keepdims=True)
    out = np.tile(np.eye(4), (len(placed), 1, 1))
    out[:, :3, 0], out[:, :3, 1], out[:, :3, 2], out[:, :3, 3] = x, np.cross(z, x), z, origin
    return out


def _three(placed: Any) -> tuple[Any, Any, Any]:
    return placed[0], placed[1], placed[2]


def _first_axis(z: Any) -> Sequence[float]:
    """IfcFirstProjAxis: x, or y where z is along x."""
    along = z[0] if z else (0, 0, 1)
    return (1, 0, 0) if abs(along[1]) + abs(along[2]) > 1e-9 else (0, 1, 0)


def _filled(values: Sequence[float]) -> Sequence[float]:
    return values if len(values) == 3 else (*values, *(0.0,) * (3 - len(values)))


def taken_names(model: ifcopenshell.file, original: bytes, names: Iterable[str]) -> set[tuple[int, str]]:
    """(element, set name in lower case) of sets and quantities of these names that the author already has."""
    wanted = {n.lower() for n in names}
    if not _mentioned(original, [f"'{n}'".encode() for n in wanted]):
        return set()
    return {
        (element.id(), definition.Name.lower())
        for rel in model.by_type("IfcRelDefinesByProperties")
        for definition in _definitions(rel.RelatingPropertyDefinition)
        if definition.Name and definition.Name.lower() in wanted
        for element in rel.RelatedObjects
    }


def _mentioned(original: bytes, words: Sequence[bytes]) -> bool:
    """Whether one of the lower-case words occurs, whatever its case; looked for window by window."""
    step, more = 1 << 20, max(map(len, words), default=0)
    windows = (original[at : at + step + more].lower() for at in range(0, len(original), step))
    return any(word in window for window in windows for word in words)


def _definitions(relating: Any) -> Sequence[Any]:
    if relating is None:
        return ()
    return relating.wrappedValue if relating.is_a("IfcPropertySetDefinitionSet") else (relating,)
