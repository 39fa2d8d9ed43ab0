"""The ground from which heights count, and on whose word."""

from __future__ import annotations

import numpy as np

from bimcheck.relate.facts import Floats, SiteFacts


def find_ground(site: SiteFacts, bottoms: Floats) -> tuple[float, str]:
    """World height of the ground and its source; the lowest panel is a guess."""
    stated = ((site.ground_setting, "setting"), (site.terrain, "terrain elevation"),
              (site.ground_storey, "ground storey"), (site.building, "building placement"))
    for value, source in stated:
        if np.isfinite(value):
            return float(value), source
    return (float(bottoms.min()) if len(bottoms) else float("nan")), "lowest panel"
