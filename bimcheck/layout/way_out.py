"""Panels that cannot pass: the nearest changes that would make them pass, computed with the checks themselves.

Each change scales what the checks read and is searched by halving; the plate is not solved again (thicker panels on
elastic supports redistribute a little differently), so that a proposal is run again before it is believed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.core.units import Array
from bimcheck.layout.batch import Batch, Index, tables
from bimcheck.layout.choice import Choice
from bimcheck.layout.judge import Judge, Verdict
from bimcheck.layout.patterns import Pattern, beyond, parse
from bimcheck.layout.prove import Run

MOST = 3.0  # greatest factor that counts as near
_HALVINGS = 10

Powers = Mapping[str, Mapping[str, int]]  # table -> column -> power of the factor by which it changes
# A panel s times as thick: bending by t^2 and stiffness by t^3 follow in the checks; weight grows with it.
THICKER: Powers = {"panels": dict(t_min=1, t_max=1, thickness=1, t_bending=1, D=3, D_max=3, W=1, V_G=1, w_G=1)}
STRONGER: Powers = {"panels": dict(f_k=1, f_d=1)}
# The factor stands under the anchor's resistance: R_d = R_k eta / gamma.
BETTER_ANCHORS: Powers = {"panels": dict(gamma_anchor=-1)}
# Sides divided by the factor: moments and reactions per pressure go by L^2, deflections by L^4 (the anchor moment falls
# a little faster, by its logarithm).
SMALLER: Powers = {
    "panels": dict(width=-1, height=-1, net_area=-2, W=-2, V_G=-2, x_G=-1),
    "candidates": dict(x_fixed=-1, y_fixed=-1, x_sliding=-1),
    "layouts": dict(m_support=-2, m_field=-2, m_corner=-2, m_plate=-2, m_support_lost=-2, m_support_moved=2, m_field_moved=2, w_unit=-4, w_span=-4, span=-1, overhang=-1),
    "anchors": dict(share=-2, share_min=-2, share_lost=-2, share_moved=2, tributary=-2, spacing=-1, y_lever=-1, x=-1, y=-1),
}
CHANGES: Mapping[str, Powers] = {"thickness": THICKER, "strength": STRONGER, "anchors": BETTER_ANCHORS, "size": SMALLER}


@dataclass(frozen=True)
class WayOut:
    """Columns of panels: factors (n,) by change, nan where it does not help; pattern (n,) that would pass; text."""

    factors: Mapping[str, Array]
    pattern: NDArray
    text: NDArray

    def columns(self) -> dict[str, NDArray]:
        return {"way_out": self.text, "way_out_pattern": self.pattern, **{f"way_out_{k}": v for k, v in self.factors.items()}}


def ways_out(run: Run, batches: Mapping[int, Batch], choice: Choice, failing: Index, free: NDArray[np.bool_],
             next_rows: Callable[[Index, Sequence[Pattern]], Choice]) -> WayOut:
    """For the failing rows (which have a layout): the factors and patterns that would let them pass.

    next_rows tries patterns that are not permitted on panels that are free to change.
    """
    n = run.judge.panels.n
    factors = {k: np.full(n, np.nan) for k in CHANGES}
    leads, of = alike(choice, failing)
    for count, batch in batches.items():
        rows = leads[choice.n[leads] == count]
        for change, powers in CHANGES.items() if len(rows) else ():
            factors[change][rows] = least_factor(run.judge, batch, rows, choice.layout[rows], powers)
    for values in factors.values():
        values[failing] = values[leads[of]]
    more = next_rows(failing[free[failing]], beyond([parse(p) for p in run.settings.patterns]))
    pattern = np.full(n, "", dtype=object)
    for row in failing[more.passes[failing]].tolist():
        pattern[row] = f"{more.n[row]} anchors"
    text = np.full(n, "", dtype=object)
    for row in failing.tolist():
        text[row] = sentence(run.judge.panels, row, {k: float(v[row]) for k, v in factors.items()}, str(pattern[row]))
    return WayOut(factors, pattern, text)


def alike(choice: Choice, rows: Index) -> tuple[Index, Index]:
    """One row for all that have the same layout and, to a thousandth, utilisation; and which of them each row follows."""
    keys = np.column_stack([choice.n[rows], choice.layout[rows], np.round(1e3 * np.minimum(choice.u[rows], 1e6)), choice.known[rows]])
    _, first, of = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    return rows[first], of.ravel()


def least_factor(judge: Judge, batch: Batch, panel: Index, layout: Index, powers: Powers) -> Array:
    """(k,) least factor, within 1/1000 of the range 1 to 3, with which panel passes on layout; nan where none does."""
    low, high = np.zeros(len(panel)), np.full(len(panel), np.log(MOST))
    helps = changed(judge, batch, panel, layout, powers, np.exp(high)).passes
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        ok = changed(judge, batch, panel, layout, powers, np.exp(middle)).passes
        low, high = np.where(ok, low, middle), np.where(ok, middle, high)
    return np.where(helps, np.exp(high), np.nan)


def changed(judge: Judge, batch: Batch, panel: Index, layout: Index, powers: Powers, factor: Array) -> Verdict:
    """Verdict on candidates whose tables are scaled by powers of factor (k,)."""
    rows = np.arange(len(panel))
    made = dict(tables(judge.panels.take(panel), judge.facades, batch.take(layout), rows, rows))
    per_row = {"panels": factor, "candidates": factor, "layouts": factor, "anchors": np.repeat(factor, batch.n)}
    for table, columns in powers.items():
        made[table] = scaled(made[table], columns, per_row[table])
    return judge.verdict(judge.evaluate(made))


def scaled(table: Table, powers: Mapping[str, int], factor: Array) -> Table:
    return table.with_columns(**{k: table[k] * factor**p for k, p in powers.items() if k in table})


def sentence(panels: Table, row: int, factors: Mapping[str, float], pattern: str) -> str:
    """What would make the panel pass, for people."""
    t, f = float(panels["t_min"][row]), factors
    parts = {
        "pattern": f"{pattern}" if pattern else "",
        "thickness": f"least thickness {np.ceil(10 * t * f['thickness']) / 10:g} mm instead of {t:g} mm",
        "size": f"sides {100 / f['size']:.0f} % of {panels['width'][row]:.0f} x {panels['height'][row]:.0f} mm",
        "strength": f"flexural strength {100 * (f['strength'] - 1):.0f} % higher",
        "anchors": f"anchor resistance {100 * (f['anchors'] - 1):.0f} % higher",
    }
    told = [text for key, text in parts.items() if text and (key == "pattern" or np.isfinite(f[key]))]
    return "would pass with " + ", or ".join(told) if told else "no single change within a factor of 3 makes it pass"
