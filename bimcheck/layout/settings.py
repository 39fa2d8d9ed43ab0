"""[layout]: which anchor positions are permitted and how they are shared; [drilling]: limits of the drilled hole."""

from __future__ import annotations

from typing import Literal

from bimcheck.core.settings import Section, setting


class Layout(Section):
    """Permitted layouts, the search for them, and how panels share them."""

    patterns: list[str] = setting(["2x2", "3x2", "2x3", "4x2", "2x4", "3x3", "5x2", "2x5", "4x3", "3x4"], "permitted patterns, columns x rows; the fewest anchors that hold are chosen")
    least_anchors: int = setting(4, "least number of anchors of a panel", ge=3)
    triangles_on_three: bool = setting(True, "triangular panels may hang on three anchors")
    edge_mm: float = setting(50.0, "least distance of an anchor to outline and cut-outs; the item and the tested series may ask for more", unit="mm", ge=0)
    edge_share_min: float = setting(0.0, "least distance to the edge as a share of the side", ge=0, lt=0.5)
    edge_share_max: float = setting(0.35, "greatest distance of the outer anchors to the edge as a share of the side", gt=0, lt=0.5)
    edge_max_mm: float | None = setting(None, "greatest distance of the outer anchors to the edge", unit="mm", gt=0)
    spacing_mm: float = setting(100.0, "least spacing of anchors; the item and the tested series may ask for more", unit="mm", gt=0)
    rounding_mm: float = setting(5.0, "insets are multiples of this", unit="mm", ge=0.5)
    row_rounding_mm: float = setting(1.0, "heights of rows that follow rails are rounded to this", unit="mm", ge=0.1)
    preferred_insets_mm: list[float] = setting([], "insets that are taken before others where as many anchors pass with them", unit="mm")
    follow_rails: bool = setting(True, "anchor rows follow the rails' heights where the model has rails")
    clip_offset_mm: float = setting(0.0, "height of an anchor above the axis of the rail that carries it", unit="mm")
    keep_out_clearance_mm: float = setting(0.0, "anchors stay this far outside the boxes they must avoid", unit="mm", ge=0)
    small_area_m2: float = setting(0.1, "pieces below this area are small-piece: a project detail must cover them", unit="m2", ge=0)
    small_detail: str = setting("", "project detail that covers small pieces, by name; blank: they are not checked")
    solved_per_wave: int = setting(4, "layouts of a shape and pattern that are proven in a wave before the search is refined", ge=1)
    refinements: int = setting(6, "greatest number of refinements where a layout just fails", ge=0)
    keep: str = setting("", "what is drilled already: a CSV file of anchor positions (panel_guid or mark, x_rear_mm, y_mm; counted from this file's folder), or 'author' for the fasteners in the model; blank: free", source="project data")
    standardise: Literal["none", "storey", "zone", "facade", "building"] = setting("facade", "panels of one outline, material and thickness share layouts within this")
    standardise_cost: float = setting(0.05, "share of anchors that sharing may cost", ge=0)


class Drilling(Section):
    """Limits of the drilled hole."""

    cutout_edge_mm: float = setting(50.0, "least material between a cut-out and the panel's edge", unit="mm", ge=0)
    residual_mm: float = setting(0.0, "least material left in front of the hole, tolerances at their limits; the item may ask for more", unit="mm", ge=0)
    undercut_tolerance_mm: float = setting(0.4, "tolerance of the undercut's depth, either way", unit="mm", ge=0)
    clip_tolerance_mm: float = setting(0.1, "tolerance of the clip's wall, either way", unit="mm", ge=0)
    bolt_step_mm: float = setting(1.5, "step of bolt lengths", unit="mm", gt=0)
    bolt_clearance_mm: float = setting(0.3, "least room between the bolt's end and the bottom of the hole", unit="mm", ge=0)
    bolt_wall_max_mm: float = setting(3.2, "thickest clip wall for a bolt whose head bears on the clip; above it a set screw with nut", unit="mm", gt=0)
    screw_wall_max_mm: float = setting(5.2, "thickest clip wall for a set screw with nut", unit="mm", gt=0)
    back_off_turns: float = setting(0.25, "turns a set screw is backed off from the bottom of the hole", ge=0, le=1)
    counterbore_max_mm: float = setting(4.0, "deepest flat recess", unit="mm", ge=0)
    measured: str = setting("", "measured thicknesses: a CSV file with guid or mark, t_mm and, for panels drilled in lots of their own, lot; counted from this file's folder", source="project data")
    set_up: Literal["", "vacuum on the rear", "clamped from the front"] = setting("", "how the panel is held while it is drilled; named in the drilling data", source="user's choice")
    machine: Literal["", "table", "numerically controlled"] = setting("", "drilling machine; named in the drilling data", source="user's choice")
