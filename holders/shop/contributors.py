"""What moves the picture of one holder against the focus band, read from its job and design."""

from __future__ import annotations

from collections import Counter

from holders.design.model import Design
from holders.errors import InputError
from holders.preset.resolve import Job
from holders.shop.habits import habit, told
from holders.shop.stock import stock_tolerance
from holders.shop.tolerance import SAMPLES, SEED, Contributor, StackUp, stack_up


def contributors(
    job: Job, design: Design, surface_range: tuple[float, float] | None = None
) -> tuple[Contributor, ...]:
    """Every contributor to the height of the picture against best focus.

    ``surface_range`` is the film surface's least and greatest height over the picture relative to its ledge (mm,
    downward negative). The shifts add up to the design's sharp plane less the focus height, plus glue and the
    middle of the surface range. Layers cut from one thickness count as one sheet, so their errors add.

    Raises ``InputError`` when the surface range is upside down.
    """
    heights = design.heights
    rounding = heights.ledge_height - heights.ledge_wanted
    aimed = heights.sharp_plane - heights.focus - rounding
    found = [
        Contributor(
            "focus height", 2 * heights.focus_sigma, law="normal", source="the bed's measured uncertainty"
        ),
        Contributor(
            "rounding to layers" if job.printer is not None else "rounding to sheets",
            0.0,
            rounding,
            source="ledge as built less ledge as wanted; known, so a shift",
        ),
    ]
    if abs(aimed) > 1e-9:
        found.append(Contributor("aimed off focus", 0.0, aimed, source="chosen, to meet a sagging film"))
    found += _printed(job) if job.printer is not None else _stacked(job, design)
    if job.preset.feet is not None:
        found.append(Contributor("feet", habit("foot-spread"), source=told("foot-spread")))
    found += _film(job)
    if surface_range is not None:
        low, high = surface_range
        if low > high:
            raise InputError("surface_range", surface_range, "give the lower end first")
        found.append(
            Contributor(
                "sag of the film",
                (high - low) / 2,
                (high + low) / 2,
                source="film surface over the picture",
                over_picture=True,
            )
        )
    return tuple(found)


def sharpness(
    job: Job,
    design: Design,
    surface_range: tuple[float, float] | None = None,
    samples: int = SAMPLES,
    seed: int = SEED,
) -> StackUp:
    """The stack-up of one holder against its bed's focus band."""
    h = design.heights
    parts = contributors(job, design, surface_range)
    return stack_up(parts, h.band_low - h.focus, h.band_high - h.focus, samples, seed)


def _printed(job: Job) -> list[Contributor]:
    assert job.printer is not None
    return [
        Contributor(
            "printer's height", job.printer.z_tolerance_mm, source=f"{job.printer.name}: {job.printer.source}"
        )
    ]


def sheets_below(design: Design) -> tuple[float, ...]:
    """Thicknesses of the sheets under the film, from the glass up (mm)."""
    ledge = design.heights.foot_protrusion + design.heights.ledge_height
    slabs = sorted((s for part in design.parts for s in part.slabs), key=lambda s: s.z0)
    return tuple(s.z1 - s.z0 for s in slabs if s.z1 <= ledge + 1e-6)


def _stacked(job: Job, design: Design) -> list[Contributor]:
    sheets = sheets_below(design)
    measured = bool(job.preset.material.sheets_mm)
    found = []
    for thickness, count in sorted(Counter(round(t, 4) for t in sheets).items()):
        limit = habit("caliper") if measured else stock_tolerance(job.material, thickness)
        many = f", {count} layers" if count > 1 else ""
        found.append(
            Contributor(
                f"sheet of {thickness:g} mm{many}",
                limit,
                law="normal" if measured else "even",
                times=float(count),
                source=told("caliper") if measured else f"stock tolerance: {job.material.name}",
            )
        )
    joints = len(sheets) - 1
    for number in range(1, joints + 1):
        found.append(
            Contributor(
                f"glue line {number}", habit("glue-spread"), habit("glue-line"), source=told("glue-line")
            )
        )
    return found


def _film(job: Job) -> list[Contributor]:
    """The film's own thickness counts only where the picture is seen through it."""
    if job.preset.film.emulsion != "up":
        return []
    base, n = job.base, job.base.refractive_index
    return [
        Contributor(
            "film thickness",
            (base.thickness_high_mm - base.thickness_low_mm) / 2 / n,
            ((base.thickness_high_mm + base.thickness_low_mm) / 2 - base.thickness_mm) / n,
            source=f"range of {base.name}, over its refractive index",
        )
    ]
