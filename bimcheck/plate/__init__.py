"""Thin isotropic plates with free edges on point supports: one factorisation per shape, any anchors on it.

Inside this room a plate is measured in its own unit (the longest side of its bounding rectangle) with D = 1 and q = 1;
what leaves it is per unit of pressure in mm, so that pressure, E, t, strength and the design radius scale outside.
"""
