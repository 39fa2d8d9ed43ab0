"""Write-back of 20,000 panels with 80,000 anchors, beside the same through a library's entity calls.

    python -m tests.benchmarks.bench_write [PANELS] [--peer]

Prints seconds, sizes, and the ratio; --peer also creates the same property values, sets and anchors with
`create_entity` and writes the file, in a run of its own.
"""

from __future__ import annotations

import argparse
import multiprocessing
import pickle
import resource
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import ifcopenshell
import numpy as np

from bimcheck.core.ids import derived
from bimcheck.core.tables import Table
from bimcheck.write.ifc_enrich import author_of, enrich
from bimcheck.write.ifc_properties import Check
from tests.write.run_samples import PLAN, tables_of

HEADER = ("ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\n"
          "FILE_NAME('t.ifc','2020-01-01T00:00:00',(''),(''),'','','');\nFILE_SCHEMA(('IFC4'));\nENDSEC;\nDATA;\n")
START = """#1=IFCPROJECT('0YvctVUKr0kugbFTf53O9L',$,'tower',$,$,$,$,(#6),#2);
#2=IFCUNITASSIGNMENT((#3,#4));
#3=IFCSIUNIT(*,.LENGTHUNIT.,.MILLI.,.METRE.);
#4=IFCSIUNIT(*,.AREAUNIT.,$,.SQUARE_METRE.);
#5=IFCCARTESIANPOINT((0.,0.,0.));
#6=IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-05,#7,$);
#7=IFCAXIS2PLACEMENT3D(#5,$,$);
#8=IFCLOCALPLACEMENT($,#7);
#9=IFCDIRECTION((0.,0.,1.));
#10=IFCGEOMETRICREPRESENTATIONSUBCONTEXT('Body','Model',*,*,*,*,#6,$,.MODEL_VIEW.,$);
"""


