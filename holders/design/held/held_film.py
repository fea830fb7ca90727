"""The film as it is held in a design: sheet, support, picture, focus band and the gap it must keep, for the solver."""

from __future__ import annotations

from holders.design.model import Design, Edges, Rect, Window
from holders.facts.models import Bed, FilmBase, FilmFormat, Lamp
from holders.facts.numbers import numbers
from holders.facts.tables import film_base, lamp
from holders.film.band import Band, Picture
from holders.film.models import Kind, Lips, Sheet, Support
from holders.film.rings import Channel, ring_gap_mm
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset

MOUNT_GRIP_MM = 2.0  # film that a slide mount covers beside the picture: common practice, no source
GLASS_INDEX = film_base("glass").refractive_index  # enters ring contrast only


def sheet_of(job: Job, window: Window) -> Sheet:
    """The film as the solver wants it: its usual curl across the film's short side, and what the preset has along it.

    In a mount it is the film that the mount grips: the picture and a border that the mount covers.
    """
    base = job.base
    width, height = window.film.width, window.film.height
    if job.film.kind == "mount":
        width, height = (v + 2 * MOUNT_GRIP_MM for v in (window.picture.width, window.picture.height))
    across, along = base.curl_per_m, job.preset.film.curl_along_per_m
    curl_x, curl_y = (along, across) if window.turned else (across, along)
    return Sheet(
        width_mm=width,
        height_mm=height,
        thickness_mm=base.thickness_mm,
        modulus_mpa=base.modulus_mpa,
        poisson=base.poisson,
        density_kg_m3=base.density_kg_m3,
        curl_x_per_m=curl_x,
        curl_y_per_m=curl_y,
        emulsion=job.preset.film.emulsion,
    )


def support_of(job: Job, made: Design) -> Support:
    """The grip of a mount; what a fitting makes of it, with what keeps that down; or a bare ledge."""
    height = made.heights.ledge_above_glass
    if job.film.kind == "mount":
        grip = Lips.all_round(MOUNT_GRIP_MM)
        return Support(kind=Kind.GRIPPED, ledge_height_mm=height + job.film.plane_offset_mm, lips=grip)
    for fitted in made.fitted:
        support = fitted.support(job, made)
        if support is not None:
            return support
    return Support(kind=Kind.LEDGE, ledge_height_mm=height, lips=lips_of(made.mine[0].lips))


def lips_of(edges: Edges) -> Lips:
    """Lengths on the four edges as the solver takes them."""
    return Lips(left_mm=edges.left, right_mm=edges.right, head_mm=edges.head, foot_mm=edges.foot)


def picture_of(film: FilmFormat, window: Window) -> Picture:
    """The part of the picture that shows through the window, from the film's left and head edge."""
    if film.kind == "mount":
        return Picture(MOUNT_GRIP_MM, MOUNT_GRIP_MM, window.picture.width, window.picture.height)
    shown = _meet(window.picture, window.opening)
    return Picture(shown.x - window.film.x, window.film.top - shown.top, shown.width, shown.height)


def _meet(a: Rect, b: Rect) -> Rect:
    x, y = max(a.x, b.x), max(a.y, b.y)
    return Rect(x, y, min(a.right, b.right) - x, min(a.top, b.top) - y)


def band_of(bed: Bed) -> Band:
    """The focus band."""
    return Band(bed.focus_height_mm - bed.focus_band_mm, bed.focus_height_mm + bed.focus_band_mm)


def facing_index(base: FilmBase, preset: PlainPreset, *, up: bool = False) -> float:
    """Refractive index of the film's face toward the glass (``up``: of the other one): gelatin or bare base."""
    gelatin = numbers("gelatin")["emulsion-index"].value
    emulsion = (preset.film.emulsion == "down") != up
    if emulsion or (base.back_coat == "yes" and not base.rigid):
        return gelatin
    # a back that may be bare is taken as whatever reflects more
    index = base.refractive_index
    return index if base.back_coat == "no" or base.rigid else max(index, gelatin)


def channels_of(light: Lamp) -> tuple[Channel, ...]:
    """The lamp's colour channels."""
    return tuple(
        Channel(name, wave, width)
        for name, wave, width in zip(
            ("red", "green", "blue"), light.wavelength_nm, light.width_nm, strict=True
        )
    )


def least_gap_mm(job: Job) -> float:
    """The least gap that film must keep from the glass: what rings ask for and some room for dust and doubt."""
    light = lamp(job.bed.lamp)
    index = facing_index(job.base, job.preset) if job.on_glass is None else job.on_glass.facing_index
    rings = max(
        ring_gap_mm(channel, index, GLASS_INDEX, light.ring_contrast) for channel in channels_of(light)
    )
    return rings + light.keep_gap_mm
