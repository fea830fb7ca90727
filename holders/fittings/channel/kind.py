"""The strip channel among the fittings: what it changes while a holder is designed."""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType
from typing import TYPE_CHECKING

from holders.design.draft.levels import Levels
from holders.design.draft.places import Layout
from holders.design.model import Design, Part
from holders.facts.tables import process
from holders.fittings.base import Added, Fitting, Stage
from holders.fittings.channel.arc import Channel
from holders.fittings.channel.check import ChannelRule
from holders.fittings.channel.rails import channel, lower_rails, railed, raised
from holders.fittings.channel.table import ChannelTable
from holders.fittings.lid.table import Lid
from holders.preset.resolve import Job
from holders.preset.tables.plain import table_of
from holders.preset.words import Section

if TYPE_CHECKING:
    from holders.design.held.model import Filmed


class ChannelKind(Fitting[ChannelTable]):
    """Rails that hold a strip on an arc; the upper ones are part of a lid."""

    key = "channel"
    table = ChannelTable
    section = Section(
        "channel",
        "Channel for curled strips",
        ("extras", 7),
        intro="Rails hold a strip on a gentle arc across its width; printed, and with a lid frame.",
        heading="a channel for curled strips: take the # from [channel] and below to have one",
    )
    start = MappingProxyType({"": {"radius_mm": 200.0}})
    rules = (ChannelRule(),)
    settles_film = True

    def warm(self) -> None:
        """The strip's film takes scipy's splines and optimisers."""
        import holders.fittings.channel.film  # noqa: F401, PLC0415

    def levels(self, job: Job, layout: Layout, plain: Levels) -> Levels:
        """The lid as much higher as the arc needs."""
        return raised(job, self.given(job), layout, plain)

    def fit(self, job: Job, stage: Stage) -> Added:
        """The lower rails in the frame."""
        layout, levels = stage.layout, stage.levels
        made = channel(job, self.given(job), layout, levels)
        radius = process(job.preset.route).window_radius_mm
        return Added(made, rails=lower_rails(made, layout.places, levels.ledge, radius), scoops=False)

    def dressed(self, job: Job, stage: Stage, added: Added, parts: tuple[Part, ...]) -> tuple[Part, ...]:
        """The lids with the upper rails below them."""
        lid, made = table_of(job.preset, Lid), added.fitted
        assert lid is not None
        assert isinstance(made, Channel)
        return railed(parts, made, stage.layout, lid.clearance_mm)

    def film(self, job: Job, first: Design, again: Callable[[float], Design]) -> tuple[Design, Filmed] | None:
        """The strip bent across its width between the rails, its arc in the middle of the focus band."""
        from holders.fittings.channel.film import channelled  # noqa: PLC0415 - scipy

        return channelled(job, first, again)