def tower(n: int) -> tuple[bytes, dict[str, Table]]:
    """A model of `n` panels of varying sizes in one plane, about 1.5 kB each, and a made-up run on it."""
    chunks, rows, frames = [HEADER, START], [], np.zeros((n, 4, 3))
    for i in range(n):
        guid, k = derived("0YvctVUKr0kugbFTf53O9L", "panel", str(i)), 100 + 30 * i
        width, height, x, z = 1200.0 - 10 * (i % 37), 600.0 + 5 * (i % 23), 1250.0 * (i % 200), 700.0 * (i // 200)
        chunks.append(_panel(k, guid, width, height, x, z))
        rows.append(dict(guid=guid, step_id=k + 8, model_index=0, ifc_class="IfcPlate", status="panel", reason="",
                         mark=f"P{i:05d}", material="porcelain", storey=f"level {i // 200}", width=width, height=height,
                         thickness=12.0))
        frames[i] = [[x, 0, z], [1, 0, 0], [0, 0, 1], [0, -1, 0]]
    chunks.append("ENDSEC;\nEND-ISO-10303-21;\n")
    return "".join(chunks).encode(), _with_distinct_values(tables_of(rows, frames))


def _panel(k: int, guid: str, width: float, height: float, x: float, z: float) -> str:
    sets = "".join(f"#{k + 11 + j}=IFCPROPERTYSINGLEVALUE('Author property {j}',$,IFCLABEL('value of the author, "
                   f"number {k + j}'),$);\n" for j in range(10))
    refs = ",".join(f"#{k + 11 + j}" for j in range(10))
    return (
        f"#{k}=IFCCARTESIANPOINT(({x},0.,{z}));\n#{k + 1}=IFCAXIS2PLACEMENT3D(#{k},$,$);\n"
        f"#{k + 2}=IFCLOCALPLACEMENT(#8,#{k + 1});\n#{k + 3}=IFCCARTESIANPOINT(({width / 2},6.));\n"
        f"#{k + 4}=IFCAXIS2PLACEMENT2D(#{k + 3},$);\n#{k + 5}=IFCRECTANGLEPROFILEDEF(.AREA.,$,#{k + 4},{width},12.);\n"
        f"#{k + 6}=IFCEXTRUDEDAREASOLID(#{k + 5},#7,#9,{height});\n"
        f"#{k + 7}=IFCSHAPEREPRESENTATION(#10,'Body','SweptSolid',(#{k + 6}));\n"
        f"#{k + 8}=IFCPLATE('{guid}',$,'panel',$,$,#{k + 2},#{k + 9},'P{k}',$);\n"
        f"#{k + 9}=IFCPRODUCTDEFINITIONSHAPE($,$,(#{k + 7}));\n{sets}"
        f"#{k + 21}=IFCPROPERTYSET('{derived(guid, 'author', 'set')}',$,'Author_Set',$,({refs}));\n"
        f"#{k + 22}=IFCRELDEFINESBYPROPERTIES('{derived(guid, 'author', 'rel')}',$,$,$,(#{k + 8}),#{k + 21});\n"
    )


def _with_distinct_values(tables: dict[str, Table]) -> dict[str, Table]:
    """Values as a run gives them: loads and utilisations differ from panel to panel, sizes and products repeat."""
    rng, panels = np.random.default_rng(1), tables["panels"]
    varied = {k: rng.uniform(0.1, 0.9, panels.n) for k in ("u_edge", "u_bending", "utilisation")}
    more = {f"u_{j}": rng.uniform(0.1, 0.9, panels.n) for j in range(8)}
    place = {"corner_distance": panels["origin"][:, 0], "z": panels["origin"][:, 2], "facade": np.full(panels.n, "F1", object),
             "normal_y": np.full(panels.n, -1.0), "normal_z": np.zeros(panels.n), "place": np.full(panels.n, "field", object),
             "joint_bottom": np.full(panels.n, 8.0), "joint_top": np.full(panels.n, 8.0),
             "counterbore": np.zeros(panels.n), "thickness_max": panels["thickness"], "lot": np.full(panels.n, "1", object),
             "w_suction": -rng.uniform(1e-3, 2e-3, panels.n), "w_pressure": rng.uniform(5e-4, 1e-3, panels.n)}
    return tables | {"panels": panels.with_columns(**varied, **more, **place)}


PLAN_20 = replace(PLAN, checks=[*PLAN.checks, *(Check(f"u_{j}", f"check-{j}", "made up") for j in range(8))])


def make(folder: Path, n: int) -> None:
    data, tables = tower(n)
    (folder / "tower.ifc").write_bytes(data)
    (folder / "tables.pickle").write_bytes(pickle.dumps(tables))


def ours(folder: Path) -> None:
    tables = pickle.loads((folder / "tables.pickle").read_bytes())
    data = (folder / "tower.ifc").read_bytes()
    begun = time.perf_counter()
    model = ifcopenshell.open(folder / "tower.ifc")
    opened, before = time.perf_counter() - begun, _peak_mb()
    begun = time.perf_counter()
    author = author_of(model, data, tables["elements"], 0, PLAN_20.settings)
    done = enrich(data, author, tables, 0, PLAN_20)
    with open(folder / "ours.ifc", "wb") as file:
        for part in done.parts:
            file.write(part)
    seconds = time.perf_counter() - begun
    _say("appended text", seconds, _peak_mb() - before, (folder / "ours.ifc").stat().st_size)
    print(f"  {done.added} entities; model {len(data) / 1e6:.1f} MB, opened in {opened:.2f} s")


def peer(folder: Path) -> None:
    """The enriched model again, entity by entity; only what create_entity and write take is timed."""
    target = ifcopenshell.open(folder / "ours.ifc")
    first = max(e.id() for e in ifcopenshell.open(folder / "tower.ifc")) + 1
    last = max(e.id() for e in target)
    wanted = [(target.by_id(n).is_a(), target.by_id(n).get_info(include_identifier=False)) for n in range(first, last + 1)]
    model = ifcopenshell.open(folder / "tower.ifc")
    made: dict[int, ifcopenshell.entity_instance] = {}

    def here(value: object) -> object:
        if isinstance(value, ifcopenshell.entity_instance):
            if value.id() == 0:
                return model.create_entity(value.is_a(), value.wrappedValue)
            return model.by_id(value.id()) if value.id() < first else made[value.id()]
        return tuple(here(v) for v in value) if isinstance(value, tuple) else value

    before, begun = _peak_mb(), time.perf_counter()
    waiting = list(enumerate(wanted, first))
    while waiting:
        later = []
        for number, (kind, info) in waiting:
            try:
                made[number] = model.create_entity(kind, **{k: here(v) for k, v in info.items() if k != "type" and v is not None})
            except KeyError:
                later.append((number, (kind, info)))
        waiting = later
    model.write(str(folder / "peer.ifc"))
    _say("create_entity and write", time.perf_counter() - begun, _peak_mb() - before, (folder / "peer.ifc").stat().st_size)


def _say(what: str, seconds: float, megabytes: float, size: int) -> None:
    print(f"{what}: {seconds:.2f} s, {megabytes:.0f} MB above the open model, file {size / 1e6:.1f} MB")


def _peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("panels", nargs="?", type=int, default=20000)
    parser.add_argument("--peer", action="store_true")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        steps = [(make, (Path(name), args.panels)), (ours, (Path(name),)), *([(peer, (Path(name),))] if args.peer else [])]
        for step, words in steps:  # a process each, so that peak memory is its own
            process = multiprocessing.get_context("spawn").Process(target=step, args=words)
            process.start()
            process.join()


if __name__ == "__main__":
    main()
