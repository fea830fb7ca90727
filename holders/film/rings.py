"""Newton's rings: at which gap between film and glass they can show, and where on the picture that happens.

One definition of coherence is used throughout: **L = λ²/Δλ** with Δλ the full width at half maximum of the light that
one channel of the scanner takes in (lamp and colour filter together), in air. For a Gaussian spectrum the fringes of
two equal waves that differ by a path p then have the visibility V = exp(-(π p/L)²/(4 ln 2)), and p is twice the gap.
(Other texts call L/2, 0.44 L or L/π the coherence length; the formula for V does not depend on the name.)

The film is lit through from above: rings are the beat between light that comes straight through and light reflected
twice in the gap, by the glass and by the film. Their contrast is (I_max - I_min)/(I_max + I_min) =
2 √(R₁R₂) V / (1 + R₁R₂): on bare glass at most 8 % for a face of triacetate, 9 % for gelatin, 10 % for polyester.

Limits: normal incidence, smooth parallel surfaces and a small lamp are assumed; a matt film side, a wide lamp or a
tilted film only weaken the rings, so the gap given here is on the safe side. A lamp with sharp lines (a fluorescent
tube) must be given the width of its narrowest strong line, not the filter's. Dust that props the film and rings
finer than the scanner resolves are not looked at.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.film.band import Picture
from holders.film.models import Array, Surface

FOUR_LN2 = 4.0 * np.log(2.0)
VISIBLE_CONTRAST = 0.02  # weakest fringe seen in an even tone: common practice, no source


@dataclass(frozen=True)
class Channel:
    """One colour of the scanner: mean wavelength and full width at half maximum, nm."""

    name: str
    wavelength_nm: float
    width_nm: float

    def __post_init__(self) -> None:
        if self.width_nm <= 0 or not 100 <= self.wavelength_nm <= 2000:
            raise InputError(
                "channel",
                (self.wavelength_nm, self.width_nm),
                "give a wavelength of 100 to 2000 nm and a width",
            )

    @property
    def coherence_length_mm(self) -> float:
        """L = λ²/Δλ, mm."""
        return self.wavelength_nm**2 / self.width_nm * 1e-6


@dataclass(frozen=True)
class RingRisk:
    """Where rings can show: ``mask[j, i]`` over ``surface.y, surface.x``, ``share`` of the picture (or of the film).

    ``channel`` is the worst one.
    ``gap_limit_mm`` is the gap below which that channel's rings exceed the contrast asked about;
    ``worst_contrast`` the contrast at the least gap.
    """

    gap_limit_mm: float
    channel: str
    share: float
    mask: NDArray[np.bool_]
    worst_contrast: float
    least_gap_mm: float


def fresnel_reflectance(index: float, other: float = 1.0) -> float:
    """Reflectance of one surface between two refractive indices at normal incidence."""
    return ((index - other) / (index + other)) ** 2


def two_face_contrast(one: float, two: float, between: float = 1.0) -> float:
    """Contrast of the rings of two faces that nearly touch, by the indices of both sides and of what lies between.

    2 sqrt(R1 R2) / (1 + R1 R2) with Fresnel's reflectances: 0 where either side has the index of what lies between.
    """
    r1, r2 = fresnel_reflectance(one, between), fresnel_reflectance(two, between)
    return float(2.0 * np.sqrt(r1 * r2) / (1.0 + r1 * r2))


def visibility(channel: Channel, gap_mm: Array | float) -> Array:
    """Visibility (0 to 1) of fringes of two equal waves across a gap, for a Gaussian spectrum."""
    path = 2.0 * np.maximum(np.asarray(gap_mm, dtype=float), 0.0)
    return np.asarray(np.exp(-((np.pi * path / channel.coherence_length_mm) ** 2) / FOUR_LN2))


def contrast(channel: Channel, gap_mm: Array | float, film_index: float, glass_index: float) -> Array:
    """Contrast of the rings in the light that comes through film, gap and glass."""
    return np.asarray(two_face_contrast(film_index, glass_index) * visibility(channel, gap_mm))


def ring_gap_mm(
    channel: Channel, film_index: float, glass_index: float, threshold: float = VISIBLE_CONTRAST
) -> float:
    """The gap below which the channel's rings exceed ``threshold``, mm; 0 when they never do."""
    if not 0 < threshold < 1:
        raise InputError("threshold", threshold, "give a contrast between 0 and 1, such as 0.02")
    most = float(contrast(channel, 0.0, film_index, glass_index))
    if most <= threshold:
        return 0.0
    path = channel.coherence_length_mm / np.pi * np.sqrt(FOUR_LN2 * np.log(most / threshold))
    return float(path / 2.0)


def ring_risk(
    surface: Surface,
    channels: tuple[Channel, ...],
    *,
    film_index: float,
    glass_index: float,
    threshold: float = VISIBLE_CONTRAST,
    picture: Picture | None = None,
) -> RingRisk:
    """Where the gap to the glass is small enough for rings in any channel: on the picture, or on the whole film."""
    if not channels:
        raise InputError("channels", "()", "give at least one channel")
    limits = [ring_gap_mm(c, film_index, glass_index, threshold) for c in channels]
    worst = int(np.argmax(limits))
    gap = np.maximum(surface.z, 0.0)
    mask = np.asarray(gap < limits[worst])
    inside = np.ones_like(mask)
    if picture is not None:
        in_x = (surface.x >= picture.left_mm) & (surface.x <= picture.left_mm + picture.width_mm)
        in_y = (surface.y >= picture.head_mm) & (surface.y <= picture.head_mm + picture.height_mm)
        inside = in_y[:, None] & in_x[None, :]
        if not inside.any():
            raise InputError("picture", picture, "it must lie on the film")
    mask &= inside
    weights = np.outer(np.gradient(surface.y), np.gradient(surface.x)) * inside
    least = float(gap[inside].min())
    return RingRisk(
        gap_limit_mm=limits[worst],
        channel=channels[worst].name,
        share=float((weights * mask).sum() / weights.sum()),
        mask=mask,
        worst_contrast=max(float(contrast(c, least, film_index, glass_index)) for c in channels),
        least_gap_mm=least,
    )
