"""Tabulated pressures with ASCE 7 as their floor: the rules of both, joined."""

from bimcheck.wind.asce7 import (
    anchor_pressures,
    building_height,
    plan_extents,
    range_of_validity,
    tributary_edges,
    velocity_pressures,
    wall_cases,
    wall_pressures,
    zone_and_area,
)
from bimcheck.wind.floors import floored_anchor_loads, floored_loads
from bimcheck.wind.tabulated import table_anchor_pressures, table_pressures

__all__ = [
    "anchor_pressures", "building_height", "floored_anchor_loads", "floored_loads", "plan_extents", "range_of_validity",
    "table_anchor_pressures", "table_pressures", "tributary_edges", "velocity_pressures", "wall_cases", "wall_pressures",
    "zone_and_area",
]
