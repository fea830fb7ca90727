"""Which files the focus ramp gets."""

from __future__ import annotations

from functools import partial

from holders.design.cutting import cut_part
from holders.design.ramp_parts import cut_ramp, printed_ramp
from holders.export.plan_files import Producer
from holders.focus.ramp import RampGeometry


def ramp_files(ramp: RampGeometry, sheet_mm: float | None, kerf_mm: float) -> dict[str, Producer]:
    """File names, each with what makes it: the printed ramp, and its sheets when a thickness is given."""
    found: dict[str, Producer] = {"ramp.stl": partial(_stl, ramp), "ramp.step": partial(_step, ramp)}
    if sheet_mm is not None:
        for part in cut_ramp(ramp, sheet_mm):
            found[f"{part.name}.dxf"] = partial(_dxf, part, kerf_mm)
    return found


def _stl(ramp: RampGeometry) -> bytes:
    from holders.export.stl import stl_bytes  # noqa: PLC0415 - the kernel loads only when a solid is wanted
    from holders.solid.build import build  # noqa: PLC0415
    from holders.solid.mesh import mesh  # noqa: PLC0415

    return stl_bytes(mesh(build(printed_ramp(ramp))))


def _step(ramp: RampGeometry) -> bytes:
    from holders.solid.build import build  # noqa: PLC0415
    from holders.solid.exchange import Body, step_bytes  # noqa: PLC0415

    return step_bytes("focus ramp", [Body("ramp", build(printed_ramp(ramp)))])


def _dxf(part: object, kerf_mm: float) -> bytes:
    from holders.design.model import Part  # noqa: PLC0415
    from holders.export.dxf import dxf_bytes  # noqa: PLC0415

    assert isinstance(part, Part)
    return dxf_bytes(cut_part(part, kerf_mm))
