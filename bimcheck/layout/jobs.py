"""What layout asks of the plate engine; the pipeline hands in a function that answers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bimcheck.core.tables import Table, Tables
from bimcheck.core.units import Array


@dataclass(frozen=True)
class Job:
    """One layout to solve: rings (k, 2) [mm], outline first; anchors (n, 2) [mm]; radius: design radius [mm];
    softness: D / k of one support [mm2]; thickness [mm] for re-entrant corners; softness_moved: D / k with the greatest
    thickness, for errors of the supports, 0 where none is asked for."""

    rings: tuple[Array, ...]
    nu: float
    anchors: Array
    radius: float
    softness: float
    thickness: float
    softness_moved: float = 0.0


# Answers with a table `layouts`, a row a job in the same order: the columns of `layouts` in core/vocabulary.py and, a
# ragged value an anchor, share, share_min, share_lost [mm2], share_moved [1/mm2].
Solve = Callable[[Sequence[Job]], Table]
# Adds the columns of the rules of phase "wave" to candidates and anchors.
Evaluate = Callable[[Tables], Tables]
