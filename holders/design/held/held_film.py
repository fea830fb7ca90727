"""The film as it is held in a design: sheet, support, picture, focus band and the gap it must keep, for the solver."""

from __future__ import annotations

from holders.design.fittings.cover import plate_weight_n
from holders.design.fittings.lid import lid_hold, lid_lips
from holders.design.model import Design, Edges, Rect, Role, Window
from holders.facts.models import Lamp
from holders.facts.tables import film_base, lamp
from holders.film.band import Band, Picture
from holders.film.hold import Hold
from holders.film.models import Kind, Lips, Sheet, Support
from holders.film.rings import Channel, ring_gap_mm
from holders.preset.resolve import Job

MOUNT_GRIP_MM = 2.0  # film that a slide mount covers beside the picture: common practice, no source
GLASS_INDEX = film_base("glass").refractive_index  # enters ring contrast only


def sheet_of(job: Job, window: Window) -> Sheet:
    """The film as the solver wants it; its usual curl runs across the film's short side.

    In a mount it is the film that the mount grips: the picture and a border that the mount covers.
    """
    base = job.base
    width, height = window.film.width, window.film.height
    if job.film.kind == "mount":
        width, height = (v + 2 * MOUNT_GRIP_MM for v in (window.picture.width, window.picture.height))
    curl = base.curl_per_m
    return Sheet(
        width_mm=width,
        height_mm=height,
        thickness_mm=base.thickness_mm,
        modulus_mpa=base.modulus_mpa,
        poisson=base.poisson,
        density_kg_m3=base.density_kg_m3,
        curl_x_per_m=0.0 if window.turned else curl,
        curl_y_per_m=curl if window.turned else 0.0,
        emulsion=job.preset.film.emulsion,
    )


def support_of(job: Job, made: Design) -> Support:
    """Ledge alone, ledge with lid or glass cover and what keeps those down, or the grip of a mount."""
    height = made.heights.ledge_above_glass
    if job.film.kind == "mount":
        grip = Lips.all_round(MOUNT_GRIP_MM)
        return Support(kind=Kind.GRIPPED, ledge_height_mm=height + job.film.plane_offset_mm, lips=grip)
    lips, hold = _lips(made.windows[0].lips), hold_of(job, made)
    if made.pane is not None:  # it lies on the film by its own weight
        return Support(kind=Kind.COVER, ledge_height_mm=height, lips=lips, hold=hold)
    if made.lid_play is None:
        return Support(kind=Kind.LEDGE, ledge_height_mm=height, lips=lips)
    return Support(
        kind=Kind.LID,
        ledge_height_mm=height,
        lips=lips,
        lid_lips=_lips(lid_lips(job, made.windows[0].lips)),
        lid_play_mm=made.lid_play,
        hold=hold,
    )


def hold_of(job: Job, made: Design) -> Hold | None:
    """What keeps one lid or glass cover of a design down; None without either.

    A cover's weight is that of its glass, and turn buttons stop it; a lid is weighed from its own geometry.
    """
    if made.pane is not None:
        most = round(lift_mm(made), 6) if made.pane.screws else None
        return Hold(weight_n=round(plate_weight_n(made.pane), 6), most_rise_mm=most)
    under = [part.z0 for part in made.parts if part.role is Role.LID]
    if not under:
        return None
    return lid_hold(job, made.parts, len(made.windows), min(under) - made.heights.drawn_ledge)


def lift_mm(made: Design) -> float:
    """How far a glass cover can rise until it meets its turn buttons, mm (0 without a cover)."""
    if made.pane is None:
        return 0.0
    return max(0.0, made.heights.ledge_above_glass + made.pocket_depth - made.pane.z1)


def _lips(e: Edges) -> Lips:
    return Lips(left_mm=e.left, right_mm=e.right, head_mm=e.head, foot_mm=e.foot)


def picture_of(job: Job, window: Window) -> Picture:
    """The part of the picture that shows through the window, from the film's left and head edge."""
    if job.film.kind == "mount":
        return Picture(MOUNT_GRIP_MM, MOUNT_GRIP_MM, window.picture.width, window.picture.height)
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
