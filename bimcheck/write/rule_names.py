"""What the rules of issues mean, in a sentence each; `bimcheck explain RULE` and the legend print them."""

from __future__ import annotations

ISSUE_RULES: dict[str, str] = {
    "joint-width": "a joint between two neighbours is narrower than [joints] min_mm; measured along the shared length in the facade plane",
    "joint-wide": "a joint between two neighbours is wider than [joints] max_mm",
    "panel-overlap": "two panels of one plane overlap, or panels of two facades run into one another at a corner; measured = depth of the overlap",
    "panel-step": "neighbours step out of plane by more than [joints] step_mm",
    "duplicate-guid": "two elements hold the same GlobalId; the second gets ids of its own by its order",
    "material-missing": "the panel has no material; nothing that rests on strength can pass",
    "zero-thickness": "the body is a surface without thickness",
    "no-geometry": "the element has no body that can be read",
    "degenerate-geometry": "the body encloses nothing that could be a panel",
    "behind-panel": "a body lies inside the zone behind the panel ([reading] behind_panel_mm); what it hits there is another rule's matter",
    "cutout-near-edge": "less material than [drilling] cutout_edge_mm between a cut-out and the panel's edge",
    "curved-panel": "the panel is curved; the plate method does not cover it",
    "tapered-panel": "the thickness changes over the panel; the plate method does not cover it",
    "sloped-panel": "the panel leans out of the vertical",
    "soffit-panel": "the panel faces down or up; wall zones do not cover it",
    "building-uncertain": "the plan ring does not close or the ground is guessed; state [wind] h_m and footprint, or [model] ground_m",
    "side-uncertain": "which side of the panel faces outside could not be decided beyond doubt",
    "file-apart": "a file does not line up with the others",
    "cavity-small": "a wall or slab leaves less than [checks] cavity_mm behind the panel",
    "anchor-clash": "a body enters the drill, clip or bolt zone of an anchor",
    "unsupported": "no rail or bracket within reach of the anchor's clip, in a model that has such",
    "fastener-in-zone": "a fastener of the author's lies inside an anchor's zone",
    "wind-outside-range": "the wind standard's range is left; the number is an extrapolation by the stated rule",
    "wind-note": "a rule of the wind standard applies on conditions that the engineer of record must confirm",
}
