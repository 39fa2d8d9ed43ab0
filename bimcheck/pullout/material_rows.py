"""Material rows for the project file, with the hash of the series they stand on."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable, Sequence
from typing import Any

from bimcheck.core.units import factor
from bimcheck.pullout.evaluation import Evaluation
from bimcheck.pullout.groups import Group

_ETA_KEYS = {"wet": "eta_wet", "frost": "eta_frost", "aged": "eta_age"}


def material_rows(e: Evaluation) -> str:
    """TOML text: [materials.NAME] with the flexural strength and [[materials.NAME.anchors]], one a tested combination.

    Where several groups share thickness, embedment, edge distance and spacing (colours, batches, conditions), the lowest
    stands for all; the others are named beside it.
    """
    lines = [f"# Material rows from {_flat(e.series.file)}, evaluated on {e.today.isoformat()} by bimcheck pullout.",
             "# A preliminary design aid: local codes and the engineer of record decide on the use of these figures.",
             "# Paste into the project file; where it has a section of that name already, merge the keys."]
    names: dict[str, str] = {}
    for material in dict.fromkeys(g.key["material"] for g in e.pooling.groups):
        groups = [g for g in e.pooling.groups if g.key["material"] == material]
        lines += ["", *_material(_name(material, names), material, groups, e)]
    return "\n".join(lines) + "\n"


def _name(material: str, names: dict[str, str]) -> str:
    """A bare TOML key, different for different materials."""
    plain = re.sub(r"[^a-z0-9]+", "_", material.casefold()).strip("_") or "material"
    name = plain if plain not in names.values() else f"{plain}_{1 + sum(n.startswith(plain) for n in names.values())}"
    return names.setdefault(material, name)


def _material(name: str, material: str, groups: Sequence[Group], e: Evaluation) -> Iterable[str]:
    yield f"[materials.{name}]"
    yield f"match = [{_text('*' + _glob(material) + '*')}]  # material names of the model: check"
    yield from _flexural([g for g in groups if g.flexural], e)
    combinations: dict[tuple[float, ...], list[Group]] = {}
    for group in (g for g in groups if not g.flexural):
        combinations.setdefault(tuple(_plain(group.key[k]) for k in ("thickness", "embedment", "edge", "spacing")), []).append(group)
    for members in combinations.values():
        yield from _anchor(name, members, e)


def _glob(material: str) -> str:
    return "".join(f"[{c}]" if c in "*?[" else c for c in material.casefold())


def _plain(value: float) -> float:
    return -1.0 if math.isnan(value) else value


def _resistance(group: Group, e: Evaluation) -> float:
    return group.described.mean if e.settings.rows == "mean" else group.characteristic.governing


def _lowest(groups: Sequence[Group], e: Evaluation) -> Group | None:
    """None where a group has no value: the lowest is not known then."""
    if not groups or any(not _resistance(g, e) > 0 for g in groups):
        return None
    return min(groups, key=lambda g: _resistance(g, e))


def _anchor(name: str, members: Sequence[Group], e: Evaluation) -> Iterable[str]:
    tension = [g for g in members if g.key["direction"] == "tension"]
    shear = [g for g in members if g.key["direction"] == "shear"]
    governing, sideways = _lowest(tension, e), _lowest(shear, e)
    yield ""
    for group in members:
        yield from _comments(group, e)
    if governing is None:
        yield f"# no row for this combination: {_why_none(tension, e)}"
        return
    yield f"[[materials.{name}.anchors]]"
    yield from (f"{key} = {value}" for key, value in _anchor_keys(governing, sideways, tension, members, e).items())


def _why_none(groups: Sequence[Group], e: Evaluation) -> str:
    without = ", ".join(g.id for g in groups if not _resistance(g, e) > 0)
    return f"group {without} has no {e.settings.rows} value above zero" if groups else "it was not tested in tension"


def _anchor_keys(group: Group, sideways: Group | None, tension: Sequence[Group], members: Sequence[Group], e: Evaluation) -> dict[str, str]:
    """mean_kN is the lowest mean of the groups, for the global-factor format; it may be another group's than the resistance."""
    key, kilo = group.key, factor("N", "kN")
    row: dict[str, Any] = {
        "thickness_mm": _size(min(g.least_thickness for g in members)), "embedment_mm": _size(key["embedment"]),
        "edge_mm": _size(key["edge"]), "spacing_mm": _size(key["spacing"]) if key["spacing"] == key["spacing"] else None,
        "tension_kN": _down(_resistance(group, e) * kilo),
        "shear_kN": _down(_resistance(sideways, e) * kilo) if sideways else None,
        "kind": _text(e.settings.rows), "n": str(group.described.n), "mean_kN": _down(min(g.described.mean for g in tension) * kilo),
        "cov": _figure(group.described.V) if group.described.n > 1 else None, "date": _text(_oldest(group, e)) if _oldest(group, e) else None,
        "series": _text(e.series.file), "series_sha256": _text(e.series.sha256), "source": _text(_source(group, e)),
        "conditioned": str(_conditioned(members)).lower(),
    }
    return {k: v for k, v in row.items() if v is not None}


