"""[hardware.NAME]: a catalogue item as data - anchor, bolt and clip that go together."""

from __future__ import annotations

from typing import Literal

from bimcheck.core.settings import Section, setting

_ITEM = "item's data sheet"


class Catalogue(Section):
    """Hardware catalogues as files."""

    items_csv: str = setting("", "items beside [hardware.NAME]: a CSV file with a row an item, the keys of [hardware.NAME] as columns and the column name; counted from this file's folder", source="project data")


class Item(Section):
    """An undercut anchor with its bolt (or set screw with nut) and clip."""

    materials: list[str] = setting(["*"], "material rows it may be used in (globs)", source=_ITEM)
    thickness_min_mm: float = setting(..., "least panel thickness, after tolerance and counterbore", unit="mm", source=_ITEM, gt=0)
    thickness_max_mm: float = setting(1e3, "greatest panel thickness", unit="mm", source=_ITEM, gt=0)
    embedment_mm: float = setting(..., "embedment of the undercut from the rear face", unit="mm", source=_ITEM, gt=0)
    below_undercut_mm: float = setting(1.0, "depth of the hole beyond the embedment", unit="mm", source=_ITEM, ge=0)
    hole_diameter_mm: float = setting(..., "diameter of the drilled hole", unit="mm", source=_ITEM, gt=0)
    undercut_radius_mm: float = setting(..., "bearing radius r0 of the undercut", unit="mm", source=_ITEM, gt=0)
    residual_mm: float = setting(2.0, "least material in front of the hole", unit="mm", source=_ITEM, ge=0)
    edge_mm: float = setting(..., "least edge distance", unit="mm", source=_ITEM, gt=0)
    spacing_mm: float = setting(..., "least spacing", unit="mm", source=_ITEM, gt=0)
    fastener: Literal["bolt", "set-screw"] = setting("bolt", "bolt whose head bears on a clip of 3 mm or a little less, or set screw with nut for 4 to 5 mm walls", source=_ITEM)
    thread: str = setting("M6", "thread of bolt or set screw, named in the drilling data", source=_ITEM)
    thread_engagement_mm: float = setting(4.0, "least thread engaged in the anchor", unit="mm", source=_ITEM, gt=0)
    thread_pitch_mm: float = setting(1.0, "pitch of the thread; a set screw is backed off by turns of it", unit="mm", source="ISO 261, M6 coarse", gt=0)
    bolt_lengths_mm: list[float] = setting([], "lengths on offer; left out: every step of [drilling] bolt_step_mm", unit="mm", source=_ITEM)
    bolt_diameter_mm: float = setting(4.9, "stress diameter of the bolt", unit="mm", source=_ITEM, gt=0)
    bolt_strength_MPa: float = setting(180.0, "design strength of the bolt", unit="MPa", source=_ITEM, gt=0)
    clip_wall_mm: float = setting(3.0, "wall of the clip", unit="mm", source=_ITEM, gt=0)
    washer_mm: float = setting(0.5, "elastic washer, compressed", unit="mm", source=_ITEM, ge=0)
    nut_mm: float = setting(5.0, "nut of a set screw with its washer", unit="mm", source=_ITEM, ge=0)
    hook_offset_mm: float = setting(0.0, "from the bolt axis to the hook's load line (a)", unit="mm", source=_ITEM, ge=0)
    heel_mm: float = setting(20.0, "from the bolt axis to the compression edge of the clip (b)", unit="mm", source=_ITEM, gt=0)
    stand_off_mm: float = setting(1.5, "from the rear face to the load line of the clip", unit="mm", source=_ITEM, ge=0)
    clip_contact_mm: float = setting(40.0, "contact length of the clip on the panel", unit="mm", source=_ITEM, gt=0)
    slot_mm: float = setting(0.0, "way the clip may slide either way from where it is mounted; 0 = not stated, not checked", unit="mm", source=_ITEM, ge=0)
