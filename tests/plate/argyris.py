"""An independent peer: the same plates by scikit-fem's Argyris triangle (quintic), anchors on mesh nodes."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy import sparse
from skfem import Basis, BilinearForm, ElementTriArgyris, LinearForm, MeshTri, solve
from skfem.helpers import dd, ddot, trace


@dataclass(frozen=True)
class Peer:
    """reaction (n,) per q; at(points) deflections; slopes by differences of the C1 field."""

    basis: Basis
    u: np.ndarray
    reaction: np.ndarray
    nu: float

    def at(self, points: np.ndarray) -> np.ndarray:
        return self.basis.probes(points.T) @ self.u

    def anchor_moment(self, centre: np.ndarray, r: float) -> float:
        """Largest principal moment averaged over the disc of radius r itself, by slope x normal on its circle."""
        angle = (np.arange(128) + 0.5) * 2 * np.pi / 128
        normal = np.column_stack([np.cos(angle), np.sin(angle)])
        circle, step = centre + r * normal, 1e-4
        sx, sy = ((self.at(circle + d) - self.at(circle - d)) / (2 * step) for d in (np.array([step, 0.0]), np.array([0.0, step])))
        xx, yy, xy = (2 / r * np.mean(v) for v in (sx * normal[:, 0], sy * normal[:, 1], (sx * normal[:, 1] + sy * normal[:, 0]) / 2))
        return (1 + self.nu) / 2 * abs(xx + yy) + (1 - self.nu) * float(np.hypot((xx - yy) / 2, xy))


    def ring_moment(self, corner: np.ndarray, r: float, directions: np.ndarray) -> float:
        """Largest principal moment at r from a corner along directions (radians), by the quintic's own second derivatives."""
        at = corner + r * np.column_stack([np.cos(directions), np.sin(directions)])
        mesh, mapping = self.basis.mesh, self.basis.mapping
        cells = mesh.element_finder(mapping=mapping)(*at.T)
        local = mapping.invF(at.T[:, :, None], tind=cells)
        hess = sum(np.asarray(self.basis.elem.gbasis(mapping, local, i, tind=cells)[0].hess)[..., 0] * self.u[dofs[cells]]
                   for i, dofs in enumerate(self.basis.element_dofs))
        xx, yy, xy = hess[0, 0], hess[1, 1], hess[0, 1]
        return float(np.max((1 + self.nu) / 2 * np.abs(xx + yy) + (1 - self.nu) * np.hypot((xx - yy) / 2, xy)))


def _lines(stops: list[float], size: float, near: np.ndarray, sharp: tuple[float, ...] = ()) -> np.ndarray:
    """Mesh lines about `size` apart through all stops, finer about the anchors, and more and more so towards `sharp`."""
    pieces = [np.linspace(a, b, max(1, round((b - a) / size)) + 1)[:-1] for a, b in pairwise(stops)]
    close = np.add.outer(near, size * np.array([-0.5, -0.25, 0.25, 0.5])).ravel()
    steps = size * 0.5 ** np.arange(1, 5)  # finer, and the element is too badly conditioned
    close = np.concatenate([close, *(c + np.concatenate([-steps, steps]) for c in sharp)])
    lines = np.unique(np.round(np.concatenate([*pieces, [stops[-1]], close[(close > stops[0]) & (close < stops[-1])]]), 6))
    keep = np.concatenate([[True], np.diff(lines) > size / 100])
    return lines[keep]


def solve_peer(width: float, height: float, anchors: np.ndarray, nu: float, size: float,
               hole: tuple[float, float, float, float] | None = None, *, graded: bool = False) -> Peer:
    """Rectangle with at most one rectangular hole, rigid anchors, q = D = 1; graded: finer towards the hole's corners."""
    x0, y0, x1, y1 = hole or (0.0, 0.0, 0.0, 0.0)
    xs, ys = (sorted({0.0, end, *anchors[:, k].tolist(), a, b}) for k, end, a, b in ((0, width, x0, x1), (1, height, y0, y1)))
    corner_x, corner_y = ((x0, x1), (y0, y1)) if hole and graded else ((), ())
    mesh = MeshTri.init_tensor(_lines(xs, size, anchors[:, 0], corner_x), _lines(ys, size, anchors[:, 1], corner_y))
    middle = mesh.p[:, mesh.t].mean(axis=1)
    void = (middle[0] > x0) & (middle[0] < x1) & (middle[1] > y0) & (middle[1] < y1)
    mesh = mesh.restrict(np.flatnonzero(~void)) if hole else mesh
    basis = Basis(mesh, ElementTriArgyris(), intorder=8)

    @BilinearForm
    def stiffness(u, v, _):
        return (1 - nu) * ddot(dd(u), dd(v)) + nu * trace(dd(u)) * trace(dd(v))

    @LinearForm
    def pressure(v, _):
        return 1.0 * v

    k, f = stiffness.assemble(basis), pressure.assemble(basis)
    nodes = [int(np.argmin(np.hypot(mesh.p[0] - x, mesh.p[1] - y))) for x, y in anchors]
    held = basis.nodal_dofs[0, nodes]
    free = np.setdiff1d(np.arange(k.shape[0]), held)
    u = np.zeros(k.shape[0])
    scale = sparse.diags(1 / np.sqrt(k.diagonal()[free]))  # values, slopes and curvatures differ by powers of the size
    u[free] = scale @ solve(scale @ k[free][:, free] @ scale, scale @ f[free])
    return Peer(basis, u, f[held] - k[held] @ u, nu)
