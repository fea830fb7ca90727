"""What the formats of one output are made from: its parts, solids and meshes, paper and drawings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Literal

from holders.design.model import Part
from holders.design.pieces.eased import eased
from holders.design.pieces.pose import print_pose
from holders.facts.models import Paper, Route
from holders.geometry.outline import Outline, Point
from holders.geometry.rect import Rect

Producer = Callable[[], bytes]


@dataclass(frozen=True, slots=True)
class StockDrawing:
    """A stock sheet with the paths of every piece where it lies, in the order of cutting; corner at the origin, mm."""

    file: str
    width_mm: float
    height_mm: float
    paths: tuple[StockPath, ...]


@dataclass(frozen=True, slots=True)
class StockPath:
    """One path on a stock sheet; ``depth`` is in how many drop-outs of other pieces it lies."""

    kind: Literal["mark", "inner", "outer"]
    depth: int
    outline: Outline | None
    strokes: tuple[tuple[Point, ...], ...]


@dataclass(frozen=True)
class Export:
    """One output (a holder, a test piece, a ramp) as the formats see it.

    Parameters
    ----------
    title:
        What a file that holds all parts is called inside.
    stem:
        What such a file is called on the disk, without suffix.
    route:
        How the parts are made; it decides which formats they get.
    parts:
        In the place where they stand in the finished thing.
    kerf_mm:
        Width of the cut to set off in cut files.
    cautions:
        For the template's first page.
    stock:
        Stock sheets with the pieces laid out on them.
    paper:
        For the 1:1 template; None for no template.
    drawings:
        What makes each drawing as SVG, and its file's stem.
    drawn:
        The stem of a PDF with all drawings, a page each; empty for none.
    modelled:
        Whether cut parts are also wanted as solids.
    on_one_sheet:
        Whether cut parts, which then lie beside each other, share one file.
    by_hand:
        Whether the template is cut along with a knife.
    plate:
        Where parts may lie on the printer; None where no printer is known.
    cards:
        Pieces of card, cut by knife whatever the route.
    laid:
        Pieces that are cut from the holder's own sheet and lie beside it: no part of what stands.
    """

    title: str
    stem: str
    route: Route
    parts: tuple[Part, ...]
    kerf_mm: float = 0.0
    cautions: tuple[str, ...] = ()
    stock: tuple[StockDrawing, ...] = ()
    paper: Paper | None = None
    drawings: tuple[tuple[str, Producer], ...] = ()
    drawn: str = ""
    modelled: bool = True
    on_one_sheet: bool = False
    by_hand: bool = True
    plate: Rect | None = None
    cards: tuple[Part, ...] = ()
    laid: tuple[Part, ...] = ()
    _solids: dict[str, Any] = field(default_factory=dict, repr=False)
    _meshes: dict[str, Any] = field(default_factory=dict, repr=False)

    def solid(self, part: Part) -> Any:
        """The part as it stands, a solid of the CAD kernel, its edges on the printer's plate chamfered; made when
        first wanted.
        """
        from holders.solid.build import build  # noqa: PLC0415 - the kernel loads only when a solid is wanted

        if part.name not in self._solids:
            self._solids[part.name] = build(part, eased(part) if self.plate is not None else ())
        return self._solids[part.name]

    def standing_mesh(self, part: Part) -> Any:
        """The part as triangles, as it stands; made when first wanted."""
        from holders.solid.mesh import mesh  # noqa: PLC0415 - the kernel

        if part.name not in self._meshes:
            self._meshes[part.name] = mesh(self.solid(part))
        return self._meshes[part.name]

    def mesh(self, part: Part) -> Any:
        """The part as triangles, lying on the printer with its box starting at the origin."""
        pose = print_pose(part)
        return self.standing_mesh(part).posed(pose.turned, (pose.dx, pose.dy, pose.dz))
