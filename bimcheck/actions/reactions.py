"""What panels do to their supports, a column a combination: for whoever designs the substructure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from bimcheck.actions.combinations import Combination, combinations
from bimcheck.actions.forces import outward_pressure
from bimcheck.actions.misfit import misfit_factor
from bimcheck.core.units import Array

READS = ("w_anchor_suction", "w_anchor_pressure", "w_E", "w_G", "share", "share_min", "N_G", "V_Gk", "N_misfit")
_SINGLE = "one action at a time, without factors"


def listed(format: str, basis: str, seismic: bool) -> tuple[Combination, ...]:
    """Single actions first, for combinations of the substructure's own; then the combinations that anchors are proved by."""
    single = [Combination("weight", 1.0, 0.0, "none", _SINGLE), Combination(f"wind suction ({basis})", 0.0, 1.0, "suction", _SINGLE),
              Combination(f"wind pressure ({basis})", 0.0, 1.0, "pressure", _SINGLE)]
    return (*single, *combinations(format, basis, seismic))


def support_forces(table: Sequence[Combination], anchors: Mapping[str, Array], push: Array) -> tuple[Array, Array, Array]:
    """(n, c) greatest and least force on a support along the outward normal (above 0 pulls off the building), and weight, N.

    anchors: the columns READS, (n,) each; push (n,): what the eccentric weight presses onto the support, characteristic,
    N >= 0.  The lever of clip and heel acts inside the clip and does not reach the support.  Envelope of rigid and elastic
    supports; misfit acts either way.
    """
    a = anchors
    greatest, least = np.empty((len(push), len(table))), np.empty((len(push), len(table)))
    for i, c in enumerate(table):
        q = outward_pressure(c, a["w_anchor_suction"], a["w_anchor_pressure"], a["w_E"], a["w_G"])
        wind = np.stack([q * a["share"], q * a["share_min"]])
        misfit = 0.0 if c.clause == _SINGLE else misfit_factor(c, table) * a["N_misfit"]
        eccentric = c.gamma_G * (a["N_G"] - push)
        greatest[:, i] = wind.max(axis=0) + eccentric + misfit
        least[:, i] = wind.min(axis=0) + eccentric - misfit
    return greatest, least, np.array([c.gamma_G for c in table]) * a["V_Gk"][:, None]
