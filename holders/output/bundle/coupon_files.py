"""Which files a test piece gets."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

from holders.design.model import Part
from holders.design.pieces.cutting import cut_part
from holders.design.pieces.pose import print_pose
from holders.facts.models import Paper
from holders.geometry.outline import bounds
from holders.output.bundle.plan_files import Producer


def coupon_files(title: str, parts: Sequence[Part], paper: Paper, drawing: bytes) -> dict[str, Producer]:
    """File names, each with what makes it; ``drawing`` is the pieces from above at 1:1 as SVG.

    Printed: each piece as STL, all as 3MF and STEP. Cut: all pieces on one DXF as they are drawn (no kerf set off),
    and the 1:1 template.
    """
    found: dict[str, Producer] = {}
    if parts[0].process == "print":
        bodies: dict[str, Any] = {}
        for part in parts:
            found[f"{part.name}.stl"] = partial(_stl, bodies, part)
        found["test-piece.3mf"] = partial(_threemf, title, bodies, parts)
        found["test-piece.step"] = partial(_step, title, bodies, parts)
    else:
        found["test-piece.dxf"] = partial(_dxf, parts)
        found["template.pdf"] = partial(_template, title, parts, paper)
    found["test-piece.svg"] = lambda: drawing
    return found


def _body(bodies: dict[str, Any], part: Part) -> Any:
    from holders.solid.build import build  # noqa: PLC0415 - the kernel loads only when a solid is wanted

    if part.name not in bodies:
        bodies[part.name] = build(part)
    return bodies[part.name]


def _mesh(bodies: dict[str, Any], part: Part) -> Any:
    from holders.solid.mesh import mesh  # noqa: PLC0415

    pose = print_pose(part)
    return mesh(_body(bodies, part)).posed(pose.turned, (pose.dx, pose.dy, pose.dz))


def _stl(bodies: dict[str, Any], part: Part) -> bytes:
    from holders.output.formats.stl import stl_bytes  # noqa: PLC0415

    return stl_bytes(_mesh(bodies, part))


def _threemf(title: str, bodies: dict[str, Any], parts: Sequence[Part]) -> bytes:
    from holders.output.formats.threemf import PlateItem, threemf_bytes  # noqa: PLC0415

    return threemf_bytes(title, [PlateItem(part.name, _mesh(bodies, part)) for part in parts])


def _step(title: str, bodies: dict[str, Any], parts: Sequence[Part]) -> bytes:
    from holders.output.formats.step import Body, holder_step  # noqa: PLC0415

    return holder_step(title, [Body(part.name, _body(bodies, part), part.places) for part in parts])


def _dxf(parts: Sequence[Part]) -> bytes:
    from holders.output.formats.dxf import ENGRAVE, INNER, OUTER, Path, drawing_bytes  # noqa: PLC0415

    pieces = [cut_part(part, 0.0) for part in parts]
    paths = [Path(ENGRAVE, strokes=text.strokes) for piece in pieces for text in piece.lettering]
    paths += [Path(INNER, hole) for piece in pieces for hole in piece.inner]
    paths += [Path(OUTER, piece.outer) for piece in pieces]
    boxes = [bounds(piece.outer) for piece in pieces]
    return drawing_bytes(paths, max(box[2] for box in boxes), max(box[3] for box in boxes))


def _template(title: str, parts: Sequence[Part], paper: Paper) -> bytes:
    from holders.output.formats.pdf import template_pdf  # noqa: PLC0415

    return template_pdf(title, [cut_part(part, 0.0) for part in parts], paper)
