"""Every kind of fitting, a line each, in the order of their tables in a preset and of their parts from the film up."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from holders.fittings.bars.kind import BarsKind
from holders.fittings.base import Fitting
from holders.fittings.carrier.kind import CarrierKind
from holders.fittings.channel.kind import ChannelKind
from holders.fittings.cover.kind import CoverKind
from holders.fittings.glasses.kind import GlassesKind
from holders.fittings.lid.kind import LidKind
from holders.fittings.passes.kind import PassesKind
from holders.fittings.roll.kind import RollKind
from holders.fittings.wet.kind import WetKind

FITTINGS: tuple[Fitting[Any], ...] = (
    LidKind(),
    BarsKind(),
    CoverKind(),
    CarrierKind(),
    ChannelKind(),
    WetKind(),
    GlassesKind(),
    PassesKind(),
    RollKind(),
)


def fitted_in(preset: BaseModel) -> tuple[Fitting[Any], ...]:
    """The kinds whose table a preset has."""
    return tuple(kind for kind in FITTINGS if getattr(preset, kind.key, None) is not None)
