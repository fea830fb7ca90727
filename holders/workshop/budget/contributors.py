"""What moves the picture of one holder against the focus band, read from its job and design."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from holders.core.errors import InputError
from holders.design.height.stacks import stock_tolerance
from holders.design.model import HEIGHT_CELLS, Design
from holders.facts.damp import HUMIDITY_SWING, swelling_mm
from holders.facts.habits import habit, told
from holders.facts.models import Material
from holders.facts.sources import said
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset
from holders.workshop.budget.tolerance import (
    SAMPLES,
    SEED,
    Cause,
    Contributor,
    StackUp,
    stack_up,
    standard_deviation,
)

if TYPE_CHECKING:
    from holders.facts.models import FilmFormat, Printer
    from holders.workshop.budget.framed import Framed

EVEN_MM = 1e-6


def contributors(
    job: Job, design: Design, surface_range: tuple[float, float] | None = None
) -> tuple[Contributor, ...]:
    """Every contributor to the height of the picture against best focus.

    ``surface_range`` is the film surface's least and greatest height over the picture relative to its ledge (mm,
    downward negative; left out, what the design says of it). The shifts add up to the design's sharp plane less the
    focus height, plus the middle of the surface range. Layers cut from one thickness count as one sheet, so their
    errors add.

    Raises ``InputError`` when the surface range is upside down.
    """
    heights = design.heights
    rounding, aimed = heights.rounding, heights.aimed_off
    found = [
        Contributor(
            "focus height",
            2 * heights.focus_sigma,
            law="normal",
            source="the bed's measured uncertainty",
            cause=Cause.FOCUS,
        ),
        Contributor(
            "rounding to layers" if job.printer is not None else "rounding to sheets",
            0.0,
            rounding,
            source="ledge as built less ledge as wanted; known, so a shift",
            cause=Cause.LAYERS if job.printer is not None else Cause.SHEETS,
        ),
    ]
    reach = surface_range or (None if design.sag is None else design.sag.reach_mm)
    if reach is None and abs(aimed) > 1e-9:
        found.append(
            Contributor(
                "aimed off focus", 0.0, aimed, source="chosen, to meet a sagging film", cause=Cause.AIM
            )
        )
    found += (
        _printed(job.printer, design)
        if job.printer is not None
        else _stacked(job.material, job.preset, design)
    )
    if job.preset.feet is not None:
        found.append(Contributor("feet", habit("foot-spread"), source=told("foot-spread"), cause=Cause.FEET))
    found += [*_film(job), *_mounted(job.film)]
    if reach is not None:
        low, high = reach
        if low > high:
            raise InputError("surface_range", reach, "give the lower end first")
        found.append(
            Contributor(
                "sag of the film",
                (high - low) / 2,
                (high + low) / 2 + aimed,  # the ledge is aimed off focus to meet just this
                source="film surface over the picture; its middle less what the ledge was aimed off focus for it",
                over_picture=True,
                cause=Cause.FILM,
            )
        )
    return tuple(found)


def fixed_contributors(job: Job, design: Design) -> tuple[Contributor, ...]:
    """What moves the whole plane of the picture, and not one place of it against another."""
    parts = contributors(job, design)
    return tuple(part for part in parts if not part.over_picture and part.cause is not Cause.AIM)


def frame_contributors(job: Job, design: Design) -> tuple[Contributor, ...]:
    """What the frame itself does under the picture: it hangs between its feet, and warmth lifts it, mm."""
    from holders.workshop.budget.framed import framed  # noqa: PLC0415 - shapely

    return contributors_of(framed(job, design, HEIGHT_CELLS))


def contributors_of(under: Framed | None) -> tuple[Contributor, ...]:
    """The same from a frame that is worked out already."""
    found: list[Contributor] = []
    if under is None:
        return ()
    low, high = under.range_mm
    if max(abs(low), abs(high)) > EVEN_MM:
        found.append(
            Contributor(
                "frame's own sag",
                (high - low) / 2,
                -(high + low) / 2,
                source="from the picture's corners to where it hangs deepest",
                over_picture=True,
                cause=Cause.FRAME_SAG,
            )
        )
    lift = under.lift_mm
    if lift > EVEN_MM:
        found.append(
            Contributor("frame's warm bow", lift / 2, lift / 2, source="cold to warm", cause=Cause.FRAME_BOW)
        )
    return tuple(found)


def plane_sigma_mm(job: Job, design: Design) -> float:
    """How uncertain the plane of a flat film is against best focus, as a standard deviation (mm)."""
    return standard_deviation([part for part in contributors(job, design) if not part.over_picture])


def sharpness(
    job: Job,
    design: Design,
    surface_range: tuple[float, float] | None = None,
    samples: int = SAMPLES,
    seed: int = SEED,
    *,
    under: Framed | None = None,
) -> StackUp:
    """The stack-up of one holder against its bed's focus band; with ``under``, its frame's sag and bow counted too."""
    h = design.heights
    parts = contributors(job, design, surface_range) + contributors_of(under)
    return stack_up(parts, h.band_low - h.focus, h.band_high - h.focus, samples, seed)


def _printed(printer: Printer | None, design: Design) -> list[Contributor]:
    """A printed height, and those that a fitting lays below it."""
    assert printer is not None
    limit = printer.z_tolerance_mm
    source = f"{printer.name}: {said(printer.source_of('z_tolerance_mm'))}"
    names = ["printer's height", *(name for made in design.fitted for name in made.printed_heights())]
    found = [Contributor(name, limit, source=source, cause=Cause.PRINT) for name in names]
    sigma = design.heights.print_offset_sigma
    if sigma > 0:
        words = "the readings of the test piece's stair, at the ledge's height"
        found.append(
            Contributor("test piece's stair", 2 * sigma, law="normal", source=words, cause=Cause.STAIR)
        )
    return found


def sheets_below(design: Design) -> tuple[float, ...]:
    """Thicknesses of the sheets under the film, from the glass up (mm)."""
    ledge = design.heights.drawn_ledge
    slabs = sorted((s for part in design.parts if part.in_frame for s in part.slabs), key=lambda s: s.z0)
    return tuple(s.z1 - s.z0 for s in slabs if s.z1 <= ledge + 1e-6)


def _stacked(material: Material, preset: PlainPreset, design: Design) -> list[Contributor]:
    sheets = sheets_below(design)
    measured = bool(preset.material.sheets_mm)
    found = []
    for thickness, count in sorted(Counter(round(t, 4) for t in sheets).items()):
        limit = habit("caliper") if measured else stock_tolerance(material, thickness)
        many = f", {count} layers" if count > 1 else ""
        found.append(
            Contributor(
                f"sheet of {thickness:g} mm{many}",
                limit,
                law="normal" if measured else "even",
                times=float(count),
                source=told("caliper") if measured else f"stock tolerance: {material.name}",
                cause=Cause.SHEET,
            )
        )
    glue = material.glue_spread_mm
    joints = range(1, len(sheets))  # the design counts the lines themselves
    found += [
        Contributor(f"glue line {n}", glue, source=f"glue line: {material.name}", cause=Cause.GLUE)
        for n in joints
    ]
    damp = swelling_mm(material, sum(sheets))
    if damp > 0:
        source = f"{HUMIDITY_SWING:g} % humidity more or less; {said(material.source_of('thickness_swelling_per_rh'))}"
        found.append(Contributor("sheets that swell in damp air", damp, source=source, cause=Cause.DAMP))
    return found


def mount_off_mm(film: FilmFormat) -> float:
    """How far higher or lower than told film may lie in its mount, mm: measured on one of them, or by nobody."""
    return habit("mount-alike") if mount_measured(film) else habit("mount-off") * film.thickness_mm


def mount_measured(film: FilmFormat) -> bool:
    """Whether the preset says how high film lies in its mount."""
    return any(one.value == "plane_offset_mm" and one.status == "measured" for one in film.sources)


def _mounted(film: FilmFormat) -> list[Contributor]:
    """Where in its mount the film lies."""
    if film.kind != "mount":
        return []
    source = told("mount-alike" if mount_measured(film) else "mount-off")
    return [Contributor("film in its mount", mount_off_mm(film), source=source, cause=Cause.MOUNT)]


def _film(job: Job) -> list[Contributor]:
    """The film's own thickness counts only where the picture is seen through it; so does that of other layers."""
    if job.on_glass is not None:
        return [
            Contributor(layer.name, abs(layer.lift) * layer.off_mm, source=layer.source, cause=Cause.LAYER)
            for layer in job.on_glass.layers
            if layer.off_mm > 0
        ]
    if job.preset.film.emulsion != "up":
        return []
    base, n = job.base, job.base.refractive_index
    return [
        Contributor(
            "film thickness",
            (base.thickness_high_mm - base.thickness_low_mm) / 2 / n,
            ((base.thickness_high_mm + base.thickness_low_mm) / 2 - base.thickness_mm) / n,
            source=f"range of {base.name}, over its refractive index",
            cause=Cause.BASE,
        )
    ]
