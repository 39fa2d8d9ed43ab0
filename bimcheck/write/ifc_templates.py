"""Templates that describe our sets to other programs (IFC4 and later)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from bimcheck.core.ids import derived
from bimcheck.write.ifc_block import Block
from bimcheck.write.ifc_properties import ENUMERATIONS, SETS, Property
from bimcheck.write.step_text import string


def write_templates(block: Block, wanted: Sequence[Property], names: Mapping[str, str]) -> None:
    """One template a set, declared by the project; nothing in IFC2X3, which has none."""
    keys = list(dict.fromkeys(p.set for p in wanted))
    if block.facts.schema == "IFC2X3" or not keys:
        return
    refs = [_set(block, key, [p for p in wanted if p.set == key], names) for key in keys]
    block.one(f"IFCRELDECLARES('{derived(block.facts.project_guid, 'templates-link')}',{block.owner},$,$,#{block.facts.project},"
              f"({','.join(refs)}))")


def _set(block: Block, key: str, wanted: Sequence[Property], names: Mapping[str, str]) -> str:
    name = names.get(key, key)
    guid = derived(block.facts.project_guid, "template", name)
    parts = [_property(block, guid, p, names.get(f"{key}.{p.name}", p.name)) for p in wanted]
    return block.one(f"IFCPROPERTYSETTEMPLATE('{guid}',{block.owner},{string(name)},{string(SETS[key])},"
                     f".PSET_OCCURRENCEDRIVEN.,'IfcElement',({','.join(parts)}))")


def _property(block: Block, parent: str, wanted: Property, name: str) -> str:
    guid, text = derived(parent, "property-template", name), string(wanted.text) if wanted.text else "$"
    head = f"IFCSIMPLEPROPERTYTEMPLATE('{guid}',{block.owner},{string(name)},{text}"
    if wanted.measure != "enumerated":
        return block.one(f"{head},.P_SINGLEVALUE.,'{wanted.measure}',$,$,$,$,$,.READONLY.)")
    items = ",".join(f"IFCLABEL({string(v)})" for v in ENUMERATIONS[wanted.name])
    reference = block.once(f"IFCPROPERTYENUMERATION('Bimcheck_{wanted.name}',({items}),$)")
    return block.one(f"{head},.P_ENUMERATEDVALUE.,'IfcLabel',$,{reference},$,$,$,.READONLY.)")
