"""Bending under wind alone on the same supports never rises with thickness (plate theory: m hardly changes, stress goes by
t^-2), through the columns of layouts, the design moment and the check; spring supports and re-entrant corners too."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bimcheck.actions.forces import plate_moment
from bimcheck.checks.plate import bending
from bimcheck.layout.jobs import Job
from bimcheck.plate.envelope import layouts
from bimcheck.resistances.plate import plate_stiffness
from tests.plate.shapes import CASES

THICKNESS = np.array([8.0, 9.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0])  # mm


@pytest.mark.parametrize("name", ["panel-4", "panel-6", "panel-9", "panel-crooked", "notched", "pierced"])
@pytest.mark.parametrize("spring", [2e3, 2e4])
def test_bending_by_wind_alone_never_rises_with_thickness(name: str, spring: float, tmp_path: Path) -> None:
    rings, anchors = CASES[name]
    n = len(THICKNESS)
    D = plate_stiffness(np.full(n, 50e3), THICKNESS, np.full(n, 0.2))
    found = layouts([Job(tuple(rings), 0.2, anchors, 8.0, float(d / spring), float(t)) for d, t in zip(D, THICKNESS, strict=True)], where=tmp_path, processes=1)
    zero, one = np.zeros(n), np.ones(n)
    m, *_ = plate_moment(np.full(n, -1.2e-3), np.full(n, 0.8e-3), zero, zero, np.array(["characteristic"] * n, object), found["m_support"], found["m_field"],
                         found["m_corner"], zero, zero, zero, zero, one, format="en1990", seismic_standard="none")
    u, _ = bending(m, THICKNESS, np.full(n, 5.0))
    assert np.isfinite(u).all() and np.all(np.diff(u) < 0), u
