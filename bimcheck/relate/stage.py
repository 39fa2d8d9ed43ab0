"""relate: elements and obstacles in, elements with everything that needs neighbours out."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np

from bimcheck.core.beside import Beside, worth_it
from bimcheck.core.tables import Ragged, Table
from bimcheck.relate import behind, building, envelope, joints, neighbours, places, shapes, storeys
from bimcheck.relate.facts import Building, Floats, Ints, Related, SiteFacts
from bimcheck.relate.findings import findings
from bimcheck.relate.panels import framed, placed, skin_rows
from bimcheck.relate.settings import Relate

MANY = 4000  # panels from which what stands behind them is found in a second process
BLANK: dict[str, Any] = {"facade": "", "place": "", "lot": "", "facade_index": -1, "shape": -1, "shape_turn": -1, "side_known": False}


def relate(elements: Table, obstacles: Table, site: SiteFacts, settings: Relate) -> Related:
    """Derive sides, facades, places, joints and supports.

    elements: one row an element, with the columns of read.  obstacles: bodies behind or beside.  Rows without a body
    and rows that are not panels get nan, blanks and -1.
    """
    rows = in_skin(elements)
    some = elements.take(rows)
    # Near the model's own middle float64 keeps its digits, whatever the offset of the site.
    shift = np.round(some["raw_origin"].mean(axis=0)) if len(rows) else np.zeros(3)
    some = some.with_columns(raw_origin=some["raw_origin"] - shift)
    near = shifted(obstacles, shift)
    skin = envelope.find(skin_rows(some), near, settings)
    some = framed(some, skin, near, settings)
    beside = Beside([partial(behind.find_behind, some, near, settings.support_reach_mm)]) if some.n > MANY and worth_it() else None
    found = neighbours.find(some, settings)
    about = building.whole(some, near, skin, site, shift)
    facade = building.facade_table(some, near, skin)
    some = placed(some, skin, about.ground - shift[2])
    shape, turn, unique = shapes.find_shapes(some["outline"])
    place = places.places(some, near, skin, settings)
    back = beside.wait()[0] if beside else behind.find_behind(some, near, settings.support_reach_mm)
    some = some.with_columns(
        **joints.least(found, some.n), shape=shape, shape_turn=turn,
        place=place,
        lot=storeys.lots(some["material_name"], some["thickness"]),
        rails_y=behind.supports(back, near, some.n, settings.support_reach_mm),
        keep_out=behind.keep_outs(back, near, some.n, settings.keep_out_mm))
    full = whole_table(elements, some, rows, shift, about)
    full = full.with_columns(storey=_storeys(full, obstacles, site, about))
    found = found.with_columns(panel=rows[found["panel"]], other=rows[found["other"]])
    back = back.with_columns(panel=rows[back["panel"]])
    return Related(full, facade, found, back, unique, about, findings(full, obstacles, about, settings))


def _storeys(full: Table, obstacles: Table, site: SiteFacts, about: Building) -> np.ndarray:
    slabs = obstacles["box"][obstacles["role"] == "slab", 5] if obstacles.n else np.zeros(0)
    bottoms = full["z_bottom"][np.isfinite(full["z_bottom"])] + about.ground
    floors = storeys.floors_of(slabs, bottoms)
    return storeys.by_height(full["storey"], full["model_index"], full["z"] + about.ground,
                             storeys.Levels(site.storeys, floors, about.ground))


def in_skin(elements: Table) -> Ints:
    """Rows that are part of the skin and have a body: panels, and what would be panels but for their material."""
    part = np.array([s == "panel" or (s == "out_of_scope" and not str(r).startswith("not-a-panel"))
                     for s, r in zip(elements["status"], elements["reason"], strict=True)], dtype=bool)
    body = (elements["raw_outline"].lengths >= 3) & np.isfinite(elements["thickness"])
    return np.flatnonzero(part & body)


def shifted(obstacles: Table, shift: Floats) -> Table:
    if not obstacles.n:
        return obstacles
    triangles = obstacles["triangles"]
    return obstacles.with_columns(box=obstacles["box"] - np.tile(shift, 2),
                                  triangles=Ragged(triangles.values - np.tile(shift, 3), triangles.offsets))


def whole_table(elements: Table, some: Table, rows: Ints, shift: Floats, about: Building) -> Table:
    """Columns of relate over all elements: blank, nan or -1 where there is no body."""
    added: dict[str, Any] = {"h_building": np.full(elements.n, about.h), "building_known": np.full(elements.n, about.known)}
    for name in (k for k in some if k not in elements):
        column = some[name]
        if isinstance(column, Ragged):
            added[name] = _spread(column, rows, elements.n)
            continue
        fill = BLANK.get(name, np.nan)
        full = np.full((elements.n, *column.shape[1:]), fill, dtype=object if fill == "" else type(fill))
        full[rows] = column + shift if name == "origin" else column
        added[name] = full
    return elements.with_columns(**added)


def _spread(column: Ragged, rows: Ints, n: int) -> Ragged:
    """`rows` rise, so the values stay in their order."""
    lengths = np.zeros(n, dtype=np.int64)
    lengths[rows] = column.lengths
    return Ragged(column.values, np.r_[0, np.cumsum(lengths)].astype(np.int64))
