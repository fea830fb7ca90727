"""The design made for the film's real surface: sag and curl move the ledge before it is built."""

from __future__ import annotations

from dataclasses import dataclass, replace

from holders.design.model import Design, Rect, Sag, Window
from holders.design.resolve import design
from holders.errors import InputError, NotConverged
from holders.facts.models import Lamp
from holders.facts.tables import lamp
from holders.film.band import Band, LedgeChoice, Picture, best_ledge_height, in_band_fraction, shifted
from holders.film.closed_forms import glass_sag_mm
from holders.film.models import Kind, Lips, Sheet, Support, Surface
from holders.film.rings import Channel, ring_gap_mm
from holders.film.surface import solve_surface
from holders.preset.resolve import Job

GLASS_INDEX = 1.52  # crown glass, from memory; enters ring contrast only


@dataclass(frozen=True, slots=True)
class Filmed:
    """What the film does on its ledge; ``surface`` is None for rigid film and mounts, with the reason in words."""

    sheet: Sheet | None
    support: Support | None
    picture: Picture | None
    band: Band
    least_gap_mm: float
    surface: Surface | None
    best: LedgeChoice | None
    sag: Sag | None
    flat_sag: Sag | None  # the same with the ledge at the focus height
    why_not: str = ""


def designed(job: Job) -> tuple[Design, Filmed]:
    """The design whose ledge puts most of the picture in focus (or stands at the focus height if the preset says so).

    A film surface that does not converge is reported in ``Filmed.why_not`` and the ledge stays at the focus height.

    Raises ``InputError`` as :func:`holders.design.resolve.design`.
    """
    first = design(job)
    try:
        filmed = film(job, first)
    except NotConverged as error:
        filmed = _without(job, f"{error}; the ledge stands at the focus height")
    if filmed.best is None or filmed.surface is None or filmed.support is None:
        return replace(first, sag=filmed.sag, no_sag_because=filmed.why_not), filmed
    flat = _sag(filmed, job, first)
    if job.preset.ledge == "focus":
        final = first
    else:
        final = design(job, filmed.best.ledge_height_mm + first.heights.optics)
    sag = replace(_sag(filmed, job, final), focus_fraction=flat.in_band_fraction)
    placed = _placed(filmed, final)
    return replace(final, sag=sag), replace(filmed, surface=placed, sag=sag, flat_sag=flat)


def film(job: Job, made: Design) -> Filmed:
    """The film's surface in this design and the best ledge for it.

    Raises ``NotConverged`` when no equilibrium was found.
    """
    if job.film.kind == "mount":
        return _without(job, "film in a mount is held by the mount; its own bulge is not computed")
    if job.base.rigid:
        return _glass(job)
    window = made.windows[0]
    sheet, support, picture = sheet_of(job, window), support_of(job, made), picture_of(window)
    gap = least_gap_mm(job)
    best = best_ledge_height(
        sheet,
        support,
        picture,
        band_of(job),
        refractive_index=job.base.refractive_index,
        min_gap_mm=gap,
        highest_mm=max(job.bed.lid_room_mm, made.heights.ledge_height + made.heights.foot_protrusion),
    )
    return Filmed(sheet, support, picture, band_of(job), gap, best.surface, best, None, None)


def sheet_of(job: Job, window: Window) -> Sheet:
    """The film as the solver wants it; its usual curl runs across the film's short side."""
    base, size = job.base, window.film
    curl = base.curl_per_m
    return Sheet(
        width_mm=size.width,
        height_mm=size.height,
        thickness_mm=base.thickness_mm,
        modulus_mpa=base.modulus_mpa,
        poisson=base.poisson,
        density_kg_m3=base.density_kg_m3,
        curl_x_per_m=0.0 if window.turned else curl,
        curl_y_per_m=curl if window.turned else 0.0,
        emulsion=job.preset.film.emulsion,
    )


def support_of(job: Job, made: Design) -> Support:
    """Ledge, or ledge and lid with its play."""
    lips = _lips(made.windows[0])
    height = made.heights.foot_protrusion + made.heights.ledge_height
    if made.lid_play is None:
        return Support(kind=Kind.LEDGE, ledge_height_mm=height, lips=lips)
    return Support(
        kind=Kind.LID,
        ledge_height_mm=height,
        lips=lips,
        lid_lips=_lid_lips(job, made),
        lid_play_mm=made.lid_play,
    )


def _lips(window: Window) -> Lips:
    e = window.lips
    return Lips(left_mm=e.left, right_mm=e.right, head_mm=e.head, foot_mm=e.foot)


def _lid_lips(job: Job, made: Design) -> Lips:
    from holders.design.lid import SET_BACK_MM  # noqa: PLC0415

    assert job.preset.lid is not None
    e, wish = made.windows[0].lips, job.preset.lid.lip_mm
    left, right, head, foot = (
        max(0.0, min(wish, v - SET_BACK_MM)) for v in (e.left, e.right, e.head, e.foot)
    )
    return Lips(left_mm=left, right_mm=right, head_mm=head, foot_mm=foot)


def picture_of(window: Window) -> Picture:
    """The part of the picture that shows through the window, from the film's left and head edge."""
    shown = _meet(window.picture, window.opening)
    return Picture(shown.x - window.film.x, window.film.top - shown.top, shown.width, shown.height)


def _meet(a: Rect, b: Rect) -> Rect:
    x, y = max(a.x, b.x), max(a.y, b.y)
    return Rect(x, y, min(a.right, b.right) - x, min(a.top, b.top) - y)


def band_of(job: Job) -> Band:
    """The focus band."""
    bed = job.bed
    return Band(bed.focus_height_mm - bed.focus_band_mm, bed.focus_height_mm + bed.focus_band_mm)


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
    rings = max(
        ring_gap_mm(channel, job.base.refractive_index, GLASS_INDEX, light.ring_contrast)
        for channel in channels_of(light)
    )
    return rings + light.keep_gap_mm


def _without(job: Job, why: str) -> Filmed:
    return Filmed(None, None, None, band_of(job), least_gap_mm(job), None, None, None, None, why)


def _glass(job: Job) -> Filmed:
    """A glass plate is stiff: its sag by linear theory, as a number."""
    base, size = job.base, job.film
    sag = glass_sag_mm(
        size.cut_width_mm,
        size.cut_height_mm,
        size.thickness_mm,
        modulus_mpa=base.modulus_mpa,
        poisson=base.poisson,
        density_kg_m3=base.density_kg_m3,
    )
    words = f"a glass plate sags {1000 * sag:.0f} micrometres by linear plate theory and counts as flat"
    return _without(job, words)


def _placed(filmed: Filmed, made: Design) -> Surface:
    """The surface at the ledge that is built."""
    assert filmed.surface is not None
    assert filmed.sheet is not None
    assert filmed.support is not None
    height = made.heights.foot_protrusion + made.heights.ledge_height
    try:
        return shifted(filmed.surface, height)
    except InputError:  # it meets the glass there, so its shape is another
        return solve_surface(filmed.sheet, filmed.support.model_copy(update={"ledge_height_mm": height}))


def _sag(filmed: Filmed, job: Job, made: Design) -> Sag:
    assert filmed.picture is not None
    surface = _placed(filmed, made)
    share = in_band_fraction(surface, filmed.picture, filmed.band, job.base.refractive_index)
    assert filmed.best is not None
    return Sag(
        surface.max_sag_mm,
        surface.mean_sag_mm,
        surface.min_gap_mm,
        share,
        least_gap_mm=filmed.least_gap_mm,
        best_fraction=filmed.best.in_band_fraction,
    )
