"""Which files a holder gets on which route, each with what makes it; solids and meshes are made once and shared."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, Literal

from holders.design.model import Design, Part
from holders.design.pieces.cutting import CutPart, cut_part
from holders.design.pieces.pose import print_pose
from holders.facts import tables
from holders.facts.models import Paper
from holders.geometry.outline import Outline, Point
from holders.output.formats import svg

Producer = Callable[[], bytes]
STEP = "holder.step"


@dataclass
class Workshop:
    """Solids and meshes of a design, each made when first wanted."""

    design: Design
    _solids: dict[str, Any] = field(default_factory=dict)
    _meshes: dict[str, Any] = field(default_factory=dict)

    def solid(self, part: Part) -> Any:
        """The part as it stands in the holder."""
        from holders.solid.build import build  # noqa: PLC0415 - the kernel loads only when a solid is wanted

        if part.name not in self._solids:
            self._solids[part.name] = build(part)
        return self._solids[part.name]

    def mesh(self, part: Part) -> Any:
        """The part as triangles, lying on the printer with its box starting at the origin."""
        from holders.solid.mesh import mesh  # noqa: PLC0415

        if part.name not in self._meshes:
            pose = print_pose(part)
            self._meshes[part.name] = mesh(self.solid(part)).posed(pose.turned, (pose.dx, pose.dy, pose.dz))
        return self._meshes[part.name]


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


def files_for(
    design: Design,
    paper: Paper,
    *,
    kerf_mm: float | None = None,
    cautions: Sequence[str] = (),
    stock: Sequence[StockDrawing] = (),
    solids: Mapping[str, Producer] | None = None,
) -> Mapping[str, Producer]:
    """File names in the order to show them, each with the function that makes its bytes.

    Parameters
    ----------
    design:
        The finished design.
    paper:
        For the 1:1 template.
    kerf_mm:
        Width of the laser's cut; None takes the material's table value. Without meaning on other routes.
    cautions:
        For the template's first page.
    stock:
        Stock sheets with the pieces laid out on them (laser and knife).
    solids:
        What makes the files of :func:`solid_files`, by the same names; None has them made here, when asked for.

    Raises
    ------
    InputError
        From the producers: a part in pieces, a feature smaller than the kerf.
    MachineError
        From the producers: a system library is missing.
    """
    bodies = dict(solid_files(design) if solids is None else solids)
    step = bodies.pop(STEP)
    found: dict[str, Producer] = bodies
    if design.route != "print":
        width = kerf_of(design, kerf_mm)
        for part in design.parts:
            found[f"{part.name}.dxf"] = partial(_dxf, part, width)
        for sheet in stock:
            found[sheet.file] = partial(_stock, sheet)
    found[STEP] = step
    found["drawing.svg"] = partial(svg.drawing_svg, design)
    if design.route != "print":
        found["template.pdf"] = partial(_template, design, paper, tuple(cautions))
    return found


def solid_files(design: Design) -> dict[str, Producer]:
    """Those of the files that the CAD kernel makes; it loads when the first of them is made.

    The producers raise as those of :func:`files_for`.
    """
    shop = Workshop(design)
    found: dict[str, Producer] = {}
    if design.route == "print":
        for part in design.parts:
            found[f"{part.name}.stl"] = partial(_stl, shop, part)
        found["holder.3mf"] = partial(_threemf, shop)
    found[STEP] = partial(_step, shop)
    return found


def load_for_solids() -> None:
    """Load all that the solid files need, the CAD kernel above all, before there is a design.

    Raises ``holders.core.errors.MachineError`` when the kernel cannot be loaded.
    """
    import holders.output.formats.step  # noqa: PLC0415
    import holders.output.formats.stl  # noqa: PLC0415
    import holders.output.formats.threemf  # noqa: PLC0415
    import holders.solid.build  # noqa: PLC0415
    import holders.solid.mesh  # noqa: F401, PLC0415


def kerf_of(design: Design, kerf_mm: float | None = None) -> float:
    """The kerf to compensate, mm: as given, else the table value of the holder's material; a knife has none."""
    if design.route != "laser":
        return 0.0
    if kerf_mm is not None:
        return kerf_mm
    return float(tables.material(design.parts[0].material).kerf_mm)


def nominal(design: Design) -> tuple[CutPart, ...]:
    """Every sheet at its nominal size."""
    return tuple(cut_part(part, 0.0) for part in design.parts)


def _stl(shop: Workshop, part: Part) -> bytes:
    from holders.output.formats.stl import stl_bytes  # noqa: PLC0415

    return stl_bytes(shop.mesh(part))


def _threemf(shop: Workshop) -> bytes:
    from holders.output.formats.threemf import PlateItem, threemf_bytes  # noqa: PLC0415

    items = [PlateItem(part.name, shop.mesh(part), part.quantity) for part in shop.design.parts]
    return threemf_bytes(shop.design.title, items)


def _step(shop: Workshop) -> bytes:
    from holders.output.formats.step import Body, holder_step  # noqa: PLC0415

    bodies = [Body(part.name, shop.solid(part), part.places) for part in shop.design.parts]
    return holder_step(shop.design.title, bodies)


def _dxf(part: Part, kerf_mm: float) -> bytes:
    from holders.output.formats.dxf import dxf_bytes  # noqa: PLC0415

    return dxf_bytes(cut_part(part, kerf_mm))


def _stock(sheet: StockDrawing) -> bytes:
    from holders.output.formats.dxf import ENGRAVE, INNER, OUTER, Path, drawing_bytes, inside_layer  # noqa: PLC0415

    layers = {"inner": INNER, "outer": OUTER}
    paths = [
        Path(
            ENGRAVE if path.kind == "mark" else inside_layer(layers[path.kind], path.depth),
            path.outline,
            path.strokes,
        )
        for path in sheet.paths
    ]
    return drawing_bytes(paths, sheet.width_mm, sheet.height_mm)


def _template(design: Design, paper: Paper, cautions: tuple[str, ...]) -> bytes:
    from holders.output.formats.pdf import template_pdf  # noqa: PLC0415

    return template_pdf(design.title, nominal(design), paper, cautions, by_hand=design.route != "laser")
