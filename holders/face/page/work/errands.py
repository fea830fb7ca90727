"""Long work, each piece in a process of its own that can be ended at any moment: scans looked at, files made."""

from __future__ import annotations

import base64
import zipfile
from collections.abc import Callable, Mapping
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from holders.core.errors import HoldersError, InputError
from holders.face.page.form.values import Refused, told

if TYPE_CHECKING:
    from holders.measure.slope.geometry import SlopeGeometry
    from holders.measure.slope.result import FocusResult

Tell = Callable[[str, float], None]
ZIP_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest that the format knows: the same holder, the same zip


def run(errand: str, order: Mapping[str, Any], tell: Tell) -> dict[str, Any]:
    """Do one errand; a refusal comes back as ``{"ok": False, "errors": [...]}``."""
    try:
        return {"ok": True, **ERRANDS[errand](order, tell)}
    except Refused as refused:
        return {"ok": False, "errors": [told(error) for error in refused.errors]}
    except InputError as error:
        return {"ok": False, "errors": [told(error)]}
    except HoldersError as error:
        return {"ok": False, "errors": [told(InputError("files", "", str(error)))]}
    except MemoryError:
        return {
            "ok": False,
            "errors": [told(InputError("memory", "", "the machine ran out of it; close programs"))],
        }


def measure(order: Mapping[str, Any], tell: Tell) -> dict[str, Any]:
    """Measure the scan at ``order["scan"]``; the slope as the command line takes it."""
    from holders.face.shared.slope import geometry_of, known_words
    from holders.measure.scan.thumbnail import thumbnail
    from holders.measure.slope.measure import measure_focus
    from holders.measure.slope.target.shape import TargetShape
    from holders.output.draw.focus import profile_narrow

    ramp = order.get("ramp")
    geometry = geometry_of(
        Path(ramp) if ramp else None,
        order.get("rise"),
        order.get("run"),
        order.get("start_height") or 0.0,
        bool(order.get("reverse")),
    )
    shape = TargetShape(order.get("target"), order.get("target_thickness"), order.get("span"))
    tell("looking at the scan", 0.0)
    try:
        found = measure_focus(
            [order["scan"]], geometry=geometry, dpi=order.get("dpi"), progress=tell, shape=shape
        )
    except InputError as error:
        raise InputError(error.field, "the scan", error.way_out) from None  # our file's own name says nothing
    scan, lies = thumbnail(order["scan"])
    ends = None if ramp else {"lies": lies, "reverse": bool(order.get("reverse"))}
    over = [] if ramp else _over(found, geometry, order["scan"])
    return {
        "scan": scan,
        "ends": ends,
        "over": over,
        "focus": found.to_answer(),
        "known": list(known_words(found)),
        "picture": profile_narrow(found).decode(),
        "bed": found.bed_numbers(),
    }


def _over(found: FocusResult, slope: SlopeGeometry, path: str) -> list[list[float]]:
    """Where along the scan (0 to 1, from its left or top) how sharp it is (1 at the best), to be drawn over it.

    Heights are put back to places of a straight slope: where the target sags a place is off by that much of its height.
    """
    from holders.measure.scan.opened import open_scan

    with closing(open_scan(path)) as scan:
        length_mm = max(scan.info.width, scan.info.height) * 25.4 / found.dpi
    places = [
        (z - slope.start_height_mm) * slope.run_mm / slope.rise_mm / length_mm for z in found.profile.height
    ]
    kept = [(1 - p if slope.reverse else p, s) for p, s in zip(places, found.profile.sharpness, strict=True)]
    return [[round(p, 4), round(s, 4)] for p, s in sorted(kept) if 0 <= p <= 1]


def curl(order: Mapping[str, Any], tell: Tell) -> dict[str, Any]:
    """How curled the film is that stands on its edge in the scan at ``order["scan"]``, and the scan shown back."""
    from holders.face.page.work.curled import curled
    from holders.measure.curl.drawn import measured_and_drawn

    tell("looking at the scan", 0.0)
    hollow = order.get("hollow")
    try:
        found, picture = measured_and_drawn(
            order["scan"], dpi=order.get("dpi"), hollow=hollow, base=order.get("base", ""), progress=tell
        )
    except InputError as error:
        raise InputError(error.field, "the scan", error.way_out) from None  # our file's own name says nothing
    return {
        **curled(found.curl_per_m, found.sigma, found.chord_mm, found.rise_mm, hollow),
        "picture": base64.b64encode(picture).decode("ascii"),
    }


