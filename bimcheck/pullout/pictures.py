"""A picture a group: specimens on probability paper, fits, mean and characteristic value; SVG and PNG."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from scipy import stats

from bimcheck.pullout.evaluation import Evaluation
from bimcheck.pullout.groups import Group
from bimcheck.pullout.present import CAUTION, RULES, Unit, both, file_stem, unit_of
from bimcheck.pullout.wording import percent

# Okabe-Ito colours: told apart by colour-blind readers; marker or line style says the same again.
_MARKS = (("o", "#0072B2"), ("s", "#E69F00"), ("^", "#009E73"), ("D", "#CC79A7"), ("v", "#56B4E9"), ("P", "#D55E00"))
_PERCENT = np.array([0.1, 1, 5, 10, 25, 50, 75, 90, 95, 99, 99.9])
_STYLE = {"svg.hashsalt": "bimcheck", "font.size": 9, "axes.linewidth": 0.8, "font.family": "DejaVu Sans"}
_INK, _FAINT = "#222222", "#8a8a8a"


def draw_all(e: Evaluation, folder: Path) -> Iterator[Path]:
    """Writes <group>.svg and <group>.png; yields each path."""
    folder.mkdir(parents=True, exist_ok=True)
    for group in e.all_groups:
        with mpl.rc_context(_STYLE):
            figure = draw(group, e)
            for suffix, metadata in ((".svg", {"Date": None, "Creator": None}), (".png", {"Software": None})):
                path = folder / (file_stem(group) + suffix)
                figure.savefig(path, dpi=130, metadata=metadata)
                yield path


def draw(group: Group, e: Evaluation) -> Figure:
    figure = Figure(figsize=(8.2, 5.4))
    axes = figure.add_axes((0.09, 0.17, 0.87, 0.615))
    low, high = _range(group)
    _paper(axes, group, low, high)
    _fits(axes, group, low, high)
    _values(axes, group)
    _points(axes, group, e)
    axes.legend(loc="lower right", frameon=True, framealpha=0.9, edgecolor="none", fontsize=8)
    _words(figure, group, e)
    return figure


def _range(group: Group) -> tuple[float, float]:
    c, d = group.characteristic, group.described
    lowest = min(v for v in (c.normal, c.lognormal, d.least) if not np.isnan(v))
    margin = 0.08 * (d.greatest - lowest) or 0.1 * d.greatest
    return max(lowest - margin, 0.0), d.greatest + margin


def _paper(axes: Axes, group: Group, low: float, high: float) -> None:
    unit = unit_of(group)
    reach = max(2.2, float(stats.norm.isf(0.5 / group.described.n)) + 0.35)
    z = stats.norm.ppf(_PERCENT / 100)
    axes.set_ylim(-reach, reach)
    axes.set_yticks(z[np.abs(z) < reach], [f"{p:g} %" for p in _PERCENT[np.abs(z) < reach]])
    axes.set_xlim(low * unit.si, high * unit.si)
    axes.set_xlabel(f"{'flexural strength' if group.flexural else 'failure load'} [{unit.si_name}]")
    axes.set_ylabel("share of specimens below")
    axes.grid(color="#e3e3e3", linewidth=0.6)
    axes.set_axisbelow(True)
    other = axes.secondary_xaxis("top", functions=(lambda v: v * unit.us / unit.si, lambda v: v * unit.si / unit.us))
    other.set_zorder(3)
    other.set_xlabel(f"[{unit.us_name}]", labelpad=3)
    axes.spines["top"].set_visible(False)
    axes.spines["right"].set_visible(False)


def _fits(axes: Axes, group: Group, low: float, high: float) -> None:
    """Fitted distributions: the governing one drawn full, the other dashed."""
    d, unit = group.described, unit_of(group)
    if not d.s > 0:
        return
    x = np.linspace(max(low, 1e-6 * d.mean), high, 200)
    for rule, z in (("normal", (x - d.mean) / d.s), ("lognormal", (np.log(x) - d.mean_ln) / d.s_ln)):
        governs = rule == group.characteristic.rule
        axes.plot(x * unit.si, z, color=_INK if governs else _FAINT, linewidth=1.4 if governs else 1.1,
                  linestyle="-" if governs else "--", label=f"{RULES[rule]} fit{' (governs)' if governs else ''}")


def _values(axes: Axes, group: Group) -> None:
    """The upper left and the lower right stay free of specimens: there the labels stand."""
    unit, governing, mean = unit_of(group), group.characteristic.governing, group.described.mean
    bottom, top = axes.get_ylim()
    if governing > 0:
        axes.axvline(governing * unit.si, color="#B34A00", linewidth=1.8)
        _label(axes, "characteristic", governing, unit, (top, -6, "top"), "#B34A00")
    axes.axvline(mean * unit.si, color="#0072B2", linewidth=1.3, linestyle=(0, (6, 2)))
    _label(axes, "mean", mean, unit, (bottom, 6, "bottom"), "#0072B2")


def _label(axes: Axes, name: str, value: float, unit: Unit, place: tuple[float, float, str], colour: str) -> None:
    left, right = axes.get_xlim()
    late = (value * unit.si - left) / (right - left) > 0.6
    axes.annotate(f"{name}\n{both(value, unit)}", (value * unit.si, place[0]), xytext=(-5 if late else 5, place[1]),
                  textcoords="offset points", color=colour, fontsize=8, ha="right" if late else "left", va=place[2],
                  bbox=dict(facecolor="white", edgecolor="none", alpha=0.85, pad=1))


def _points(axes: Axes, group: Group, e: Evaluation) -> None:
    unit, order = unit_of(group), np.argsort(group.x, kind="stable")
    z = np.empty(len(order))
    z[order] = stats.norm.ppf((np.arange(len(order)) + 0.5) / len(order))
    modes = e.series.table["failure"][group.rows]
    for i, mode in enumerate(dict.fromkeys(modes)):
        marker, colour = _MARKS[i % len(_MARKS)]
        those = modes == mode
        axes.plot(group.x[those] * unit.si, z[those], marker, color=colour, markeredgecolor="white", markeredgewidth=0.6,
                  markersize=7, label=f"{mode or 'failure mode not stated'} ({np.count_nonzero(those)})")
    _outlier(axes, group, z, unit.si)


def _outlier(axes: Axes, group: Group, z: Any, scale: float) -> None:
    if not group.outlier.is_outlier:
        return
    x, y = group.x[group.outlier.position] * scale, z[group.outlier.position]
    axes.plot(x, y, "o", markersize=14, markerfacecolor="none", markeredgecolor=_INK, markeredgewidth=1.3)
    left = x > np.mean(axes.get_xlim())
    axes.annotate("outlier (kept)", (x, y), xytext=(-11 if left else 11, 0), textcoords="offset points", fontsize=8,
                  ha="right" if left else "left", va="center", color=_INK)


def _words(figure: Figure, group: Group, e: Evaluation) -> None:
    d, c = group.described, group.characteristic
    scatter = f"CoV {percent(d.V, 1)}" if d.n > 1 else "no scatter from one specimen"
    title = textwrap.wrap(f"{group.id}  {_plain(group.label)}", 76)[:2]
    figure.text(0.09, 0.965, "\n".join(title), fontsize=10.5, fontweight="bold", va="top", color=_INK)
    k = f"{c.k_text}: {c.k:.3f}, {RULES[c.rule]}" if not np.isnan(c.k) else "no characteristic value"
    figure.text(0.09, 0.965 - 0.042 * len(title), f"n = {d.n}, {scatter}; {k}", fontsize=8.5, va="top", color="#444444")
    cautions = len(e.cautions_of(group))
    also = f"{cautions} caution{'s' * (cautions > 1)} on this group: see the workbook. " if cautions else ""
    figure.text(0.09, 0.015, "\n".join(textwrap.wrap(f"{also}{CAUTION} Series {_plain(e.series.file)}, SHA-256 {e.series.sha256[:12]}.", 128)),
                fontsize=7, color="#444444", va="bottom")


def _plain(text: str) -> str:
    """Dollar signs would begin a formula."""
    return text.replace("$", r"\$")
