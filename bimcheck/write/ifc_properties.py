"""Which column becomes which property of which set: one table for the file, its templates and the docs page."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bimcheck.core.columns import Column
from bimcheck.write.ours import STATUS

PANEL, WIND, ANCHORAGE = "Bimcheck_Panel", "Bimcheck_Wind", "Bimcheck_Anchorage"
CHECKS, FABRICATION, FURTHER = "Bimcheck_Checks", "Bimcheck_Fabrication", "Bimcheck_Further"

SETS: dict[str, str] = {
    STATUS: "What bimcheck made of the element: panel or not, result and why",
    PANEL: "Geometry as measured from the body, and where the panel stands",
    WIND: "Net wind pressures on the panel, with their basis",
    ANCHORAGE: "Anchors and the drilled hole",
    CHECKS: "Utilisation of every check; a check passes up to 1",
    FABRICATION: "What the workshop needs to tell panels apart",
    FURTHER: "Values of rules that came as plug-ins",
}

CAUTION = ("Preliminary design aid. Local codes and the responsible engineer decide; not to be built from without their "
           "check. Not covered: impact, fire and cavity barriers, ice, corrosion, handling, substructure members.")

ENUMERATIONS: dict[str, tuple[str, ...]] = {
    "Status": ("panel", "out_of_scope", "unreadable"), "Result": ("pass", "fail", "not_checked"),
}


@dataclass(frozen=True)
class Property:
    """One property: where it goes, the column it comes from, its measure, and the sentence of the column."""

    set: str
    name: str
    column: str
    measure: str
    text: str = ""


# set | property | column | measure ("=" : the column's own)
_TABLE = f"""
{STATUS}|Status|status|enumerated
{STATUS}|Result|result|enumerated
{STATUS}|Reason|reason|IfcText
{STATUS}|Caution|caution|IfcText
{PANEL}|Width|width|IfcPositiveLengthMeasure
{PANEL}|Height|height|IfcPositiveLengthMeasure
{PANEL}|Thickness|thickness|IfcPositiveLengthMeasure
{PANEL}|ThicknessGreatest|thickness_max|IfcPositiveLengthMeasure
{PANEL}|NetArea|net_area|IfcAreaMeasure
{PANEL}|Mass|mass|IfcMassMeasure
{PANEL}|SelfWeight|W|IfcForceMeasure
{PANEL}|Material|material|IfcLabel
{PANEL}|Storey|storey|IfcLabel
{PANEL}|Facade|facade|IfcLabel
{PANEL}|Place|place|IfcLabel
{PANEL}|NormalX|normal_x|IfcReal
{PANEL}|NormalY|normal_y|IfcReal
{PANEL}|NormalZ|normal_z|IfcReal
{PANEL}|HeightAboveGround|z|IfcLengthMeasure
{PANEL}|CornerDistance|corner_distance|IfcLengthMeasure
{PANEL}|JointLeft|joint_left|IfcLengthMeasure
{PANEL}|JointRight|joint_right|IfcLengthMeasure
{PANEL}|JointBottom|joint_bottom|IfcLengthMeasure
{PANEL}|JointTop|joint_top|IfcLengthMeasure
{WIND}|Zone|zone|IfcLabel
{WIND}|Basis|w_basis|IfcLabel
{WIND}|Suction|w_suction|IfcPressureMeasure
{WIND}|Pressure|w_pressure|IfcPressureMeasure
{WIND}|SuctionForDeflection|w_serv_suction|IfcPressureMeasure
{WIND}|PressureForDeflection|w_serv_pressure|IfcPressureMeasure
{WIND}|LoadedArea|A_loaded|IfcAreaMeasure
{WIND}|ReferenceHeight|z_e|IfcLengthMeasure
{WIND}|PeakPressureAtTop|q_p_h|IfcPressureMeasure
{WIND}|PeakPressureAtReferenceHeight|q_p_e|IfcPressureMeasure
{WIND}|VelocityPressureAtTop|q_h|IfcPressureMeasure
{WIND}|VelocityPressureForPressure|q_z|IfcPressureMeasure
{WIND}|EdgeZoneWidth|a_zone|IfcLengthMeasure
{WIND}|Notes|wind_flags|IfcText
{ANCHORAGE}|Item|item|IfcLabel
{ANCHORAGE}|Pattern|pattern_selected|IfcLabel
{ANCHORAGE}|NumberOfAnchors|n_anchors_selected|IfcInteger
{ANCHORAGE}|Embedment|embedment|IfcPositiveLengthMeasure
{ANCHORAGE}|HoleDepth|hole_depth|IfcPositiveLengthMeasure
{ANCHORAGE}|HoleDiameter|hole_diameter|IfcPositiveLengthMeasure
{ANCHORAGE}|Counterbore|counterbore_set|IfcLengthMeasure
{ANCHORAGE}|Drilling|drilling|IfcText
{ANCHORAGE}|BoltLength|bolt_length|IfcPositiveLengthMeasure
{CHECKS}|GoverningCheck|governing_check|IfcLabel
{CHECKS}|GoverningClause|governing_clause|IfcText
{CHECKS}|Utilisation|utilisation|IfcReal
{CHECKS}|DesignFlexuralStrength|f_d|IfcPressureMeasure
{FABRICATION}|Mark|mark|IfcLabel
{FABRICATION}|Lot|lot|IfcLabel
"""
_OWN_TEXTS = {
    "caution": "what the result does not cover, and who decides",
    "governing_clause": "clause of the check with the greatest utilisation",
}


@dataclass(frozen=True)
class Check:
    """A check as the plan knows it: the column of its utilisation, its name and clause."""

    column: str
    name: str
    clause: str


def properties(columns: Iterable[Column], checks: Sequence[Check] = ()) -> list[Property]:
    """Every property that can be written: the table above, a check each, then measured columns nobody placed."""
    known = {c.name: c for c in columns}
    rows = [line.split("|") for line in _TABLE.strip().splitlines()]
    placed = [Property(into, name, column, measure, known[column].text if column in known else _OWN_TEXTS[column])
              for into, name, column, measure in rows if column in known or column in _OWN_TEXTS]
    used = {p.column for p in placed}
    checked = [Property(CHECKS, camel(c.name), c.column, "IfcReal", f"utilisation, {c.clause}")
               for c in checks if c.column not in used]
    used |= {p.column for p in checked}
    rest = [Property(FURTHER, camel(c.name), c.name, c.measure, c.text)
            for c in known.values() if c.measure and c.name not in used and c.table in ("panels", "")]
    return placed + checked + rest


def camel(name: str) -> str:
    """A property name from the plain name of a column or check: `edge-distance` becomes `EdgeDistance`."""
    return "".join(word[:1].upper() + word[1:] for word in re.split(r"[^0-9A-Za-z]+", name))
