"""The glass cover among the fittings: what it changes while a holder is designed."""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType

from holders.core.lines import Candidate, Choice
from holders.design.draft.levels import Levels
from holders.design.draft.notches import openings
from holders.design.draft.places import Layout, Step
from holders.design.model import Cut
from holders.fittings.base import Added, Fitting, Hole, Rivals, Stage
from holders.fittings.cover.check import CoverRule
from holders.fittings.cover.levels import covered
from holders.fittings.cover.pane import Pane
from holders.fittings.cover.plate import (
    SET_BACK_MM,
    CatchSize,
    catch_parts,
    catches,
    pane_rect,
    pin_floor,
)
from holders.fittings.cover.table import Cover
from holders.geometry.outline import Point, circle
from holders.preset.resolve import Job
from holders.preset.tables.plain import table_of
from holders.preset.words import Section

GLASS_MM = 2.0


class CoverKind(Fitting[Cover]):
    """A plate of glass that lies on the film."""

    key = "cover"
    table = Cover
    section = Section(
        "cover",
        "Glass cover",
        ("extras", 5),
        intro="A plate of glass on the film holds it flat from above; catches keep it in its pocket.",
        heading="a glass plate on top of the film: take the # from [cover] and below to have one",
    )
    start = MappingProxyType({"": {"thickness_mm": GLASS_MM}})
    rules = (CoverRule(),)
    over_film = "cover"

    def levels(self, job: Job, layout: Layout, plain: Levels) -> Levels:  # noqa: ARG002
        """A wall as high as film, glass and the room above it."""
        return covered(job, self.given(job), plain)

    def fit(self, job: Job, stage: Stage) -> Added:
        """The plates, their catches, and what takes the catches' pins in the frame."""
        table, layout, levels = self.given(job), stage.layout, stage.levels
        web = 0.0 if job.printer is not None else max(levels.top - levels.below[-1], job.material.min_web_mm)
        made, size = catches(job, table, layout, stage.notches, stage.corner, web)
        flat = [catch for mine in made for catch in mine]
        pins = tuple(pin for catch in flat for pin in catch.pins)
        floor, printed = pin_floor(job.printer, levels, stage.recess), job.printer is not None
        holes = [] if size is None else [circle(*pin, size.pin / 2) for pin in pins]
        shades: tuple[Step, ...] = ()
        if size is not None and any(catch.edge in ("left", "right") for catch in flat):
            shades = (Step(levels.top + size.spring.thick - levels.ledge, SET_BACK_MM),)
        return Added(
            self._pane(job, stage, pins, len(flat), size),
            parts=catch_parts(job.preset.route, job.material, made, size, levels),
            cuts=tuple(Cut("pin", hole, floor, levels.top) for hole in holes) if printed else (),
            holes=() if printed else tuple(Hole(hole, floor) for hole in holes),
            blocks=tuple(catch.box for catch in flat),
            shades=shades,
        )

    def _pane(
        self, job: Job, stage: Stage, pins: tuple[Point, ...], count: int, size: CatchSize | None
    ) -> Pane:
        table, layout, levels = self.given(job), stage.layout, stage.levels
        assert levels.over is not None
        return Pane(
            places=tuple(pane_rect(table, layout, place) for place in layout.places),
            z0=levels.over[0],
            z1=levels.over[1],
            face=table.face,
            clearance=table.clearance_mm,
            reach=0.0 if size is None else size.over - table.clearance_mm,
            catches=count,
            pins=pins,
            pin_depth=0.0 if size is None else levels.top - pin_floor(job.printer, levels, stage.recess),
            spring=None if size is None else size.spring,
            grained=job.material.modulus_across_mpa is not None,
            opened=all(openings(mine) == 2 for mine in stage.notches),
        )

    def changes(self, job: Job, rivals: Rivals) -> Iterator[Candidate]:
        """Glass on the film, or glass that weighs more."""
        cover = table_of(job.preset, Cover)
        if cover is None:
            instead = f", instead of a {rivals.there}" if rivals.there else ""
            yield Candidate(
                f"Lay a glass cover of {GLASS_MM:g} mm on the film, its etched side down{instead}; "
                "the plate is ordered, cut to size",
                {**rivals.away, "cover.thickness_mm": GLASS_MM},
                "hold",
            )
        elif cover.thickness_mm < 2 * GLASS_MM:
            yield Candidate(f"Take cover glass of {2 * GLASS_MM:g} mm, which weighs more",
                            {"cover.thickness_mm": 2 * GLASS_MM}, "hold")  # fmt: skip

    def choices(self, job: Job, rivals: Rivals) -> Iterator[Choice]:  # noqa: ARG002
        """Glass of two thicknesses."""
        for glass in (GLASS_MM, 2 * GLASS_MM):
            yield Choice(
                f"a glass cover of {glass:g} mm, etched side down, ordered cut to size",
                {**rivals.away, "cover.thickness_mm": glass},
                "glass",
            )
