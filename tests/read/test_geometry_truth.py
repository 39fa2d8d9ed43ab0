"""Normal, size and place of every panel of the models whose truth is how they were laid out, never the written file.

Tolerances: 0.2 mm on sides, 0.1 degrees on normals, 0.5 mm on places (the truth states centres to 0.01 mm).
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.read.truthcase import CASES, FOLDER, case, row_of

pytestmark = pytest.mark.skipif(not CASES, reason=f"needs the models of {FOLDER.name} next to the project")
UP = np.array([0.0, 0.0, 1.0])
LENGTH, PLACE, ANGLE = 0.2, 0.5, 0.1


@pytest.fixture(scope="module", params=CASES)
def panels(request: pytest.FixtureRequest) -> list[tuple[dict[str, str], dict[str, Any]]]:
    """(truth, row of the elements) of every panel."""
    known = case(request.param)
    elements = known.read().elements
    rows, names = row_of(elements), ("raw_origin", "raw_u", "raw_v", "raw_n", "raw_outline", "thickness")
    pairs = [(t, rows[t["file"], int(t["step_id"])]) for t in known.rows if t["kind"] == "panel"]
    return [(t, {name: elements[name][row] for name in names}) for t, row in pairs]


def vector(truth: dict[str, str], names: str) -> Any:
    return np.array([float(truth[k]) for k in names.split()])


def corners(row: dict[str, Any]) -> Any:
    """(k, 3) corners of the outline, without the cut-outs."""
    outline = row["raw_outline"][row["raw_outline"][:, 2] == 0]
    return row["raw_origin"] + outline[:, :1] * row["raw_u"] + outline[:, 1:2] * row["raw_v"]


def test_normals_up_to_their_side(panels) -> None:
    for truth, row in panels:
        cosine = min(abs(float(row["raw_n"] @ vector(truth, "nx ny nz"))), 1.0)
        assert np.degrees(np.arccos(cosine)) < ANGLE, truth["step_id"]


def test_width_height_and_centre(panels) -> None:
    for truth, row in panels:
        n, centre = vector(truth, "nx ny nz"), 1000.0 * vector(truth, "cx_m cy_m cz_m")
        if abs(n[2]) > 0.99:
            continue  # the axes of a soffit are those of the facade it belongs to: below
        u = np.cross(UP, n) / np.linalg.norm(np.cross(UP, n))
        for axis, size in ((u, truth["width_mm"]), (np.cross(n, u), truth["height_mm"])):
            along = (corners(row) - centre) @ axis
            assert np.ptp(along) == pytest.approx(float(size), abs=LENGTH), truth["step_id"]
            assert (along.min() + along.max()) / 2 == pytest.approx(0.0, abs=PLACE), truth["step_id"]


def test_sides_of_soffits(panels) -> None:
    for truth, row in panels:
        if truth["reason"] == "soffit":
            sides = sorted(np.ptp(row["raw_outline"][:, :2], axis=0))
            assert sides == pytest.approx(sorted((float(truth["width_mm"]), float(truth["height_mm"]))), abs=LENGTH)


def test_one_of_the_two_faces_is_the_front(panels) -> None:
    for truth, row in panels:
        if truth["reason"] == "curved":
            continue  # its outline lies in the plane of a chord
        n = vector(truth, "nx ny nz")
        ahead = (row["raw_origin"] - 1000.0 * vector(truth, "cx_m cy_m cz_m")) @ n
        front = ahead if row["raw_n"] @ n > 0 else ahead + row["thickness"]
        assert front == pytest.approx(0.0, abs=PLACE), truth["step_id"]
