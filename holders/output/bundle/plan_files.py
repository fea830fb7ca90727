"""Which files a holder gets; solids and meshes are made once and shared."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache, partial

from holders.design.model import Design
from holders.facts import tables
from holders.facts.models import Paper
from holders.output.formats.export import Export, Producer, StockDrawing
from holders.output.formats.registry import export_files, kernel_files

SHEETS = ("drawing", "drawing-plan")  # the files of the drawing's two sheets


def export_of(
    design: Design,
    paper: Paper | None = None,
    *,
    kerf_mm: float | None = None,
    cautions: Sequence[str] = (),
    stock: Sequence[StockDrawing] = (),
) -> Export:
    """A holder as the formats see it; parameters as of :func:`files_for`."""
    sheets = cache(partial(_drawings, design, paper))
    return Export(
        title=design.title,
        stem="holder",
        route=design.route,
        parts=design.parts,
        kerf_mm=kerf_of(design, kerf_mm),
        cautions=tuple(cautions),
        stock=tuple(stock),
        paper=paper,
        drawings=tuple((stem, partial(_drawing, sheets, k)) for k, stem in enumerate(SHEETS)),
        drawn="drawing",
        by_hand=design.route != "laser",
        plate=design.plate,
        cards=design.of_card,
        laid=design.of_sheet,
    )


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
    found = export_files(export_of(design, paper, kerf_mm=kerf_mm, cautions=cautions, stock=stock))
    return found if solids is None else {name: solids.get(name, make) for name, make in found.items()}


def solid_files(design: Design) -> dict[str, Producer]:
    """Those of the files that the CAD kernel makes; it loads when the first of them is made.

    The producers raise as those of :func:`files_for`.
    """
    return kernel_files(export_of(design))


def load_for_solids() -> None:
    """Load all that the solid files need, the CAD kernel above all, before there is a design.

    Raises ``holders.core.errors.MachineError`` when the kernel cannot be loaded.
    """
    import holders.output.formats.glb  # noqa: PLC0415
    import holders.output.formats.stl  # noqa: PLC0415
    import holders.output.formats.threemf  # noqa: PLC0415
    import holders.solid.build  # noqa: PLC0415
    import holders.solid.exchange  # noqa: PLC0415
    import holders.solid.mesh  # noqa: F401, PLC0415


def kerf_of(design: Design, kerf_mm: float | None = None) -> float:
    """The kerf to compensate, mm: as given, else the table value of the holder's material; a knife has none."""
    if design.route != "laser":
        return 0.0
    if kerf_mm is not None:
        return kerf_mm
    return float(tables.material(design.parts[0].material).kerf_mm)


def _drawing(sheets: Callable[[], tuple[bytes, ...]], number: int) -> bytes:
    return sheets()[number]


def _drawings(design: Design, paper: Paper | None) -> tuple[bytes, ...]:
    from holders.output.draw.sheet import drawing  # noqa: PLC0415

    return drawing(design, paper)
