"""The element itself: rigid movements, constant curvature, cut cells, and handbook plates with other edges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
import shapely

from bimcheck.plate.banded import factored, free_stiffness, half_solve, pressure_work
from bimcheck.plate.cut import cut_cells
from bimcheck.plate.element import FULL, full_stiffness, load, stiffness
from bimcheck.plate.hermite import Grid, cubics
from bimcheck.plate.rigidity import flexural_rigidity
from bimcheck.plate.samples import rows, smoothed
from bimcheck.plate.shape import build
from bimcheck.plate.topology import topology
from tests.plate.shapes import CASES

GRID = Grid(0.1, 0.07, 10, 8)


def test_cubics_are_one_at_their_own_freedom() -> None:
    """Definition of the Hermite cubics: value or slope 1 at one end, the rest 0."""
    ends = np.array([0.0, 1.0])
    values, slopes = cubics(ends), cubics(ends, 1)
    np.testing.assert_allclose(np.vstack([values[0], slopes[0], values[1], slopes[1]]), np.eye(4), atol=1e-15)


@pytest.mark.parametrize("nu", [0.0, 0.25])
def test_uniform_bending_and_twist_have_their_exact_energy(nu: float) -> None:
    """Energy of w = x^2 / 2, y^2 / 2, xy over an area a (D = 1): a / 2, a / 2, (1 - nu) a (plate theory)."""
    hx, hy = 0.3, 0.2
    k = full_stiffness(hx, hy, nu).reshape(16, 16)
    u, v = np.array([0, 0, hx, hx]), np.array([0, 0, hy, hy])
    x = [np.array([1, 0, 1, 0]), np.array([0, hx, hx, hx]), np.array([0, 0, hx**2 / 2, hx**2])]
    y = [np.array([1, 0, 1, 0]), np.array([0, hy, hy, hy]), np.array([0, 0, hy**2 / 2, hy**2])]
    assert u.shape == v.shape
    area = hx * hy
    for a, b, energy in ((x[2], y[0], area / 2), (x[0], y[2], area / 2), (x[1], y[1], (1 - nu) * area),
                         (x[0], y[0], 0), (x[1], y[0], 0), (x[0], y[1], 0)):
        w = np.outer(a, b).ravel()
        assert w @ k @ w / 2 == pytest.approx(energy, abs=1e-12)


def test_moments_of_cut_cells_add_up_to_those_of_the_polygon() -> None:
    """Area, centroid and second moment of a polygon with a hole (shapely; second moment by triangles)."""
    outer = shapely.Polygon([(0, 0), (1, 0.03), (0.93, 0.56), (0.31, 0.5), (0.05, 0.41)],
                            [[(0.4, 0.2), (0.63, 0.22), (0.52, 0.37)]])
    cut = cut_cells(GRID, outer)
    moments = np.broadcast_to(FULL, (80, 7, 7)).copy()
    moments[cut.cells] = cut.moments
    area = GRID.hx * GRID.hy
    i, j = np.divmod(np.arange(80), 8)
    x = (i * moments[:, 0, 0] + moments[:, 1, 0]) * GRID.hx
    xx = (i**2 * moments[:, 0, 0] + 2 * i * moments[:, 1, 0] + moments[:, 2, 0]) * GRID.hx**2
    assert area * moments[:, 0, 0].sum() == pytest.approx(outer.area, rel=1e-12)
    assert area * x.sum() == pytest.approx(outer.area * outer.centroid.x, rel=1e-12)
    assert area * xx.sum() == pytest.approx(_second_moment(outer), rel=1e-12)
    assert len(cut.cells) < 80 and j.max() == 7


def _second_moment(polygon: shapely.Polygon) -> float:
    """Integral of x^2: sum over edges of (x1 y2 - x2 y1)(x1^2 + x1 x2 + x2^2) / 12 (Green)."""
    total = 0.0
    for ring in (polygon.exterior, *polygon.interiors):
        p = np.asarray(shapely.Polygon(ring).exterior.coords)
        x, y, u, v = p[:-1, 0], p[:-1, 1], p[1:, 0], p[1:, 1]
        sign = 1 if ring is polygon.exterior or ring == polygon.exterior else -1
        total += sign * abs(np.sum((x * v - u * y) * (x * x + x * u + u * u)) / 12)
    return total


def test_a_whole_cell_is_a_cut_cell_with_nothing_cut() -> None:
    np.testing.assert_allclose(stiffness(FULL[None], np.array([0.1]), np.array([0.07]), 0.2)[0], full_stiffness(0.1, 0.07, 0.2), rtol=1e-12, atol=1e-9)
    assert load(FULL[None])[0, [0, 2, 8, 10]].sum() == pytest.approx(1.0)


def test_smoothed_second_derivative_is_exact_for_quartics() -> None:
    """The cubic through Gauss points reproduces (x^4)'' = 12 x^2 up to the cubics' own error, which vanishes there."""
    nodes = np.arange(9.0)
    coefficients = np.column_stack([nodes**4, 4 * nodes**3]).ravel()
    at = np.linspace(0, 8, 33)
    np.testing.assert_allclose(smoothed(8, at) @ coefficients, 12 * at**2, atol=1e-9)
    assert np.abs(rows(8, at, 2) @ coefficients - 12 * at**2).max() > 0.5  # read raw, it is not


