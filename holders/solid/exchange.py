"""Solids as STEP text. The kernel writes its own time, counters and name into it; these are made the same each run."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

from holders.core.errors import MachineError
from holders.solid.kernel import (
    IFSelect_ReturnStatus,
    Interface_Static,
    Message,
    Message_Gravity,
    STEPCAFControl_Controller,
    STEPCAFControl_Writer,
    STEPControl_StepModelType,
    TCollection_ExtendedString,
    TDataStd_Name,
    TDocStd_Document,
    TopLoc_Location,
    TopoDS_Shape,
    XCAFDoc_DocumentTool,
    gp_Trsf,
    gp_Vec,
)

FIXED_TIME = "2000-01-01T00:00:00"  # a fixed stamp: the same design gives the same bytes
_HEADER = re.compile(rb"FILE_NAME\(.*?\);", re.DOTALL)
_DESCRIPTION = re.compile(rb"FILE_DESCRIPTION\(.*?\);", re.DOTALL)
_OCCURRENCE = re.compile(
    rb"NEXT_ASSEMBLY_USAGE_OCCURRENCE\(\s*'\d+'\s*,\s*'([^']*)'\s*,\s*''\s*,\s*(#\d+)\s*,\s*(#\d+)\s*,\s*\$\s*\)"
)


@dataclass(frozen=True, slots=True)
class Body:
    """A named solid and the shifts (dx, dy in mm) at which it stands; several for a repeated part."""

    name: str
    shape: TopoDS_Shape
    places: tuple[tuple[float, float], ...] = ((0.0, 0.0),)


def step_bytes(title: str, bodies: Sequence[Body]) -> bytes:
    """An assembly of named bodies as STEP (AP214, mm).

    Raises ``MachineError`` when the kernel reports a failure.
    """
    _quiet()
    STEPCAFControl_Controller.Init_s()  # the setting below exists only after this
    # no curves in parameter space: half the size and time
    Interface_Static.SetIVal_s("write.surfacecurve.mode", 0)
    document = TDocStd_Document(TCollection_ExtendedString("XmlXCAF"))
    tool = XCAFDoc_DocumentTool.ShapeTool_s(document.Main())
    assembly = tool.NewShape()
    TDataStd_Name.Set_s(assembly, TCollection_ExtendedString(title))
    for body in bodies:
        label = tool.AddShape(body.shape, False)
        TDataStd_Name.Set_s(label, TCollection_ExtendedString(body.name))
        for number, (dx, dy) in enumerate(body.places, 1):
            shift = gp_Trsf()
            shift.SetTranslation(gp_Vec(dx, dy, 0.0))
            component = tool.AddComponent(assembly, label, TopLoc_Location(shift))
            name = body.name if len(body.places) == 1 else f"{body.name} {number}"
            TDataStd_Name.Set_s(component, TCollection_ExtendedString(name))
    tool.UpdateAssemblies()
    writer = STEPCAFControl_Writer()
    writer.SetColorMode(False)
    writer.SetLayerMode(False)
    writer.SetNameMode(True)
    found = io.BytesIO()
    done = writer.Transfer(document, STEPControl_StepModelType.STEPControl_AsIs)
    if not done or writer.WriteStream(found) != IFSelect_ReturnStatus.IFSelect_RetDone:
        raise MachineError("the CAD kernel could not write the STEP file")
    return settled(found.getvalue(), title)


def settled(text: bytes, title: str) -> bytes:
    """STEP text with its time, authors and counters replaced by fixed ones."""
    name = re.sub(r"[^ -~]|['\\]", "_", title).encode("ascii")
    text = _DESCRIPTION.sub(b"FILE_DESCRIPTION(('film holder, lengths in mm'),'2;1');", text, count=1)
    header = b"FILE_NAME('" + name + b"','" + FIXED_TIME.encode() + b"',(''),(''),'','holders','');"
    text = _HEADER.sub(lambda _: header, text, count=1)
    count = 0

    def numbered(found: re.Match[bytes]) -> bytes:
        nonlocal count
        count += 1
        name, above, below = found.group(1), found.group(2), found.group(3)
        return b"NEXT_ASSEMBLY_USAGE_OCCURRENCE('%d','%b','',%b,%b,$)" % (count, name, above, below)

    return _OCCURRENCE.sub(numbered, text)


def _quiet() -> None:
    """Keep the kernel's banners off standard output, where only our own answer belongs."""
    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Gravity.Message_Fail)
