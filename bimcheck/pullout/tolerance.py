"""Factors on the standard deviation that lead from a sample to its low fractile.

Two different quantities share the letter k:
* ISO 16269-6: mean - k s lies below the fractile with the stated confidence (a tolerance limit);
* EN 1990 Table D.1: mean - k_n s is the fractile of the predictive distribution of the next value.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy import stats


def k_unknown(n: Any, share: float, confidence: float) -> Any:
    """k for unknown sigma: t'_{confidence}(n - 1; z sqrt(n)) / sqrt(n), noncentral t.  ISO 16269-6 one-sided.

    n: number of values, scalar or array; nan below 2.  share: portion above the limit (0.95 for the 5 % fractile).
    B-basis factors are share 0.90 at confidence 0.95.
    """
    n = np.asarray(n, dtype=float)
    usable = np.where(n >= 2, n, np.nan)
    z = stats.norm.ppf(share)
    return _plain(stats.nct.ppf(confidence, usable - 1, z * np.sqrt(usable)) / np.sqrt(usable))


def k_known(n: Any, share: float, confidence: float) -> Any:
    """k for known sigma: z_share + z_confidence / sqrt(n).  ISO 16269-6 one-sided."""
    n = np.asarray(n, dtype=float)
    return _plain(stats.norm.ppf(share) + stats.norm.ppf(confidence) / np.sqrt(n))


def kn_unknown(n: Any, share: float = 0.95) -> Any:
    """k_n, V_X unknown: t_{share, n - 1} sqrt(1 + 1/n); nan below 2.  EN 1990 D.7.2, Table D.1."""
    n = np.asarray(n, dtype=float)
    usable = np.where(n >= 2, n, np.nan)
    return _plain(stats.t.ppf(share, usable - 1) * np.sqrt(1 + 1 / usable))


def kn_known(n: Any, share: float = 0.95) -> Any:
    """k_n, V_X known: z_share sqrt(1 + 1/n).  EN 1990 D.7.2, Table D.1."""
    n = np.asarray(n, dtype=float)
    return _plain(stats.norm.ppf(share) * np.sqrt(1 + 1 / n))


def _plain(value: Any) -> Any:
    return float(value) if np.ndim(value) == 0 else value
