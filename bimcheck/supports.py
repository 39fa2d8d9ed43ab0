"""The table `support_reactions`: forces by rail, or by the height a rail would need, for the substructure's designer."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from bimcheck.actions.reactions import READS, listed, support_forces
from bimcheck.core.tables import Table, Tables, gather, segment
from bimcheck.layout.rails import support_reactions
from bimcheck.project import Settings

_ROW = 1.0  # mm: anchors of one panel this near in height are one row


def reactions(tables: Tables, settings: Settings, ground: float) -> Table:
    """A row a rail and combination; heights above `ground` (mm, world), forces in N, line loads in N/mm.

    Reads the selected anchors with their world places and `support`, and the panels' results.
    """
    anchors, panels = tables["anchors"], tables["panels"]
    if not anchors.n:
        return Table("support_reactions", 0, {})
    columns: dict[str, Any] = {k: np.asarray(gather(tables, "anchors", k)) for k in (*READS, "panel", "facade_index", "width", "result")}
    panel = columns["panel"]
    project = settings.project
    table = listed(project.actions.format, str(panels["w_basis"][0]), project.seismic.standard not in ("none", ""))
    greatest, least, weight = support_forces(table, columns, _push(anchors, columns["N_G"]))
    height = anchors["wz"] - ground - project.layout.clip_offset_mm
    by = (anchors, panel, height, columns["facade_index"])
    out, back, down = support_reactions(*by, greatest), support_reactions(*by, -least), support_reactions(*by, weight)
    per_mm = 1 / columns["width"][:, None]
    line_out, line_in, line_down = (support_reactions(*by, f * per_mm)["panel_sum"] for f in (greatest, -least, weight))
    rail = _rail_of(out, columns["facade_index"], height)
    shown = {
        "outward": out["greatest"], "least": -back["greatest"], "weight": down["greatest"],
        "panel_outward": out["panel_sum"], "panel_inward": back["panel_sum"], "panel_weight": down["panel_sum"],
        "line_outward": line_out, "line_inward": line_in, "line_weight": line_down,
    }
    c = len(table)
    about = _about(tables, out, rail, columns)
    return Table("support_reactions", out.n * c, {
        **{k: np.repeat(v, c, axis=0) for k, v in about.items()},
        "combination": np.tile(np.array([x.name for x in table], dtype=object), out.n),
        "clause": np.tile(np.array([x.clause for x in table], dtype=object), out.n),
        **{k: v.ravel() for k, v in shown.items()}})


def _push(anchors: Table, pull: NDArray[Any]) -> NDArray[Any]:
    """(n,) what holds the couple of the eccentric weight: the lowest row, where that does not hang."""
    of, n = anchors["candidate"], int(anchors["candidate"].max()) + 1
    lowest = segment(np.minimum, anchors["y"], of, n, np.nan)
    low = (anchors["y"] <= lowest[of] + _ROW) & ~anchors["hangs"]
    count, total = np.bincount(of, low, n), np.bincount(of, pull, n)
    return np.where(low, total[of] / np.maximum(count[of], 1), 0.0)


def _rail_of(rails: Table, facade: NDArray[Any], height: NDArray[Any]) -> NDArray[np.int64]:
    """(n,) row of each anchor's rail."""
    keys = {(f, h): i for i, (f, h) in enumerate(zip(rails["facade_index"].tolist(), rails["height"].tolist(), strict=True))}
    return np.array([keys[f, h] for f, h in zip(facade.tolist(), np.round(height).tolist(), strict=True)], dtype=np.int64)


def _about(tables: Tables, rails: Table, rail: NDArray[np.int64], columns: dict[str, Any]) -> dict[str, NDArray[Any]]:
    """What names a rail: facade, height, storey, what carries it in the model, and how many anchors and panels hang on it."""
    anchors, panels, n = tables["anchors"], tables["panels"], rails.n
    names = tables["facades"]["facade_name"]
    facade = np.array([str(names[f]) if f >= 0 else "" for f in rails["facade_index"].tolist()], dtype=object)
    carried = np.bincount(rail, anchors["support"] >= 0, n)
    pairs = np.unique(np.column_stack([rail, columns["panel"]]), axis=0)
    first = pairs[np.unique(pairs[:, 0], return_index=True)[1], 1]
    passing = np.bincount(pairs[:, 0], panels["result"][pairs[:, 1]] == "pass", n).astype(np.int64)
    return {"facade": facade, "facade_index": rails["facade_index"], "height": rails["height"], "storey": panels["storey"][first],
            "carrier": np.where(carried == 0, "free", np.where(carried == rails["anchors"], "in the model", "in part in the model")).astype(object),
            "anchors": rails["anchors"], "panels": np.bincount(pairs[:, 0], minlength=n).astype(np.int64), "passing": passing}
