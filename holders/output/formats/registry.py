"""Every format that leaves, in one table: suffix, name, unit, which ways of making get it, and what makes it.

Holder, test piece and ramp take their files from here, in this order; the manifest takes names and units; a file
carries its preset where its row says how. A new format is a module that turns parts into bytes, a maker for it in
``makers.py``, and a row here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import get_args

from holders.facts.models import Route
from holders.output.formats import carry, makers
from holders.output.formats.export import Export, Producer

ALL: tuple[Route, ...] = get_args(Route)
CUT: tuple[Route, ...] = ("laser", "knife")
PRINT: tuple[Route, ...] = ("print",)


@dataclass(frozen=True, slots=True)
class Format:
    """A kind of file.

    Parameters
    ----------
    suffix:
        End of the file's name, with its dot.
    name:
        What the manifest calls it.
    unit:
        Of lengths in it.
    routes:
        The ways of making whose parts get it.
    files:
        File names for an output, each with what makes its bytes; None where the file is not made from parts.
    kernel:
        Whether the CAD kernel makes it.
    carry:
        What puts a preset's text into its finished bytes; None where it cannot carry one.
    """

    suffix: str
    name: str
    unit: str
    routes: tuple[Route, ...] = ()
    files: makers.Files | None = None
    kernel: bool = False
    carry: Callable[[bytes, str], bytes] | None = None


FORMATS: tuple[Format, ...] = (
    Format(".stl", "stl", "mm", PRINT, makers.a_part(".stl", makers.stl), kernel=True),
    Format(
        ".3mf",
        "3mf",
        "mm",
        PRINT,
        makers.plate_files,
        kernel=True,
        carry=carry.into_threemf,
    ),
    Format(".dxf", "dxf", "mm", ALL, makers.cut_files, carry=carry.into_dxf),
    Format(".step", "step", "mm", ALL, makers.all_parts(".step", makers.step), kernel=True),
    Format(".glb", "glb", "m", ALL, makers.all_parts(".glb", makers.glb), kernel=True, carry=carry.into_glb),
    Format(".svg", "svg", "mm", ALL, makers.drawing_files, carry=carry.into_svg),
    Format(".pdf", "pdf", "mm", ALL, makers.paper_files, carry=carry.into_pdf),
    Format(".json", "json", "mm"),
    Format(".html", "html", "mm"),
    Format(".png", "png", "pixel"),
    Format(".toml", "toml", "mm"),
)
_UNKNOWN = Format("", "data", "-")


def format_of(suffix: str) -> Format:
    """The format whose files end so; one called "data", without unit, where none does."""
    return next((one for one in FORMATS if one.suffix == suffix.lower()), _UNKNOWN)


def export_files(export: Export) -> dict[str, Producer]:
    """All files of an output, in the order to show them, each with what makes its bytes.

    The producers raise ``InputError`` where a part is in pieces or smaller than the kerf, and ``MachineError`` where a
    system library is missing.
    """
    return _files(export, FORMATS)


def kernel_files(export: Export) -> dict[str, Producer]:
    """Those of the files that the CAD kernel makes; it loads when the first of them is made."""
    return _files(export, tuple(one for one in FORMATS if one.kernel))


def _files(export: Export, formats: tuple[Format, ...]) -> dict[str, Producer]:
    found: dict[str, Producer] = {}
    for one in formats:
        if one.files is not None and export.route in one.routes:
            found |= one.files(export)
    return found
