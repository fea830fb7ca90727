"""The numbers with how far to trust them."""

from __future__ import annotations

from holders.core.lengths import measure
from holders.design.height_sum import Heights
from holders.design.held.film_ranges import range_study, ring_words
from holders.design.held.model import Filmed
from holders.design.model import EDGES, Design
from holders.facts.height_names import (
    BAND,
    FEET,
    LEDGE,
    LEDGE_ABOVE_GLASS,
    LEDGE_DRAWN,
    PLANE,
    SHARPEST,
    WHOLE,
)
from holders.facts.models import FilmBase, FilmFormat, Material, Printer
from holders.facts.rise_names import cold_rise
from holders.film.ranges import Study
from holders.output.sheet.blocks import Block, Section, Table, Words
from holders.output.words.warmth import warm_rows
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset
from holders.workshop.budget.contributors import mount_off_mm, sheets_below
from holders.workshop.budget.share import sharp_share

LEAST_SHARE, LEAST_SHIFT_MM = 0.01, 0.01  # causes below both are only named


def section(job: Job, design: Design, film: Filmed) -> Section:
    """The section with the numbers: of several kinds of film all of the one that does worst, and what the others have
    of their own.
    """
    blocks: list[Block] = []
    for one in job.each:
        if job.kinds:
            blocks.append(Words(f"{one.film_called[:1].upper()}{one.film_called[1:]}:"))
        mine, own = design.of(one.kind), film.of(one.kind)
        blocks += _of_film(one, mine, own) if one.kind == job.kind else _briefly(one, mine, own)
    return Section("numbers", "The numbers, and how far to trust them", tuple(blocks))


def _briefly(job: Job, design: Design, film: Filmed) -> list[Block]:
    """The ledge and the surface of the film that is looked at."""
    rows = _heights(job, design).rows
    own = tuple(row for row in rows if row[0] in (LEDGE_ABOVE_GLASS, PLANE))
    return [Table("Heights above the glass", ("what", "value", "remark"), own),
            _film(job.base, job.preset, design, film)]  # fmt: skip


def _of_film(job: Job, design: Design, film: Filmed) -> list[Block]:
    """The numbers of the film that is looked at."""
    blocks: list[Block] = [_heights(job, design), _film(job.base, job.preset, design, film)]
    if design.sag is not None and job.film.kind != "mount":
        blocks.append(Words(_rings(job, design, film)))
    blocks += [Words(_dimmed(design)), *_warm(job, design)]
    blocks += _stack(job, design)
    return blocks


def _rings(job: Job, design: Design, film: Filmed) -> str:
    """Newton's rings at every face of glass that film comes near or touches."""
    what = "" if job.on_glass is None else ", which the film's own glass keeps it from"
    each = [f"at the scanner's glass{what} {ring_words(job, film)}"]
    for made in design.fitted:
        each += made.rings(job)
    return f"Newton's rings: {'; '.join(each)}."


def _dimmed(design: Design) -> str:
    """How much of the lamp's light is kept off by what stands over the film, at the outermost of the picture."""
    most = {edge: max(window.dimmed.of(edge) for window in design.mine) for edge in EDGES}
    edges = ", ".join(f"{edge} {100 * share:.0f} %" for edge, share in most.items())
    return (
        "What stands over the film keeps so much of a wide diffuse lamp's light from the outermost of the picture, at "
        f"most: {edges}. Film that scatters (silver) loses up to that there, less with every millimetre farther in; "
        "dye pictures hardly any. A scan of an evenly dense sheet shows it."
    )


def _drawn(h: Heights) -> str:
    """What was wanted of the ledge, and what is drawn where the printer makes another height of it."""
    wanted = f"wanted {measure(h.ledge_wanted, 3)} mm before rounding"
    if abs(h.print_offset) < 0.005:
        return wanted
    return f"{LEDGE_DRAWN} {measure(h.ledge_height)} mm, as your test piece came out {h.print_offset:+.2f} mm; {wanted}"


def _heights(job: Job, design: Design) -> Table:
    h = design.heights
    rows = [
        (
            LEDGE,
            f"{measure(h.ledge_as_made)} mm",
            _drawn(h),
        ),
        *_sheets(job.material, job.printer, design),
        (FEET, f"{measure(h.foot_protrusion)} mm", ""),
        (
            LEDGE_ABOVE_GLASS,
            f"{measure(h.ledge_above_glass)} mm",
            "measure this on the finished holder",
        ),
        *_in_mount(job.film),
        (
            PLANE,
            f"{measure(h.sharp_plane)} mm",
            f"emulsion {job.preset.film.emulsion}"
            + ("" if job.on_glass is None else f"; {h.optics:+.2f} mm to the ledge"),
        ),
        (
            SHARPEST,
            f"{measure(h.focus)} ± {measure(h.focus_sigma)} mm",
            "one standard deviation",
        ),
        (BAND, f"{measure(h.band_low)} to {measure(h.band_high)} mm", "the focus band"),
        (
            WHOLE,
            f"{measure(design.total_height)} mm",
            f"room under the lid {measure(job.bed.lid_room_mm)} mm",
        ),
    ]
    return Table("Heights above the glass unless said", ("what", "value", "remark"), tuple(rows))


