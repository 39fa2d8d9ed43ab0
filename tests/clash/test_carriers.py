"""Which body carries an anchor; a facade laid out by hand, so every expectation follows from its dimensions."""

from __future__ import annotations

from itertools import product

import numpy as np

from bimcheck.clash.carriers import carriers
from bimcheck.core.tables import Ragged, Table
from tests.clash.common import settings

# corners of a box by the bits of their number, and its twelve triangles
_FACES = [(0, 1, 3), (0, 3, 2), (4, 6, 7), (4, 7, 5), (0, 4, 5), (0, 5, 1), (2, 3, 7), (2, 7, 6), (0, 2, 6), (0, 6, 4),
          (1, 5, 7), (1, 7, 3)]


def _obstacles(bodies: list[tuple[str, list[float]]]) -> Table:
    boxes = np.array([b for _, b in bodies], float)
    corners = [np.array([[b[3 * i + a] for a, i in enumerate(bits)] for bits in product((0, 1), repeat=3)]) for b in boxes]
    triangles = [np.array([[*c[i], *c[j], *c[k]] for i, j, k in _FACES]) for c in corners]
    text = np.full(len(bodies), "", object)
    return Table("obstacles", len(bodies), {
        "role": np.array([r for r, _ in bodies], object), "name": text, "ifc_class": text, "material_name": text, "box": boxes,
        "triangles": Ragged.of(triangles, (9,))})


def _tables(bodies: list[tuple[str, list[float]]]) -> dict[str, Table]:
    """One panel 1000 x 600 x 20 facing -y, its rear face at y = 20; anchors 100 mm inside the corners, not in order."""
    elements = Table("elements", 1, {k: np.array([v], float) for k, v in (
        ("origin", [0, 0, 0]), ("u", [1, 0, 0]), ("v", [0, 0, 1]), ("n", [0, -1, 0]))} | {
        k: np.array([v]) for k, v in (("width", 1000.0), ("height", 600.0), ("thickness", 20.0))})
    x, z = np.array([900.0, 100.0, 900.0, 100.0]), np.array([500.0, 100.0, 100.0, 500.0])
    anchors = Table("anchors", 4, {"panel": np.zeros(4, int), "wx": x, "wy": np.full(4, 20.0), "wz": z})
    return {"elements": elements, "panels": Table("panels", 1, {"element": np.array([0])}), "anchors": anchors,
            "obstacles": _obstacles(bodies)}


LOW, HIGH = [-500.0, 40.0, 80.0, 1500.0, 80.0, 120.0], [-500.0, 40.0, 480.0, 1500.0, 80.0, 520.0]


def test_each_anchor_hangs_on_the_rail_of_its_row() -> None:
    found = carriers(_tables([("wall", [-500, 200, -500, 1500, 400, 1500]), ("rail", HIGH), ("rail", LOW)]), settings())
    assert found.tolist() == [1, 2, 2, 1]


def test_nothing_in_reach_is_minus_one() -> None:
    assert carriers(_tables([("rail", HIGH)]), settings()).tolist() == [0, -1, -1, 0]
    assert carriers(_tables([("rail", [-500, 400, 80, 1500, 440, 120])]), settings()).tolist() == [-1] * 4
    assert carriers(_tables([]), settings()).tolist() == [-1] * 4


def test_a_rail_goes_before_a_nearer_bracket_and_the_nearer_of_two_brackets_first() -> None:
    bracket = [850.0, 21.0, 450.0, 950.0, 60.0, 550.0]
    assert carriers(_tables([("bracket", bracket), ("rail", HIGH)]), settings()).tolist()[0] == 1
    further = [960.0, 21.0, 450.0, 990.0, 60.0, 550.0]
    assert carriers(_tables([("bracket", further), ("bracket", bracket)]), settings()).tolist()[0] == 1
