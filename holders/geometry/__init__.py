"""Plane geometry that knows no holder: outlines with true arcs, offsets, hulls."""