@dataclass(frozen=True)
class Solved:
    """w and moments at a point of a rectangle lx by ly under unit pressure, D = 1."""

    grid: Grid
    field: np.ndarray
    nu: float

    def at(self, x: float, y: float) -> tuple[float, float, float, float]:
        g = self.grid
        u, v = np.array([x / g.hx]), np.array([y / g.hy])
        w = float((rows(g.nx, u) @ self.field @ rows(g.ny, v).T)[0, 0])
        xx = float((smoothed(g.nx, u) @ self.field @ rows(g.ny, v).T)[0, 0]) / g.hx**2
        yy = float((rows(g.nx, u) @ self.field @ smoothed(g.ny, v).T)[0, 0]) / g.hy**2
        xy = float((rows(g.nx, u, 1) @ self.field @ rows(g.ny, v, 1).T)[0, 0]) / (g.hx * g.hy)
        return w, -(xx + self.nu * yy), -(yy + self.nu * xx), (1 - self.nu) * xy


def constrained(lx: float, ly: float, nu: float, edges: str, cells: int = 24) -> Solved:
    """edges: "supported" w = 0 along them; "clamped" the normal slope too; "sliding" only the normal slope, with w = 0
    at the four corners (one panel of an endless flat slab)."""
    grid = Grid(lx / cells, ly / cells, cells, cells)
    top = topology(cells, cells)
    n = top.number
    along = {"w": [n[[0, -2]][:, ::2], n[::2][:, [0, -2]]], "tangent": [n[[0, -2]][:, 1::2], n[1::2][:, [0, -2]]],
             "normal": [n[[1, -1]][:, ::2], n[::2][:, [1, -1]]], "twist": [n[[1, -1]][:, 1::2], n[1::2][:, [1, -1]]]}
    kinds = {"supported": ("w", "tangent"), "clamped": ("w", "tangent", "normal", "twist"), "sliding": ("normal", "twist")}
    fixed = [k.ravel() for kind in kinds[edges] for k in along[kind]]
    if edges == "sliding":
        fixed.append(n[[0, 0, -2, -2], [0, -2, 0, -2]])
    rows_fixed = np.unique(np.concatenate(fixed))
    factor = factored(free_stiffness(grid, top, None, nu), rows_fixed)
    pressure, _ = pressure_work(grid, top, None)
    pressure[rows_fixed] = 0.0
    u = half_solve(factor, half_solve(factor, pressure[:, None]), transposed=True)[:, 0]
    return Solved(grid, u[n], nu)


@pytest.mark.parametrize(("quantity", "expected", "tolerance"), [
    ("w", 0.00406235, 2e-4), ("M", 0.0478864, 2e-4), ("Mxy", 0.065 / 2, 2e-3),
])
def test_simply_supported_square(quantity: str, expected: float, tolerance: float) -> None:
    """Navier's series, nu 0.3: w 0.00406235 q a^4 / D, M 0.0478864 q a^2, corner force 2 Mxy = 0.065 q a^2
    (Timoshenko and Woinowsky-Krieger, art. 30, table 8; further digits from a public benchmark catalogue)."""
    plate = constrained(1.0, 1.0, 0.3, "supported")
    w, mx, _, _ = plate.at(0.5, 0.5)
    value = {"w": w, "M": mx, "Mxy": abs(plate.at(0.0, 0.0)[3])}[quantity]
    assert value == pytest.approx(expected, rel=tolerance)


@pytest.mark.parametrize(("quantity", "expected", "tolerance"), [
    ("w", 0.001265319, 1e-5), ("M", 0.0229051, 2e-4), ("edge", -0.0513338, 5e-4),
])
def test_clamped_square(quantity: str, expected: float, tolerance: float) -> None:
    """nu 0.3 (series solutions quoted by a public benchmark catalogue; the classical table prints 0.00126, 0.0231, -0.0513)."""
    plate = constrained(1.0, 1.0, 0.3, "clamped")
    w, mx, _, _ = plate.at(0.5, 0.5)
    value = {"w": w, "M": mx, "edge": plate.at(0.0, 0.5)[1]}[quantity]
    assert value == pytest.approx(expected, rel=tolerance)


@pytest.mark.parametrize(("b", "alpha", "beta"), [(1.0, 0.0444, 0.2874), (1.2, 0.0616, 0.3762), (1.6, 0.0906, 0.5172), (2.0, 0.1110, 0.6102)])
def test_simply_supported_rectangles(b: float, alpha: float, beta: float) -> None:
    """y = alpha q b^4 / (E t^3), sigma = beta q b^2 / t^2, b the short side, nu 0.3 (Roark, table 11.4 case 1a)."""
    w, _, my, _ = constrained(b, 1.0, 0.3, "supported").at(b / 2, 0.5)
    assert w * 12 * (1 - 0.3**2) == pytest.approx(alpha, rel=0.01)
    assert my * 6 == pytest.approx(beta, rel=0.01)


