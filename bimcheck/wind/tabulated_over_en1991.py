"""Tabulated pressures with EN 1991-1-4:2005 as their floor: the rules of both, joined."""

from bimcheck.wind.en1991_1_4 import (
    anchor_pressures,
    building_height,
    direction_factors,
    first_frequency,
    peak_velocity_pressures,
    plan_extents,
    range_of_validity,
    rear_coefficients,
    side_zones,
    tributary_edges,
    wall_cases,
    wall_pressures,
    windward_height,
)
from bimcheck.wind.floors import floored_anchor_loads, floored_loads
from bimcheck.wind.tabulated import table_anchor_pressures, table_pressures

__all__ = [
    "anchor_pressures", "building_height", "direction_factors", "first_frequency", "floored_anchor_loads", "floored_loads",
    "peak_velocity_pressures", "plan_extents", "range_of_validity", "rear_coefficients", "side_zones",
    "table_anchor_pressures",
    "table_pressures", "tributary_edges", "wall_cases", "wall_pressures", "windward_height",
]
