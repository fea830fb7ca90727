"""Film holders for flatbed scanning: designed, checked, made; and the scanner measured.

What a Python program needs stands here, and loads when it is first used; ``docs/python.md`` shows it at work.

====================  ==================================================================================
``load_preset``       a preset from a file, or a shipped one by its name
``study_preset``      a preset designed and checked: the design, the film in it, the findings
``study_file``        the same from the file, whose text then travels with what is made
``write_files``       the files of a studied preset, all or none, in a folder of their own
``measure_focus``     the height above the glass at which a scanner is sharpest, from scans of a slope
``Slope``             how that slope climbs
``inspect_scan``      what a finished scan shows: rings, sharpness over the frame, skew, edges
``Preset``, ``Study`` the types of the first two
``HoldersError``      what all of them raise; a wrong value is an ``InputError``, which names it and what to do
====================  ==================================================================================
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from holders.core.version import VERSION

if TYPE_CHECKING:
    from holders.core.errors import HoldersError
    from holders.measure.finished.look import inspect_scan
    from holders.measure.slope.geometry import SlopeGeometry as Slope
    from holders.measure.slope.measure import measure_focus
    from holders.output.bundle.produce import produce as write_files
    from holders.preset.load import load as load_preset
    from holders.preset.schema import Preset
    from holders.study import Study, study_file
    from holders.study import study as study_preset

__version__ = VERSION
__all__ = [
    "HoldersError",
    "Preset",
    "Slope",
    "Study",
    "inspect_scan",
    "load_preset",
    "measure_focus",
    "study_file",
    "study_preset",
    "write_files",
]

# name here -> module, name there
_PLACES = {
    "HoldersError": ("holders.core.errors", "HoldersError"),
    "Preset": ("holders.preset.schema", "Preset"),
    "Slope": ("holders.measure.slope.geometry", "SlopeGeometry"),
    "Study": ("holders.study", "Study"),
    "inspect_scan": ("holders.measure.finished.look", "inspect_scan"),
    "load_preset": ("holders.preset.load", "load"),
    "measure_focus": ("holders.measure.slope.measure", "measure_focus"),
    "study_preset": ("holders.study", "study"),
    "study_file": ("holders.study", "study_file"),
    "write_files": ("holders.output.bundle.produce", "produce"),
}


def __getattr__(name: str) -> object:
    """A public name, loaded now that it is used (PEP 562)."""
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module  # noqa: PLC0415

    module, there = _PLACES[name]
    return getattr(import_module(module), there)


def __dir__() -> list[str]:
    return sorted([*__all__, "__version__"])
