"""The evaluation as plain data (JSON) and as a short table for the screen."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from typing import Any

from bimcheck.pullout.compare import Homogeneity
from bimcheck.pullout.design import design
from bimcheck.pullout.drift import Drift
from bimcheck.pullout.evaluation import Evaluation
from bimcheck.pullout.groups import KEYS, Group
from bimcheck.pullout.present import CAUTION, RULES, both, unit_of
from bimcheck.pullout.wording import percent


def as_json(e: Evaluation) -> str:
    """Figures in kN (pull-out) or MPa (flexural); null where there is no value."""
    record = {
        "version": e.version, "caution": CAUTION, "series": e.series.file, "series_sha256": e.series.sha256,
        "date": e.today.isoformat(), "specimens": e.series.table.n, "settings": e.settings.model_dump(),
        "factors": {"gamma_M": e.factors.gamma_M, "global_factor": e.factors.global_factor, "eta": e.factors.eta, "assumed": e.factors.assumed},
        "groups": [_group(g, e) for g in e.all_groups], "comparisons": [_comparison(c) for c in e.comparisons],
        "drift": [_drift(d) for d in e.drifts],
        "eta": [{"condition": x.condition, "group": x.group.id, "dry": x.dry.id, "eta": x.ratio.value if x.ratio else None,
                 "interval_95": [x.ratio.low, x.ratio.high] if x.ratio else None, "used": x.factor, "reason": x.reason} for x in e.etas],
        "cautions": [{"rule": c.rule, "group": c.group, "text": c.text} for c in e.cautions],
    }
    return json.dumps(_finite(record), indent=1, ensure_ascii=False) + "\n"


def _group(g: Group, e: Evaluation) -> dict[str, Any]:
    d, c, u, table = g.described, g.characteristic, unit_of(g).si, e.series.table
    f = design(g, e.factors)
    return {
        "group": g.id, "label": g.label, "key": {k: g.key[k] for k in KEYS}, "pooled_into": e.pooling.into.get(g.id),
        "rows": table["line"][g.rows].tolist(), "unit": unit_of(g).si_name, "n": d.n, "mean": d.mean * u, "s": d.s * u, "cov": d.V,
        "least": d.least * u, "greatest": d.greatest * u, "k": c.k, "k_is": c.k_text, "x_k_normal": c.normal * u,
        "x_k_lognormal": c.lognormal * u, "x_k": c.governing * u, "x_k_by": RULES[c.rule], "x_d": f.by_characteristic * u,
        "x_d_by_mean": f.by_mean * u, "p_normal": g.normality.p_normal, "p_lognormal": g.normality.p_lognormal, "normality_test": g.normality.test,
        "grubbs": {"G": g.outlier.G, "critical": g.outlier.critical, "side": g.outlier.side, "alpha": g.outlier.alpha,
                   "outlier_row": int(table["line"][g.rows[g.outlier.position]]) if g.outlier.is_outlier else None},
    }


def _comparison(c: Homogeneity) -> dict[str, Any]:
    return {"factor": c.factor, "groups": [g.id for g in c.groups], "verdict": c.verdict, "reason": c.reason, "difference": c.difference,
            "not_excluded_95": c.reach, "effect": c.effect, "welch_F": c.F, "p_means": c.p_means, "scatter_ratio": c.scatter, "p_scatter": c.p_scatter}


def _drift(d: Drift) -> dict[str, Any]:
    return {"groups": [g.id for g in d.groups], "verdict": d.verdict, "reason": d.reason, "change": d.change, "half_width_95": d.half,
            "length": d.length, "slope": d.line.slope * unit_of(d.groups[0]).si, "p": d.line.p}


def _finite(value: Any) -> Any:
    """nan and infinity are not JSON."""
    if isinstance(value, dict):
        return {k: _finite(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(v) for v in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def screen(e: Evaluation) -> Iterable[str]:
    """A line a group, then the verdicts."""
    yield f"{'group':7} {'n':>5} {'mean':>24} {'CoV':>7} {'characteristic':>24}  tested"
    for g in e.all_groups:
        cov = "n/a" if math.isnan(g.described.V) else percent(g.described.V, 1)
        unit = unit_of(g)
        yield (f"{g.id:7} {g.described.n:5d} {both(g.described.mean, unit):>24} {cov:>7} "
               f"{both(g.characteristic.governing, unit):>24}  {g.label}")
    yield from (f"{c.title}: {c.verdict}; {c.reason}" for c in e.comparisons)
    yield from (f"quarry face, {', '.join(g.id for g in d.groups)}: {d.verdict}; {d.reason}" for d in e.drifts)
    yield from (f"eta, {x.group.id} over {x.dry.id}: {x.reason}" for x in e.etas)
