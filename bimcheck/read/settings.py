"""[model], [selection], [reading] and [materials-recognition]: what is read, and what counts as a panel."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from bimcheck.core.settings import Section, setting

CLASSES = ["IfcPlate", "IfcCovering", "IfcCurtainWall", "IfcElementAssembly", "IfcBuildingElementPart", "IfcBuildingElementProxy"]


class Model(Section):
    """What the model itself may leave open."""

    length_unit: Literal["", "mm", "cm", "m", "in", "ft", "US survey ft"] = setting(
        "", "length unit of files that state none; ignored where the file states one", source="project data")
    ground_m: float | None = setting(
        None, "height of the ground in the coordinates of the model; left out: taken from the model", unit="m", source="project data")


class Selection(Section):
    """Which elements are considered, each with its parts at any depth."""

    classes: list[str] = setting(CLASSES, "IFC classes considered, subclasses among them", source="how facade panels are exported, seen in public models")
    include: list[str] = setting([], "queries whose elements are panels whatever their class or name says (IfcOpenShell selector syntax)", source="project data")
    exclude: list[str] = setting([], "queries whose elements are no panels", source="project data")


class Reading(Section):
    """Limits of what is taken for a panel, and of what is reported about it."""

    behind_panel_mm: float = setting(0.0, "bodies this close behind a panel are reported; 0 = off", unit="mm", source="project data", ge=0)
    largest_side_mm: float = setting(8000.0, "a body longer than this is no single panel", unit="mm", gt=0)
    largest_thickness_mm: float = setting(100.0, "a body thicker than this is a panel only where its class says so", unit="mm", gt=0)
    least_side_mm: float = setting(40.0, "a body narrower than this is a strip or profile, no panel", unit="mm", gt=0)
    slenderness: float = setting(3.0, "least ratio of the shorter side to the thickness of a plate", gt=1)
    taper_mm: float = setting(0.3, "difference of thickness from which a panel is tapered", unit="mm", gt=0)
    obstacle_reach_mm: float = setting(3000.0, "bodies farther from every panel than this are not looked at", unit="mm", gt=0)


class Recognition(Section):
    """Further words (case and accents ignored) in material names that mean a kind; added to the built-in ones."""

    glass: list[str] = setting([], "words that mean glass", source="project data")
    metal: list[str] = setting([], "words that mean metal", source="project data")
    honeycomb: list[str] = setting([], "words that mean a honeycomb-backed panel", source="project data")
    timber: list[str] = setting([], "words that mean timber", source="project data")
    panel: list[str] = setting([], "words that mean a material that takes a rear undercut anchor", source="project data")


class ReadSettings(Section):
    """Everything reading depends on; `panel_materials`: globs of the project's [materials.NAME] match lists."""

    model: Model = Field(default_factory=Model)
    selection: Selection = Field(default_factory=Selection)
    reading: Reading = Field(default_factory=Reading)
    recognition: Recognition = Field(default_factory=Recognition)
    panel_materials: tuple[str, ...] = ()
