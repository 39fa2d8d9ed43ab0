"""The table of elements: what the file says and what the body is, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Ragged, Table, concat
from bimcheck.read.candidates import Candidate
from bimcheck.read.classify import by_body, by_statement, is_sure
from bimcheck.read.material_names import surface_of
from bimcheck.read.settings import Reading
from bimcheck.read.suitability import Explicit

LEVEL = np.cos(np.radians(30.0))  # a face is level where its normal is nearer to the vertical than this
HUGE = 100_000.0  # mm; beyond it a body is a mistake, not a panel


def texts(values: Sequence[Any]) -> NDArray[Any]:
    out = np.empty(len(values), dtype=object)
    out[:] = values
    return out


def stated(candidates: Sequence[Candidate], explicit: Explicit, containers: frozenset[str], left_out: dict[int, str],
           kept: set[int]) -> list[str]:
    """Reason of each element by what its file and the project say; '' where it may be a panel.

    left_out: number -> reason by the project's queries; kept: numbers the project calls panels.
    """
    return [left_out.get(c.step_id) or ("" if c.step_id in kept else by_statement(c, explicit, containers)) for c in candidates]


def face_sizes(outline: Ragged) -> NDArray[np.float64]:
    """(n, 2) short and long side of the rectangle around each outline in its raw axes; nan where there is none."""
    size = np.full((len(outline), 2), np.nan)
    rows = np.flatnonzero(outline.lengths > 0)
    if len(rows):
        starts, points = outline.offsets[rows], outline.values[:, :2]
        size[rows] = np.maximum.reduceat(points, starts) - np.minimum.reduceat(points, starts)
    return np.sort(size, axis=1)


def judged(candidates: Sequence[Candidate], reasons: Sequence[str], found: Any, kept: set[int], settings: Reading) -> tuple[Any, Any]:
    """(status, reason) of each element from what is stated and from its body."""
    said = texts(list(reasons))
    size = face_sizes(found.outline)
    sure = np.array([is_sure(c) or c.step_id in kept for c in candidates], dtype=bool)
    unread = np.where((found.reason == "") & (size[:, 1] > HUGE), "degenerate-geometry", found.reason)
    open_covering = np.array([c.cls == "IfcCovering" and c.predefined != "CLADDING" and c.step_id not in kept for c in candidates], dtype=bool)
    level = np.abs(np.nan_to_num(found.n[:, 2])) > LEVEL
    with np.errstate(invalid="ignore"):
        bodily = by_body(sure, size, found.thickness, found.form, level, open_covering, settings)
    form = np.where(np.isin(found.form, ("curved", "tapered", "folded")), found.form, "")
    out = said != ""
    unreadable = ~out & (unread != "")
    odd = ~out & ~unreadable & (bodily != "")
    status = np.select([out | odd, unreadable], ["out_of_scope", "unreadable"], default="panel").astype(object)
    reason = np.select([out, unreadable, odd], [said, unread.astype(object), bodily], default=form.astype(object))
    return status, reason.astype(object)


def element_table(model: str, index: int, candidates: Sequence[Candidate], marks: Sequence[str], found: Any, status: Any,
                  reason: Any) -> Table:
    """Rows in the order of candidates, with the columns that read delivers."""
    n = len(candidates)
    return Table("elements", n, {
        "guid": texts([c.guid for c in candidates]), "step_id": np.array([c.step_id for c in candidates], dtype=np.int64),
        "name": texts([c.name for c in candidates]), "mark": texts(list(marks)),
        "model": texts([model] * n), "model_index": np.full(n, index, dtype=np.int64),
        "ifc_class": texts([c.cls for c in candidates]), "status": status, "reason": reason,
        "storey": texts([c.storey for c in candidates]), "material_name": texts([c.material for c in candidates]),
        "surface": texts([surface_of(c.material) for c in candidates]), "type_name": texts([c.type_name for c in candidates]),
        "raw_origin": found.origin, "raw_u": found.u, "raw_v": found.v, "raw_n": found.n,
        "raw_outline": found.outline, "raw_outline_back": found.outline_back,
        "thickness": found.thickness, "thickness_max": found.thickness_max, "form": texts([str(f) for f in found.form]),
        "sagitta": found.sagitta, "parent_guid": texts([c.parent_guid for c in candidates]),
    })


def joined(name: str, parts: Sequence[Table]) -> Table:
    """All rows; models without any give no columns of their own."""
    some = [p for p in parts if p.n] or list(parts[:1])
    return concat(name, some)
