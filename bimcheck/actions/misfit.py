"""Misfit: what an out-of-plane error of any one support does to anchors and plate, a permanent action on its own.

The unit solutions (column names in _moved) are per D and millimetre of error, on springs, the greatest over all anchors
that may be off and both directions: forces add to any wind.  They sum to zero over the anchors of one error, which the
envelope over all errors does not show.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bimcheck.actions.combinations import Combination
from bimcheck.core.columns import Column
from bimcheck.core.rule import rule
from bimcheck.core.units import Array, Nmm, per_mm2

_CLAUSE = "EN 1990 4.1.1(1), imposed deformation as a permanent action (from memory); thin plate theory"
_SETTINGS = {"misfit_mm": "actions.misfit_mm", "spring_kN_mm": "actions.spring_kN_mm"}


def misfit_factor(c: Combination, table: Sequence[Combination]) -> float:
    """Factor on forces by misfit: always unfavourable, so the greatest on permanent actions beside the same wind."""
    return max(other.gamma_G for other in table if other.wind == c.wind)


def per_error(unit: Array, D: Array, misfit_mm: float) -> Array:
    """Unit solution (1/mm2) x D (N mm) x error (mm); 0 without error, whether or not a unit solution is there."""
    return unit * D * misfit_mm if misfit_mm else np.zeros(len(unit))


@rule("anchors", adds=[Column("N_misfit", "N", "pull on the hook by an error of any one support, characteristic; 0 where none is set")],
      clause=_CLAUSE, settings=_SETTINGS, formula="N_misfit = share_moved D_max misfit_mm; solved on springs of spring_kN_mm")
def misfit_on_anchors(share_moved: per_mm2, D_max: Nmm, *, misfit_mm: float, spring_kN_mm: float) -> Array:
    """With the greatest thickness: the stiffer panel yields less to the error."""
    return per_error(share_moved, D_max, misfit_mm)


@rule("candidates",
      adds=[Column("m_misfit_support", "N", "anchor moment per width by an error of any one support, characteristic; 0 where none is set"),
            Column("m_misfit_field", "N", "field moment per width by the same")],
      clause=_CLAUSE, settings=_SETTINGS, formula="m_misfit_support = m_support_moved D_max misfit_mm; m_misfit_field = m_field_moved D_max misfit_mm; solved on springs of spring_kN_mm")
def misfit_in_plate(m_support_moved: per_mm2, m_field_moved: per_mm2, D_max: Nmm, *, misfit_mm: float, spring_kN_mm: float) -> tuple[Array, Array]:
    """Greatest anywhere, added to the greatest of the wind anywhere."""
    return per_error(m_support_moved, D_max, misfit_mm), per_error(m_field_moved, D_max, misfit_mm)
