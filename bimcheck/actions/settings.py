"""[actions], [movement], [seismic]: what acts beside the wind, and how actions are combined."""

from __future__ import annotations

from typing import Literal

from bimcheck.core.settings import Section, hard, setting

Format = Literal["en1990", "asce-lrfd", "asce-asd", "global"]


class Actions(Section):
    """Combinations and the way weight reaches the anchors."""

    format: Format = setting("en1990", "combination and safety format; 'global' = characteristic actions against R / F", source="EN 1990 6.4.3.2; ASCE 7-16 2.3, 2.4")
    eccentricity_mm: float | None = setting(None, "from the panel's mid-plane to the load line of the clips; left out: half the greatest thickness + stand-off", unit="mm", ge=0)
    misfit_mm: float = setting(0.0, "out-of-plane error at one support after mounting; 0 presumes that clips are adjusted until every anchor bears", unit="mm", ge=0)
    spring_kN_mm: float = setting(10.0, "stiffness of one support out of plane, for the elastic solution of the envelope", unit="kN/mm", gt=0)
    robust: bool = setting(False, "prove each panel with any one anchor ineffective (accidental factors 1.0)", source="EN 1991-1-7 3.3 (from memory)")


class Movement(Section):
    """Movement of panel against substructure."""

    T_0_C: float = setting(15.0, "temperature at mounting", unit="degC")
    T_max_C: float = setting(80.0, "greatest surface temperature", unit="degC", source="common range -20..+80, from memory")
    T_min_C: float = setting(-20.0, "least surface temperature", unit="degC", source="common range -20..+80, from memory")
    alpha_rail_per_K: float = setting(23.5e-6, "thermal expansion of the rails", unit="1/K", source="aluminium 23-24e-6, handbook range", ge=0)
    tolerance_mm: float = setting(1.0, "part of a joint that mounting tolerances may use up", unit="mm", ge=0)
    drift_mm: float = setting(0.0, "storey drift between neighbouring panels", unit="mm", ge=0)


class Seismic(Section):
    """Earthquake on the panel as a non-structural element."""

    standard: Literal["none", "en1998-1", "asce7-16", "asce7-22"] = setting("none", "'none', 'en1998-1' (4.3.5) or 'asce7-16' (13.3); asce7-22 is refused until built from its text", source="project data")
    alpha: float | None = hard(0.1, "a_g / g on rock", source="EN 1998-1 national annex", ge=0)
    S: float | None = hard(1.2, "soil factor", source="EN 1998-1 Table 3.2", ge=0)
    gamma_a: float = setting(1.0, "importance factor of the element", source="EN 1998-1 4.3.5.3", gt=0)
    q_a: float = setting(2.0, "behaviour factor of facade elements", source="EN 1998-1 Table 4.4", gt=0)
    Ta_over_T1: float = setting(0.0, "period of the panel over that of the building; stiff panels 0", ge=0)
    S_DS: float | None = hard(0.5, "design spectral acceleration", source="ASCE 7-16 11.4.5", ge=0)
    I_p: float = setting(1.0, "component importance factor", source="ASCE 7-16 13.1.3", gt=0)
    component: str = setting("exterior nonstructural wall: wall element", "row of Table 13.5-1 that gives a_p and R_p of the panel", source="ASCE 7-16 Table 13.5-1")
    component_anchor: str = setting("exterior nonstructural wall: fasteners of connecting system", "row of Table 13.5-1 that gives a_p and R_p of the anchors", source="ASCE 7-16 Table 13.5-1")
