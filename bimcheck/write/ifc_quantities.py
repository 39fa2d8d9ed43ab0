"""The standard's own quantity sets, where the standard has one for the class and the author wrote none."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bimcheck.write.ifc_block import NONE, Block, Holders, Subjects
from bimcheck.write.ifc_sets import Refs
from bimcheck.write.ifc_units import AREA, LENGTH, MASS, Kind
from bimcheck.write.step_text import reals, string

# class -> (set, {quantity: column}); Width is the thickness here (IFC4 Qto_PlateBaseQuantities, Qto_CoveringBaseQuantities)
_SETS: dict[str, tuple[str, dict[str, str]]] = {
    "IfcPlate": ("Qto_PlateBaseQuantities", {"Width": "thickness", "NetArea": "net_area", "NetWeight": "mass"}),
    "IfcPlateStandardCase": ("Qto_PlateBaseQuantities", {"Width": "thickness", "NetArea": "net_area", "NetWeight": "mass"}),
    "IfcCovering": ("Qto_CoveringBaseQuantities", {"Width": "thickness", "NetArea": "net_area"}),
}
_KINDS: dict[str, tuple[str, Kind]] = {
    "Width": ("IFCQUANTITYLENGTH", LENGTH), "NetArea": ("IFCQUANTITYAREA", AREA), "NetWeight": ("IFCQUANTITYWEIGHT", MASS),
}
METHOD = "BaseQuantities"
SET_NAMES = tuple(dict.fromkeys([*(name for name, _ in _SETS.values()), METHOD]))


def write_quantities(block: Block, subjects: Subjects) -> None:
    """Quantity sets for the elements whose class has one."""
    classes, columns, taken = list(subjects.columns["ifc_class"]), subjects.columns, subjects.taken
    for name in dict.fromkeys(_SETS[c][0] for c in classes if c in _SETS):
        wanted = next(q for n, q in _SETS.values() if n == name)
        written = METHOD if block.facts.schema == "IFC2X3" else name
        theirs = taken.get(name, frozenset()) | taken.get(METHOD, frozenset())
        rows = np.array([i for i, c in enumerate(classes) if _SETS.get(c, ("",))[0] == name and i not in theirs], int)
        refs = [_quantity(block, q, np.asarray(columns[c], float)[rows])
                for q, c in wanted.items() if c in columns]
        _write(block, subjects.holders, rows, refs, written)


def _write(block: Block, holders: Holders, rows: NDArray[np.int64], refs: Sequence[Refs], name: str) -> None:
    lists = [",".join(filter(None, row)) for row in zip(*refs, strict=True)]
    kept = [(int(r), text) for r, text in zip(rows, lists, strict=bool(refs)) if text]
    ids = holders.ids("quantities", "", [r for r, _ in kept])
    links = holders.ids("quantities-link", "", [r for r, _ in kept])
    numbers = block.take(2 * len(kept))
    block.add([
        f"#{n}=IFCELEMENTQUANTITY('{g}',{block.owner},{string(name)},$,'{METHOD}',({text}));\n"
        f"#{n + 1}=IFCRELDEFINESBYPROPERTIES('{k}',{block.owner},$,$,({holders.refs[r]}),#{n})"
        for n, g, k, (r, text) in zip(numbers[::2], ids, links, kept, strict=True)
    ])


def _quantity(block: Block, name: str, inside: NDArray[np.float64]) -> Refs:
    (entity, kind), units = _KINDS[name], block.facts.units
    out = np.full(len(inside), NONE, object)
    usable = np.isfinite(inside) & (inside > 0)
    if usable.any():
        unit = block.once(kind.own) if units.own(kind) else "$"
        end = ")" if block.facts.schema == "IFC2X3" else ",$)"  # Formula came with IFC4
        texts = reals(inside[usable] * units.factor(kind))
        out[usable] = block.shared([f"{entity}({string(name)},$,{unit},{text}{end}" for text in texts])
    return out
