"""[materials.NAME]: what a panel material weighs, how stiff it is, and what its tests allow."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from bimcheck.core.settings import Section, hard, setting


class TestedAnchor(Section):
    """One tested combination: [[materials.NAME.anchors]], as `bimcheck pullout` writes it."""

    thickness_mm: float = setting(..., "least thickness of the specimens", unit="mm", source="test report", gt=0)
    embedment_mm: float = setting(..., "embedment of the undercut in the test", unit="mm", source="test report", gt=0)
    edge_mm: float = setting(..., "edge distance in the test", unit="mm", source="test report", gt=0)
    spacing_mm: float | None = setting(None, "spacing in the test, where anchors were tested in pairs", unit="mm", source="test report")
    tension_kN: float = setting(..., "resistance in tension (characteristic, or mean where kind = 'mean')", unit="kN", source="test report", gt=0)
    shear_kN: float | None = setting(None, "resistance in shear towards the edge", unit="kN", source="test report")
    kind: Literal["characteristic", "mean"] = setting("characteristic", "what the resistance is: 5 % fractile at 75 % confidence, or mean", source="ISO 16269-6")
    n: int | None = setting(None, "number of specimens", source="test report")
    mean_kN: float | None = setting(None, "mean of the series", unit="kN", source="test report")
    cov: float | None = setting(None, "coefficient of variation of the series", source="test report")
    date: str = setting("", "date of the series, YYYY-MM-DD", source="test report")
    series: str = setting("", "file of the series", source="test report")
    series_sha256: str = setting("", "hash of that file; a run warns when it has changed", source="bimcheck pullout")
    conditioned: bool = setting(False, "specimens were wetted, frozen or aged as the conditioning factors ask", source="test report")
    source: str = setting("", "where the figures come from", source="test report")


class Material(Section):
    """A panel material."""

    match: list[str] = setting([], "material names of the model that mean this row (globs, case ignored)", source="project data")
    natural_stone: bool = setting(False, "natural stone: strength by direction and conditioning must be known", source="EN 12372, EN 12371")
    density_kg_m3: float | None = hard(2800.0, "density", unit="kg/m3", gt=0)
    E_GPa: float | None = hard(30.0, "modulus of elasticity", unit="GPa", gt=0)
    nu: float = setting(0.2, "Poisson's ratio", source="stone and ceramic 0.15 to 0.3, handbook range", ge=0, lt=0.5)
    alpha_per_K: float = setting(8e-6, "thermal expansion", unit="1/K", source="granite 5-9e-6, porcelain 6-9e-6, handbook range", ge=0)
    moisture_strain: float = setting(0.0, "length change by moisture over the service range", source="fibre cement 1-2e-3, handbook range", ge=0)
    thickness_tolerance: float = setting(0.10, "share of the thickness a panel may be thinner or thicker", source="EN 12058, slabs up to 30 mm: 10 % (from memory)", ge=0, lt=0.5)
    flexural_MPa: float | None = hard(6.0, "flexural strength, weaker direction (characteristic, or mean where flexural_kind = 'mean')", unit="MPa", gt=0)
    flexural_kind: Literal["characteristic", "mean"] = setting("characteristic", "what the strength is", source="project data")
    flexural_test: str = setting("", "test standard of the flexural strength", source="EN 12372, EN 13161, ASTM C880, ISO 10545-4, EN 12467")
    flexural_factor: float | None = hard(2.0, "partial factor gamma_M on the flexural strength (global factor where safety format is 'global')", ge=1)
    anchor_factor: float | None = hard(2.0, "partial factor gamma_M on anchor resistances (global factor where safety format is 'global')", ge=1)
    conditioned: bool = setting(False, "flexural series was conditioned (wet, frost, age), so that no further factor applies", source="test report")
    eta_wet: float | None = setting(None, "wet over dry strength; hard for natural stone unless conditioned", source="ASTM C880 wet, EN 12372", gt=0, le=1)
    eta_frost: float | None = setting(None, "strength after frost over before; hard for natural stone unless conditioned", source="EN 12371 then EN 12372", gt=0, le=1)
    eta_age: float | None = setting(None, "strength after ageing (bowing of marble, weathering) over before", source="EN 16306", gt=0, le=1)
    eta_direction: float | None = setting(None, "weaker over tested direction, where only one was tested", source="ASTM C880", gt=0, le=1)
    k_hole: float = setting(1.0, "tested factor on the moment at the hole (stress concentration)", source="project test; 1 = not considered, printed", ge=1)
    face: Literal["gauged", "rough", "polished-ungauged"] = setting("gauged", "how depth is set: gauged and rough from the rear face, polished ungauged stone from the front face")
    minimum_thickness_mm: float | None = setting(None, "code minimum thickness", unit="mm", source="for example DIN 18516-3: 30 mm for stone, code-dependent")
    anchors: list[TestedAnchor] = Field(default_factory=list, description="tested anchor resistances", json_schema_extra={"unit": "", "source": "bimcheck pullout", "assumed": []})