def inspect(order: Mapping[str, Any], tell: Tell) -> dict[str, Any]:
    """Look at the finished scan at ``order["scan"]``; ``order["text"]`` is the preset it was made with, if told."""
    from holders.face.shared.expected import expected_of, window_of_scan
    from holders.measure.finished.look import inspect_scan
    from holders.output.draw.inspect import inspect_map
    from holders.output.words import inspected
    from holders.preset.load import parse
    from holders.study import study

    text = order.get("text")
    design = None
    if text:
        studied = study(parse(text, "the form"), text)
        design = expected_of(studied, window_of_scan(studied, order["scan"], order.get("dpi")))
    tell("looking at the scan", 0.0)
    try:
        found = inspect_scan(order["scan"], design=design, dpi=order.get("dpi"), progress=tell)
    except InputError as error:
        raise InputError(error.field, "the scan", error.way_out) from None  # our file's own name says nothing
    return {
        "inspect": {**found.to_answer(), "scan": "the scan"},
        "picture": inspect_map(found).decode(),
        "headline": inspected.headline(found),
        "rows": [list(row) for row in inspected.rows(found)],
        "remarks": [*inspected.places(found), *inspected.doubts(found), *found.warnings],
        "advice": list(inspected.advice(found)),
    }


def surface(order: Mapping[str, Any], tell: Tell) -> dict[str, Any]:
    """How the film lies in the form's holder, from the two or three scans at ``order["scans"]``."""
    from holders.face.page.work.relief import measured_relief
    from holders.face.shared.surface import known_with
    from holders.measure.surface.measure import Known, measure_surface
    from holders.output.draw.surface import surface_sheet
    from holders.output.words import surfaced
    from holders.preset.load import parse
    from holders.study import study

    tell("designing the holder", 0.0)
    studied = study(parse(order["text"], "the form"), order["text"], extremes=False)
    try:
        found = measure_surface(
            *order["scans"], known=known_with(Known(), studied), dpi=order.get("dpi"), progress=tell
        )
    except InputError as error:
        raise InputError(
            error.field, "the scans", error.way_out
        ) from None  # our files' own names say nothing
    return {
        "surface": found.to_answer(),
        "picture": surface_sheet(found, embed=False).decode(),
        "rows": [list(row) for row in surfaced.rows(found)],
        "remarks": list(found.warnings),
        "film": measured_relief(studied, found),
    }


def make(order: Mapping[str, Any], tell: Tell) -> dict[str, Any]:
    """Make a holder's files from a preset's text and pack them; the same bytes as the command line writes."""
    from holders.output.bundle.produce import produce
    from holders.preset.load import parse
    from holders.study import study

    folder = Path(order["folder"])
    tell("designing and checking", 0.05)
    found = study(parse(order["text"], "the form"), order["text"])
    found = replace(found, preset_file=f"{found.design.slug}.toml")  # as the page would save it
    tell("drawing solids and writing files", 0.3)
    records = produce(found, folder / "files", order.get("anyway"))
    tell("packing", 0.9)
    packed = folder / "holder.zip"
    pack(packed, found.design.slug, [Path(record.path) for record in records])
    return {
        "slug": found.design.slug,
        "bytes": packed.stat().st_size,
        "files": [{"name": Path(r.path).name, "bytes": r.bytes, "sha256": r.sha256} for r in records],
    }


def ramp(order: Mapping[str, Any], tell: Tell) -> dict[str, Any]:
    """The focus ramp's files, packed, and its geometry as the page measures with it afterwards."""
    from holders.face.shared.ramp import RAMP_FOLDER, RampWish, ramp_bundle
    from holders.output.bundle.write import write_all

    folder = Path(order["folder"])
    geometry = RampWish(**order["wish"]).geometry()
    tell("drawing the ramp", 0.1)
    records = write_all(
        folder / "files",
        RAMP_FOLDER,
        ramp_bundle(geometry, order.get("sheet")),
        notes={"title": "focus ramp"},
    )
    tell("packing", 0.9)
    packed = folder / "holder.zip"
    pack(packed, RAMP_FOLDER, [Path(record.path) for record in records])
    return {
        "slug": RAMP_FOLDER,
        "bytes": packed.stat().st_size,
        "files": [{"name": Path(r.path).name, "bytes": r.bytes, "sha256": r.sha256} for r in records],
        "ramp": geometry.model_dump_json(),
    }


def pack(target: Path, folder: str, files: list[Path]) -> None:
    """A zip whose bytes depend on nothing but names and contents."""
    with zipfile.ZipFile(target, "w") as archive:
        for path in files:
            entry = zipfile.ZipInfo(f"{folder}/{path.name}", ZIP_TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            entry.create_system = 3
            archive.writestr(entry, path.read_bytes(), compresslevel=6)


ERRANDS: Mapping[str, Callable[[Mapping[str, Any], Tell], dict[str, Any]]] = {
    "measure": measure,
    "curl": curl,
    "inspect": inspect,
    "surface": surface,
    "make": make,
    "ramp": ramp,
}
