"""Zones against all bodies of the sample building, beside ifcopenshell's tree over the same model (hybrid kernel).

The tree is another program's answer: every hit it finds is ours, and what differs is explained here and in
docs/method/clash.md.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from bimcheck.clash.contacts import contacts
from bimcheck.clash.zones import TOUCH, Zone
from tests.clash.sample_zones import Sample, sample, tree_hits

RAILS_AT = 50.0  # mm behind the panels, as the sample was laid out


@lru_cache(maxsize=1)
def building() -> Sample:
    return sample(10)


def both(zone: Zone) -> tuple[set[tuple[int, str]], set[tuple[int, str]]]:
    found = building()
    got = contacts(found.frames, found.obstacles, [zone], np.flatnonzero(found.obstacles["triangles"].lengths > 0))
    ours = {(a, str(found.obstacles["guid"][b])) for a, b in zip(got.anchor.tolist(), got.body.tolist(), strict=True)}
    return ours, tree_hits(found, zone)


@pytest.mark.parametrize(("zone", "least"), [
    (Zone("clip", (30.0, 30.0), 30.0), 1), (Zone("bolt", (10.0, 10.0), 40.0, round=True), 1), (Zone("to the members", (30.0, 30.0), 90.0), 100),
    (Zone("through brackets", (40.0, 25.0), 260.0), 500), (Zone("round, to the members", (37.0, 37.0), 120.0, round=True), 300),
], ids=lambda v: v.name if isinstance(v, Zone) else "")
def test_the_tree_and_we_find_the_same(zone: Zone, least: int) -> None:
    ours, tree = both(zone)
    assert len(tree) >= least
    assert tree - ours == set()  # every hit it finds we find
    assert ours - tree == set()  # no zone lies wholly inside a body of this building, nor holds one


def test_a_legal_touch_is_none_for_both() -> None:
    ours, tree = both(Zone("up to the rails", (30.0, 30.0), RAILS_AT))
    assert ours == tree and len(ours) < 10  # the planted bracket alone


def test_what_is_only_the_tree_s_is_less_than_our_touch() -> None:
    """Zones that enter the rails by 0.03 mm: a hit for the tree, a touch for us (0.05 mm); by 0.2 mm a hit for both."""
    rails = set(building().obstacles["guid"][building().obstacles["role"] == "rail"].tolist())
    assert 0.03 < TOUCH < 0.2
    ours, tree = both(Zone("a hair into the rails", (30.0, 30.0), RAILS_AT + 0.03))
    assert ours < tree and {body for _, body in tree - ours} <= rails
    deeper, tree_deeper = both(Zone("into the rails", (30.0, 30.0), RAILS_AT + 0.2))
    assert deeper == tree_deeper == tree
