"""The machine-readable summary: the same keys for the command line, the job sheet and the page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from holders.core.findings import shown_chance
from holders.core.lengths import measure
from holders.design.height_sum import Heights
from holders.design.model import EDGES, Design, Part, Window
from holders.design.sag import Sag
from holders.facts import tables
from holders.facts.models import Bed
from holders.fittings.registry import FITTINGS
from holders.geometry.outline import bounds
from holders.output.crop_boxes import crop_summary, scan_setting
from holders.preset.tables.plain import PlainPreset
from holders.study import Study
from holders.verdict.model import Verdict
from holders.workshop.budget.contributors import sheets_below


def summary(found: Study, preset: str, files: Iterable[Any] = ()) -> dict[str, Any]:
    """Everything about one holder as plain JSON values; lengths in mm."""
    return {
        "preset": preset,
        "slug": found.design.slug,
        "ok": found.ok,
        "verdict": verdict_summary(found.verdict),
        "design": design_summary(found.design),
        "scan": crop_summary(found.design, scan_setting(found.job.preset)),
        "warmth": _warmth(found),
        "stock_sheets": _stock(found),
        "findings": [finding.model_dump() for finding in found.findings],
        "cautions": list(found.cautions),
        "files": [asdict(record) for record in files],
    }


def sharpest_words(heights: Heights) -> str:
    """Where the scanner that a holder is made for is sharpest, one sigma: "sharpest 3.1 ± 0.05 mm above its glass"."""
    return f"sharpest {measure(heights.focus)} ± {measure(heights.focus_sigma)} mm above its glass"


def of_row_words(preset: PlainPreset, bed: Bed, heights: Heights) -> str:
    """That a chance is for a flatbed as its row supposes it; "" where preset or bed record say where it is sharpest."""
    row, said = tables.bed(preset.bed.name), getattr(preset.bed, "focus_height_mm", None)
    there, known = (
        (row.focus_height_mm, row.focus_sigma_mm),
        (bed.focus_height_mm, bed.focus_sigma_mm),
    )
    if said is not None or there != known:
        return ""
    return (
        f"That is for a flatbed as its row in the list of beds supposes, {sharpest_words(heights)}; yours may differ: "
        "measure it."
    )


def _warmth(found: Study) -> dict[str, Any] | None:
    from holders.output.words.warmth import warm_summary  # noqa: PLC0415 - it builds on this module

    return warm_summary(found.job, found.design.sag)


def verdict_summary(verdict: Verdict) -> dict[str, Any]:
    """The judgement with the steps that were tried, the largest gain first."""
    return {
        "chance": shown_chance(verdict.chance),
        "text": verdict.text,
        "largest_doubt": verdict.largest_doubt,
        **(
            {"films": [{"film": one.film, "chance": shown_chance(one.chance)} for one in verdict.films]}
            if verdict.films
            else {}
        ),
        "next": [
            {
                "text": step.text,
                "chance": shown_chance(step.chance),
                "gain": round(step.gain, 4),
                "minutes": round(step.minutes, 1),
                "cost": None if step.cost is None else round(step.cost, 2),
                "hidden_mm2": round(step.hidden_mm2, 1),
                "keys": dict(step.keys),
                "preset": step.preset,
                **({"by_hand": True, "now": shown_chance(step.now or 0.0)} if step.by_hand else {}),
            }
            for step in verdict.next
        ],
    }


def _stock(found: Study) -> list[dict[str, Any]]:
    if not found.nested:
        return []
    from holders.output.words.stock import stock_summary  # noqa: PLC0415 - keeps the listing commands light

    return stock_summary(found.nested)


def design_summary(design: Design) -> dict[str, Any]:
    """The design's numbers."""
    heights = design.heights
    return {
        "ledge_height": rounded(heights.ledge_height),
        "ledge_as_made": rounded(heights.ledge_as_made),
        "ledge_above_glass": rounded(heights.ledge_above_glass),
        "ledge_sheets": [] if design.route == "print" else [rounded(t) for t in sheets_below(design)],
        "ledge_glue": rounded(heights.glue),
        "foot_protrusion": rounded(heights.foot_protrusion),
        "film_optics": rounded(heights.optics),
        "sharp_plane_height": rounded(heights.sharp_plane),
        "focus_height": rounded(heights.focus),
        "focus_sigma": rounded(heights.focus_sigma),
        "focus_band": [rounded(heights.band_low), rounded(heights.band_high)],
        "windows": [
            _window(window) | ({} if not design.kinds else _own_heights(design.of(window.kind)))
            for window in design.windows
        ],
        "outer": [rounded(design.outer.width), rounded(design.outer.height)],
        "parts": [_part(part) for part in design.parts],
        "sag": _sag(design.sag),
        "seen": [rounded(window.seen) for window in design.windows],
        "total_height": rounded(design.total_height),
        "feet": [[rounded(foot.x), rounded(foot.y)] for foot in design.feet],
        **{name: None for kind in FITTINGS for name in kind.records},
        **{name: value for made in design.fitted for name, value in made.record(design).items()},
        "notes": list(design.notes),
    }


def _sag(sag: Sag | None) -> dict[str, float] | None:
    if sag is None:
        return None
    return {
        "max": rounded(sag.max_mm),
        "mean": rounded(sag.mean_mm),
        "min_gap": rounded(sag.min_gap_mm),
        "in_band_fraction": rounded(sag.in_band_fraction),
    }


def _own_heights(design: Design) -> dict[str, Any]:
    """What a window has of its own in a holder for several kinds of film: the heights of its kind, and its sag."""
    return {
        "ledge_height": rounded(design.heights.ledge_height),
        "sharp_plane_height": rounded(design.heights.sharp_plane),
        "sag": _sag(design.sag),
    }


def _window(window: Window) -> dict[str, Any]:
    return {
        "x": rounded(window.opening.x),
        "y": rounded(window.opening.y),
        "width": rounded(window.opening.width),
        "height": rounded(window.opening.height),
        "film": window.film_key,
        "edges": {edge: rounded(window.lips.of(edge)) for edge in EDGES},
        "turned": window.turned,
        "dimmed": {edge: round(window.dimmed.of(edge), 4) for edge in EDGES},
    }


def _part(part: Part) -> dict[str, Any]:
    from holders.design.parts.volume import part_volume  # noqa: PLC0415 - keeps the listing commands light

    x0, y0, x1, y1 = bounds(part.slabs[0].region.outer)
    return {
        "name": part.name,
        "title": part.title,
        "process": part.process,
        "material": part.material,
        "quantity": part.quantity,
        "size": [rounded(x1 - x0), rounded(y1 - y0), rounded(part.z1 - part.z0)],
        "volume_mm3": round(part_volume(part), 2),
    }


def rounded(value: float) -> float:
    """To a tenth of a micrometre: far below anything made, and free of binary dust."""
    return round(value, 4) + 0.0
