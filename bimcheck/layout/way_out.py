"""Panels that cannot pass: the nearest changes that would make them pass, computed with the checks themselves.

Each change scales what the checks read and is searched by halving.  What touches the plate (thickness, sides) is then
proven at the figure people are told (proposals.py); a text says of each whether it is proven or estimated.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.core.units import Array
from bimcheck.layout.batch import Batch, Index, pattern_names, tables
from bimcheck.layout.choice import Choice
from bimcheck.layout.judge import Judge, Verdict
from bimcheck.layout.patterns import Pattern, beyond, parse
from bimcheck.layout.proposals import MOST_PROVEN, SOLVED, Proposals, Restate, proven, searched, told
from bimcheck.layout.prove import Run

MOST = 3.0  # greatest factor that counts as near
_UNKNOWN = "; some checks have no value, and what cannot be computed never passes (see reason)"
_STEPS, _HALVINGS = 8, 7

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
    "layouts": dict(m_support=-2, m_field=-2, m_corner=-2, m_plate=-2, share_most=-2, m_support_lost=-2, m_support_moved=2, m_field_moved=2, w_unit=-4, w_span=-4, span=-1, overhang=-1),
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
             next_rows: Callable[[Index, Sequence[Pattern]], tuple[Choice, Mapping[int, Batch]]], restate: Restate | None) -> WayOut:
    """For the failing rows (which have a layout): the factors and patterns that would let them pass.

    next_rows tries patterns that are not permitted on panels that are free to change.  restate: runs the panels' rules on
    changed panels; None: what touches the plate stays an estimate.
    """
    n = run.judge.panels.n
    leads, of = alike(choice, failing)
    found = _proposals(run, batches, choice, leads, restate)
    for values in (*found.factors.values(), *found.proven.values()):
        values[failing] = values[leads[of]]
    more, solved = next_rows(failing[free[failing]], beyond([parse(p) for p in run.settings.patterns]))
    pattern, text = np.full(n, "", dtype=object), np.full(n, "", dtype=object)
    for row in failing[more.passes[failing]].tolist():
        pattern[row] = f"{pattern_names(solved[int(more.n[row])])[more.layout[row]]}, {more.n[row]} anchors"
    for row in failing.tolist():
        text[row] = sentence(run.judge.panels, row, found, str(pattern[row])) + ("" if choice.known[row] else _UNKNOWN)
    return WayOut(found.factors, pattern, text)


def _proposals(run: Run, batches: Mapping[int, Batch], choice: Choice, leads: Index, restate: Restate | None) -> Proposals:
    n = run.judge.panels.n
    factors, shown = {k: np.full(n, np.nan) for k in CHANGES}, {k: np.full(n, k not in SOLVED) for k in CHANGES}
    for count, batch in batches.items():
        rows = leads[choice.n[leads] == count]
        for change, powers in CHANGES.items() if len(rows) else ():
            factor = least_factor(run.judge, batch, rows, choice.layout[rows], powers)
            factors[change][rows] = told(change, run.judge.panels, rows, factor) if change in SOLVED else factor
            if change not in SOLVED or restate is None:
                continue
            first = np.isin(rows, leads[:MOST_PROVEN])
            few, none = (np.flatnonzero(first & test) for test in (np.isfinite(factor), np.isnan(factor)))
            if len(few):
                some = rows[few]
                factors[change][some], shown[change][some] = proven(run, batch, some, choice.layout[some], change, factor[few], restate)
            if change == "thickness" and len(none):
                some = rows[none]
                factors[change][some] = searched(run, batch, some, choice.layout[some], restate)
                shown[change][some] = True
    return Proposals(factors, shown)


def alike(choice: Choice, rows: Index) -> tuple[Index, Index]:
    """One row for all that have the same layout and, to a thousandth, utilisation; and which of them each row follows."""
    keys = np.column_stack([choice.n[rows], choice.layout[rows], np.round(1e3 * np.minimum(choice.u[rows], 1e6)), choice.known[rows]])
    _, first, of = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    return rows[first], of.ravel()


def least_factor(judge: Judge, batch: Batch, panel: Index, layout: Index, powers: Powers) -> Array:
    """(k,) least factor, to 1/1000, with which panel passes on layout; nan where none of the range 1 to 3 does.

    Too much may harm again (smaller panels run out of edge distance), so that the range is first looked at in steps.
    """
    steps = np.linspace(0, np.log(MOST), _STEPS + 1)
    ok = np.array([changed(judge, batch, panel, layout, powers, np.full(len(panel), f)).passes for f in np.exp(steps[1:])])
    first = np.argmax(ok, axis=0)
    low, high = steps[first], steps[first + 1]
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        holds = changed(judge, batch, panel, layout, powers, np.exp(middle)).passes
        low, high = np.where(holds, low, middle), np.where(holds, middle, high)
    return np.where(ok.any(axis=0), np.exp(high), np.nan)


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


def _percent(factor: float) -> str:
    """By how much more, rounded up to whole percents."""
    return f"{np.ceil(round(100 * (factor - 1), 6)):.0f}"


def sentence(panels: Table, row: int, found: Proposals, pattern: str) -> str:
    """What would make the panel pass, for people."""
    t, f = float(panels["t_min"][row]), {k: float(v[row]) for k, v in found.factors.items()}
    sure = {k: "proven" if v[row] else "estimated" for k, v in found.proven.items()} | {"pattern": "proven"}
    parts = {
        "pattern": f"{pattern}" if pattern else "",
        "thickness": f"least thickness {t * f['thickness']:.1f} mm instead of {t:.1f} mm",
        "size": f"sides {100 / f['size']:.0f} % of {panels['width'][row]:.0f} x {panels['height'][row]:.0f} mm",
        "strength": f"flexural strength {_percent(f['strength'])} % higher",
        "anchors": f"anchor resistance {_percent(f['anchors'])} % higher",
    }
    said = [f"{text} ({sure[key]})" for key, text in parts.items() if text and (key == "pattern" or np.isfinite(f[key]))]
    return "would pass with " + "; or ".join(said) if said else "no single change within a factor of 3 makes it pass"
