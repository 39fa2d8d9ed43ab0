"""What is ours in a file: the names ids are derived from, and the entity types a block consists of.

An id of ours is derived from the id of a base (a panel, or the project) and `kind/slot`.  Each rooted entity of ours,
or the relationship that holds it, carries its slot as a text, so that a file re-saved by another tool can be checked.
"""

from __future__ import annotations

RUN = "Bimcheck_Run"
STATUS = "Bimcheck_Status"  # on every element considered

# kind of our rooted entities by the IFC type that may hold it
KINDS: dict[bytes, tuple[str, ...]] = {
    b"IFCPROPERTYSET": ("set", "article-set"),
    b"IFCELEMENTQUANTITY": ("quantities",),
    b"IFCRELDEFINESBYPROPERTIES": ("set-link", "quantities-link"),
    b"IFCMECHANICALFASTENER": ("anchor",),
    b"IFCMECHANICALFASTENERTYPE": ("article",),
    b"IFCRELAGGREGATES": ("anchors",),
    b"IFCRELDEFINESBYTYPE": ("article-link",),
    b"IFCRELCONNECTSWITHREALIZINGELEMENTS": ("support",),
    b"IFCOPENINGELEMENT": ("hole",),
    b"IFCRELVOIDSELEMENT": ("hole-link",),
    b"IFCPROPERTYSETTEMPLATE": ("template",),
    b"IFCSIMPLEPROPERTYTEMPLATE": ("property-template",),
    b"IFCRELDECLARES": ("templates-link",),
}

# types without identity that our rooted entities use; removed with them once nothing else refers to them
HELPERS = frozenset({
    b"IFCPROPERTYSINGLEVALUE", b"IFCPROPERTYENUMERATEDVALUE", b"IFCPROPERTYENUMERATION",
    b"IFCQUANTITYLENGTH", b"IFCQUANTITYAREA", b"IFCQUANTITYVOLUME", b"IFCQUANTITYWEIGHT", b"IFCQUANTITYCOUNT",
    b"IFCSIUNIT", b"IFCDERIVEDUNIT", b"IFCDERIVEDUNITELEMENT",
    b"IFCOWNERHISTORY", b"IFCPERSONANDORGANIZATION", b"IFCPERSON", b"IFCORGANIZATION", b"IFCAPPLICATION",
    b"IFCLOCALPLACEMENT", b"IFCAXIS2PLACEMENT3D", b"IFCAXIS1PLACEMENT", b"IFCAXIS2PLACEMENT2D",
    b"IFCCARTESIANPOINT", b"IFCDIRECTION", b"IFCPOLYLINE",
    b"IFCPRODUCTDEFINITIONSHAPE", b"IFCSHAPEREPRESENTATION", b"IFCMAPPEDITEM", b"IFCREPRESENTATIONMAP",
    b"IFCCARTESIANTRANSFORMATIONOPERATOR3D", b"IFCREVOLVEDAREASOLID", b"IFCEXTRUDEDAREASOLID",
    b"IFCARBITRARYCLOSEDPROFILEDEF", b"IFCCIRCLEPROFILEDEF",
})
