"""Two glasses among the fittings: what they change while a holder is designed."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from holders.design.draft.levels import Levels
from holders.design.draft.places import Layout
from holders.facts.habits import habit
from holders.fittings.base import Added, Fitting, Stage
from holders.fittings.glasses.check import GlassesRule
from holders.fittings.glasses.sandwich import Sandwich
from holders.fittings.glasses.table import Glasses
from holders.fittings.on_glass import alone, bare_mm, films_on, hiding_lip_mm
from holders.fittings.walls import wall_above_ledge_mm
from holders.preset.resolve import Job
from holders.preset.words import Section


class GlassesKind(Fitting[Glasses]):
    """Film between two plates of glass."""

    key = "glasses"
    table = Glasses
    section = Section(
        "glasses",
        "Two glasses",
        ("extras", 9),
        intro="The film lies dry between two plates of glass, as flat as they are; it is seen through the lower one.",
        heading="film between two plates of glass: take the # from [glasses] and below to have them",
    )
    start = MappingProxyType({"": {"below_mm": 2.0, "above_mm": 2.0}})
    rules = (GlassesRule(),)

    def lip_mm(self, job: Job) -> float:
        """Wide enough to hide the bare rim."""
        assert job.on_glass is not None
        return hiding_lip_mm(job.on_glass)

    def levels(self, job: Job, layout: Layout, plain: Levels) -> Levels:  # noqa: ARG002
        """A wall that keeps both plates from sliding.

        Raises ``InputError`` beside what lies on film.
        """
        alone(self.key, job.preset, plain)
        upper = self.given(job).above_mm
        need = job.film.thickness_mm - (1 - habit("upper-glass-held")) * upper
        return replace(
            plain, top=plain.ledge + wall_above_ledge_mm(job, plain, need, "two glasses", "glasses.below_mm")
        )

    def fit(self, job: Job, stage: Stage) -> Added:
        """Film and upper plate on each lower one."""
        table, borne, ledge = self.given(job), job.on_glass, stage.levels.ledge
        assert borne is not None
        films = films_on(borne, stage.layout)
        low = ledge + table.below_mm
        high = low + borne.film.thickness_mm
        return Added(
            Sandwich(
                table=table,
                films=films,
                uppers=tuple(place.film for place in stage.layout.places),
                film_z=(low, high),
                upper_z=(high, high + table.above_mm),
                bare_mm=bare_mm(stage.layout.places, films),
            )
        )
