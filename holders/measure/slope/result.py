"""What a measurement says, as a frozen model."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict

LEAST_MM = 0.01  # no holder is built to less, and no bed stays within it


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Profile(_Frozen):
    """Sharpness (1 at the fitted best) at heights in mm, rising."""

    height: tuple[float, ...]
    sharpness: tuple[float, ...]


class ChannelResult(_Frozen):
    """One colour channel's sharp height and standard deviation, mm."""

    name: str
    height: float
    height_sigma: float


class ResolutionResult(_Frozen):
    """Detail that keeps half its contrast at best focus, lp/mm, a lower bound (the target's own edges blur too, and
    so does a gamma; sharpening raises it), with its standard deviation; ``useful_dpi``: pixels finer than that gain
    nothing (None: finer ones may).
    """

    mtf50_lp_mm: float
    sigma: float
    useful_dpi: float | None


class RowResult(_Frozen):
    """The height by a part of the target's width alone: its middle as a share of the width (0 to 1), height and
    standard deviation, mm.
    """

    across: float
    height: float
    height_sigma: float


class LensResult(_Frozen):
    """From the glass to the lens along the folded path, as a ramp's two rows of marks show it, mm."""

    distance_mm: float
    sigma_mm: float


class PlaceResult(_Frozen):
    """One of several ramps in a scan: the middle of its slope, mm from the left and the top of the picture as stored,
    and what ``FocusResult`` says of it.
    """

    x: float
    y: float
    height: float
    height_sigma: float
    band: tuple[float, float]
    band_seen: bool
    dpi: float
    channels: tuple[ChannelResult, ...]
    doubts: tuple[str, ...] = ()

    @property
    def half_band(self) -> float | None:
        """As ``FocusResult.half_band``."""
        return max(LEAST_MM, (self.band[1] - self.band[0]) / 2) if self.band_seen else None


class FocusResult(_Frozen):
    """A measured sharp height.

    ``height``, ``height_sigma``, ``band`` in mm above the glass. ``at_edge``: the best height is at or beyond the end
    of the heights that the scan shows, and ``height`` is that end or a guess beyond it. ``confidence`` 0..1: the chance
    that the true height lies within 0.1 mm of ``height``.
    ``frequency_lp_mm`` and ``band_share`` define the band; ``band_seen`` is false where the band reaches beyond what
    was seen. ``doubts``: why the height is not to be built on yet, in words. ``marks_read``: height marks of a ramp.
    ``tick_mm`` is the period of a ruling by the resolution (0: none). ``read_share`` is the share of the slope's width
    that was read. ``assumed``: what the target was taken for, in words; ``judged_by``: by detail, edges or
    both. ``resolution``: None where too few straight edges lie at best focus. ``lens``: None where a ramp does not show
    its distance. ``places``: of several ramps in one scan, each. ``rows``: by parts of the target's width.
    """

    height: float
    height_sigma: float
    band: tuple[float, float]
    at_edge: bool
    confidence: float
    profile: Profile
    heights_seen: tuple[float, float]
    channels: tuple[ChannelResult, ...]
    dpi: float
    rows_read: int
    rows_total: int
    read_share: float
    frequency_lp_mm: float
    band_share: float
    band_seen: bool
    turn_deg: float
    target: str
    tick_mm: float
    warnings: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    judged_by: str = "detail"
    resolution: ResolutionResult | None = None
    scans: int = 1
    marks_read: int = 0
    lens: LensResult | None = None
    places: tuple[PlaceResult, ...] = ()
    rows: tuple[RowResult, ...] = ()

    @property
    def half_band(self) -> float | None:
        """How far above and below its height the scan is sharp, mm; None where not all of that was seen."""
        return max(LEAST_MM, (self.band[1] - self.band[0]) / 2) if self.band_seen else None

    def bed_numbers(self) -> dict[str, float]:
        """What it puts under ``[bed]`` of a preset; the band only where all of it was seen, the finest useful
        resolution (ppi) where this scan goes beyond it.
        """
        numbers = {
            "focus_height_mm": round(self.height, 2),
            "focus_sigma_mm": round(max(LEAST_MM, self.height_sigma), 2),
        }
        if self.half_band is not None:
            numbers["focus_band_mm"] = round(self.half_band, 2)
        if self.resolution is not None and self.resolution.useful_dpi is not None:
            numbers["useful_ppi"] = float(round(self.resolution.useful_dpi, -1))
        return numbers

    def to_answer(self) -> dict[str, Any]:
        """Plain data for JSON: the promised keys first, everything else after."""
        data = self.model_dump(mode="json")
        first = ("height", "height_sigma", "band", "at_edge", "confidence", "profile")
        return {key: data[key] for key in first} | {k: v for k, v in data.items() if k not in first}