def _in_mount(film: FilmFormat) -> list[tuple[str, str, str]]:
    """How high film lies in its mount, and what of the mount is above it."""
    if film.kind != "mount":
        return []
    above = film.thickness_mm - film.plane_offset_mm
    return [
        (
            "film above the mount's lower face",
            f"{measure(film.plane_offset_mm)} ± {measure(mount_off_mm(film))} mm",
            f"of a mount {measure(film.thickness_mm)} mm thick; {measure(above)} mm of it above the film",
        )
    ]


def _sheets(material: Material, printer: Printer | None, design: Design) -> list[tuple[str, str, str]]:
    """What the ledge of a cut holder is made of: its sheets and the glue between them."""
    if printer is not None:
        return []
    pile = sheets_below(design)
    rows = [("sheets below the ledge, from the glass up", " + ".join(f"{t:g}" for t in pile) + " mm", "")]
    if len(pile) > 1:
        m = material
        joints = "the one joint" if len(pile) == 2 else f"each of {len(pile) - 1} joints"
        each = (
            f"{measure(m.glue_line_mm)} mm, at most {measure(m.glue_spread_mm)} mm more or less, at {joints}"
        )
        rows.append(
            ("glue in the ledge", f"{measure(design.heights.glue)} mm", f"{each}; measure a glued pair")
        )
    return rows


def _film(base: FilmBase, preset: PlainPreset, design: Design, film: Filmed) -> Block:
    sag = design.sag
    if sag is None:
        return Words(
            f"The film surface is not known: {design.no_sag_because or film.why_not or 'it was not asked for'}."
        )
    spread = range_study(base, preset, film)

    def span(name: str, scale: float = 1.0, decimals: int = 2) -> str:
        if spread is None:
            return "not computed for this film"
        found = getattr(spread, name)
        return f"{found.low * scale:.{decimals}f} to {found.high * scale:.{decimals}f}"

    rows = (
        ("lowest point below the ledge, mm", f"{sag.max_mm:.2f}", span("max_sag_mm")),
        (
            "share of the picture in the focus band, %",
            f"{100 * sag.in_band_fraction:.1f}",
            span("in_band_fraction", 100, 1),
        ),
        (
            f"least gap to the glass, mm (at least {measure(sag.least_gap_mm)})",
            f"{sag.min_gap_mm:.2f}",
            span("min_gap_mm"),
        ),
        *_lid(design, spread),
    )
    return Table(
        "The film surface, cold; the range covers the sensible spread of thickness, stiffness and curl of the base",
        ("what", "usual film", "range"),
        rows,
    )


def _warm(job: Job, design: Design) -> list[Block]:
    """The film in the room and on the warm bed."""
    rows = [] if design.sag is None else warm_rows(job, design)
    if not rows:
        return []
    return [
        Table(
            "The film cold and warm: the warm bed's air is drier, and film curls as it dries",
            ("", ""),
            tuple(rows),
        )
    ]


def _lid(design: Design, spread: Study | None) -> tuple[tuple[str, str, str], ...]:
    """What the film asks of its lid or cover, and how far that rises."""
    rest = None if design.sag is None else design.sag.lid
    if rest is None:
        return ()
    name = design.on_film.on_film
    rises = None if spread is None else spread.lid_rise_mm
    span = "" if rises is None else f"{rises.low:.2f} to {rises.high:.2f}"
    return (
        (
            f"force that keeps the {name} on the film, N (it presses with {rest.held_n:.2f})",
            f"{rest.needed_n:.2f}",
            "",
        ),
        (f"{cold_rise(name)}, mm", f"{rest.rise_mm:.2f}", span),
    )


def _stack(job: Job, design: Design) -> list[Block]:
    chances = sharp_share(job, design)
    found = chances.stack
    parts = {part.name: part for part in found.parts}
    rows, small = [], []
    for name, share in sorted(found.shares, key=lambda item: (-item[1], item[0])):
        shift = parts[name].times * parts[name].shift_mm
        if share < LEAST_SHARE and abs(shift) < LEAST_SHIFT_MM:
            small.append(name)
            continue
        rows.append(
            (name, f"± {measure(parts[name].sigma_mm, 3)}", measure(shift, 3), f"{100 * share:.0f} %")
        )
    less = f" Also counted, each under {LEAST_SHARE:.0%} and {LEAST_SHIFT_MM} mm: {', '.join(small)}."
    return [
        Table(
            "What moves the picture away from best focus, mm; ± is one standard deviation here and above: about "
            "two cases in three lie within it",
            ("cause", "uncertain by", "known shift", "share"),
            tuple(rows),
        ),
        Words(
            f"Chance that at least {chances.share:.0%} of the picture is sharp, all spreads together: "
            f"{_chance(chances.most.value)}; that all of it is: {_chance(chances.whole.value)} "
            f"({found.samples} draws). Largest cause: {found.largest}. If every tolerance were used up the same way, "
            f"which hardly happens: {found.worst_low_mm:+.2f} to {found.worst_high_mm:+.2f} mm from best focus, sharp "
            f"from {found.band_low_mm:+.2f} to {found.band_high_mm:+.2f} mm.{less if small else ''}"
        ),
    ]


def _chance(value: float) -> str:
    return "under 0.1 %" if value < 0.001 else "over 99.9 %" if value > 0.999 else f"{100 * value:.1f} %"
