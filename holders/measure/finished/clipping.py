"""How much of the picture, and of the clear border beside it, stands at an end of the scale, channel by channel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from holders.measure.finished.expected import EDGES, EdgeName, Expected
from holders.measure.finished.placement import SOFT, Placement
from holders.measure.finished.reduce import Reduced

CLIPPED_SHARE = 0.002  # of a channel at one end of its scale
BORDER_SHARE = 0.01  # of the clear border: a few bright specks do not move its middle value
EXPOSURE_MM = 1.0  # by which an exposure may lie off its designed place; common practice, no source
CHANNELS = ("red", "green", "blue")

Area = Literal["picture", "lit area", "scan"]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Clipping:
    """Shares of pixels at the lower and at the upper end of the file's scale, one of each for every channel.

    ``area`` is what was counted: the designed picture, the lit area where the design is unknown or the scan is turned,
    or the whole scan, holder and all, where the lit area's sides were not found. ``border`` are the shares of the clear
    border at the upper end, None where the holder leaves none or it is not seen.
    """

    low: tuple[float, ...]
    high: tuple[float, ...]
    area: Area = "picture"
    border: tuple[float, ...] | None = None

    @property
    def channels(self) -> tuple[str, ...]:
        """Their names."""
        return CHANNELS if len(self.high) == len(CHANNELS) else ("grey",)

    @property
    def over(self) -> tuple[tuple[str, float], ...]:
        """Channels clipped at the upper end, each with its share."""
        return self._beyond(self.high, CLIPPED_SHARE)

    @property
    def under(self) -> tuple[tuple[str, float], ...]:
        """Channels clipped at the lower end, each with its share; none where a black holder was counted too."""
        return () if self.area == "scan" else self._beyond(self.low, CLIPPED_SHARE)

    @property
    def border_over(self) -> tuple[str, ...]:
        """Channels in which the clear border is at full scale."""
        return tuple(name for name, _ in self._beyond(self.border or (), BORDER_SHARE))

    def _beyond(self, shares: tuple[float, ...], limit: float) -> tuple[tuple[str, float], ...]:
        return tuple(
            (name, share) for name, share in zip(self.channels, shares, strict=False) if share > limit
        )

    def to_values(self) -> dict[str, object]:
        """Plain values for the answer in JSON."""
        return {
            "of": self.area, "channels": list(self.channels), "limit": CLIPPED_SHARE,
            "high": [round(share, 5) for share in self.high], "low": [round(share, 5) for share in self.low],
            "border_high": None if self.border is None else [round(share, 5) for share in self.border],
            "border_limit": BORDER_SHARE,
        }  # fmt: skip


def clipping_of(reduced: Reduced, placement: Placement, design: Expected | None, *, lit: bool) -> Clipping:
    """The shares of a scan that was walked over, every pixel of it counted.

    ``lit`` says whether all four sides of its lit area were found.
    """
    if not lit:
        return Clipping(*_shares(reduced, np.ones(reduced.small.shape[:2], dtype=bool)), "scan")
    away = _away(reduced, placement)
    soft: dict[EdgeName, float] = {
        name: SOFT * reduced.small_pitch_mm[0 if name in ("left", "right") else 1] for name in EDGES
    }
    known = design is not None and design.picture is not None and placement.rebate_at is None
    inward = _inward(design) if design is not None and known else dict.fromkeys(EDGES, 0.0)
    mask = _within(away, {name: max(soft[name], inward[name]) for name in EDGES})
    if not mask.any():
        known, mask = False, _within(away, soft)
    low, high = _shares(reduced, mask)
    return Clipping(
        low, high, "picture" if known else "lit area", _border(reduced, placement, design, away, soft)
    )


def _shares(reduced: Reduced, mask: Mask) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Shares of the masked pixels at the lower and the upper end."""
    count = max(int(mask.sum()), 1) * reduced.step**2
    low, high = (reduced.ends[k][mask].sum(axis=0, dtype=np.int64) / count for k in (0, 1))
    return tuple(float(share) for share in low), tuple(float(share) for share in high)


def _away(reduced: Reduced, placement: Placement) -> dict[EdgeName, NDArray[np.float32]]:
    """How far inward of each side every pixel of the small picture lies, mm; a turned side counts as it is turned."""
    tall, wide = reduced.small.shape[:2]
    across, along = reduced.small_pitch_mm
    x = ((np.arange(wide, dtype=np.float32) + 0.5) * across)[None, :]
    y = ((np.arange(tall, dtype=np.float32) + 0.5) * along)[:, None]
    found: dict[EdgeName, NDArray[np.float32]] = {}
    for edge in placement.edges:
        slope = np.float32(np.tan(np.radians(edge.turn_deg)))
        if edge.name in ("left", "right"):
            inward = x - (np.float32(edge.at_mm) - slope * (y - np.float32(tall * along / 2)))
        else:
            inward = y - (np.float32(edge.at_mm) + slope * (x - np.float32(wide * across / 2)))
        found[edge.name] = inward if edge.name in ("left", "head") else -inward
    return found


def _within(away: dict[EdgeName, NDArray[np.float32]], least: dict[EdgeName, float]) -> Mask:
    mask = away[EDGES[0]] >= least[EDGES[0]]
    for name in EDGES[1:]:
        mask &= away[name] >= least[name]
    return mask


def _inward(design: Expected) -> dict[EdgeName, float]:
    """How far the picture begins inward of each side of the window, mm, safely so; 0 where it reaches under the lip."""
    picture, (wide, tall) = design.picture, design.window_mm
    if picture is None:
        return dict.fromkeys(EDGES, 0.0)
    gaps: dict[EdgeName, float] = {
        "left": picture.x, "right": wide - picture.x - picture.width,
        "head": picture.y, "foot": tall - picture.y - picture.height,
    }  # fmt: skip
    return {name: max(0.0, gap + EXPOSURE_MM) for name, gap in gaps.items()}


def _border(
    reduced: Reduced,
    placement: Placement,
    design: Expected | None,
    away: dict[EdgeName, NDArray[np.float32]],
    soft: dict[EdgeName, float],
) -> tuple[float, ...] | None:
    """Shares of the clear border at the upper end, away from its own soft rims; None where it is not seen."""
    if design is None or design.rebate_edge is None or not placement.rebate_seen or not placement.rebate_mm:
        return None
    edge, wide = design.rebate_edge, min(placement.rebate_mm, design.rebate_mm)
    low, high = min(soft[edge], 0.4 * wide), max(wide - soft[edge], 0.6 * wide)
    mask = _within(away, {**soft, edge: low}) & (away[edge] <= high)
    return _shares(reduced, mask)[1] if mask.any() else None
