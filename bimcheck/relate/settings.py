"""[joints] widths, and [relate]: what counts as one facade, as a neighbour, as behind."""

from __future__ import annotations

from bimcheck.core.settings import Section, setting


class Joints(Section):
    """Joint widths that the project allows."""

    min_mm: float = setting(5.0, "least joint width", unit="mm", ge=0)
    max_mm: float = setting(20.0, "greatest joint width", unit="mm", ge=0)
    step_mm: float = setting(3.0, "greatest step out of plane between neighbours", unit="mm", ge=0)


class Relate(Section):
    """How panels are put together to facades and neighbours."""

    facade_step_mm: float = setting(100.0, "planes closer than this are one facade", unit="mm", gt=0)
    neighbour_reach_mm: float = setting(60.0, "panels farther apart than this are no neighbours", unit="mm", gt=0)
    neighbour_overlap_mm: float = setting(10.0, "neighbours share at least this length along the joint", unit="mm", ge=0)
    coplanar_mm: float = setting(30.0, "neighbours step out of plane by no more than this", unit="mm", gt=0)
    corner_reach_mm: float = setting(4000.0, "farthest that a facade is extended to meet the next at a corner", unit="mm", gt=0)
    gap_reach_mm: float = setting(10000.0, "widest gap inside one facade", unit="mm", gt=0)
    sloped_deg: float = setting(2.0, "slope from which a panel is reported as sloped", unit="deg", gt=0)
    inclined_deg: float = setting(15.0, "slope from which zones of vertical walls no longer hold", unit="deg", gt=0)
    soffit_deg: float = setting(60.0, "slope from which a panel counts as horizontal", unit="deg", gt=0)
    return_mm: float = setting(600.0, "facades shorter than this are corner returns or reveals", unit="mm", ge=0)
    recess_mm: float = setting(1000.0, "a facade set back less than this is no recess", unit="mm", ge=0)
    parapet_mm: float = setting(1500.0, "greatest height above the roof slab that is taken for a parapet", unit="mm", ge=0)
    apart_mm: float = setting(50000.0, "a file farther than this from all others does not line up with them", unit="mm", gt=0)
    support_reach_mm: float = setting(150.0, "rails and brackets are looked for this far behind the rear face", unit="mm", ge=0)
    keep_out_mm: float = setting(40.0, "other bodies nearer than this behind the rear face are kept clear of anchors", unit="mm", ge=0)
