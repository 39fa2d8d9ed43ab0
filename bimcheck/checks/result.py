"""The result of each panel: fail, not_checked or pass.  nan never passes."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.rule import Rule
from bimcheck.core.tables import Table, segment

PASS = 1.0 + 1e-9


def bring_down(checks: Sequence[Rule], panels: Table, candidates: Table, anchors: Table) -> Table:
    """Panels with a column for every check: the selected candidate's, and the worst of its anchors; and with the combination
    and place of the greatest moment.

    candidates: at most one a panel, with the column `panel`; anchors: with the column `candidate`.
    """
    added: dict[str, NDArray] = {}
    for rule in checks:
        column = rule.adds[0].name
        if rule.table == "candidates":
            added[column] = _scatter(candidates[column], candidates["panel"], panels.n)
        elif rule.table == "anchors":
            of_candidate = _worst(np.asarray(anchors[column], dtype=float), anchors["candidate"], candidates.n)
            added[column] = _scatter(of_candidate, candidates["panel"], panels.n)
    for name in ("m_combination", "m_place"):
        if name in candidates:
            text = np.full(panels.n, "", dtype=object)
            text[candidates["panel"]] = candidates[name]
            added[name] = text
    return panels.with_columns(**added)


def _scatter(values: NDArray, rows: NDArray, n: int) -> NDArray:
    out = np.full(n, np.nan)
    out[rows] = values
    return out


def _worst(values: NDArray, groups: NDArray, n: int) -> NDArray:
    """Greatest by group; nan where any is nan."""
    return segment(np.maximum, values, groups, n, np.nan)


def governing(panels: Table, checks: Sequence[Rule]) -> tuple[NDArray, NDArray, NDArray]:
    """(n,) name of the check with the greatest utilisation, the utilisation, and names of mandatory checks that are nan."""
    columns = [r.adds[0].name for r in checks]
    u = np.array([np.asarray(panels[c], dtype=float) for c in columns]).reshape(len(columns), panels.n)
    names = np.array([r.name for r in checks], dtype=object)
    filled = np.where(np.isnan(u), -np.inf, u)
    top = np.argmax(filled, axis=0)
    greatest = filled[top, np.arange(panels.n)]
    missing = np.isnan(u) & np.array([r.mandatory for r in checks])[:, None]
    lacking = np.array([", ".join(names[m]) for m in missing.T], dtype=object) if missing.any() else np.full(panels.n, "", object)
    return np.where(np.isfinite(greatest) | (greatest > 0), names[top], ""), np.where(greatest > -np.inf, greatest, np.nan), lacking


def result_of(u: NDArray, lacking: NDArray, reasons: NDArray, errors: NDArray) -> NDArray:
    """(n,) fail = a check above 1 or an error issue that names the panel; else not_checked = a mandatory check is nan or
    there is a reason; else pass."""
    open_question = (lacking != "") | (reasons != "") | np.isnan(u)
    return np.where((u > PASS) | errors, "fail", np.where(open_question, "not_checked", "pass")).astype(object)
