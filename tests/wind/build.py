"""Tables as relate delivers them, made from a building's stated dimensions (m), for the tests of the wind rules."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from bimcheck.core.plan import Plan, make_plan
from bimcheck.core.plugins import load
from bimcheck.core.rule import rules_of
from bimcheck.core.tables import Table
from bimcheck.core.vocabulary import STAGE_COLUMNS
from bimcheck.wind.settings import Wind

M = 1000.0


def settings(**keys: Any) -> dict[str, Any]:
    """Dotted settings; hard data without a value take their invented one."""
    values = Wind(**keys).model_dump()
    for name, info in Wind.model_fields.items():
        extra = info.json_schema_extra
        if values[name] is None and isinstance(extra, dict) and "assumed" in extra:
            values[name] = extra["assumed"]
    return {f"wind.{name}": value for name, value in values.items()}


def plan_of(standard: str, **keys: Any) -> Plan:
    return make_plan(rules_of(load("bimcheck.rules", standard)), STAGE_COLUMNS, settings(standard=standard, **keys))


@dataclass(frozen=True)
class Block:
    """A rectangular building with equal panels; turn: degrees its plan is turned, counter-clockwise.

    columns: width and height of a panel (m); places are all `field`.
    """

    b: float
    d: float
    h: float
    columns: tuple[float, float] = (1.5, 3.0)
    turn: float = 0.0


def block_tables(block: Block) -> dict[str, Table]:
    """facades and panels of the block."""
    angle = np.radians(block.turn + np.array([-90.0, 0.0, 90.0, 180.0]))
    normal = np.column_stack([np.cos(angle), np.sin(angle), np.zeros(4)])
    length = np.array([block.b, block.d, block.b, block.d])
    facades = facade_table([f"F{k + 1}" for k in range(4)], normal, length, length, length[[1, 0, 1, 0]])
    rows = [panel for k in range(4) for panel in _grid(k, length[k], block)]
    return {"facades": facades, "panels": panel_table(np.array(rows), length, block.h)}


def _grid(facade: int, length: float, block: Block) -> list[tuple[float, ...]]:
    across, up = max(int(length / block.columns[0]), 1), max(int(block.h / block.columns[1]), 1)
    w, t = length / across, block.h / up
    return [(facade, i * w, w, k * t, t) for k in range(up) for i in range(across)]


def facade_table(names: list[str], normal: np.ndarray, length: Any, b: Any, d: Any, **columns: Any) -> Table:
    """facades; lengths in m."""
    n = len(names)
    standard = dict(
        facade_name=np.array(names, dtype=object), facade_n=normal, facade_b=np.asarray(b) * M, facade_d=np.asarray(d) * M,
        facade_length=np.asarray(length) * M, facade_kind=np.full(n, "outer", dtype=object),
        least_plan=np.minimum(b, d) * M)
    return Table("facades", n, {**standard, **columns})


def panel_table(rows: np.ndarray, length: np.ndarray, h: float, **columns: Any) -> Table:
    """panels from rows facade, distance from its left end, width, bottom, height (m)."""
    n = len(rows)
    facade, s, w, z, t = rows.T
    index = facade.astype(int)
    standard = dict(
        facade_index=index, facade=np.array([f"F{k + 1}" for k in index], dtype=object), width=w * M, height=t * M,
        net_area=w * t * M**2, s_left=s * M, s_right=(length[index] - s - w) * M, z_bottom=z * M, z_top=(z + t) * M,
        h_building=np.full(n, h * M), place=np.full(n, "field", dtype=object), form=np.full(n, "flat", dtype=object))
    return Table("panels", n, {**standard, **columns})


def anchors_of(tables: dict[str, Table], inset: float = 0.2) -> dict[str, Table]:
    """Four anchors a panel, inset by a share of width and height; tributary a quarter of the area each.

    The panels become granite of 30 mm, round handbook values; w_unit is that of a simple strip over the height.
    """
    n = tables["panels"].n
    stone = dict(density=2700.0, t_max=32.0, t_min=28.0, E_mod=50_000.0, nu=0.2)
    panels = tables["panels"].with_columns(**{k: np.full(n, v) for k, v in stone.items()})
    layouts = Table("layouts", n, dict(w_unit=5 / 384 * panels["height"]**4))
    candidates = Table("candidates", n, dict(panel=np.arange(n), layout=np.arange(n)))
    at_x, at_y = np.array([1 - inset, inset, 1 - inset, inset]), np.array([inset, inset, 1 - inset, 1 - inset])
    anchors = Table("anchors", 4 * n, dict(
        candidate=np.repeat(np.arange(n), 4), x=(panels["width"][:, None] * at_x).ravel(),
        y=(panels["height"][:, None] * at_y).ravel(), tributary=np.repeat(panels["net_area"] / 4, 4)))
    return {**tables, "panels": panels, "layouts": layouts, "candidates": candidates, "anchors": anchors}
