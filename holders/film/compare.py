"""Lid or no lid, emulsion up or down: the same sheet four ways (more with other supports), as rows of one table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from holders.core.errors import InputError, NotConverged
from holders.facts.rise_names import cold_rise
from holders.film.band import Band, Picture, best_ledge_height
from holders.film.models import Kind, Sheet, Support, Surface

SIDES: tuple[Literal["down", "up"], ...] = ("down", "up")
KINDS = (Kind.LEDGE, Kind.LID, Kind.GRIPPED, Kind.GRIPPED_HELD)


@dataclass(frozen=True)
class Row:
    """One way to lay the film in. Numbers are None where no equilibrium was found; ``note`` then says why."""

    kind: Kind
    emulsion: Literal["down", "up"]
    max_sag_mm: float | None
    max_rise_mm: float | None
    in_band_fraction: float | None
    best_ledge_height_mm: float | None
    min_gap_mm: float | None
    note: str


def compare(
    sheet: Sheet,
    support: Support,
    picture: Picture,
    band: Band,
    *,
    refractive_index: float,
    min_gap_mm: float,
    kinds: tuple[Kind, ...] = KINDS,
) -> tuple[Row, ...]:
    """Each kind of support, emulsion down and up, every one at its own best ledge height."""
    rows = []
    for kind in kinds:
        for emulsion in SIDES:
            one = sheet.model_copy(update={"emulsion": emulsion})
            own = support.hold if kind is support.kind else None
            held = support.model_copy(update={"kind": kind, "hold": own})
            try:
                best = best_ledge_height(
                    one, held, picture, band, refractive_index=refractive_index, min_gap_mm=min_gap_mm
                )
            except (NotConverged, InputError) as failed:
                rows.append(Row(kind, emulsion, None, None, None, None, None, str(failed)))
                continue
            surface = best.surface
            rows.append(
                Row(
                    kind,
                    emulsion,
                    surface.max_sag_mm,
                    surface.max_rise_mm,
                    best.in_band_fraction,
                    best.ledge_height_mm,
                    best.min_gap_mm,
                    branch_note(
                        surface.branch.name,
                        [b.name for b in surface.other_branches],
                        surface.within_theory,
                        surface.branch.mirrored,
                    )
                    + _lifted(surface),
                )
            )
    return tuple(rows)


def _lifted(surface: Surface) -> str:
    """What it takes to keep a lid or cover down, and whether this one does, in words."""
    if surface.support.kind not in (Kind.LID, Kind.COVER):
        return ""
    if surface.lid is None:
        return f"; if it presses with {surface.pressed_down_n:.2f} N" if surface.pressed_down_n > 5e-3 else ""
    if surface.lid.rise_mm > 0:
        name = cold_rise("glass cover" if surface.support.kind is Kind.COVER else "lid")
        return f"; needs {surface.lid.needed_n:.2f} N, {name} {surface.lid.rise_mm:.2f} mm"
    return ""


def branch_note(name: str, others: list[str], within_theory: bool, mirrored: bool = False) -> str:
    """The branch in words, with what else the sheet could do."""
    note = {"trough": "sags in the middle", "arch": "bows up in the middle", "flat": "level"}[name]
    if mirrored:
        note += ", to one side; its mirror image is as likely"
    if others:
        kinds = " or ".join(sorted(set(others)))
        shapes = "shape" if len(others) == 1 else "shapes"
        note += f"; it can also rest as a {kinds}: {len(others)} other {shapes}, press it and look"
    if not within_theory:
        note += "; so steep that the heights are rough"
    return note
