"""Outlines with true arcs become the kernel's edges, wires, faces, prisms and frusta."""

from __future__ import annotations

from holders.geometry.outline import Outline, Region, area, middle_of
from holders.solid.kernel import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeWire,
    BRepOffsetAPI_ThruSections,
    BRepPrimAPI_MakePrism,
    GC_MakeArcOfCircle,
    TopoDS,
    TopoDS_Face,
    TopoDS_Shape,
    TopoDS_Wire,
    gp_Dir,
    gp_Pln,
    gp_Pnt,
    gp_Vec,
)


def wire(outline: Outline, z: float) -> TopoDS_Wire:
    """The outline as a closed wire at height ``z`` (mm), in its own sense of turning."""
    maker = BRepBuilderAPI_MakeWire()
    for a, b in outline.segments():
        start, end = gp_Pnt(a.x, a.y, z), gp_Pnt(b.x, b.y, z)
        if a.bulge:
            x, y = middle_of(a, b)
            curve = GC_MakeArcOfCircle(start, gp_Pnt(x, y, z), end).Value()
            maker.Add(BRepBuilderAPI_MakeEdge(curve).Edge())
        else:
            maker.Add(BRepBuilderAPI_MakeEdge(start, end).Edge())
    return maker.Wire()


def turned(made: TopoDS_Wire) -> TopoDS_Wire:
    """The wire run the other way round."""
    return TopoDS.Wire_s(made.Reversed())


def face(region: Region, z: float) -> TopoDS_Face:
    """The region as a plane face at height ``z``, looking up."""
    outer = wire(region.outer, z)
    maker = BRepBuilderAPI_MakeFace(level(z), outer if area(region.outer) > 0 else turned(outer))
    for hole in region.holes:
        inner = wire(hole, z)
        maker.Add(turned(inner) if area(hole) > 0 else inner)
    return maker.Face()


def level(z: float) -> gp_Pln:
    """The plane at height ``z``, normal up."""
    return gp_Pln(gp_Pnt(0.0, 0.0, z), gp_Dir(0.0, 0.0, 1.0))


def prism(region: Region, z0: float, z1: float) -> TopoDS_Shape:
    """The region between two heights."""
    return BRepPrimAPI_MakePrism(face(region, z0), gp_Vec(0.0, 0.0, z1 - z0)).Shape()


def frustum(lower: Outline, z0: float, upper: Outline, z1: float) -> TopoDS_Shape:
    """The solid between two outlines with matching vertices: plane sides over lines, cones over concentric arcs."""
    maker = BRepOffsetAPI_ThruSections(True, True, 1e-6)
    maker.CheckCompatibility(False)
    maker.AddWire(wire(lower, z0))
    maker.AddWire(wire(upper, z1))
    maker.Build()
    return maker.Shape()
