"""The enriched model: the author's bytes with one block of ours, built from the tables of a run."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Any

import ifcopenshell
import numpy as np
from numpy.typing import NDArray

from bimcheck.core.columns import Column
from bimcheck.core.errors import InputError
from bimcheck.core.memory import give_back
from bimcheck.core.tables import Table, Tables, gather
from bimcheck.write.ifc_block import Block, Holders, Subjects, ordinals
from bimcheck.write.ifc_fasteners import Anchors, write_fasteners
from bimcheck.write.ifc_model import Author, ModelFacts, Placements, facts, placements, taken_names
from bimcheck.write.ifc_properties import CAUTION, SETS, Check, properties
from bimcheck.write.ifc_quantities import SET_NAMES, write_quantities
from bimcheck.write.ifc_run import OWNER_ENTITIES, Run, owner_history, record, record_size
from bimcheck.write.ifc_sets import write_sets
from bimcheck.write.ifc_settings import Ifc
from bimcheck.write.ifc_templates import write_templates
from bimcheck.write.ours import STATUS
from bimcheck.write.step_block import insertion, pieces


@dataclass(frozen=True)
class Plan:
    """What to write: the columns and checks of the run's plan, the settings, and what the record says."""

    columns: Sequence[Column]
    checks: Sequence[Check]
    settings: Ifc
    run: Run
    length_unit: str = ""  # of coordinates, where the file does not say


@dataclass(frozen=True)
class Enriched:
    """parts: the file in order, for one pass; added: entities of ours; renamed: elements (entity numbers) on which a
    set of the author's already has one of our names, so that ours got the next free one."""

    parts: Iterator[bytes | memoryview]
    added: int
    renamed: tuple[int, ...]


def author_of(model: ifcopenshell.file, original: bytes, elements: Table, model_index: int, settings: Ifc, length_unit: str = "") -> Author:
    """What `enrich` needs of a model, for its elements that may be panels: the file itself need not stay open.

    length_unit: of coordinates, where the file does not say.  Raises InputError where the length unit is unknown.
    """
    mine = (np.asarray(elements["model_index"]) == model_index) & (np.asarray(elements["status"]) == "panel")
    rows = np.flatnonzero(mine)[np.argsort(np.asarray(elements["step_id"], np.int64)[mine])]
    known = facts(model, length_unit)
    taken = taken_names(model, original, [*_own_names(settings), *SET_NAMES])
    return Author(known, str(model.header.file_name.time_stamp), frozenset(taken), np.asarray(elements["step_id"], np.int64)[rows],
                  _placements(model, elements, rows, known))


def _placements(model: ifcopenshell.file, elements: Table, rows: NDArray[np.int64], known: ModelFacts) -> Placements:
    """As reading left them; a table made otherwise is looked up in the file."""
    if "placed" not in elements:
        return placements(model, np.asarray(elements["step_id"])[rows].tolist())
    world = np.tile(np.eye(4), (len(rows), 1, 1))
    world[:, :3] = elements["placed"][rows].reshape(-1, 3, 4)
    world[:, :3, 3] /= known.units.length_mm
    return Placements(np.asarray(elements["placement"], np.int64)[rows], world)


def enrich(original: bytes, author: Author, tables: Tables, model_index: int, plan: Plan) -> Enriched:
    """Enrich one model of a run.

    original: the author's bytes, without an earlier block of ours (`strip`); author: of the same model; tables: `elements`,
    `panels`, `anchors` and, where supports are known, `obstacles` of the whole run; model_index: which model this is.
    Raises InputError where the file cannot be appended to.
    """
    place, known = insertion(original), author.facts
    if not known.project:
        raise InputError("the model has no IfcProject", "", "export the model again")
    first_free = place.first + record_size(place, plan.run)
    block = Block(first_free + (OWNER_ENTITIES if known.schema == "IFC2X3" else 0), known)
    owner = Block(first_free, known)
    if known.schema == "IFC2X3":
        block.owner = owner_history(owner, plan.run)
    panels, others = subjects(tables, model_index, plan, author.taken)
    _write(block, panels, others, plan)
    give_back()
    if plan.settings.anchors != "none" and "anchors" in tables:
        _write_anchors(block, panels, author, tables, model_index, plan.settings)
    start = record(place, known, plan.run, block.owner, block.next - 1)
    parts = pieces(place, itertools.chain([start], owner.text, block.text))
    ours = {name.lower() for name in _own_names(plan.settings)}
    return Enriched(parts, block.next - place.first, tuple(sorted({n for n, name in author.taken if name in ours})))


def _own_names(settings: Ifc) -> list[str]:
    return [settings.names.get(key, key) for key in SETS]


