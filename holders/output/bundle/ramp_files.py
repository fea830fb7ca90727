"""Which files the focus ramp gets."""

from __future__ import annotations

from functools import cache, partial
from typing import Any

from holders.design.pieces.cutting import cut_part
from holders.design.ramp_parts import cut_ramp, printed_ramp
from holders.measure.ramp import RampGeometry
from holders.output.bundle.plan_files import Producer


def ramp_files(ramp: RampGeometry, sheet_mm: float | None, kerf_mm: float) -> dict[str, Producer]:
    """File names, each with what makes it: the printed ramp, and its sheets when a thickness is given."""

    @cache
    def body() -> Any:
        # seconds of work; three files want it
        from holders.solid.build import build  # noqa: PLC0415 - the kernel loads only when a solid is wanted

        return build(printed_ramp(ramp))

    found: dict[str, Producer] = {
        "ramp.stl": lambda: _stl(body()),
        "ramp.3mf": lambda: _threemf(body()),
        "ramp.step": lambda: _step(body()),
    }
    if sheet_mm is not None:
        for part in cut_ramp(ramp, sheet_mm):
            found[f"{part.name}.dxf"] = partial(_dxf, part, kerf_mm)
    return found


def _stl(body: Any) -> bytes:
    from holders.output.formats.stl import stl_bytes  # noqa: PLC0415
    from holders.solid.mesh import mesh  # noqa: PLC0415

    return stl_bytes(mesh(body))


def _threemf(body: Any) -> bytes:
    from holders.output.formats.threemf import PlateItem, threemf_bytes  # noqa: PLC0415
    from holders.solid.mesh import mesh  # noqa: PLC0415

    return threemf_bytes("focus ramp", [PlateItem("ramp", mesh(body))])


def _step(body: Any) -> bytes:
    from holders.solid.exchange import Body, step_bytes  # noqa: PLC0415

    return step_bytes("focus ramp", [Body("ramp", body)])


def _dxf(part: object, kerf_mm: float) -> bytes:
    from holders.design.model import Part  # noqa: PLC0415
    from holders.output.formats.dxf import dxf_bytes  # noqa: PLC0415

    assert isinstance(part, Part)
    return dxf_bytes(cut_part(part, kerf_mm))
