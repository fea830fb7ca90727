"""The film as it lies on the bed, and how far the ledge reaches under each of its edges."""

from __future__ import annotations

import math
from dataclasses import dataclass

from holders.core.errors import InputError
from holders.design.model import EDGES, Edge, Edges
from holders.facts.models import FilmFormat
from holders.facts.tables import process
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset

LEAST_OPENING_MM = 5.0
USUAL_LIP_MM = 2.0
SET_BACK_MM = 0.3  # a lid's opening stays behind the window's, so that it never shows in the scan
LIP_STEP_MM = 0.05  # lips that are computed are rounded up to it


@dataclass(frozen=True, slots=True)
class Laid:
    """A film turned as it will lie: sizes along x and y, mm."""

    width: float
    height: float
    picture_width: float
    picture_height: float
    turned: bool

    def border(self, edge: Edge) -> float:
        """Clear film between its cut edge and the picture, mm."""
        if edge in ("left", "right"):
            return (self.width - self.picture_width) / 2
        return (self.height - self.picture_height) / 2

    def is_end(self, edge: Edge) -> bool:
        """Whether the edge is one of the two that a strip's ends lie on."""
        return (edge in ("left", "right")) == self.turned


def laid(film: FilmFormat, turned: bool) -> Laid:
    """The film with its long side along y, or across when ``turned``.

    The picture of a strip runs from the start of its first frame to the end of its last.
    """
    length = film.image_height_mm
    if film.frame_pitch_mm is not None:
        length = min(film.cut_height_mm, (film.frames - 1) * film.frame_pitch_mm + film.image_height_mm)
    sizes = (film.cut_width_mm, film.cut_height_mm, film.image_width_mm, length)
    if turned:
        return Laid(sizes[1], sizes[0], sizes[3], sizes[2], True)
    return Laid(*sizes, False)


def lips(job: Job, film: Laid, wanted_mm: float = 0.0) -> Edges:
    """The lip on each edge, the rebate edge worked out from the film's clear border.

    Raises
    ------
    InputError
        When an edge is given twice, the border is too narrow for the wished rebate, or no opening is left.
    """
    table = job.preset.lip
    chosen: dict[str, float] = {}
    for edge in EDGES:
        own = getattr(table, f"{edge}_mm")
        every = (
            usual_lip(job.film, job.preset, film, edge, wanted_mm) if table.all_mm is None else table.all_mm
        )
        chosen[edge] = every if own is None else own
    if table.rebate_edge is not None:
        chosen[table.rebate_edge] = _rebate_lip(job.preset, film, table.rebate_edge)
    found = Edges(**chosen)
    least = process(job.preset.route).least_lip_mm
    for edge in EDGES:
        if found.of(edge) < least:
            own = getattr(table, f"{edge}_mm") is not None
            field = f"lip.{edge}_mm" if own else "lip.all_mm"
            raise InputError(field, found.of(edge), f"film needs a lip of at least {least} mm to lie on")
    for across, pair, size in (
        ("across", ("left", "right"), film.width),
        ("along", ("head", "foot"), film.height),
    ):
        left = size - sum(chosen[e] for e in pair)
        if left < LEAST_OPENING_MM:
            raise InputError(
                "lip.all_mm",
                table.all_mm or "(usual)",
                f"leaves an opening of only {left:.1f} mm {across} the bed; make the lips smaller",
            )
    return found


def usual_lip(row: FilmFormat, preset: PlainPreset, film: Laid, edge: Edge, wanted_mm: float = 0.0) -> float:
    """The lip of an edge for which none is asked: 2 mm, less where the clear border is narrower.

    Never so small that the smallest film, pushed to the far wall of its pocket, would rest on less than the route
    needs: film may be short by its tolerance and lie off its place by the tolerance's half and the clearance. At the
    ends of a strip, which lies on its long edges, it leaves the end frames free all the same, unless a fitting needs
    lips of ``wanted_mm`` all round. Along perforations it is so wide that none is lit wherever the film lies in its
    pocket, as far as the clear border allows.
    """
    least, border = process(preset.route).least_lip_mm, film.border(edge)
    usual = min(USUAL_LIP_MM, border)
    if film.is_end(edge) and row.frame_pitch_mm is not None and not wanted_mm:
        return round(max(least, usual), 3)
    end = perforation_end_mm(row)
    if end > 0 and not film.is_end(edge) and border >= end:
        hides = end + row.tolerance_mm / 2 + preset.layout.clearance_mm
        usual = min(border, math.ceil(hides / LIP_STEP_MM - 1e-9) * LIP_STEP_MM)
    needed = least + 1.5 * row.tolerance_mm + preset.layout.clearance_mm
    return round(max(needed, wanted_mm, usual), 3)


def perforation_end_mm(film: FilmFormat) -> float:
    """From the film's long edge to the far side of its perforations, mm; 0 for film without any."""
    return film.perforation_edge_mm + film.perforation_width_mm if film.perforation_width_mm > 0 else 0.0


def holes_lit(film: FilmFormat, lying: Laid, lips: Edges, off_mm: float) -> Edges:
    """How much of a perforation's width shows past the lip on each edge, mm, where the film lies worst for it.

    Parameters
    ----------
    film:
        Where its perforations are; without any, all are 0.
    lying:
        The film as it lies on the bed.
    lips:
        How far the ledge reaches under each edge, mm.
    off_mm:
        How far the film may lie from the middle of its pocket, mm.
    """
    width, end = film.perforation_width_mm, perforation_end_mm(film)
    return Edges(
        **{
            edge: min(width, max(0.0, end + off_mm - lips.of(edge))) if not lying.is_end(edge) else 0.0
            for edge in EDGES
        }
    )


def _rebate_lip(preset: PlainPreset, film: Laid, edge: Edge) -> float:
    table = preset.lip
    if getattr(table, f"{edge}_mm") is not None:
        raise InputError(
            f"lip.{edge}_mm", getattr(table, f"{edge}_mm"), "is also the rebate edge; give one of the two"
        )
    border = film.border(edge)
    least = process(preset.route).least_lip_mm
    if border - table.rebate_mm < least:
        most = max(0.0, border - least)
        raise InputError(
            "lip.rebate_mm",
            table.rebate_mm,
            f"the clear border at the {edge} is {border:.2f} mm and {least} mm of it must lie on the ledge: at most "
            f"{most:.2f} mm can stay visible (measured otherwise? set film.image_width_mm and film.image_height_mm)",
        )
    return border - table.rebate_mm
