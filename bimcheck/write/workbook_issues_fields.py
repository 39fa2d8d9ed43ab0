"""Columns of the sheets of the issue workbook."""

from __future__ import annotations

from bimcheck.write.workbook_issues_book import Field

FIGURE = "[>=1000]0;[<=-1000]-0;0.0##"
_FIGURES = (Field("Measured", 11, FIGURE, "measured"), Field("Required", 11, FIGURE, "required"), Field("Shortfall", 11, FIGURE, "shortfall"),
            Field("Unit", 7, "unit", "unit"))
_WHERE = (Field("Mark", 13, "text", "mark"), Field("Storey", 16, "text", "storey"), Field("Facade", 8, "text", "facade"), Field("Grid", 20, "text", "grid"))
_SEVERITY, _STATE, _NUMBER = Field("Severity", 10, "text", "severity"), Field("State", 10, "text", "state"), Field("No.", 6, "number", "no")
_RULE, _WHAT, _WAY_OUT = Field("Rule", 19, "text", "rule"), Field("What", 50, "wrap", "text"), Field("Way out", 38, "wrap", "way_out")

ISSUES = (
    Field("Issue", 13, "text", "issue"), Field("Status", 14, "typed", "status"), Field("Assignee", 14, "typed", "assignee"),
    Field("Comment", 30, "typed", "comment"), _STATE, _SEVERITY, _NUMBER, _RULE, *_WHERE, _WHAT, *_FIGURES, _WAY_OUT,
    Field("Note", 30, "wrap", "note"), Field("Name", 22, "text", "name"), Field("Group", 34, "text", "group"),
    Field("Other mark", 13, "text", "other_mark"), Field("Other name", 22, "text", "other_name"), Field("Other class", 18, "text", "other_class"),
    Field("Other GUID", 25, "text", "other_guid"), Field("Other model", 20, "text", "other_model"), Field("GUID", 25, "text", "guid"),
    Field("Class", 18, "text", "ifc_class"), Field("Model", 20, "text", "model"), Field("Step id", 9, "text", "step_id"),
    Field("In panel from left", 11, "0.0", "x_panel", "mm"), Field("In panel from below", 11, "0.0", "y_panel", "mm"),
    Field("x", 11, "0.000", "x", "m", "mm"), Field("y", 11, "0.000", "y", "m", "mm"), Field("z", 11, "0.000", "z", "m", "mm"),
)
MEMBERS = (
    _NUMBER, _SEVERITY, _STATE, *_WHERE, *_FIGURES, Field("What", 46, "wrap", "text"), Field("Other name", 20, "text", "other_name"),
    Field("Issue", 13, "text", "issue"), Field("GUID", 25, "text", "guid"),
)
FAMILY = (
    Field("Issue", 13, "text", "issue"), _STATE, _SEVERITY, _NUMBER, _RULE, *_WHERE, _WHAT, *_FIGURES, _WAY_OUT,
    Field("Other name", 20, "text", "other_name"), Field("Other GUID", 25, "text", "other_guid"), Field("GUID", 25, "text", "guid"),
    Field("Model", 20, "text", "model"), Field("Other model", 20, "text", "other_model"),
)
GROUPS = (
    _NUMBER, Field("Group", 46, "wrap", "group"), _RULE, _SEVERITY, Field("Standing", 10, "0", "standing"), Field("Accepted", 10, "0", "accepted"),
    Field("Resolved", 10, "0", "resolved"), Field("Worst shortfall", 11, FIGURE, "worst"), Field("Unit", 7, "unit", "unit"),
    Field("Facades", 20, "wrap", "facades"), Field("Storeys", 30, "wrap", "storeys"), Field("First of them", 50, "wrap", "text"), _WAY_OUT,
)
EDGES = (
    Field("Mark", 13, "text", "mark"), Field("Facade", 8, "text", "facade"), Field("Storey", 16, "text", "storey"), Field("Anchor", 9, "text", "anchor"),
    Field("Edge distance", 11, "0.0", "edge_mm", "mm"), Field("to", 10, "unit", "to"), Field("Required", 11, "0.0", "required_mm", "mm"),
    Field("by the item", 11, "0.0", "item_mm", "mm"), Field("by the tests", 11, "0.0", "tested_mm", "mm"),
    Field("Shortfall", 11, "0.0", "shortfall_mm", "mm"), Field("Panel GUID", 26, "unit", "panel_guid"), Field("Model", 20, "text", "model"),
    Field("Step id", 9, "text", "panel_step_id"),
)
PANELS = (
    Field("Mark", 13, "text", "mark"), Field("Name", 24, "text", "name"), Field("Storey", 16, "text", "storey"), Field("Facade", 8, "text", "facade"),
    Field("Place", 13, "text", "place"), Field("Material", 18, "text", "material"), Field("Width", 10, "0.0", "width", "mm"),
    Field("Height", 10, "0.0", "height", "mm"), Field("Thickness", 10, "0.0", "thickness", "mm"), Field("Anchors", 9, "0", "n_anchors_selected"),
    Field("Pattern", 9, "text", "pattern_selected"), Field("Item", 14, "text", "item"), Field("Governing check", 22, "text", "governing_check"),
    Field("Utilisation", 11, "0.00", "utilisation"), Field("Result", 13, "text", "result"), Field("Standing issues", 10, "0", "standing"),
    Field("Reason", 40, "wrap", "reason"), Field("Way out", 38, "wrap", "way_out"), Field("GUID", 25, "text", "guid"), Field("Model", 20, "text", "model"),
)
QUANTITIES = (
    Field("Item", 20, "text", "item"), Field("Storey", 20, "text", "storey"), Field("Facade", 12, "text", "facade"), Field("Panels", 10, "0", "panels"),
    Field("Anchors", 10, "0", "anchors"),
)
NOT_CHECKED = (
    Field("Mark", 13, "text", "mark"), Field("Name", 26, "text", "name"), Field("Reason", 60, "wrap", "reason"), Field("Storey", 16, "text", "storey"),
    Field("Facade", 8, "text", "facade"), Field("GUID", 25, "text", "guid"), Field("Model", 20, "text", "model"),
)
OTHERS = (
    Field("Mark", 13, "text", "mark"), Field("Name", 26, "text", "name"), Field("Status", 14, "text", "status"), Field("Reason", 60, "wrap", "reason"),
    Field("Class", 22, "text", "ifc_class"), Field("Storey", 16, "text", "storey"), Field("Facade", 8, "text", "facade"),
    Field("GUID", 25, "text", "guid"), Field("Model", 20, "text", "model"),
)
ASSUMPTIONS = (Field("Setting", 36, "wrap", "setting"), Field("Value", 44, "wrap", "value"), Field("Why it stands here", 80, "wrap", "why"))
