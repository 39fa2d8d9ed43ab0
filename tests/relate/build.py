"""Small invented facades as tables: panels along the edges of a plan, in raw axes that do not tell the outside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np

from bimcheck.core.tables import Ragged, Table, concat

UP = np.array([0.0, 0.0, 1.0])


@dataclass
class Made:
    """Panels: (front outline in the frame (k, 2) or rings, lower-left corner, u, n, thickness, name, further columns)."""

    rows: list[dict[str, Any]] = field(default_factory=list)

    def panel(self, corner: Sequence[float], n: Sequence[float], size: tuple[float, float], *, t: float = 30.0,
              rings: list[Any] | None = None, u: Sequence[float] | None = None, **more: Any) -> int:
        """Add a panel by the lower-left corner of its front face seen from outside; returns its row."""
        normal = np.asarray(n, float) / np.linalg.norm(n)
        along = np.cross(UP, normal) if u is None else np.asarray(u, float)
        w, h = size
        outer = [[0, 0], [w, 0], [w, h], [0, h]]
        self.rows.append({"corner": np.asarray(corner, float), "n": normal, "u": along / np.linalg.norm(along), "t": t,
                          "rings": [np.asarray(r, float) for r in (rings or [outer])], **more})
        return len(self.rows) - 1

    def wall(self, start: Sequence[float], end: Sequence[float], z: Sequence[float], *, joint: float = 8.0,
             module: float = 1500.0, inset: float = 50.0, t: float = 30.0, **more: Any) -> list[int]:
        """Panels from start to end (outside on the right), rows between the heights z."""
        a, b = np.asarray(start, float), np.asarray(end, float)
        length = float(np.linalg.norm(b - a))
        u = (b - a) / length
        count = max(1, round((length - 2 * inset) / module))
        edges = np.linspace(inset, length - inset, count + 1)
        rows = []
        for low, high in pairwise(z):
            for x0, x1 in pairwise(edges):
                left = x0 + (joint / 2 if x0 > inset else 0)
                right = x1 - (joint / 2 if x1 < length - inset else 0)
                corner = [*(a + u * left), low + joint / 2]
                rows.append(self.panel(corner, [u[1], -u[0], 0.0], (right - left, high - low - joint), t=t, **more))
        return rows

    def ring(self, plan: Sequence[Sequence[float]], z: Sequence[float], *, skip: Sequence[int] = (), **more: Any) -> list[list[int]]:
        """Walls along the edges of a plan (counter-clockwise; clockwise for a courtyard)."""
        return [self.wall(p, q, z, **more) if k not in skip else []
                for k, (p, q) in enumerate(zip(plan, [*plan[1:], plan[0]], strict=True))]

    def table(self, *, seed: int = 0, move: Any = None) -> Table:
        """The table `elements`; `move` maps world points (k, 3) to world points."""
        rng = np.random.default_rng(seed)
        raw = [_raw(r, rng, move or (lambda p: p)) for r in self.rows]
        count = len(raw)

        def column(key: str, default: Any) -> np.ndarray:
            return np.array([r.get(key, default) for r in self.rows], dtype=object)

        columns: dict[str, Any] = {
            "guid": np.array([f"guid{k:05d}" for k in range(count)], dtype=object), "step_id": np.arange(count) + 1,
            "name": column("name", ""), "model": column("model", "a.ifc"), "model_index": np.zeros(count, dtype=np.int64),
            "status": column("status", "panel"), "reason": column("reason", ""), "storey": column("storey", ""),
            "material_name": column("material", "granite"), "form": column("form", "flat"),
            "thickness": np.array([r["t"] for r in self.rows]),
            "raw_outline": Ragged.of([r[4] for r in raw], (3,)),
            "raw_outline_back": Ragged.of([np.zeros((0, 3))] * count, (3,))}
        columns |= {f"raw_{k}": np.array([r[i] for r in raw]).reshape(-1, 3) for i, k in enumerate(("origin", "u", "v", "n"))}
        return Table("elements", count, columns)


def _raw(r: dict[str, Any], rng: np.random.Generator, move: Any) -> tuple[np.ndarray, ...]:
    v = np.cross(r["n"], r["u"])
    front = [r["corner"] + p[:, :1] * r["u"] + p[:, 1:] * v for p in r["rings"]]
    behind = move(front[0] - r["t"] * r["n"])
    front = [move(p) for p in front]
    n = front[0][0] - behind[0]
    n = n / np.linalg.norm(n)
    flip = rng.random() < 0.5
    faces = [p - r["t"] * n for p in front] if flip else front
    n = -n if flip else n
    first = faces[0][1] - faces[0][0]
    a = rng.integers(4) * np.pi / 2
    first = first / np.linalg.norm(first)
    ru = np.cos(a) * first + np.sin(a) * np.cross(n, first)
    rv = np.cross(n, ru)
    o = faces[0][0]
    outline = [np.column_stack([(p - o) @ ru, (p - o) @ rv, np.full(len(p), k)]) for k, p in enumerate(faces)]
    return o, ru, rv, n, np.concatenate(outline)


def box(low: Sequence[float], high: Sequence[float], role: str, *, move: Any = None, name: str = "") -> Table:
    """One obstacle: an upright box."""
    lo, hi = np.asarray(low, float), np.asarray(high, float)
    points = np.array([[(lo, hi)[i][0], (lo, hi)[j][1], (lo, hi)[k][2]] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
    points = move(points) if move else points
    quads = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
    triangles = [points[[q[0], q[a], q[b]]].ravel() for q in quads for a, b in ((1, 2), (2, 3))]
    return body(np.array(triangles), role, name)


def body(triangles: np.ndarray, role: str, name: str = "") -> Table:
    points = triangles.reshape(-1, 3)
    text = {k: np.array([v], dtype=object) for k, v in (("guid", name), ("name", name), ("ifc_class", ""), ("role", role))}
    return Table("obstacles", 1, {**text, "box": np.r_[points.min(axis=0), points.max(axis=0)][None, :],
                                  "triangles": Ragged.of([triangles], (9,))})


def bodies(*parts: Table) -> Table:
    return concat("obstacles", list(parts)) if parts else body(np.zeros((1, 9)), "ignored").take(np.zeros(0, dtype=int))
