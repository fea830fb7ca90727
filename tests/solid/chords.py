"""By how much a mesh's volume may differ from its solid's, face by face, from the chords' sagitta alone.

Between an arc of radius r and the chord under an angle t lies r²/2 (t - sin t), and the chord is s = r (1 - cos(t/2))
below the arc (any book of mensuration: circular segment). Their ratio to the arc r t is

    (t - sin t) / (2 t (1 - cos(t/2))) * s,

which is 2/3 s for short chords and less for longer ones (1/2 s at half a circle). So chords on a round face of area A
leave out at most 2/3 s A where the part bulges (a corner), and add at most that where it is hollow (a hole).
"""

from __future__ import annotations

import math
from typing import Any

from OCP.BRepAdaptor import BRepAdaptor_Surface
from OCP.BRepGProp import BRepGProp
from OCP.BRepLProp import BRepLProp_SLProps
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_Orientation

from holders.solid.engrave import faces
from holders.solid.mesh import GRID_MM, LINEAR_MM
from holders.solid.surfaces import box_of

FLAT_PER_MM = 1e-9  # curvature below this is none
SINGLE = (
    2.0**-24
)  # half of the last bit of a number in binary STL and in the 3MF library (IEEE 754), of its size


def area(face: Any) -> float:
    """Of one face, mm²."""
    found = GProp_GProps()
    BRepGProp.SurfaceProperties_s(face, found)
    return float(found.Mass())


def curved(face: Any) -> tuple[bool, bool]:
    """Whether a face bulges somewhere, and whether it is hollow somewhere; from its curvatures at nine places."""
    surface = BRepAdaptor_Surface(face)
    ends = (
        (surface.FirstUParameter(), surface.LastUParameter()),
        (surface.FirstVParameter(), surface.LastVParameter()),
    )
    us, vs = ([low + share * (high - low) for share in (0.1, 0.5, 0.9)] for low, high in ends)
    here = [BRepLProp_SLProps(surface, u, v, 2, 1e-9) for u in us for v in vs]
    bends = [bend for one in here for bend in (one.MaxCurvature(), one.MinCurvature())]
    # a surface bends toward its own normal where its curvature is positive
    toward, away = any(bend > FLAT_PER_MM for bend in bends), any(bend < -FLAT_PER_MM for bend in bends)
    outward = face.Orientation() == TopAbs_Orientation.TopAbs_FORWARD
    return (away, toward) if outward else (toward, away)


def rounding(solid: Any) -> float:
    """What the corners' rounding may add or take, mm³: on each axis half a grid and half a last bit."""
    off = math.sqrt(3) * (GRID_MM / 2 + max(map(abs, box_of(solid))) * SINGLE)
    return off * sum(area(face) for face in faces(solid))


def volume_room(solid: Any, sagitta_mm: float = LINEAR_MM) -> tuple[float, float]:
    """How much less and how much more than the solid a mesh may hold, mm³, with chords within ``sagitta_mm``."""
    less = more = rounding(solid)
    for face in faces(solid):
        bulges, hollow = curved(face)
        # a saddle (a chamfer's corner may be one) is no row of chords: its mesh strays by a sagitta at most
        room = (1.0 if bulges and hollow else 2 / 3) * sagitta_mm * area(face)
        less += room * bulges
        more += room * hollow
    return less, more
