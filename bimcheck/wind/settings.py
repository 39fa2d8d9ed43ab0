"""[wind]: the standard and the site."""

from __future__ import annotations

from typing import Literal

from bimcheck.core.settings import Section, hard, setting

EN = "EN 1991-1-4:2005"
ASCE = "ASCE 7 chapters 26, 30"


class Wind(Section):
    """Wind pressures; keys of standards other than the chosen one are not read."""

    standard: str = setting("en1991-1-4:2005", "'en1991-1-4:2005', 'asce7-16', 'asce7-22', 'tabulated', 'tabulated, floor en1991-1-4:2005', 'tabulated, floor asce7-16', 'tabulated, floor asce7-22', or an installed plug-in", source="project data")
    # The building, where the model does not tell it
    h_m: float | None = setting(None, "height of the building above ground; left out: derived from the model", unit="m", source="project data", gt=0)
    footprint: list[tuple[float, float]] = setting([], "plan of the building, corners in order in the model's axes; left out: derived from the model", unit="m", source="project data")
    north_deg: float | None = setting(None, "bearing of the model's y axis, clockwise from north; needed where c_dir differs by direction", unit="deg", source="project data")
    straddle: Literal["worst", "area-weighted"] = setting("worst", "a panel across two zones takes the worse one, or the mean by area (bending and deflection only)", source="engineer's choice")
    closers: Literal["closed", "open"] = setting("closed", "cavity closed by vertical closers at external corners and at the parapet, or open round the corners", source="project data")
    # EN 1991-1-4
    v_b0_m_s: float | None = hard(25.0, "fundamental value of the basic wind velocity", unit="m/s", source=f"{EN} national annex", gt=0)
    terrain: Literal["0", "I", "II", "III", "IV"] | None = hard("II", "terrain category", source=f"{EN} Table 4.1")
    z0_m: float | None = setting(None, "roughness length in place of the category's", unit="m", source=f"{EN} 4.3.2", gt=0)
    z_min_m: float | None = setting(None, "least height that goes with z0_m", unit="m", source=f"{EN} 4.3.2", gt=0)
    c_dir: list[float] = setting([1.0], "direction factors, equal sectors clockwise from north (centred on the bearing the wind comes from)", source=f"{EN} 4.2(2) Note 2")
    c_season: float = setting(1.0, "season factor", source=f"{EN} 4.2(2) Note 3", gt=0)
    c_alt: float = setting(1.0, "altitude factor where the national annex has one", source=f"{EN} national annex", gt=0)
    exceedance: float = setting(0.02, "annual probability of exceedance p of c_prob", source=f"{EN} 4.2(2) Note 4", gt=0, lt=1)
    K: float = setting(0.2, "shape parameter of c_prob", source=f"{EN} 4.2(2) Note 5")
    n: float = setting(0.5, "exponent of c_prob", source=f"{EN} 4.2(2) Note 5")
    c_o: float = setting(1.0, "orography factor", source=f"{EN} 4.3.3, A.3", gt=0)
    k_I: float = setting(1.0, "turbulence factor", source=f"{EN} 4.4(1)", gt=0)
    rho_kg_m3: float = setting(1.25, "air density", unit="kg/m3", source=f"{EN} 4.5(1) Note 2", gt=0)
    z_n_m: float = setting(0.0, "least reference height beside a much higher building", unit="m", source=f"{EN} A.4 (from memory)", ge=0)
    h_dis_m: float = setting(0.0, "displacement height among closely spaced buildings", unit="m", source=f"{EN} A.5 (from memory)", ge=0)
    strip_m: float = setting(5.0, "height of the strips between the lowest and the highest part of a windward wall", unit="m", source=f"{EN} Figure 7.4 leaves it open", gt=0)
    wall_table: str = setting("en1991_1_4_walls", "table of c_pe: the recommended values, 'en1991_1_4_walls_example' (invented, shows a changed table), or a CSV file", source=f"{EN} Table 7.1")
    internal_pressure: bool = setting(False, "the panel is the only skin: add the internal pressure", source=f"{EN} 7.2.9")
    dominant_opening_ratio: float = setting(0.0, "openings of a dominant face over all others; 0 = none; counts only with internal_pressure", source=f"{EN} 7.2.9(5)", ge=0)
    two_skin: bool = setting(False, "two-skin rules: 2/3 of the pressure, 1/3 of the suction; conditions are checked", source=f"{EN} 7.2.10 (from memory)")
    cavity_gap_mm: float = setting(0.0, "declared gap of the cavity, for two_skin", unit="mm", source="project data", ge=0)
    inner_permeability: float = setting(1.0, "declared permeability mu of the inner skin, for two_skin", source="project data", ge=0, le=1)
    parapet_height_m: float = setting(1.5, "height of the parapet above the roof", unit="m", gt=0)
    parapet_returns: bool = setting(False, "the parapet has return corners of at least its own height", source=f"{EN} Table 7.9")
    # ASCE 7
    v_mph: float | None = hard(115.0, "basic wind speed", unit="mph", source="ASCE 7 chapter 26", gt=0)
    exposure: Literal["B", "C", "D"] | None = hard("C", "exposure category", source="ASCE 7 26.7")
    K_zt: float = setting(1.0, "topographic factor", source="ASCE 7 26.8", gt=0)
    K_d: float = setting(0.85, "directionality factor of components and cladding", source="ASCE 7 Table 26.6-1", gt=0)
    ground_elevation_ft: float = setting(0.0, "ground above sea level, for K_e (0: K_e = 1)", unit="ft", source="ASCE 7 Table 26.9-1")
    enclosure: Literal["enclosed", "partially enclosed", "partially open", "open"] = setting("enclosed", "enclosure class", source="ASCE 7 Table 26.13-1")
    flat_roof: bool = setting(False, "roof slope of at most 10 degrees: 0.9 of GCp of walls up to 60 ft", source="ASCE 7 Figure 30.3-1 note 5")
    asce_basis: Literal["strength", "asd"] = setting("strength", "deliver strength-level pressures, or 0.6 of them", source="ASCE 7 2.3, 2.4")
    serviceability: float = setting(0.42, "share of the strength-level wind for deflection", source="from memory", gt=0)
    # A table from a wind tunnel
    table: str = setting("", "CSV file: facade, z_from_m, z_to_m, s_from_m, s_to_m, suction_kPa, pressure_kPa, basis", source="wind-tunnel study")
    floor: float = setting(1.0, "share of the standard's pressures below which the table never goes, with a 'tabulated, floor ...' standard", source="project data", ge=0)
