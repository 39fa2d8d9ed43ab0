"""A column: its name once, with unit, sentence, and how files and IFC call it.  The rows are in `vocabulary`."""

from __future__ import annotations

from dataclasses import dataclass

# When a column is there: before layout; in each wave of candidates; for what was selected; for joints; at the end.
PHASES = ("panels", "wave", "selected", "joints", "result")
TABLE_PHASE = {"facades": "panels", "panels": "panels", "candidates": "wave", "anchors": "wave", "joints": "joints"}


@dataclass(frozen=True)
class Column:
    """One column.

    unit: unit inside.  text: one sentence for people.  file: name in files ("" = not written); file_unit: unit there.
    measure: IFC measure type for property sets ("" = not written back).
    """

    name: str
    unit: str
    text: str
    table: str = ""
    phase: str = "panels"
    file: str = ""
    file_unit: str = ""
    measure: str = ""
