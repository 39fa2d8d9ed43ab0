"""What the legend of the issue workbook says."""

from __future__ import annotations

CAUTIONS = (
    "Preliminary design aid. It defers to the local codes and to the licensed engineer of record, who decide; nothing here "
    "is a proof of stability or a release for fabrication.",
    "A panel that is not_checked has not passed. A result that rests on an assumed value is not_checked until someone states it.",
    "What is not in the models is not found: substructure, services or neighbours that are missing leave no issue behind.",
    "Before drilling, have the positions, the tested resistances and the thickness on site confirmed.",
)
NOT_CHECKED_HERE = (
    "impact and security loads", "fire behaviour and cavity barriers", "ice, snow and hail", "corrosion grade and contact of metals",
    "handling, transport and lifting", "rails, brackets and the wall they are fixed to", "the building's own movement, but for the "
    "drift that the project states", "weathertightness and condensation",
)
STATES = {
    "new": "found for the first time",
    "open": "found before and still there, or there again after it was resolved (see Note)",
    "resolved": "was found in an earlier run and is gone",
    "(not looked at)": "where a run leaves out a model, or looks at a selection only, what it cannot judge keeps its state; the Note says so",
    "accepted": "the status says accepted and the comment gives the reason; holds until the shortfall grows, and does not raise the exit status",
}
COLUMNS = {
    "Status, Assignee, Comment": "yours: what you type here stays, run after run, with the issue's id. Write `accepted` and, in the "
                                 "comment, the reason, to accept an issue",
    "Issue": "id of the matter: the same every run while the rule, the elements and the place are the same",
    "Group": "issues that share a cause: the same rule, the same kind of body and the same figure",
    "No.": "number of the group in this run, as on the elevations and in sheets Groups and Group members: what is gravest and most frequent first",
    "Grid": "the nearest grid axis of either direction, and how far from it; plus is towards the axes that follow in the model",
    "In panel": "from the lower-left corner of the panel's face, seen from outside",
    "Note": "what happened since the last run: reopened, got worse, not looked at",
    "Measured, Required, Shortfall": "in the unit beside them; shortfall is the difference, whichever side is the bad one",
    "x, y, z": "place in the model's engineering coordinates, without map conversion",
    "Edge distance, to": "distance of an anchor's axis to the nearest edge, and whether that is the panel's outline or a cut-out; one row a panel, with "
                         "the anchor that has least to spare",
    "Way out": "a change that would settle the matter, where one could be computed; run again before you believe it",
    "left, right": "seen from outside",
}
