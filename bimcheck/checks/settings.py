"""[checks]: limits that are the engineer's choice."""

from __future__ import annotations

from typing import Literal

from bimcheck.core.settings import Section, setting


class Checks(Section):
    """Limits of the checks; 0 or nothing switches a limit off where the text says so."""

    deflection: float = setting(200.0, "spacing of adjacent anchors over the greatest deflection relative to them", source="common practice L/200 to L/300, no source", gt=0)
    interaction: Literal["linear", "1.2", "power-1.5", "power-2"] = setting("linear", "tension and shear: sum <= 1; sum <= 1.2 with each <= 1; sum of powers 1.5; of powers 2 (steel)", source="common practice, no source; linear is the safe one")
    area_max_m2: float = setting(0.0, "greatest area of a panel; 0 = none", unit="m2", ge=0)
    side_max_mm: float = setting(0.0, "greatest side of a panel; 0 = none", unit="mm", ge=0)
    overhang_over_t: float = setting(0.0, "greatest overhang beyond the anchors over the thickness; 0 = none", ge=0)
    cavity_mm: float = setting(20.0, "least ventilation cavity; checked where cavity_known_mm is given", unit="mm", source="DIN 18516-1 4.2 as seen in public text", ge=0)
    cavity_known_mm: float | None = setting(None, "cavity of the build-up; left out: not checked here", unit="mm", source="project data", ge=0)
    hook_engagement_mm: float = setting(10.0, "engagement of the hook on its rail", unit="mm", ge=0)
    engagement_left_mm: float = setting(4.0, "least engagement left after movement", unit="mm", ge=0)
    lift_clearance_mm: float = setting(2.0, "clearance to lift a panel over its rail", unit="mm", ge=0)
    hang_in: bool = setting(False, "prove the room to hang in: joint above >= engagement + clearance + tolerance")
    series_age_years: float = setting(5.0, "greatest age of a test series; older ones are a warning", ge=0)
    cov_max: float = setting(0.20, "greatest coefficient of variation of a test series; above it a warning", ge=0)
