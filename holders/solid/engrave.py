"""Lettering cut into a flat top without Booleans: the face gets holes, the holes get walls and floors.

A hundred letters take seconds as Boolean cuts and hundredths of a second this way. It needs letters that lie wholly
on the top face and over solid material; ``fits`` says whether they do, and ``build`` falls back to cuts otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import shapely
from shapely.geometry.base import BaseGeometry

from holders.design.model import Part
from holders.design.parts.sections import section
from holders.solid.kernel import (
    BRep_Builder,
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakeVertex,
    BRepClass_FaceClassifier,
    TopAbs_ShapeEnum,
    TopAbs_State,
    TopExp_Explorer,
    TopoDS,
    TopoDS_Edge,
    TopoDS_Face,
    TopoDS_Shape,
    TopoDS_Shell,
    TopoDS_Solid,
    TopoDS_Wire,
    gp_Dir,
    gp_Pln,
    gp_Pnt,
)
from holders.solid.surfaces import box_of
from holders.solid.wires import level

Ring = Sequence[tuple[float, float]]
CLEAR_MM = 0.02  # letters nearer than this to an edge or to each other are cut the slow way
FLAT = 1e-7


def polygons(shape: BaseGeometry) -> list[shapely.Polygon]:
    """The pieces of a plane area, each with its outer ring anticlockwise and its holes clockwise."""
    pieces = shapely.get_parts(shapely.orient_polygons(shape)) if not shape.is_empty else []
    return [piece for piece in pieces if piece.geom_type == "Polygon"]


def fits(part: Part, letters: BaseGeometry, z_floor: float, z_top: float) -> bool:
    """Whether letters lie clear inside the material of the top face and of all that is above their floor."""
    filled = shapely.union_all([shapely.Polygon(piece.exterior) for piece in polygons(letters)])
    wanted = filled.buffer(CLEAR_MM)
    if shapely.get_num_geometries(letters) > 1 and _too_close(letters):
        return False
    jumps = [z for slab in part.slabs for z in (slab.z0, slab.z1)] + [
        z for c in part.cuts for z in (c.z0, c.z1)
    ]
    below = z_floor - 1e-3
    heights = [below, z_top - 1e-6, *(z + 1e-6 for z in jumps if below < z < z_top - 1e-6)]
    bare = replace(part, grooves=())
    if part.z1 > z_top + FLAT:
        return False
    return all(section(bare, z).contains(wanted) for z in heights)


def _too_close(letters: BaseGeometry) -> bool:
    """Pieces that all but touch would give walls too thin to mesh; widening makes them merge."""
    merged = letters.buffer(CLEAR_MM / 2)
    return len(shapely.get_parts(merged)) != len(shapely.get_parts(letters))


def engraved(body: TopoDS_Shape, letters: BaseGeometry, z_floor: float, z_top: float) -> TopoDS_Shape | None:
    """The body with letters sunk from ``z_top`` to ``z_floor``; None when a letter finds no face to lie on."""
    tops, rest = _top_faces(body, z_top)
    makers = [(face, BRepBuilderAPI_MakeFace(face)) for face in tops]
    made: list[TopoDS_Face] = []
    for piece in polygons(letters):
        inside = piece.exterior.coords[0]
        maker = next((m for face, m in makers if _on(face, inside, z_top)), None)
        if maker is None:
            return None
        floor = None
        for number, ring in enumerate([piece.exterior, *piece.interiors]):
            upper, lower, walls = _walls(list(ring.coords)[:-1], z_floor, z_top)
            made.extend(walls)
            if number == 0:
                maker.Add(_closed(upper, turned=True))
                floor = BRepBuilderAPI_MakeFace(level(z_floor), _closed(lower), True)
            else:
                made.append(BRepBuilderAPI_MakeFace(level(z_top), _closed(upper, turned=True), True).Face())
                assert floor is not None
                floor.Add(_closed(lower))
        assert floor is not None
        made.append(floor.Face())
    return _solid([*rest, *(maker.Face() for _, maker in makers), *made])


def _top_faces(body: TopoDS_Shape, z_top: float) -> tuple[list[TopoDS_Face], list[TopoDS_Face]]:
    tops: list[TopoDS_Face] = []
    rest: list[TopoDS_Face] = []
    for face in faces(body):
        (tops if box_of(face)[2] > z_top - FLAT else rest).append(face)
    return tops, rest


def faces(body: TopoDS_Shape) -> Iterator[TopoDS_Face]:
    """The faces of a shape."""
    explorer = TopExp_Explorer(body, TopAbs_ShapeEnum.TopAbs_FACE)
    while explorer.More():
        yield TopoDS.Face_s(explorer.Current())
        explorer.Next()


def _on(face: TopoDS_Face, point: tuple[float, ...], z: float) -> bool:
    found = BRepClass_FaceClassifier(face, gp_Pnt(point[0], point[1], z), 1e-7).State()
    return bool(found == TopAbs_State.TopAbs_IN)


def _walls(
    ring: Ring, z0: float, z1: float
) -> tuple[list[TopoDS_Edge], list[TopoDS_Edge], list[TopoDS_Face]]:
    """Upper edges, lower edges and wall faces over a ring with the hollow on its left; edges are shared."""
    upper, lower = _loop(ring, z1), _loop(ring, z0)
    posts = [
        BRepBuilderAPI_MakeEdge(low, high).Edge() for low, high in zip(lower[0], upper[0], strict=True)
    ]  # fmt: skip
    walls = []
    count = len(ring)
    for i, ((ax, ay), (bx, by)) in enumerate(pairwise([*ring, ring[0]])):
        after = (i + 1) % count
        edges = [upper[1][i], posts[after].Reversed(), lower[1][i].Reversed(), posts[i]]
        plane = gp_Pln(gp_Pnt(ax, ay, z0), gp_Dir(ay - by, bx - ax, 0.0))
        walls.append(BRepBuilderAPI_MakeFace(plane, _closed(edges), True).Face())
    return upper[1], lower[1], walls


def _loop(ring: Ring, z: float) -> tuple[list[TopoDS_Shape], list[TopoDS_Edge]]:
    corners = [BRepBuilderAPI_MakeVertex(gp_Pnt(x, y, z)).Vertex() for x, y in ring]
    edges = [BRepBuilderAPI_MakeEdge(a, b).Edge() for a, b in pairwise([*corners, corners[0]])]
    return corners, edges


def _closed(edges: Sequence[TopoDS_Shape], turned: bool = False) -> TopoDS_Wire:
    builder, made = BRep_Builder(), TopoDS_Wire()
    builder.MakeWire(made)
    for edge in reversed(edges) if turned else edges:
        builder.Add(made, edge.Reversed() if turned else edge)
    made.Closed(True)
    return made


def _solid(all_faces: Sequence[TopoDS_Face]) -> TopoDS_Solid:
    builder, shell, solid = BRep_Builder(), TopoDS_Shell(), TopoDS_Solid()
    builder.MakeShell(shell)
    for face in all_faces:
        builder.Add(shell, face)
    shell.Closed(True)
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    return solid
