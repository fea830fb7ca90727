"""Wet mounting among the fittings: what it changes while a holder is designed."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from holders.design.draft.levels import Levels
from holders.design.draft.places import Layout
from holders.facts.habits import habit
from holders.fittings.base import Added, Fitting, Stage
from holders.fittings.on_glass import LEAST_LIP_MM, alone, bare_mm, films_on, hiding_lip_mm
from holders.fittings.walls import wall_above_ledge_mm
from holders.fittings.wet.check import WetRule
from holders.fittings.wet.mounted import Mounted
from holders.fittings.wet.table import Wet
from holders.preset.resolve import Job
from holders.preset.words import Section


class WetKind(Fitting[Wet]):
    """Film in fluid on a plate of glass."""

    key = "wet"
    table = Wet
    section = Section(
        "wet",
        "Wet mounting",
        ("extras", 8),
        intro="The film lies in fluid on glass under an overlay film: no rings, and as flat as the glass. "
        "Only with a fluid that its maker states to be non-flammable.",
        heading="film in fluid on a plate of glass: take the # from [wet] and below to have it",
    )
    start = MappingProxyType({"": {"side": "over"}})
    rules = (WetRule(),)

    def lip_mm(self, job: Job) -> float:
        """What carries the glass; below film that lies on it, wide enough to hide the bare rim."""
        borne = job.on_glass
        assert borne is not None
        return LEAST_LIP_MM if self.given(job).side == "under" else hiding_lip_mm(borne)

    def levels(self, job: Job, layout: Layout, plain: Levels) -> Levels:  # noqa: ARG002
        """A wall that stands above the glass, so that a drop stays in the pocket.

        Raises ``InputError`` beside what lies on film.
        """
        alone(self.key, job.preset, plain)
        need = job.film.thickness_mm + habit("spill-wall")
        high = wall_above_ledge_mm(job, plain, need, "glass with film in fluid", "wet.thickness_mm")
        return replace(plain, top=plain.ledge + high)

    def fit(self, job: Job, stage: Stage) -> Added:
        """Film and overlay on each plate; no notch is scooped out, through which fluid would run."""
        table, borne, ledge = self.given(job), job.on_glass, stage.levels.ledge
        assert borne is not None
        films = films_on(borne, stage.layout)
        under = table.side == "under"
        top = (
            ledge - table.fluid_mm
            if under
            else ledge + table.thickness_mm + table.fluid_mm + borne.film.thickness_mm
        )
        return Added(
            Mounted(
                table=table,
                films=films,
                overlays=tuple(rect.grown(table.overlap_mm) for rect in films),
                glass=borne.size,
                bare_mm=bare_mm(stage.layout.places, films),
                film_z=(top - borne.film.thickness_mm, top),
                overlay_z=(ledge - borne.hang_mm, ledge - borne.hang_mm + table.overlay_mm)
                if under
                else (top + table.fluid_mm, top + table.fluid_mm + table.overlay_mm),
            ),
            scoops=False,
        )
