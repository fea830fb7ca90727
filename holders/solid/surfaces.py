"""Measures of a finished shape: volume, area, box, validity. Lengths in mm."""

from __future__ import annotations

from holders.solid.kernel import (
    Bnd_Box,
    BRepBndLib,
    BRepCheck_Analyzer,
    BRepGProp,
    GProp_GProps,
    TopAbs_ShapeEnum,
    TopExp_Explorer,
    TopoDS,
    TopoDS_Shape,
    TopoDS_Solid,
)

Box = tuple[float, float, float, float, float, float]


def volume(shape: TopoDS_Shape) -> float:
    """Exact volume of a shape's solids, mm³."""
    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found)
    return float(found.Mass())


def box_of(shape: TopoDS_Shape) -> Box:
    """(least x, y, z, greatest x, y, z), arcs included, without the kernel's usual padding."""
    found = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, found, False, False)
    x0, y0, z0, x1, y1, z1 = found.Get()
    return x0, y0, z0, x1, y1, z1


def valid(shape: TopoDS_Shape) -> bool:
    """Whether the kernel's own checker finds nothing wrong (slow: about a second with much lettering)."""
    return bool(BRepCheck_Analyzer(shape, True).IsValid())


def solids(shape: TopoDS_Shape) -> list[TopoDS_Solid]:
    """The separate bodies in a shape."""
    explorer = TopExp_Explorer(shape, TopAbs_ShapeEnum.TopAbs_SOLID)
    found = []
    while explorer.More():
        found.append(TopoDS.Solid_s(explorer.Current()))
        explorer.Next()
    return found
