"""Anchors and what stands behind them: bodies in the drill, clip and bolt zones, and anchors that nothing carries."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from bimcheck.clash.behind import body as body_fields
from bimcheck.clash.bodies import panel_bodies, panel_boxes, reaches_behind, reaching, taking_part
from bimcheck.clash.contacts import Contacts, contacts, extents
from bimcheck.clash.frames import Frames, axes_of, group_pairs
from bimcheck.clash.places import Floats, Ints, kind
from bimcheck.clash.zones import TOUCH, Zone, largest
from bimcheck.core.issue import Issue
from bimcheck.core.tables import Table, Tables, concat, gather

WAYS = ("to the right", "up", "to the left", "down")  # seen from outside


def find(tables: Tables, settings: Mapping[str, Any]) -> list[Issue]:
    """anchor-clash and fastener-in-zone: one issue a panel and body; unsupported: one a panel."""
    elements, anchors, obstacles = (tables.get(k) for k in ("elements", "anchors", "obstacles"))
    if elements is None or anchors is None or obstacles is None or not anchors.n or "wx" not in anchors:
        return []
    row = owners(tables)
    order = np.argsort(row, kind="stable")
    row, points = row[order], anchors.take(order)
    frames = Frames(np.column_stack([points[k] for k in ("wx", "wy", "wz")]), elements["u"][row], elements["v"][row], elements["n"][row], row)
    bodies = taking_part(obstacles, settings)
    carried, exempt = supported(frames, bodies, settings)
    hits = clashes(frames, bodies, elements, settings, exempt)
    at = {**tables, "anchors": points}
    found = _clash_issues(at, settings, frames, hits)
    has_supports = bool(np.isin(bodies["role"], ("rail", "bracket")).any())
    return found + (_unsupported(at, settings, row, np.flatnonzero(~carried)) if has_supports else [])


def owners(tables: Tables) -> Ints:
    """(anchors,) row of elements of each anchor."""
    panel = np.asarray(gather(tables, "anchors", "panel"), dtype=np.int64)
    panels = tables.get("panels")
    return panels["element"][panel] if panels is not None and "element" in panels else panel


def zones(settings: Mapping[str, Any]) -> tuple[Zone, Zone, Zone]:
    at = {k.removeprefix("clash."): v for k, v in settings.items() if k.startswith("clash.")}
    r, b = at["drill_radius_mm"], at["bolt_radius_mm"]
    return (Zone("drill", (r, r), at["drill_length_mm"], round=True),
            Zone("clip", (at["clip_width_mm"] / 2, at["clip_height_mm"] / 2), at["clip_depth_mm"]),
            Zone("bolt", (b, b), at["bolt_length_mm"], round=True))


def supported(frames: Frames, bodies: Table, settings: Mapping[str, Any]) -> tuple[np.ndarray, Ints]:
    """(anchors,) whether a rail or bracket is in reach; and the brackets meant as the support: anchor * bodies + row.

    A rail in reach carries the clip; where there is none, the nearest bracket does.
    """
    reach = Zone("reach", (settings["clash.reach_mm"],) * 2, settings["clash.reach_depth_mm"])
    rows = np.flatnonzero(np.isin(bodies["role"], ("rail", "bracket")))
    some = bodies.take(rows)
    near = contacts(frames, some, [reach])
    rail = some["role"][near.body] == "rail"
    on_rail = np.zeros(len(frames.mouth), dtype=bool)
    on_rail[near.anchor[rail]] = True
    carried = on_rail.copy()
    carried[near.anchor] = True
    bracket = near.take(~rail & ~on_rail[near.anchor])
    box = some["box"][bracket.body]
    away = np.linalg.norm((box[:, :3] + box[:, 3:]) / 2 - frames.mouth[bracket.anchor], axis=1)
    order = np.lexsort((bracket.body, away, bracket.anchor))
    _, first = np.unique(bracket.anchor[order], return_index=True)
    pick = order[first]
    return carried, bracket.anchor[pick] * bodies.n + rows[bracket.body[pick]]


def clashes(frames: Frames, bodies: Table, elements: Table, settings: Mapping[str, Any],
            exempt: Ints) -> tuple[Contacts, Table]:
    """Contacts with the three zones, and the bodies they speak of; `row` is the obstacle, `panel` the row of elements of
    a body that is another panel (else -1)."""
    rows = np.flatnonzero(bodies["role"] != "rail")
    count = 1 + int(bodies["row"].max(initial=-1))
    mine = bodies.take(rows).with_columns(panel=np.full(len(rows), -1))
    near = panels_behind(frames, elements, zones(settings))
    others = panel_bodies(elements, near, count)
    solid = concat("bodies", [mine, others.with_columns(panel=others["row"] - count)])
    hit = contacts(frames, solid, zones(settings))
    origin = np.r_[rows, np.full(others.n, -1)][hit.body]
    meant = (origin >= 0) & np.isin(hit.anchor * bodies.n + origin, exempt)
    own = solid["panel"][hit.body] == frames.panel[hit.anchor]
    return hit.take(~meant & ~own), solid


def panels_behind(frames: Frames, elements: Table, zone: tuple[Zone, ...]) -> Ints:
    """Rows of elements whose bodies may reach behind another panel, into the depth of the zones."""
    depth = largest(zone)[2]
    rows = reaching(elements, axes_of(frames), TOUCH, depth)
    group, other = group_pairs(frames, zone, panel_boxes(elements, rows))
    panel, other = frames.panel[frames.starts][group], rows[other]
    return np.unique(other[reaches_behind(elements, panel, other, TOUCH, depth)])


def _clash_issues(tables: Tables, settings: Mapping[str, Any], frames: Frames, hits: tuple[Contacts, Table]) -> list[Issue]:
    hit, solid = hits
    if not len(hit.anchor):
        return []
    row = frames.panel
    move, way, half = least_moves(frames, solid, hit, zones(settings))
    order = np.lexsort((hit.anchor, -np.nan_to_num(move), hit.body, row[hit.anchor]))
    panel, body = row[hit.anchor][order], hit.body[order]
    starts = np.flatnonzero(np.r_[True, (panel[1:] != panel[:-1]) | (body[1:] != body[:-1])])
    slot, found = tables["anchors"]["slot"], []
    for a, b in zip(starts.tolist(), [*starts[1:].tolist(), len(order)], strict=True):
        members = order[a:b]
        worst, k = int(members[0]), int(hit.body[members[0]])
        named = ", ".join(f"A{s}" for s in sorted(slot[hit.anchor[members]].tolist()))
        touched = [z.name for z, on in zip(zones(settings), np.any(hit.zone[members], axis=0).tolist(), strict=True) if on]
        at = (int(panel[a]), frames.mouth[hit.anchor[worst]])
        found.append(_clash(tables, settings, solid, k, at, f"{_listed(touched)} zone of {named}",
                            (float(move[worst]), WAYS[int(way[worst])], float(half[worst]))))
    return found


def _listed(words: list[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _clash(tables: Tables, settings: Mapping[str, Any], solid: Table, k: int, at: tuple[int, Floats], where: str,
           out: tuple[float, str, float]) -> Issue:
    move, way, half = out
    role, panel = solid["role"][k], int(solid["panel"][k])
    rule, severity = ("fastener-in-zone", settings["clash.fastener_severity"]) if role == "fastener" else \
        ("anchor-clash", settings["clash.anchor_severity"])
    if panel >= 0:
        what = "another panel"
        other: dict[str, Any] = {"other_panel": panel}
    else:
        other = body_fields(tables["obstacles"], int(solid["row"][k]))
        what = kind(other["other_name"], other["other_class"])
    x, y, z = at[1].tolist()
    return Issue(rule, severity, f"{what} stands in the {where}", panel=at[0], measured=half - move, required=half, unit="mm",
                 x=x, y=y, z=z, group=f"{what}, free after {move:.0f} mm {way}",
                 way_out=f"move the anchor by {move:.1f} mm {way} (seen from outside), or the body", **other)


def least_moves(frames: Frames, solid: Table, hit: Contacts, zone: tuple[Zone, ...]) -> tuple[Floats, Ints, Floats]:
    """Least move (mm) of each anchor within its panel that frees all its zones for certain, its way, and half the zone's
    size in that way; from the extent of the whole body within the zones' depth."""
    moves = np.zeros((len(hit.anchor), 4))
    halves = np.zeros((len(hit.anchor), 4))
    for k, z in enumerate(zone):
        rows = np.flatnonzero(hit.zone[:, k])
        x0, y0, x1, y1 = extents(frames, solid, (hit.anchor[rows], hit.body[rows]), z.depth).T
        hx, hy = z.half
        need = np.column_stack([x1 + hx, y1 + hy, hx - x0, hy - y0])
        larger = need > moves[rows]
        moves[rows] = np.where(larger, need, moves[rows])
        halves[rows] = np.where(larger, np.array([hx, hy, hx, hy]), halves[rows])
    way = np.argmin(moves, axis=1)
    pick = np.arange(len(way))
    return moves[pick, way], way, halves[pick, way]


def _unsupported(tables: Tables, settings: Mapping[str, Any], row: Ints, alone: Ints) -> list[Issue]:
    anchors, elements, reach = tables["anchors"], tables["elements"], float(settings["clash.reach_mm"])
    found = []
    ordered = alone[np.argsort(row[alone], kind="stable")]
    panels, starts = np.unique(row[ordered], return_index=True)
    for panel, mine in zip(panels.tolist(), np.split(ordered, starts[1:]), strict=False):
        named = ", ".join(f"A{s}" for s in sorted(anchors["slot"][mine].tolist()))
        x, y, z = (float(anchors[k][mine[0]]) for k in ("wx", "wy", "wz"))
        found.append(Issue("unsupported", settings["clash.unsupported_severity"], f"no rail or bracket within {reach:g} mm of {named}",
                           panel=panel, required=reach, unit="mm", x=x, y=y, z=z,
                           group=f"facade {elements['facade'][panel]}, no support in reach" if "facade" in elements else "no support in reach",
                           way_out="move the row to a rail, add a rail, or let rows follow the rails"))
    return found
