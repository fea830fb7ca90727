"""The carrier among the fittings: what it changes while a holder is designed."""

from __future__ import annotations

from types import MappingProxyType

from holders.core.errors import InputError
from holders.design.draft.levels import Levels
from holders.design.draft.places import Layout
from holders.design.model import Role
from holders.facts.tables import process
from holders.fittings.base import Added, Fitting, Named, Nest, Room, Stage
from holders.fittings.carrier.check import InsertRule
from holders.fittings.carrier.insert import (
    carrier,
    carrier_layout,
    carrier_opening,
    insert_layout,
    insert_outline,
    insert_rect,
    pocket_key,
)
from holders.fittings.carrier.table import CarrierTable
from holders.preset.resolve import Job
from holders.preset.words import Section


class CarrierKind(Fitting[CarrierTable]):
    """A frame as large as the bed that takes inserts."""

    key = "carrier"
    table = CarrierTable
    section = Section(
        "carrier",
        "Carrier and inserts",
        ("extras", 6),
        intro="One frame as large as the bed takes a small insert for each format. "
        "Holders with the same numbers here share one carrier.",
        heading="a carrier with inserts: take the # from [carrier] and both sizes to have one",
    )
    start = MappingProxyType({"": {"insert_width_mm": 140.0, "insert_length_mm": 200.0}})
    rules = (InsertRule(),)
    records = ("carrier_fit",)

    def room(self, job: Job) -> Room | None:
        """The films lie in the insert."""
        table = self.given(job)

        def refused(width: float, length: float) -> InputError:
            return InputError(
                "carrier.insert_width_mm",
                table.insert_width_mm,
                f"{job.film.name} needs an insert of {width:.1f} x {length:.1f} mm over the lamp area; make it larger, "
                "or take a smaller film",
            )

        return Room(insert_rect(job, table), "this insert", refused)

    def printed_below(self) -> int:
        """An insert is printed on its own: it and the carrier below it both begin with a first layer."""
        return 1

    def nest(self, job: Job, layout: Layout, levels: Levels) -> Nest | None:
        """The insert in its carrier."""
        made = carrier(job, self.given(job), levels)
        return Nest(
            made=made,
            inner=insert_layout(layout, made),
            outer=carrier_layout(layout, made),
            floor=made.floor,
            opening=carrier_opening(made),
            seat=made.ledge,
            outline=insert_outline(made, process(job.preset.route)),
            corner=made.key,
            key=pocket_key(made),
            hollow=made.hollow,
            code=made.fit,
            inner_part=Named("insert", Role.INSERT),
            outer_part=Named("carrier", Role.CARRIER),
        )

    def fit(self, job: Job, stage: Stage) -> Added:  # noqa: ARG002
        """Its code and places; the frame itself is the nest."""
        assert stage.nest is not None
        return Added(stage.nest.made)
