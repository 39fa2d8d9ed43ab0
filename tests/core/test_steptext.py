"""Columns from a file's own text against the entities that the general library reads from it (no outside value is needed)."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ifcopenshell
import numpy as np
import pytest

from bimcheck.core import steptext
from tests.shared import SHARED

MODELS = sorted((SHARED / "models").glob("*/*.ifc")) if SHARED.exists() else []
HEAD = "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\nFILE_NAME('','',(''),(''),'','','');\nFILE_SCHEMA(('IFC4'));\nENDSEC;\nDATA;\n"
TAIL = "ENDSEC;\nEND-ISO-10303-21;\n"


def step(lines: str) -> steptext.Step:
    found = steptext.parse((HEAD + lines + TAIL).encode())
    assert found is not None
    return found


def flat(value: Any) -> list[float]:
    """An attribute as the library gives it, as the columns state it."""
    if isinstance(value, tuple):
        return [x for v in value for x in flat(v)] or [np.nan]
    if isinstance(value, ifcopenshell.entity_instance):
        return [float(value.id())] if value.id() else flat(value[0])
    return [float(value)] if isinstance(value, (int, float)) else [np.nan]


@pytest.mark.skipif(not MODELS, reason="needs the models next to the project")
@pytest.mark.parametrize("path", MODELS, ids=lambda p: p.stem)
def test_every_number_of_every_entity(path: Path) -> None:
    own = steptext.parse(path.read_bytes())
    assert own is not None
    file = ifcopenshell.open(str(path))
    rows = np.arange(0, len(own.numbers), max(1, len(own.numbers) // 3000))  # every so many, so that it stays quick
    values = own.values(rows)
    for i, number in enumerate(own.numbers[rows].tolist()):
        entity = file.by_id(number)
        assert own.names[own.kinds[rows[i]]] == entity.is_a().upper()
        wanted = [x for v in entity for x in flat(v)]
        # Lists of typed values and complex lists apart, the text states neither more nor fewer values.
        np.testing.assert_array_equal(values[i], wanted, err_msg=str(entity))
    assert len(own.numbers) == sum(1 for _ in file)


@pytest.mark.skipif(not MODELS, reason="needs the models next to the project")
def test_the_librarys_own_text_gives_the_same_columns() -> None:
    """What is laid out oddly is read from the text that the library writes; here both ways on one model."""
    path = next(p for p in MODELS if p.stem == "c09_classes_bodies")
    a = steptext.parse(path.read_bytes())
    b = steptext.parse(ifcopenshell.open(str(path)).to_string().encode())
    assert a is not None and b is not None
    np.testing.assert_array_equal(a.numbers, b.numbers)
    every = np.arange(len(a.numbers))
    np.testing.assert_array_equal(a.values(every).values, b.values(every).values)
    assert [a.names[k] for k in a.kinds] == [b.names[k] for k in b.kinds]


def test_layouts_that_writers_use() -> None:
    """ISO 10303-21, 5.6: white space may stand between tokens; 6.3.3: a quote within a string is doubled."""
    found = step("#7= IFCWALL ('a;b=(''#1',\n $,\r\n'x, y', $ ,.T.,#12,#13,'t',.U.);\r\n  #3=IFCCARTESIANPOINT( ( 1.5 , -2.E-3,0.) ) ;#5 =IFCX(());\n")
    assert found.numbers.tolist() == [3, 5, 7]
    assert [found.names[k] for k in found.kinds] == ["IFCCARTESIANPOINT", "IFCX", "IFCWALL"]
    assert found.is_one([7, 3, 5, 4, np.nan], "IFCX", "IFCWALL").tolist() == [True, False, True, False, False]
    np.testing.assert_array_equal(found.values(np.arange(3)).values, [1.5, -0.002, 0, np.nan, np.nan, np.nan, np.nan, np.nan, 1, 12, 13, np.nan, np.nan])
    assert found.values(np.arange(3)).lengths.tolist() == [3, 1, 9]
    assert found.attributes(2, 9) == [b"'a;b=(''#1'", b"$", b"'x, y'", b"$", b".T.", b"#12", b"#13", b"'t'", b".U."]


def test_columns_of_one_type() -> None:
    found = step("#1=IFCCARTESIANPOINT((1.,2.));\n#2=IFCCARTESIANPOINT((1.,2.,3.));\n#3=IFCDIRECTION((1.,2.));\n#4=IFCCARTESIANPOINT((1.,2.,3.,4.));\n")
    values, ok = found.columns([2, 1, 3, np.nan, 2, 9, 4], "IFCCARTESIANPOINT", 3)
    assert ok.tolist() == [True, True, False, False, True, False, False]
    np.testing.assert_array_equal(values[:2], [[1, 2, 3], [1, 2, np.nan]])
    assert np.isnan(values[[2, 3, 5, 6]]).all()


def test_what_is_no_number_is_nan() -> None:
    found = step("#1=IFCX(1.#IND,-1,$,*,IFCLABEL('2'),IFCREAL(3.5),-4,NAN(),\"0F\");\n")
    np.testing.assert_array_equal(found.values(np.arange(1))[0], [np.nan, -1, np.nan, np.nan, np.nan, 3.5, -4, np.nan, np.nan])


@pytest.mark.parametrize("lines", [
    "#1=IFCX('a'/* why */);\n", "#1=IFCX('a');\n#1=IFCX('b');\n", "#1=IFCX('a);\n", "#1=IFCX('a') #2=IFCX('b');\n", "nonsense\n#1=IFCX('a');\n", "",
    "#1=IFCX('a');\nENDSEC;\nDATA;\n#2=IFCX('b');\n"])
def test_other_layouts_are_left_to_the_library(lines: str) -> None:
    assert steptext.parse((HEAD + lines + TAIL).encode()) is None
