"""What makes each format's files from an output's parts; every maker loads its libraries when its bytes are wanted."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from holders.design.model import Part
from holders.design.pieces.cutting import cut_part
from holders.geometry.outline import bounds
from holders.output.formats.export import Export, Producer, StockDrawing

if TYPE_CHECKING:
    from holders.workshop.plates import Plate

Files = Callable[[Export], dict[str, Producer]]


def a_part(suffix: str, make: Callable[[Export, Part], bytes]) -> Files:
    """One file for each part, named after it."""
    return lambda export: {f"{part.name}{suffix}": partial(make, export, part) for part in export.parts}


def all_parts(suffix: str, make: Callable[[Export], bytes]) -> Files:
    """One file that holds every part; none where cut parts are not wanted as solids."""

    def files(export: Export) -> dict[str, Producer]:
        if export.route != "print" and not export.modelled:
            return {}
        return {f"{export.stem}{suffix}": partial(make, export)}

    return files


def stl(export: Export, part: Part) -> bytes:
    """The part as it lies on the printer."""
    from holders.output.formats.stl import stl_bytes  # noqa: PLC0415 - the kernel

    return stl_bytes(export.mesh(part))


def plate_files(export: Export) -> dict[str, Producer]:
    """One package for each plate of the printer, or one of all parts where they share a plate."""
    from holders.workshop.plates import plate_names, plates  # noqa: PLC0415 - the packer

    found = plates(export.parts, export.plate)
    names = plate_names(export.stem, len(found))
    return {name: partial(_threemf, export, plate) for name, plate in zip(names, found, strict=True)}


def _threemf(export: Export, plate: Plate) -> bytes:
    from holders.output.formats.threemf import PlateItem, threemf_bytes  # noqa: PLC0415 - the kernel

    items = [
        PlateItem(part.name, export.mesh(part), mine)
        for part in export.parts
        if (mine := tuple(laid for laid in plate if laid.part == part.name))
    ]
    return threemf_bytes(export.title, items)


def step(export: Export) -> bytes:
    """The assembly as it stands."""
    from holders.solid.exchange import Body, step_bytes  # noqa: PLC0415 - the kernel

    bodies = [Body(part.name, export.solid(part), part.places) for part in export.parts]
    return step_bytes(export.title, bodies)


def glb(export: Export) -> bytes:
    """The assembly as it stands, to look at."""
    from holders.output.formats.glb import Standing, glb_bytes  # noqa: PLC0415 - trimesh

    items = [Standing(part.name, export.standing_mesh(part), part.places) for part in export.parts]
    return glb_bytes(export.title, items)


def cut_files(export: Export) -> dict[str, Producer]:
    """The cut paths: a drawing for each part and each stock sheet, or one of all parts; one for each piece of card."""
    card: dict[str, Producer] = {f"{part.name}.dxf": partial(_cut, part, 0.0) for part in export.cards}
    if export.route == "print":
        return card
    if export.on_one_sheet:
        return {f"{export.stem}.dxf": partial(_one_sheet, export)}
    found: dict[str, Producer] = {
        f"{part.name}.dxf": partial(_cut, part, export.kerf_mm) for part in (*export.parts, *export.laid)
    }
    return found | {sheet.file: partial(_stock, sheet) for sheet in export.stock} | card


def _cut(part: Part, kerf_mm: float) -> bytes:
    from holders.output.formats.dxf import dxf_bytes  # noqa: PLC0415 - ezdxf

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


def _one_sheet(export: Export) -> bytes:
    from holders.output.formats.dxf import ENGRAVE, INNER, OUTER, Path, drawing_bytes  # noqa: PLC0415

    pieces = [cut_part(part, export.kerf_mm) for part in export.parts]
    paths = [Path(ENGRAVE, strokes=text.strokes) for piece in pieces for text in piece.lettering]
    paths += [Path(INNER, hole) for piece in pieces for hole in piece.inner]
    paths += [Path(OUTER, piece.outer) for piece in pieces]
    boxes = [bounds(piece.outer) for piece in pieces]
    return drawing_bytes(paths, max(box[2] for box in boxes), max(box[3] for box in boxes))


def drawing_files(export: Export) -> dict[str, Producer]:
    """The drawings, where the output has any."""
    return {f"{stem}.svg": make for stem, make in export.drawings}


def paper_files(export: Export) -> dict[str, Producer]:
    """What is for paper: the drawings as one file, and the 1:1 templates of cut parts and of card."""
    found: dict[str, Producer] = {}
    if export.drawn and export.drawings:
        found[f"{export.drawn}.pdf"] = partial(_pages, export)
    if export.paper is not None and export.route != "print":
        found["template.pdf"] = partial(_template, export)
    if export.paper is not None and export.cards:
        found["cards.pdf"] = partial(_cards, export)
    return found


def _pages(export: Export) -> bytes:
    from holders.output.formats.pages import pages_pdf  # noqa: PLC0415 - reportlab

    return pages_pdf(export.title, [make() for _, make in export.drawings])


def _template(export: Export) -> bytes:
    from holders.output.formats.pdf import template_pdf  # noqa: PLC0415 - reportlab

    assert export.paper is not None
    pieces = [cut_part(part, 0.0) for part in (*export.parts, *export.laid)]
    return template_pdf(export.title, pieces, export.paper, export.cautions, by_hand=export.by_hand)


def _cards(export: Export) -> bytes:
    from holders.output.formats.pdf import template_pdf  # noqa: PLC0415 - reportlab

    assert export.paper is not None
    pieces = [cut_part(part, 0.0) for part in export.cards]
    return template_pdf(f"{export.title}: black card", pieces, export.paper)