def test_worked_example_of_a_slab_6_by_4_m() -> None:
    """t 100 mm, E 35000 MPa, nu 0.15, q 10 kN/m2: w 6.627 mm, Mx 6.231, My 12.315 kNm/m at the centre, Mxy 8.329 at the
    corner (worked example "rectangular slab" of an open calculation package)."""
    plate = constrained(6000.0, 4000.0, 0.15, "supported")
    q, rigidity = 0.010, flexural_rigidity(35000.0, 100.0, 0.15)
    w, mx, my, _ = plate.at(3000.0, 2000.0)
    assert w * q / rigidity == pytest.approx(6.627, rel=5e-4)
    assert (mx * q / 1e3, my * q / 1e3) == pytest.approx((6.231, 12.315), rel=1e-3)
    assert abs(plate.at(0.0, 0.0)[3]) * q / 1e3 == pytest.approx(8.329, rel=3e-3)


@pytest.mark.parametrize(("b", "w", "mx", "my"), [
    (1.0, 0.00581, 0.0331, 0.0331), (1.1, 0.00487, 0.0261, 0.0348), (1.3, 0.00387, 0.0175, 0.0375),
    (1.5, 0.00337, 0.0131, 0.0390), (2.0, 0.00292, 0.0092, 0.0411),
])
def test_panel_of_an_endless_flat_slab(b: float, w: float, mx: float, my: float) -> None:
    """Centre of a panel a x b on points, nu 0.2, in q b^4 / D and q b^2 (Timoshenko and Woinowsky-Krieger, art. 54, from
    memory; reproduced by a double Fourier series)."""
    value = constrained(1.0, b, 0.2, "sliding").at(0.5, b / 2)
    assert value[0] / b**4 == pytest.approx(w, rel=0.012)
    assert (value[1] / b**2, value[2] / b**2) == pytest.approx((mx, my), rel=0.012)


def test_flexural_rigidity() -> None:
    """E t^3 / 12 (1 - nu^2) by hand: 60000 x 27000 / (12 x 0.96) = 140.625e6 N mm."""
    assert flexural_rigidity(60000.0, 30.0, 0.2) == pytest.approx(140.625e6)


@pytest.mark.parametrize("name", ["pierced", "notched", "gable"])
def test_rigid_movements_and_uniform_bending_on_cut_and_uneven_grids(name: str) -> None:
    """No energy for 1, x, y; a / 2 for x^2 / 2, y^2 / 2 and (1 - nu) a for xy over the net area a (plate theory); what
    lies outside adds 1e-8 of its own."""
    nu = 0.2
    plate = build(CASES[name][0], nu)
    top, (x, y) = topology(plate.grid.nx, plate.grid.ny), plate.grid.nodes
    band = free_stiffness(plate.grid, top, cut_cells(plate.grid, plate.polygon), nu)
    powers = [[np.column_stack([at**p, h * p * at ** max(p - 1, 0)]).ravel() for p in range(3)]
              for at, h in ((x, plate.grid.hx), (y, plate.grid.hy))]
    area = plate.polygon.area
    for p, q, factor, expected in ((0, 0, 1, 0), (1, 0, 1, 0), (0, 1, 1, 0), (2, 0, 0.5, area / 2), (0, 2, 0.5, area / 2),
                                   (1, 1, 1, (1 - nu) * area)):
        w = np.empty(top.n)
        w[top.number] = factor * np.outer(powers[0][p], powers[1][q])
        assert _energy(band, w) == pytest.approx(expected, abs=1e-7)


def _energy(band: np.ndarray, w: np.ndarray) -> float:
    diagonal = np.sum(band[0] * w * w) / 2
    return diagonal + sum(float(np.sum(band[k, :-k] * w[k:] * w[:-k])) for k in range(1, len(band)))


def test_grid_lines_follow_the_edges_of_the_outline() -> None:
    x, y = build(CASES["pierced"][0], 0.2).grid.nodes
    for line in (480 / 1200, 720 / 1200):
        assert np.abs(x - line).min() < 1e-12
    for line in (240 / 1200, 480 / 1200):
        assert np.abs(y - line).min() < 1e-12
    quarter = np.sort(np.diff(x))[:4]  # one line more on either side of the two corners
    assert len(x) == 33 + 4 and np.diff(x).max() < 1.5 * 4 * quarter.min()


def test_edges_too_close_for_a_cell_share_a_line() -> None:
    """A step of 5 mm in a panel of 1200: no cell thinner than about a third of the rest."""
    stepped = np.array([[0, 0], [1200, 0], [1200, 600], [600, 600], [600, 605], [0, 605]], dtype=float)
    for lines in build([stepped], 0.2).grid.nodes:
        assert np.diff(lines).min() > 0.25 * np.diff(lines).mean()
