"""The height sum: foot protrusion + ledge + optics = sharp plane, in the steps that the route can make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from holders.core.errors import InputError
from holders.design.height.printed import least_height, printed_below, printed_height
from holders.design.height.sheets import Stack, chosen_stack, sheet_thicknesses
from holders.design.height.stacks import Target
from holders.design.height_sum import Heights
from holders.facts.models import Bed, Printer
from holders.film.optics import apparent_thickness_mm
from holders.preset.resolve import Job, PrintedHeights
from holders.preset.tables.plain import PlainPreset

LEAST_LAYERS = 3
EVEN = 1e-9
FOOT_RECESS_PRINTED_MM = 1.0


@dataclass(frozen=True, slots=True)
class Rise:
    """The heights of a design and the sheets below the ledge (empty when printed)."""

    heights: Heights
    stack: Stack | None


def optics_mm(job: Job) -> float:
    """What the film adds between the ledge and the plane the lens sees as the picture.

    Emulsion down it lies on the ledge: 0. Emulsion up it is seen through the base, t/n higher (paraxial reduction of
    a plane-parallel plate). A mount adds the height of its film plane.
    """
    return job.film.plane_offset_mm + image_rise_mm(job)


def image_rise_mm(job: Job) -> float:
    """How far the picture appears above the face that rests on the ledge, mm: the base's t/n, emulsion up.

    Film on glass of its own is seen through what lies below it: each layer's t/n, less what lies below the glass plate.
    """
    if job.on_glass is not None:
        return job.on_glass.rise_mm
    if job.preset.film.emulsion != "up":
        return 0.0
    return apparent_thickness_mm(job.through_base_mm, job.base.refractive_index)


def foot_recess(job: Job) -> float:
    """How deep each foot sits in the underside, mm (0 without feet)."""
    feet = job.preset.feet
    if feet is None:
        return 0.0
    if feet.recess_mm is None:
        if job.printer is None:
            return 0.0
        return printed_below(job.printer, min(FOOT_RECESS_PRINTED_MM, feet.thickness_mm / 2))
    if job.preset.route != "print" and feet.recess_mm > 0:
        raise InputError(
            "feet.recess_mm", feet.recess_mm, "only a printed holder has recesses; set 0 or leave it out"
        )
    if feet.recess_mm >= feet.thickness_mm:
        raise InputError(
            "feet.recess_mm",
            feet.recess_mm,
            f"the foot ({feet.thickness_mm} mm thick) would not touch the glass",
        )
    return float(feet.recess_mm)


def foot_protrusion(job: Job) -> float:
    """How far the holder's underside stands above the glass, mm."""
    return 0.0 if job.preset.feet is None else job.preset.feet.thickness_mm - foot_recess(job)


def least_ledge(job: Job) -> float:
    """The lowest ledge that the route can make, above the holder's underside, mm."""
    return (
        least_height(job.printer, LEAST_LAYERS)
        if job.printer is not None
        else min(sheet_thicknesses(job.material, job.preset))
    )


def print_offset_mm(printer: Printer | None, printed: PrintedHeights, drawn_mm: float) -> float:
    """How much higher than drawn a printed height comes out (negative: lower), as a test piece's stair found."""
    return 0.0 if printer is None else printed.offset_mm + printed.scale * drawn_mm


def ledge_target(
    job: Job, wanted_plane_mm: float | None = None, reach: tuple[float, float] = (0.0, 0.0)
) -> Target:
    """The ledge heights that put the whole picture in the focus band, feet and film optics taken off.

    ``reach`` is the least and greatest height of the film over its picture above the ledge, mm (0, 0: it lies flat).
    Where it is wider than the band, or the best height lies outside for another reason (rings, a preset that wants
    the focus height), the target is empty: then only the best height counts.
    """
    bed, other = job.bed, foot_protrusion(job) + optics_mm(job)
    best = (bed.focus_height_mm if wanted_plane_mm is None else wanted_plane_mm) - other
    low = bed.focus_height_mm - bed.focus_band_mm - other - reach[0]
    high = bed.focus_height_mm + bed.focus_band_mm - other - reach[1]
    if not low - EVEN <= best <= high + EVEN:
        low = high = best
    return Target(low, best, high, bed.focus_sigma_mm)


