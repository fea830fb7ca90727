"""The one place that imports the CAD kernel (the geometry library under cadquery).

Only the kernel's own modules are loaded: they take under half the time of the whole of cadquery, which also loads a
viewer. A system library that a bare machine lacks becomes one clear line.
"""

from __future__ import annotations

import re

from holders.core.errors import MachineError

# which Debian package brings which library that the kernel links against
PACKAGES = {
    "libGL": "libgl1",
    "libEGL": "libegl1",
    "libX11": "libx11-6",
    "libXext": "libxext6",
    "libXrender": "libxrender1",
    "libXi": "libxi6",
    "libSM": "libsm6",
    "libICE": "libice6",
    "libfontconfig": "libfontconfig1",
    "libfreetype": "libfreetype6",
    "libgomp": "libgomp1",
}


def advice(error: ImportError) -> str:
    """What to tell someone whose machine cannot load the kernel, on one line."""
    missing = re.search(r"(lib[A-Za-z0-9_+-]+)[.\w]*: cannot open shared object", str(error))
    if missing is None:
        return (
            f"the CAD kernel cannot be loaded ({error}): install it with `pip install cadquery`; "
            "on a bare Debian also `apt-get install libgl1`"
        )
    name = missing.group(1)
    package = PACKAGES.get(name)
    if package is None:
        return f"the CAD kernel needs the system library {name}, which is missing: install the package that holds it"
    return (
        f"the CAD kernel needs the system library {name}, which is missing: `apt-get install {package}` on Debian "
        f"(elsewhere the package that holds {name})"
    )


try:
    from OCP.Bnd import Bnd_Box
    from OCP.BRep import BRep_Builder, BRep_Tool
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
    from OCP.BRepBndLib import BRepBndLib
    from OCP.BRepBuilderAPI import (
        BRepBuilderAPI_MakeEdge,
        BRepBuilderAPI_MakeFace,
        BRepBuilderAPI_MakeVertex,
        BRepBuilderAPI_MakeWire,
    )
    from OCP.BRepCheck import BRepCheck_Analyzer
    from OCP.BRepClass import BRepClass_FaceClassifier
    from OCP.BRepGProp import BRepGProp
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.BRepOffsetAPI import BRepOffsetAPI_ThruSections
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.GC import GC_MakeArcOfCircle
    from OCP.gp import gp_Dir, gp_Pln, gp_Pnt, gp_Trsf, gp_Vec
    from OCP.GProp import GProp_GProps
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.Interface import Interface_Static
    from OCP.Message import Message, Message_Gravity
    from OCP.STEPCAFControl import STEPCAFControl_Controller, STEPCAFControl_Writer
    from OCP.STEPControl import STEPControl_StepModelType
    from OCP.TCollection import TCollection_ExtendedString
    from OCP.TDataStd import TDataStd_Name
    from OCP.TDocStd import TDocStd_Document
    from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum, TopAbs_State
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import (
        TopoDS,
        TopoDS_Edge,
        TopoDS_Face,
        TopoDS_Shape,
        TopoDS_Shell,
        TopoDS_Solid,
        TopoDS_Wire,
    )
    from OCP.TopTools import TopTools_ListOfShape
    from OCP.XCAFDoc import XCAFDoc_DocumentTool
except ImportError as error:
    raise MachineError(advice(error)) from error

__all__ = [
    "PACKAGES",
    "BRepAdaptor_Surface",
    "BRepAlgoAPI_Cut",
    "BRepAlgoAPI_Fuse",
    "BRepBndLib",
    "BRepBuilderAPI_MakeEdge",
    "BRepBuilderAPI_MakeFace",
    "BRepBuilderAPI_MakeVertex",
    "BRepBuilderAPI_MakeWire",
    "BRepCheck_Analyzer",
    "BRepClass_FaceClassifier",
    "BRepGProp",
    "BRepMesh_IncrementalMesh",
    "BRepOffsetAPI_ThruSections",
    "BRepPrimAPI_MakePrism",
    "BRep_Builder",
    "BRep_Tool",
    "Bnd_Box",
    "GC_MakeArcOfCircle",
    "GProp_GProps",
    "IFSelect_ReturnStatus",
    "Interface_Static",
    "Message",
    "Message_Gravity",
    "STEPCAFControl_Controller",
    "STEPCAFControl_Writer",
    "STEPControl_StepModelType",
    "TCollection_ExtendedString",
    "TDataStd_Name",
    "TDocStd_Document",
    "TopAbs_Orientation",
    "TopAbs_ShapeEnum",
    "TopAbs_State",
    "TopExp_Explorer",
    "TopLoc_Location",
    "TopTools_ListOfShape",
    "TopoDS",
    "TopoDS_Edge",
    "TopoDS_Face",
    "TopoDS_Shape",
    "TopoDS_Shell",
    "TopoDS_Solid",
    "TopoDS_Wire",
    "XCAFDoc_DocumentTool",
    "advice",
    "gp_Dir",
    "gp_Pln",
    "gp_Pnt",
    "gp_Trsf",
    "gp_Vec",
]
