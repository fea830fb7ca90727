"""Which files a test piece gets."""

from __future__ import annotations

from collections.abc import Sequence

from holders.design.model import Part
from holders.design.pieces.split import plate_room
from holders.facts.models import Paper, Printer
from holders.output.formats.export import Export, Producer
from holders.output.formats.registry import export_files

STEM = "test-piece"


def coupon_files(
    title: str, parts: Sequence[Part], paper: Paper, drawing: bytes, printer: Printer | None
) -> dict[str, Producer]:
    """File names, each with what makes it; ``drawing`` is the pieces from above at 1:1 as SVG.

    Printed: each piece as STL, all of them as solids. Cut: all pieces on one DXF as they are drawn (no kerf set off),
    and the 1:1 template.
    """
    return export_files(
        Export(
            title=title,
            stem=STEM,
            route=parts[0].process,
            parts=tuple(parts),
            paper=paper,
            drawings=((STEM, lambda: drawing),),
            modelled=False,
            on_one_sheet=True,
            plate=None if printer is None else plate_room(printer),
        )
    )