def _conditioned(members: Sequence[Group]) -> bool:
    """Frost or ageing among the groups of each direction, of which the lowest stands in the row; wetting alone is not enough.

    A row that is not conditioned keeps the project's factors eta, which is the safe side.
    """
    severe = {d: any(g.key["condition"] in ("frost", "aged") for g in members if g.key["direction"] == d)
              for d in {g.key["direction"] for g in members}}
    return all(severe.values())


def _flexural(groups: Sequence[Group], e: Evaluation) -> Iterable[str]:
    """From dry specimens with factors eta; where there are none, from conditioned ones, whose own factor is 1."""
    if not groups:
        return
    base = [g for g in groups if not g.conditioned] or list(groups)
    governing = _lowest(base, e)
    for group in groups:
        yield from _comments(group, e)
    if governing is None:
        yield f"# no flexural_MPa: {_why_none(base, e)}"
        return
    yield f"flexural_MPa = {_down(_resistance(governing, e))}"
    yield f"flexural_kind = {_text(e.settings.rows)}"
    yield f"flexural_test = {_text(_source(governing, e))}"
    if len({g.key["direction"] for g in base} & {"parallel", "perpendicular"}) < 2:
        yield "# one direction to the rift only, or not stated: state eta_direction where the stone has a rift"
    yield from _eta_lines(base, e)


def _eta_lines(base: Sequence[Group], e: Evaluation) -> Iterable[str]:
    for condition, key in _ETA_KEYS.items():
        if all(g.key["condition"] == condition for g in base):
            yield f"{key} = 1.0  # specimens were tested in this condition"
            continue
        found = [x for x in e.etas if x.condition == condition and x.group.flexural and x.ratio
                 and x.dry.key["material"] == base[0].key["material"]]
        if found:
            worst = min(found, key=lambda x: x.factor)
            yield f"{key} = {_down(worst.factor)}  # {_flat(worst.reason)}"


def _comments(group: Group, e: Evaluation) -> Iterable[str]:
    value = _resistance(group, e)
    figure = f"{value:.2f} MPa" if group.flexural else f"{value * factor('N', 'kN'):.3f} kN"
    yield f"# {group.id} {_flat(group.label)}: {figure if not math.isnan(value) else 'no value'}, n = {group.described.n}"
    for caution in e.cautions_of(group):
        yield f"#   caution, {caution.rule}: {_flat(caution.text)}"


def _source(group: Group, e: Evaluation) -> str:
    reference = dict.fromkeys(w for w in e.series.table["laboratory"][group.rows] if w)
    how = f"{group.characteristic.k_text}, {group.characteristic.rule}" if e.settings.rows == "characteristic" else "mean"
    return ", ".join(filter(None, [group.key["standard"], f"group {group.id}", how, " ".join(list(reference)[:3])]))


def _oldest(group: Group, e: Evaluation) -> str:
    return min((d for d in e.series.table["date"][group.rows] if d), default="")


def _down(value: float) -> str:
    """Three decimals, never up; the small term keeps 3.3 from becoming 3.299."""
    return f"{math.floor(value * 1000 + 1e-6) / 1000:.3f}"


def _figure(value: float) -> str:
    return f"{value:.4f}"


def _size(value: float) -> str:
    return f"{value:.2f}".rstrip("0") + ("0" if value == int(value) else "")


def _text(value: str) -> str:
    return json.dumps("".join(c for c in value if c.isprintable()), ensure_ascii=False)


def _flat(value: str) -> str:
    """One line of a comment."""
    return "".join(c for c in " ".join(value.split()) if c.isprintable())
