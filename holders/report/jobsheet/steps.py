"""How to make it: steps by route, in the order one does them."""

from __future__ import annotations

from holders.design.model import Design
from holders.preset.resolve import Job
from holders.report.draw.canvas import measure
from holders.report.jobsheet.blocks import Items, Section


def section(job: Job, design: Design) -> Section:
    """The section with the steps."""
    makers = {"print": _print, "laser": _laser, "knife": _knife}
    steps = [*makers[design.route](job, design), *_feet(design), *_magnets(design), *_proof(design)]
    return Section("making", f"Making it: route {design.route}", (Items(tuple(steps), numbered=True),))


def _print(job: Job, _: Design) -> list[str]:
    assert job.printer is not None
    return [
        f"Open the 3MF file of each part (it carries its units; an STL file must be read as millimetres). "
        f"Filament: {job.material.name}.",
        f"Layer height {measure(job.printer.layer_mm)} mm, nozzle {measure(job.printer.nozzle_mm)} mm: the ledge was "
        "rounded to whole layers, so another layer height changes it. No scaling, no supports.",
        "Print flat, the side that lies toward the glass on the plate. Keep the first layer from spreading "
        "outward; its rim would narrow the window and make the holder rock.",
        "Let the plate cool before you take the part off, so that it stays flat. Remove strings and sharp edges, most "
        "of all along the ledge and the underside.",
    ]


def _laser(job: Job, design: Design) -> list[str]:
    return [
        f"Measure the thickness of each sheet of {job.material.name} with a caliper at several places. If it differs "
        "from the list, put what you measured into the preset and make the files again: the ledge height is made of "
        "these sheets.",
        f"Cut a small test square first. The lines already allow for a kerf of {measure(job.material.kerf_mm)} mm; "
        "if the square is off, correct the kerf in the preset, not at the machine.",
        "Read the DXF files as millimetres, scale 1. Engrave lettering first, then cut inner lines, then outer ones.",
        *_glue(design),
    ]


def _knife(job: Job, design: Design) -> list[str]:
    return [
        "Print the template PDF at 100 % (no fit to page) and check the proof bar with a ruler. Trim and join pages on "
        "the register crosses.",
        f"Measure the thickness of the {job.material.name}; if it differs from the list, change the preset and print "
        "the template again.",
        "Fix the template with removable tape. Cut windows first, outer edges last: several light passes along a "
        "steel straightedge, from each corner to the middle.",
        *_glue(design),
    ]


def _glue(design: Design) -> list[str]:
    frame = [part for part in design.parts if not part.name.startswith("lid")]
    if len(frame) < 2:
        return ["Remove dust and burrs from every edge."]
    order = ", then ".join(part.title for part in frame)
    return [
        f"Stack dry in this order from the glass up: {order}. Look that the cut-off corners lie above one another.",
        "Glue layer by layer, thin and even, away from the window edge; square the stack, weigh it down flat on glass "
        "with baking paper between, and let it set fully.",
    ]


def _feet(design: Design) -> list[str]:
    if not design.feet:
        return []
    where = "into the recesses on" if design.foot_recess > 0 else "onto the marked places on"
    out = measure(design.foot_thickness - design.foot_recess)
    return [
        f"Stick {len(design.feet)} feet {where} the underside (degrease first, press, wait a day). "
        f"Each must stand out {out} mm; measure with a caliper."
    ]


def _magnets(design: Design) -> list[str]:
    if not any(cut.name == "magnet" for part in design.parts for cut in part.cuts):
        return []
    return [
        "Glue the magnets in flush or deeper. Mark the poles with a pen before: each pair must attract. "
        "Glue the frame's, let "
        "them set, then place the lid's on them to find the side."
    ]


def _proof(design: Design) -> list[str]:
    ledge = design.heights.foot_protrusion + design.heights.ledge_height
    return [
        f"Proof: lay it on a flat glass. It must not rock. The ledge must lie {measure(ledge)} mm above the glass at "
        "all four sides; write what you measure on this sheet: ______  ______  ______  ______",
    ]
