"""Classes: panels that share a site and everything else that decides which layouts are offered and how they are solved."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bimcheck.core.tables import Table
from bimcheck.core.units import Array
from bimcheck.layout.settings import Layout
from bimcheck.layout.sites import Site, sites_of

_SPRING_STEP = np.log(1.05)  # D / k in steps of 5 %: the solution hardly notices, and lots share their plates
NO_ITEM_RADIUS = 5.0  # design radius [mm] where no item fits, so that a layout can still be proposed


@dataclass(frozen=True)
class Class:
    """edge, edge_max (2,): least and greatest insets of the outer anchors along x and y; spacing: least spacing.
    radius, softness, nu, thickness, softness_moved: what the plate needs (jobs.Job)."""

    site: Site
    edge: Array
    edge_max: Array
    spacing: float
    nu: float
    radius: float
    softness: float
    thickness: float
    softness_moved: float = 0.0


@dataclass(frozen=True, eq=False)
class Classes:
    """All classes of a run, and what is asked of many of them at once as arrays, a row a class."""

    every: tuple[Class, ...]

    def __len__(self) -> int:
        return len(self.every)

    def __getitem__(self, row: int) -> Class:
        return self.every[row]

    def __iter__(self) -> Iterator[Class]:
        return iter(self.every)

    @cached_property
    def size(self) -> Array:
        """(c, 2) width and height."""
        return np.array([c.site.size for c in self.every]).reshape(-1, 2)

    @cached_property
    def area(self) -> Array:
        return np.array([c.site.area for c in self.every])

    @cached_property
    def rectangle(self) -> NDArray[np.bool_]:
        return np.array([c.site.rectangle for c in self.every], dtype=bool)

    def fact(self, name: str) -> Array:
        """(c,) one of the numbers of each class."""
        return self._facts[name]

    @cached_property
    def _facts(self) -> dict[str, Array]:
        return {k: np.array([getattr(c, k) for c in self.every], dtype=float) for k in ("radius", "nu", "softness", "softness_moved")}


def classes_of(panels: Table, settings: Layout, spring: float, misfit: bool = False) -> tuple[NDArray[np.int64], Classes]:
    """Row of each panel's class (n,), and the classes.  spring: stiffness of one support, N/mm.  misfit: whether errors
    of the supports are asked for, which also needs D_max.

    Reads D, nu, t_min, undercut_radius, edge_min_item, spacing_min_item and, where there, edge_tested and spacing_tested
    beside what sites read.
    """
    at, sites = sites_of(panels, settings.follow_rails)
    facts = np.column_stack([
        at, panels["nu"], _known(panels["undercut_radius"], NO_ITEM_RADIUS), _binned(panels["D"] / spring),
        _most(panels, ("edge_min_item", "edge_tested"), settings.edge_mm),
        _most(panels, ("spacing_min_item", "spacing_tested"), settings.spacing_mm),
        _thickness(panels, at, sites), _binned(panels["D_max"] / spring) if misfit else np.zeros(panels.n),
    ])
    rows, index = np.unique(np.round(facts, 6), axis=0, return_inverse=True)
    return index.ravel(), Classes(tuple(_class(row, sites, settings) for row in rows))


def _most(panels: Table, columns: tuple[str, ...], least: float) -> Array:
    """The greatest of the columns that are there, and `least`."""
    return np.fmax.reduce([np.full(panels.n, least), *(panels[c] for c in columns if c in panels)])


def _known(values: Array, default: float) -> Array:
    return np.where(np.isfinite(values), values, default)


def _binned(softness: Array) -> Array:
    safe = np.where(np.isfinite(softness) & (softness > 0), softness, 1.0)
    return np.exp(np.round(np.log(safe) / _SPRING_STEP) * _SPRING_STEP)


def _thickness(panels: Table, at: NDArray[np.int64], sites: list[Site]) -> Array:
    """Thickness counts only where an outline may have re-entrant corners."""
    plain = np.array([s.rectangle for s in sites], dtype=bool)
    return np.where(plain[at] if len(sites) else True, 0.0, _known(panels["t_min"], 0.0)) if panels.n else np.empty(0)


def _class(row: Array, sites: list[Site], settings: Layout) -> Class:
    site = sites[int(row[0])]
    edge = np.maximum(row[4], settings.edge_share_min * site.size)
    most = settings.edge_share_max * site.size
    if settings.edge_max_mm is not None:
        most = np.minimum(most, settings.edge_max_mm)
    return Class(site, edge, np.maximum(most, edge), float(row[5]), *(float(row[i]) for i in (1, 2, 3, 6, 7)))
