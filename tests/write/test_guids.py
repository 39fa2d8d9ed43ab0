"""Derived ids by the column equal the ones of the core and of Python's uuid (RFC 4122)."""

from __future__ import annotations

import uuid

import ifcopenshell.guid

from bimcheck.core.ids import derived
from bimcheck.write.guids import derive, derive_all, fingerprint, space, spaces, suffix, unmarked

PANELS = ["3vB2YO$MX4xv5uCqZZG05x", "0YvctVUKr0kugbFTf53O9L", "too short", "", "3vB2YO$MX4xv5uCqZZG05?"]


def test_columns_of_ids_equal_single_ones() -> None:
    got = derive_all([space(p) for p in PANELS], suffix("anchor", "A1"))
    assert got == [derived(p, "anchor", "A1") for p in PANELS]
    assert derive([space(PANELS[0])], [suffix("set", "x", 2)]) == [derived(PANELS[0], "set", "x", 2)]
    assert derive([], []) == []


def test_the_standard_librarys_uuid_gives_the_same() -> None:
    parent = uuid.UUID(ifcopenshell.guid.expand(PANELS[0]))
    want = ifcopenshell.guid.compress(uuid.uuid5(parent, "bimcheck/anchor/A1").hex)
    assert derive([space(PANELS[0])], [suffix("anchor", "A1")]) == [want]
    assert fingerprint(space(PANELS[0]), suffix("anchor", "A1")) == unmarked(space(want))


def test_spaces_by_the_column_equal_single_ones() -> None:
    assert spaces(PANELS) == [space(p) for p in PANELS]
    assert spaces(PANELS[:2]) == [uuid.UUID(ifcopenshell.guid.expand(p)).bytes for p in PANELS[:2]]
