"""The bundled scenario: an invented mid-rise, its panels, and the list of what was planted in it."""

from __future__ import annotations

from pathlib import Path

from bimcheck.samples.bodies import Mapped, Solids, curved, plate_profile, shaped
from bimcheck.samples.building import Frame, Look, axes_at, begin, element, finish
from bimcheck.samples.midrise_plan import CEMENT, GRANITE, PORCELAIN, ROOF, SIDES, STOREYS, Cell, elevation
from bimcheck.samples.midrise_shell import Turned, write_shell
from bimcheck.samples.midrise_specials import GLASS, HONEYCOMB, METAL, panels
from bimcheck.samples.midrise_supports import Part, parts
from bimcheck.samples.midrise_truth import truth
from bimcheck.samples.records import write_record
from bimcheck.samples.sets import shared_set

NAME = "Invented sample: Hollow Lane mid-rise"
ABOUT = "Invented for trying the tool: no real building, project, product or person. Faults are planted on purpose"
FILE, TRUTH = "hollow_lane_midrise.ifc", "hollow_lane_midrise.truth.json"
SPACE = "midrise"
METALWORK = "Aluminium EN AW-6063"
FINISHES = {PORCELAIN: "matt, ivory", GRANITE: "flamed", CEMENT: "sanded, sand colour"}
KINDS = {"rail": ("IfcMember", "R", "Horizontal rail", "Cladding rail"),
         "profile": ("IfcMember", "M", "Vertical profile", "Cladding profile"),
         "bracket": ("IfcDiscreteAccessory", "B", "Bracket", "Wall bracket")}
LOOKS = {PORCELAIN: Look((0.86, 0.84, 0.80)), GRANITE: Look((0.45, 0.43, 0.44), layer=30.0), CEMENT: Look((0.62, 0.55, 0.46)),
         GLASS: Look((0.55, 0.75, 0.85)), METAL: Look((0.70, 0.72, 0.75)), HONEYCOMB: Look((0.50, 0.47, 0.47)),
         METALWORK: Look((0.60, 0.62, 0.65)), "Concrete C30/37": Look((0.75, 0.75, 0.73)), "Mineral wool": Look((0.85, 0.78, 0.45))}


def write(path: Path | str) -> Path:
    """Write the mid-rise as IFC4 in mm; the same bytes each time."""
    levels = [(f"{k:02d} {'Ground floor' if k == 0 else 'Roof' if k == ROOF else f'Level {k}'}", elevation(k)) for k in range(STOREYS + 1)]
    frame = begin(SPACE, NAME, ABOUT, levels, "IFC4", "MILLIMETRE")
    solids, shared = Solids(frame), Mapped(frame)
    turned = [frame.turned(s.n, s.u) for s in SIDES]
    cells = panels()
    for cell in cells:
        _panel(frame, solids, turned, cell)
    for material, surface in FINISHES.items():
        shared_set(frame.step, material, {"Finish": surface, "Fixing": "concealed, from the rear"}, frame.materials[material])
    counts: dict[str, int] = {}
    for part in parts(cells):
        _part(frame, solids, shared, turned, part, counts)
    write_shell(frame, solids, turned)
    return finish(frame, Path(path), ABOUT, LOOKS)


def write_truth(path: Path | str) -> Path:
    """Write what the model holds and what was planted in it, as JSON."""
    return write_record(path, truth(NAME, ABOUT, FILE, SPACE, panels()))


def _panel(frame: Frame, solids: Solids, turned: Turned, cell: Cell) -> None:
    side, storey = cell.at[0], frame.storeys[cell.at[1]]
    axes = axes_at(frame.step, (*SIDES[side].at(cell.u, 0.0), cell.v), *turned[side])
    shape = "$" if cell.reason == "no-geometry" else _body(frame, solids, cell)
    ref = element(frame, storey, cell.cls, cell.mark, f"Panel {cell.mark}", "Facade panel", axes, shape, cell.material)
    if cell.opening:
        _opening(frame, solids, cell, ref)


def _body(frame: Frame, solids: Solids, cell: Cell) -> str:
    if cell.bulge:
        return shaped(frame, "SweptSolid", curved(frame, cell.w, cell.h, cell.t, cell.bulge))
    if cell.rings or cell.circles:
        profile = plate_profile(frame.step, cell.rings or [_whole(cell)], cell.circles)
        return shaped(frame, "SweptSolid", solids.extruded(profile, cell.t))
    return solids.box(cell.w, cell.h, cell.t)


def _whole(cell: Cell) -> list[tuple[float, float]]:
    return [(0.0, 0.0), (cell.w, 0.0), (cell.w, cell.h), (0.0, cell.h)]


def _opening(frame: Frame, solids: Solids, cell: Cell, panel: str) -> None:
    """A hole cut by an opening element, which runs through the panel by 20 mm on either side."""
    step, (x, y, w, h) = frame.step, cell.opening or (0.0,) * 4
    side = SIDES[cell.at[0]]
    through = 20.0
    axes = step.add(f"IFCAXIS2PLACEMENT3D({step.point(*side.at(cell.u + x, -through), cell.v + y)},"
                    f"{step.direction(*side.n, 0.0)},{step.direction(*side.u, 0.0)})")
    placement = step.add(f"IFCLOCALPLACEMENT({frame.storeys[cell.at[1]].placement},{axes})")
    shape = solids.box(w, h, cell.t + 2 * through)
    hole = step.add(f"IFCOPENINGELEMENT({step.root(f'opening {cell.mark}')},'Opening in {cell.mark}',$,'Opening',{placement},{shape},$,.OPENING.)")
    step.add(f"IFCRELVOIDSELEMENT({step.root(f'void {cell.mark}')},$,$,{panel},{hole})")


def _part(frame: Frame, solids: Solids, shared: Mapped, turned: Turned, part: Part, counts: dict[str, int]) -> None:
    """Rails as they are; brackets and profiles share their bodies."""
    cls, letter, name, kind = KINDS[part.kind]
    key = f"{letter}-{SIDES[part.side].name}-{part.storey:02d}"
    counts[key] = counts.get(key, 0) + 1
    axes = axes_at(frame.step, (*SIDES[part.side].at(part.u, part.depth), part.v), *turned[part.side])
    shape = (solids.box if part.kind == "rail" else shared.box)(part.w, part.h, part.t)
    predefined = ".MULLION." if part.kind == "profile" else ""
    element(frame, frame.storeys[part.storey], cls, f"{key}-{counts[key]:02d}", name, kind, axes, shape, METALWORK, predefined)
