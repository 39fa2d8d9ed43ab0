"""Statistics of test series, through the functions that `bimcheck pullout` uses."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from bimcheck.pullout.outliers import grubbs, grubbs_critical
from bimcheck.pullout.settings import Qualification
from bimcheck.pullout.statistics import characteristic, describe
from bimcheck.pullout.tolerance import k_known, k_unknown, kn_known, kn_unknown

ISO, D1 = Qualification(), Qualification(factor="en1990-d1")


def _series(x: dict[str, Any]) -> Any:
    return describe(np.array(x["data"]))


def _k(p: float, confidence: float) -> Callable[[dict[str, Any]], Any]:
    return lambda x: k_unknown(x["n"], x.get("p", p), x.get("confidence", confidence))


QUANTITIES: dict[str, Callable[[dict[str, Any]], Any]] = {
    "k_p95_c75_unknown_sigma": _k(0.95, 0.75),
    "k_p95_c90_unknown_sigma": _k(0.95, 0.90),
    "k_p95_c95_unknown_sigma": _k(0.95, 0.95),
    "k_p90_c95_B-basis": _k(0.90, 0.95),
    "k_exact": _k(0.95, 0.75),
    "ks_p95_c75_tabled": _k(0.95, 0.75),
    "k_p95_c75_known_sigma": lambda x: k_known(x["n"], x.get("p", 0.95), x.get("confidence", 0.75)),
    "kn_EN1990_D1_unknown": lambda x: kn_unknown(x["n"]),
    "kn_EN1990_D1_known": lambda x: kn_known(x["n"]),
    "grubbs_crit_one_sided": lambda x: grubbs_critical(x["n"], x["alpha"], two_sided=False),
    "grubbs_crit_two_sided": lambda x: grubbs_critical(x["n"], x["alpha"], two_sided=True),
    "grubbs_G": lambda x: grubbs(np.array(x["data"])).G,
    "grubbs_G_two_sided": lambda x: grubbs(np.array(x["data"])).G,
    "grubbs_outlier_5pct_two_sided": lambda x: grubbs(np.array(x["data"]), "two-sided", 0.05).is_outlier,
    "mean": lambda x: _series(x).mean,
    "s": lambda x: _series(x).s,
    "V": lambda x: _series(x).V,
    "mean_ln": lambda x: _series(x).mean_ln,
    "s_ln": lambda x: _series(x).s_ln,
    "x5_normal_ISO16269": lambda x: characteristic(_series(x), ISO, "normal").governing,
    "x5_lognormal_ISO16269": lambda x: characteristic(_series(x), ISO, "lognormal").governing,
    "x5_normal_EN1990_D1": lambda x: characteristic(_series(x), D1, "normal").governing,
    "x5_lognormal_EN1990_D1": lambda x: characteristic(_series(x), D1, "lognormal").governing,
}
