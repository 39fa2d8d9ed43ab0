"""Design values of a group: characteristic value over gamma_M, and mean over a global factor."""

from __future__ import annotations

from dataclasses import dataclass

from bimcheck.pullout.groups import Group
from bimcheck.pullout.settings import ASSUMED_GAMMA_M, ASSUMED_GLOBAL_FACTOR, Qualification


@dataclass(frozen=True)
class Factors:
    """The factors in use; `assumed` names those that nobody stated."""

    gamma_M: float
    global_factor: float
    eta: float
    assumed: tuple[str, ...]


def factors(settings: Qualification) -> Factors:
    """Safety factors are project data: where none is stated an invented one is used, and said."""
    assumed = tuple(name for name in ("gamma_M", "global_factor") if getattr(settings, name) is None)
    return Factors(settings.gamma_M or ASSUMED_GAMMA_M, settings.global_factor or ASSUMED_GLOBAL_FACTOR, settings.eta, assumed)


@dataclass(frozen=True)
class Design:
    """by_characteristic = R_k eta / gamma_M; by_mean = R_mean eta / F.  In the group's unit (N or MPa)."""

    by_characteristic: float
    by_mean: float


def design(group: Group, f: Factors) -> Design:
    """Method: R_d = R_k eta / gamma_M (EN 1990 6.3.3), or R_mean eta / F.  nan where there is no value above zero."""
    R_k = group.characteristic.governing
    return Design(R_k * f.eta / f.gamma_M if R_k > 0 else float("nan"), group.described.mean * f.eta / f.global_factor)