def rise(
    job: Job,
    wanted_plane_mm: float | None = None,
    reach: tuple[float, float] = (0.0, 0.0),
    printed_parts: int = 1,
    shared: Stack | None = None,
) -> Rise:
    """Choose the ledge so that the sharp plane comes nearest to ``wanted_plane_mm`` (default: the focus height).

    ``reach`` is that of :func:`ledge_target`; it counts where sheets are stacked. ``printed_parts`` is how many parts
    on one another make up the ledge of a printed holder: each begins with a first layer. ``shared`` are the sheets
    below the ledge where those are decided already.

    Raises
    ------
    InputError
        When the feet or the film's own thickness already stand higher than the wanted plane.
    """
    bed = job.bed
    wanted_plane = bed.focus_height_mm if wanted_plane_mm is None else wanted_plane_mm
    protrusion, optics = foot_protrusion(job), optics_mm(job)
    wanted = wanted_plane - protrusion - optics
    step, stack, offset, sigma = 0.0, None, 0.0, 0.0
    if job.printer is not None:
        step = job.printer.layer_mm
        wanted = (wanted - job.printed.offset_mm) / (1 + job.printed.scale)  # what to draw
        least = least_ledge(job)
        if wanted < least - EVEN:
            raise _too_low(job.preset, job.bed, wanted, least, protrusion, optics)
        ledge = printed_height(job.printer, wanted, printed_parts)
        offset, sigma = print_offset_mm(job.printer, job.printed, ledge), job.printed.sigma_at_mm(ledge)
    else:
        least = least_ledge(job)
        if wanted < least / 2:
            raise _too_low(job.preset, job.bed, wanted, least, protrusion, optics)
        stack = shared or chosen_stack(job.material, job.preset, ledge_target(job, wanted_plane_mm, reach))
        ledge = stack.total
    heights = Heights(
        foot_protrusion=protrusion,
        ledge_height=ledge,
        ledge_wanted=wanted,
        optics=optics,
        focus=bed.focus_height_mm,
        focus_sigma=bed.focus_sigma_mm,
        band_low=bed.focus_height_mm - bed.focus_band_mm,
        band_high=bed.focus_height_mm + bed.focus_band_mm,
        step=step,
        print_offset=offset,
        print_offset_sigma=sigma,
        glue=0.0 if stack is None else stack.glued,
        film_reach=reach,
    )
    return Rise(heights, stack)


def rises(
    job: Job,
    planes_mm: Sequence[float | None],
    reaches: Sequence[tuple[float, float]],
    printed_parts: int = 1,
) -> tuple[Rise, ...]:
    """The ledge of each kind of film in a holder: its own where it is printed, one for all where sheets are stacked.

    Parameters are those of :func:`rise`, one for each kind.
    """
    each = list(zip(job.each, planes_mm, reaches, strict=True))
    shared = None
    if job.printer is None and len(each) > 1:
        target = for_all([ledge_target(one, plane, span) for one, plane, span in each])
        shared = chosen_stack(job.material, job.preset, target)
    return tuple(rise(one, plane, span, printed_parts, shared) for one, plane, span in each)


def for_all(targets: Sequence[Target]) -> Target:
    """The ledge heights that suit every one of several kinds of film; the middle between them where none does."""
    low, high = max(one.low_mm for one in targets), min(one.high_mm for one in targets)
    best = [one.best_mm for one in targets]
    middle = (min(best) + max(best)) / 2
    if low > high:
        low = high = middle
    return Target(low, min(max(middle, low), high), high, targets[0].sigma_mm)


def _too_low(
    preset: PlainPreset, bed: Bed, wanted: float, least: float, protrusion: float, optics: float
) -> InputError:
    if preset.feet is not None and wanted + protrusion >= least:
        return InputError(
            "feet.thickness_mm",
            preset.feet.thickness_mm,
            f"feet stand {protrusion:.2f} mm out and leave {wanted:.2f} mm for the ledge, which needs {least:.2f} mm; "
            "take thinner feet or a deeper recess",
        )
    return InputError(
        "bed.focus_height_mm",
        bed.focus_height_mm,
        f"leaves {wanted:.2f} mm for the ledge after {optics:.2f} mm of film optics; "
        f"at least {least:.2f} mm can be made",
    )
