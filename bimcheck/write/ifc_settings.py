"""Settings of the section [ifc]: what goes into the enriched model."""

from __future__ import annotations

import re
from typing import Literal

from pydantic import field_validator

from bimcheck.core.settings import Section, setting


class Ifc(Section):
    """[ifc]"""

    anchors: Literal["none", "parts", "geometry"] = setting(
        "geometry", "anchors in the enriched model: none, as parts without a shape, or with geometry")
    holes: bool = setting(False, "drilled holes as recesses in the panels; viewers then take about ten times longer to mesh")
    quantities: bool = setting(True, "the standard's quantity sets where the author wrote none")
    templates: bool = setting(False, "templates that describe our sets (IFC4 and later; they bar a downgrade to IFC2X3)")
    names: dict[str, str] = setting(
        {}, "house names of sets and properties, by \"Bimcheck_Wind\" or \"Bimcheck_Wind.Suction\"")

    @field_validator("names")
    @classmethod
    def _no_standard_names(cls, names: dict[str, str]) -> dict[str, str]:
        for key, name in names.items():
            if re.match(r"(?i)[pq](set|to)", name) and "." not in key:
                raise ValueError(f"{name}: names that begin like the standard's own sets are reserved to it")
            if not name.strip():
                raise ValueError(f"{key}: the house name is empty")
        return names
