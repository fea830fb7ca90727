"""Newton's rings under a film: which face is toward the glass, and what lamp is in the lid."""

from __future__ import annotations

from typing import get_args

import pytest

from holders.design.held.held_film import GLASS_INDEX, channels_of, facing_index, least_gap_mm
from holders.facts.tables import keys, lamp
from holders.film.rings import contrast, ring_gap_mm
from holders.preset.tables.rows import BedChoice
from tests.presets_made import job

POLYESTER, TRIACETATE = {"format": "4x5"}, {"format": "roll-6x9"}


@pytest.mark.parametrize(
    ("film", "base", "emulsion", "percent"),
    # 2 sqrt(R1 R2) / (1 + R1 R2) with R = ((n - 1) / (n + 1))^2 (Fresnel, any textbook of optics): polyester 1.64,
    # triacetate 1.48, gelatin 1.53, glass 1.52
    [
        (POLYESTER, {"back_coat": "no"}, "up", 10.0),
        (TRIACETATE, {"back_coat": "no"}, "up", 8.0),
        (POLYESTER, {}, "down", 8.6),
        (TRIACETATE, {}, "down", 8.6),
        (POLYESTER, {"back_coat": "yes"}, "up", 8.6),
        (POLYESTER, {}, "up", 10.0),
        (TRIACETATE, {}, "up", 8.6),  # a back that is not known is taken as what reflects more
    ],
)
def test_contrast_of_rings_is_that_of_the_face_toward_the_glass(
    film: dict[str, str], base: dict[str, str], emulsion: str, percent: float
) -> None:
    wanted = job(film={**film, "emulsion": emulsion}, base=base)
    channel = channels_of(lamp("white-led"))[0]
    found = 100 * float(contrast(channel, 0.0, facing_index(wanted.base, wanted.preset), GLASS_INDEX))
    assert found == pytest.approx(percent, abs=0.1)


def test_the_other_face_is_the_other_face() -> None:
    wanted = job(film=POLYESTER, base={"back_coat": "no"})
    assert facing_index(wanted.base, wanted.preset, up=True) == wanted.base.refractive_index
    assert facing_index(wanted.base, wanted.preset) != facing_index(wanted.base, wanted.preset, up=True)


@pytest.mark.parametrize(
    ("kind", "micrometres"), [("white-led", 1.6), ("rgb-led", 6.7), ("fluorescent", 25.0)]
)
def test_the_lamp_decides_how_near_shows_rings(kind: str, micrometres: float) -> None:
    # computed once more by hand for polyester on glass: L / (2 pi) sqrt(4 ln2 ln(C / 0.02)), L = wavelength^2 / width
    wanted = job(film={**POLYESTER, "emulsion": "up"}, bed={"lamp": kind})
    light = lamp(wanted.bed.lamp)
    assert wanted.bed.lamp == kind
    gaps = [
        ring_gap_mm(c, facing_index(wanted.base, wanted.preset), GLASS_INDEX, light.ring_contrast)
        for c in channels_of(light)
    ]
    assert 1000 * max(gaps) == pytest.approx(micrometres, rel=0.03)
    assert least_gap_mm(wanted) == pytest.approx(max(gaps) + light.keep_gap_mm)


def test_every_lamp_of_the_table_can_be_chosen() -> None:
    (choices, _) = get_args(get_args(BedChoice.model_fields["lamp"].annotation)[0]), None
    named = get_args(choices[0]) if choices and get_args(choices[0]) else choices
    assert set(named) == set(keys("lamps"))
