"""Composites: a picture as a scan, with rings or without, by number; the same number is always the same composite."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from tests.measure.finished import pictures
from tests.measure.finished.ringlight import (
    Family,
    Rings,
    draw_rings,
    gap_um,
    grain,
    ring_light,
    to_code,
    to_light,
)
from tests.measure.finished.textures import TEXTURES

# "judged": test pictures of packages, grain and gradients, as the aim counts them; "whole": wood, ripples, tiles, a
# halftone (held out: cloth and corrugated sheet) as well; "textures": only what can pass for rings, for tuning
Pool = Literal["judged", "whole", "textures"]
PLAIN = ("grain", "gradient")


@dataclass(frozen=True)
class Composite:
    """``pixels`` (rows, columns, 1 or 3) 8 or 16 bit."""

    pixels: np.ndarray
    name: str
    colour: bool
    linear: bool
    rings: Rings | None


def names(held_out: bool, pool: Pool = "whole") -> list[str]:
    """The pictures of a pool, in the order in which composites take them."""
    if pool == "textures":
        return list(TEXTURES)
    chosen = pictures.HELD_OUT if held_out else pictures.TUNED
    made = [n for n in pictures.MADE if held_out or n not in pictures.MADE_HELD_OUT]
    made = made if pool == "whole" else list(PLAIN)
    return [n for n in chosen if pictures.picture_path(n) is not None] + made


def families(held_out: bool) -> tuple[Family, ...]:
    """Shapes of the gap; one is held out altogether."""
    return ("bowl", "buckle", "pressed") if held_out else ("bowl", "bowl", "buckle")


def composite(
    number: int,
    *,
    held_out: bool,
    with_rings: bool,
    contrast: float = 0.02,
    colour: bool | None = None,
    side: int = 480,
    recorded: bool = False,
    pool: Pool = "whole",
) -> Composite:
    """Composite ``number``: pictures in turn, everything else drawn from the number.

    ``contrast`` is that of the light, (max-min)/(max+min), at the strongest place; with ``recorded`` it is that of the
    file's values, which for an encoded file is 1/2.4 of the light's (sRGB's exponent).
    """
    rng = np.random.default_rng([number, int(held_out), int(with_rings), 20261125])
    of = names(held_out, pool)
    name = of[number % len(of)]
    code = TEXTURES[name](rng, (side, side)) if pool == "textures" else pictures.picture(rng, name, side)
    shape = code.shape[:2]
    in_colour = bool(rng.random() < 0.75) if colour is None else colour
    negative = bool(
        rng.random() < 0.5
    )  # half of the films are negatives: what was dark lets the light through
    light = np.maximum(to_light(1.0 - code if negative else code), 0.004)
    noise, size = rng.uniform(0.002, 0.015), rng.uniform(0.3, 1.0)
    for c in range(3) if rng.random() < 0.85 else ():  # some come without any noise of the channels' own
        light[:, :, c] *= 10.0 ** -grain(rng, shape, size, noise)
    linear = bool(rng.random() < 0.5)
    in_light = contrast if linear or not recorded else 2.4 * contrast
    rings = draw_rings(rng, shape, in_light, families(held_out)) if with_rings else None
    if rings is not None:
        light = light * ring_light(gap_um(shape, rings, rng), rings)
    deep = bool(linear or rng.random() < 0.5)
    values = np.clip(light * 0.9, 0, 1) if linear else to_code(light * 0.9)
    if not in_colour:
        values = values[:, :, 1:2]
    top = 65535 if deep else 255
    pixels = np.floor(values * top + 0.5).astype(np.uint16 if deep else np.uint8)
    return Composite(pixels, name, in_colour, linear, rings)
