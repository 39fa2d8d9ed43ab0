"""[clash]: room that hole, clip and bolt need behind the panel, what supports them, and what is left out of account."""

from __future__ import annotations

from typing import Literal

from bimcheck.core.settings import Section, setting

Severity = Literal["error", "warning", "info"]


class Clash(Section):
    """Zones lie behind the rear face, in the panel's frame, centred on the anchor's axis."""

    drill_radius_mm: float = setting(15.0, "radius of the drill zone: nothing may stand on the rear face around the hole", unit="mm", gt=0)
    drill_length_mm: float = setting(10.0, "depth of the drill zone behind the rear face", unit="mm", gt=0)
    clip_width_mm: float = setting(60.0, "width of the clip zone", unit="mm", gt=0)
    clip_height_mm: float = setting(60.0, "height of the clip zone", unit="mm", gt=0)
    clip_depth_mm: float = setting(30.0, "depth of the clip zone behind the rear face", unit="mm", gt=0)
    bolt_radius_mm: float = setting(10.0, "radius of the bolt zone: bolt, nut and the tool that turns it", unit="mm", gt=0)
    bolt_length_mm: float = setting(40.0, "depth of the bolt zone behind the rear face", unit="mm", gt=0)
    reach_mm: float = setting(100.0, "a rail or bracket within this distance of the anchor's axis, in the plane, can carry its clip", unit="mm", gt=0)
    reach_depth_mm: float = setting(120.0, "and within this depth behind the rear face", unit="mm", gt=0)
    move_most_mm: float = setting(150.0, "farthest that a way out moves a row or a column of anchors; 0: none is looked for", unit="mm", ge=0)
    backing_mm: float = setting(0.0, "no-backing: a bracket behind a panel must have a wall, slab, column or beam within this distance; 0: not looked at",
                                unit="mm", ge=0, source="user's choice")
    roles: list[str] = setting(["member", "bracket", "rail", "frame", "slab", "wall", "service", "fastener"],
                               "bodies by role that may stand in the way; an opening is a void and stands in nobody's way")
    panel_roles: list[str] = setting(["member", "bracket", "rail", "frame", "slab", "wall", "service"],
                                     "bodies by role that must not enter a panel's body; fasteners do")
    ignored_names: list[str] = setting([], "bodies whose name matches one of these patterns are left out", source="user's choice")
    ignored_classes: list[str] = setting(["IfcCovering", "IfcSpace", "IfcOpeningElement", "IfcVirtualElement"], "IFC classes left out: linings and insulation, spaces, voids")
    ignored_materials: list[str] = setting(["*insulation*", "*mineral wool*", "*membrane*", "*vapour*", "*foil*"], "bodies whose material matches one of these patterns are left out")
    panel_severity: Severity = setting("error", "severity of panel-clash")
    anchor_severity: Severity = setting("error", "severity of anchor-clash")
    unsupported_severity: Severity = setting("warning", "severity of unsupported")
    backing_severity: Severity = setting("info", "severity of no-backing")
    fastener_severity: Severity = setting("warning", "severity of fastener-in-zone")
    cavity_severity: Severity = setting("warning", "severity of cavity-small")
    step_severity: Severity = setting("warning", "severity of panel-step")
