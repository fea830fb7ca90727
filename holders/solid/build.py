"""A part becomes one solid: slabs fused, cuts taken away, lettering sunk."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from holders.core.errors import InputError
from holders.design.model import Cut, Groove, Part
from holders.design.parts.sections import groove_area, outline_at
from holders.design.pieces.eased import Ease
from holders.geometry.outline import Outline, Region, Vertex, bounds, rectangle
from holders.solid.engrave import engraved, fits, polygons
from holders.solid.kernel import (
    BRepAlgoAPI_Cut,
    BRepAlgoAPI_Fuse,
    TopoDS_Shape,
    TopoDS_Solid,
    TopTools_ListOfShape,
)
from holders.solid.surfaces import solids
from holders.solid.wires import frustum, prism

AROUND_MM = 1.0  # beyond the part, of what takes an outer edge away


def build(part: Part, eased: Sequence[Ease] = ()) -> TopoDS_Solid:
    """The part as one solid in bed coordinates.

    Parameters
    ----------
    part:
        What is built.
    eased:
        Chamfers along its edges on the printer's plate.

    Returns
    -------
    TopoDS_Solid
        A solid of the kernel; ``holders.solid.surfaces`` measures it, ``holders.solid.mesh`` meshes it.

    Raises
    ------
    InputError
        When the part falls into pieces or nothing of it is left.
    MachineError
        When the kernel cannot be loaded.
    """
    plates = [prism(slab.region, slab.z0, slab.z1) for slab in part.slabs]
    body = plates[0] if len(plates) == 1 else _boolean(BRepAlgoAPI_Fuse(), plates[:1], plates[1:])
    tools = [*(_removed(cut) for cut in part.cuts), *(_chamfered(ease) for ease in eased)]
    if tools:
        body = _boolean(BRepAlgoAPI_Cut(), [body], tools)
    one = _only(body, part)
    for z_floor, z_top, letters in _lettering(part.grooves):
        sunk = engraved(one, letters, z_floor, z_top) if fits(part, letters, z_floor, z_top) else None
        one = sunk if sunk is not None else _only(_milled(one, letters, z_floor, z_top), part)
    return one


def _removed(cut: Cut) -> TopoDS_Shape:
    if not cut.flare_mm:
        return prism(Region(cut.outline), cut.z0, cut.z1)
    return frustum(outline_at(cut, cut.z0), cut.z0, cut.outline, cut.z1)


def _chamfered(ease: Ease) -> TopoDS_Shape:
    """What a chamfer takes away: a frustum in a hole, or all around one for an outer edge."""
    (z0, low), (z1, high) = sorted(
        [(ease.z_plate, ease.plate), (ease.z_in, ease.inner)], key=lambda pair: pair[0]
    )
    inside = frustum(low, z0, high, z1)
    if not ease.outside:
        return inside
    x0, y0, x1, y1 = bounds(ease.inner)
    around = rectangle(x0 - AROUND_MM, y0 - AROUND_MM, x1 - x0 + 2 * AROUND_MM, y1 - y0 + 2 * AROUND_MM)
    return _boolean(BRepAlgoAPI_Cut(), [prism(Region(around), z0, z1)], [inside])


def _boolean(operation: Any, ones: Sequence[TopoDS_Shape], others: Sequence[TopoDS_Shape]) -> TopoDS_Shape:
    arguments, tools = TopTools_ListOfShape(), TopTools_ListOfShape()
    for shape in ones:
        arguments.Append(shape)
    for shape in others:
        tools.Append(shape)
    operation.SetArguments(arguments)
    operation.SetTools(tools)
    operation.SetRunParallel(False)
    operation.Build()
    operation.SimplifyResult()
    return operation.Shape()


def _only(body: TopoDS_Shape, part: Part) -> TopoDS_Solid:
    found = solids(body)
    if len(found) != 1:
        what = "nothing is left of it" if not found else f"it falls into {len(found)} pieces"
        raise InputError("part", part.name, f"{what}; widen the walls between windows, notches and edges")
    return found[0]


def _lettering(grooves: Sequence[Groove]) -> list[tuple[float, float, BaseGeometry]]:
    """(floor, top, area) of all lettering, one entry for each pair of heights."""
    levels: dict[tuple[float, float], list[BaseGeometry]] = {}
    for groove in grooves:
        if groove.depth_mm > 0 and not groove_area(groove).is_empty:
            levels.setdefault((groove.z_top - groove.depth_mm, groove.z_top), []).append(groove_area(groove))
    return [(low, high, shapely.union_all(found)) for (low, high), found in levels.items()]


def _milled(body: TopoDS_Shape, letters: BaseGeometry, z_floor: float, z_top: float) -> TopoDS_Shape:
    """The slow way: each letter a Boolean cut, through and a little above the top."""
    tools = [
        prism(
            Region(_path(piece.exterior), tuple(_path(ring) for ring in piece.interiors)),
            z_floor,
            z_top + 0.1,
        )
        for piece in polygons(letters)
    ]
    return _boolean(BRepAlgoAPI_Cut(), [body], tools)


def _path(ring: shapely.LinearRing) -> Outline:
    return Outline(tuple(Vertex(x, y) for x, y in list(ring.coords)[:-1]))
