"""A holder scanned in passes among the fittings: what it changes while a holder is designed."""

from __future__ import annotations

from types import MappingProxyType

from holders.core.errors import InputError
from holders.design.draft.bed import lamp_rect
from holders.design.draft.stands import Moves, lit_boxes, steps_for
from holders.design.draft.stops import LEAST_DEEP_MM
from holders.fittings.base import Added, Fitting, Stage
from holders.fittings.passes.blocks import block_part, rows_of
from holders.fittings.passes.check import PassesRule
from holders.fittings.passes.made import Passes
from holders.fittings.passes.table import PassesTable
from holders.preset.resolve import Job
from holders.preset.words import Section


class PassesKind(Fitting[PassesTable]):
    """A holder that moves between stops, for film larger than the lamp area."""

    key = "passes"
    table = PassesTable
    section = Section(
        "passes",
        "Film larger than the lamp area",
        ("extras", 11),
        intro="The holder moves by exact steps between stops; the film is scanned in two or more overlapping passes.",
        heading="film larger than the lamp area: take the # from [passes] to scan it in two or more passes",
    )
    start = MappingProxyType({"": {"overlap_mm": 15.0}})
    rules = (PassesRule(),)
    records = ("passes",)
    sees_more = "the holder is moved by steps, and the film scanned in two or more passes"

    def moves(self, job: Job, opening: tuple[float, float]) -> Moves:
        """The fewest steps in which the lamp area sees the whole window."""
        overlap, lamp, layout = self.given(job).overlap_mm, lamp_rect(job.bed), job.preset.layout
        if layout.count != 1:
            raise InputError(
                "layout.count",
                layout.count,
                "a holder that moves between passes holds one film: set layout.count = 1",
            )
        least = LEAST_DEEP_MM[job.preset.route]
        try:
            moves = Moves(
                steps_for(opening[0], lamp.width, overlap, least, layout.slide_gap_mm),
                steps_for(opening[1], lamp.height, overlap, least, layout.slide_gap_mm),
            )
        except ValueError:
            raise InputError(
                "passes.overlap_mm",
                overlap,
                f"leaves nothing of the lamp area, {lamp.width:g} x {lamp.height:g} mm; a third of its shorter side, "
                f"{min(lamp.width, lamp.height) / 3:.0f} mm, is plenty",
            ) from None
        if moves.count > 1 and layout.shift_room_mm is not None:
            raise InputError(
                "layout.shift_room_mm",
                layout.shift_room_mm,
                "no pass shows the whole window, so its film cannot be measured by sliding: leave it out",
            )
        return moves

    def fit(self, job: Job, stage: Stage) -> Added:
        """The step blocks."""
        layout = stage.layout
        rows = rows_of(job.bed, job.preset, layout)
        stands = layout.moves.stands
        crops = lit_boxes(layout.places[0].opening, layout.lamp, stands)
        made = Passes(layout.moves, rows, self.given(job).overlap_mm, stands, crops)
        return Added(made, parts=tuple(block_part(job, row, stage.levels.under) for row in rows))
