"""The table `support_reactions`: forces by rail, or by the height a rail would need, for the substructure's designer."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.actions.reactions import READS, listed, support_forces
from bimcheck.core.tables import Table, Tables, gather, segment
from bimcheck.layout.reactions import Rails, rails
from bimcheck.project import Settings

_ROW = 1.0  # mm: anchors of one panel this near in height are one row


def reactions(tables: Tables, settings: Settings, ground: float) -> Table:
    """A row a rail and combination; heights above `ground` (mm, world), forces in N, line loads in N/mm.

    Reads the selected anchors with their world places and `support`, and the panels' results.
    """
    anchors, panels = tables["anchors"], tables["panels"]
    if not anchors.n:
        return _none()
    columns: dict[str, Any] = {k: np.asarray(gather(tables, "anchors", k)) for k in (*READS, "panel", "facade_index", "width")}
    project = settings.project
    table = listed(project.actions.format, str(panels["w_basis"][0]), project.seismic.standard not in ("none", ""))
    out, low, down = support_forces(table, columns, _push(anchors, columns["N_G"]))
    on = rails(columns["panel"], anchors["wz"] - ground - project.layout.clip_offset_mm, columns["facade_index"])
    width = columns["width"][:, None]
    shown = {
        "outward": on.most(out), "least": -on.most(-low), "weight": on.most(down),
        "panel_outward": on.panel_most(out), "panel_inward": on.panel_most(-low), "panel_weight": on.panel_most(down),
        "line_outward": on.panel_most(out / width), "line_inward": on.panel_most(-low / width), "line_weight": on.panel_most(down / width),
    }
    c = len(table)
    return Table("support_reactions", len(on) * c, {
        **{k: np.repeat(v, c, axis=0) for k, v in _about(tables, on).items()},
        "combination": np.tile(np.array([x.name for x in table], dtype=object), len(on)),
        "clause": np.tile(np.array([x.clause for x in table], dtype=object), len(on)),
        **{k: v.ravel() for k, v in shown.items()}})


def _none() -> Table:
    names, numbers = ("facade", "storey", "carrier", "combination", "clause"), ("facade_index", "anchors", "panels", "passing")
    forces = ("height", *(f"{of}_{way}" for of in ("panel", "line") for way in ("outward", "inward", "weight")), "outward", "least", "weight")
    return Table("support_reactions", 0, {**{k: np.empty(0, dtype=object) for k in names}, **{k: np.empty(0, dtype=np.int64) for k in numbers},
                                          **{k: np.empty(0) for k in forces}})


def _push(anchors: Table, pull: NDArray[Any]) -> NDArray[Any]:
    """(n,) what holds the couple of the eccentric weight: the lowest row, where that does not hang."""
    of, n = anchors["candidate"], int(anchors["candidate"].max()) + 1
    lowest = segment(np.minimum, anchors["y"], of, n, np.nan)
    low = (anchors["y"] <= lowest[of] + _ROW) & ~anchors["hangs"]
    count, total = np.bincount(of, low, n), np.bincount(of, pull, n)
    return np.where(low, total[of] / np.maximum(count[of], 1), 0.0)


def _about(tables: Tables, on: Rails) -> dict[str, NDArray[Any]]:
    """What names a rail: facade, height, storey, what carries it in the model, and how many anchors and panels hang on it."""
    anchors, panels, names = tables["anchors"], tables["panels"], tables["facades"]["facade_name"]
    facade = np.array([str(names[f]) if f >= 0 else "" for f in on.facade.tolist()], dtype=object)
    carried = np.add.reduceat((anchors["support"] >= 0)[on.order].astype(np.int64), on.rails_at)
    return {"facade": facade, "facade_index": on.facade, "height": on.height, "storey": panels["storey"][on.pair_panel[on.rails_of_pairs_at]],
            "carrier": np.where(carried == 0, "free", np.where(carried == on.anchors, "in the model", "in part in the model")).astype(object),
            "anchors": on.anchors, "panels": on.of_pairs(np.ones(panels.n)), "passing": on.of_pairs(panels["result"] == "pass")}
