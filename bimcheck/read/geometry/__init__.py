"""Bodies of elements as plates, triangles and placements, in world coordinates and millimetres."""

from bimcheck.read.geometry.rows import Bodies, bodies, meshes, placements

__all__ = ["Bodies", "bodies", "meshes", "placements"]