def subjects(tables: Tables, model_index: int, plan: Plan, taken: Set[tuple[int, str]]) -> tuple[Subjects, Subjects]:
    """The panels of one model, and the other elements considered in it."""
    elements, panels = tables["elements"], tables["panels"]
    files, steps = np.asarray(elements["model_index"]), np.asarray(elements["step_id"])
    times = ordinals(np.asarray(elements["guid"], object).tolist(), files.tolist(), steps.tolist())
    known = dict(zip(zip(files.tolist(), steps.tolist(), strict=True), times.tolist(), strict=True))
    of_file = np.flatnonzero(np.asarray(panels["model_index"]) == model_index)
    others = np.flatnonzero((files == model_index) & (np.asarray(elements["status"]) != "panel"))
    names, columns = plan.settings.names, _columns(panels, of_file, plan.checks)
    rest = {k: np.asarray(elements[k])[others] for k in ("status", "reason")}
    return (Subjects(_holders(panels, of_file, known), columns, _taken_rows(panels, of_file, taken, names)),
            Subjects(_holders(elements, others, known), rest, _taken_rows(elements, others, taken, names)))


def _write(block: Block, panels: Subjects, others: Subjects, plan: Plan) -> None:
    wanted, names = properties(plan.columns, plan.checks), plan.settings.names
    write_sets(block, panels, wanted, names)
    write_sets(block, others, [p for p in wanted if p.set == STATUS], names)
    if plan.settings.quantities:
        write_quantities(block, panels)
    if plan.settings.templates:
        write_templates(block, [p for p in wanted if p.column in panels.columns], names)


def _holders(table: Table, rows: NDArray[np.int64], times: Mapping[tuple[int, int], int]) -> Holders:
    ids, files = np.asarray(table["step_id"])[rows].tolist(), np.asarray(table["model_index"])[rows].tolist()
    guids = np.asarray(table["guid"], object)[rows].tolist()
    return Holders.of(ids, guids, [times.get(key, 0) for key in zip(files, ids, strict=True)])


def _columns(panels: Table, rows: NDArray[np.int64], checks: Sequence[Check]) -> dict[str, Any]:
    """The panels' columns, with the caution and the clause behind the governing check."""
    every = len(rows) == panels.n  # one model: nothing to pick
    found = {k: c if every else c[rows] for k, c in panels.columns.items() if isinstance(c, np.ndarray)}
    found["caution"] = np.full(len(rows), CAUTION, object)
    clauses = {c.name: c.clause for c in checks}
    if "governing_check" in found:
        found["governing_clause"] = np.array([clauses.get(name, "") for name in found["governing_check"]], object)
    return found


def _taken_rows(table: Table, rows: NDArray[np.int64], taken: Set[tuple[int, str]],
                names: Mapping[str, str]) -> dict[str, frozenset[int]]:
    """Positions in `rows` whose element has an author's set of the name we would write, by our key."""
    row_of = {step: i for i, step in enumerate(np.asarray(table["step_id"])[rows].tolist())}
    out: dict[str, frozenset[int]] = {}
    for key in (*SETS, *SET_NAMES):
        name = names.get(key, key).lower()
        out[key] = frozenset(row_of[step] for step, theirs in taken if theirs == name and step in row_of)
    return out


def _write_anchors(block: Block, panels: Subjects, author: Author, tables: Tables, model_index: int, settings: Ifc) -> None:
    anchors, placed = _anchors(tables, model_index), author.placements(np.asarray(panels.columns["step_id"], np.int64))
    guids = _guids(tables, anchors.support, model_index) if anchors.support.any() else {}
    write_fasteners(block, panels, placed, anchors, guids, geometry=settings.anchors == "geometry", holes=settings.holes)


def _guids(tables: Tables, support: NDArray[np.int64], model_index: int) -> dict[int, str]:
    """GlobalIds of the supports, entity numbers of one model."""
    obstacles, files = tables["obstacles"], tables["panels"]["model"][np.asarray(tables["panels"]["model_index"]) == model_index]
    rows = np.flatnonzero(np.isin(obstacles["step_id"], support) & (np.asarray(obstacles["model"], object) == files[0]))
    return dict(zip(obstacles["step_id"][rows].tolist(), map(str, obstacles["guid"][rows]), strict=True))


def _anchors(tables: Tables, model_index: int) -> Anchors:
    """The anchors of one model by panel and slot; panels counted within the model."""
    table = tables["anchors"]
    mine = np.asarray(tables["panels"]["model_index"]) == model_index
    place = np.where(mine, np.cumsum(mine) - 1, -1)
    panel = place[np.asarray(gather(tables, "anchors", "panel"), np.int64)]
    slot = np.asarray(table["slot"], np.int64)
    order = np.lexsort((slot, panel))
    order = order[panel[order] >= 0]
    mouth = np.stack([np.asarray(table[k], float) for k in ("wx", "wy", "wz")], axis=1)
    support = _supports(tables) if "support" in table else np.zeros(table.n, np.int64)
    return Anchors(panel[order], slot[order], mouth[order], support[order])


def _supports(tables: Tables) -> NDArray[np.int64]:
    """Entity number of each anchor's rail or bracket where it is in the panel's own file, else 0."""
    row, obstacles = np.asarray(tables["anchors"]["support"], np.int64), tables["obstacles"]
    panel = np.asarray(gather(tables, "anchors", "panel"), np.int64)
    steps = np.append(np.asarray(obstacles["step_id"], np.int64), 0)
    files = np.append(np.asarray(obstacles["model"], object), "")
    same = files[row] == np.asarray(tables["panels"]["model"], object)[panel]
    return np.where((row >= 0) & same, steps[row], 0)
