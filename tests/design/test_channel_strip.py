"""The strip in its channel, curled across and along: against an independent shell, a beam with a curl, and itself."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from holders.design.held.film_in_holder import designed
from holders.facts.models import FilmBase
from holders.facts.tables import film_base
from holders.fittings.channel import strip as channel_strip
from holders.fittings.channel.arc import Channel
from holders.fittings.channel.check import ChannelRule
from holders.fittings.channel.section import section
from holders.fittings.channel.strip import Strip, strip
from holders.workshop.budget.share import films_by_curl
from tests.checks.make_channel import STRIP, channelled
from tests.presets_made import job

# a geometrically exact thin shell with its own contact: tests/simulators/channel_shell.py, scripts/channel_cases.py
CASES: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "simulators" / "channel_cases.json").read_text()
)


def base_of(film: dict[str, float]) -> FilmBase:
    stuff = {
        "thickness_mm": film["thickness_mm"],
        "modulus_mpa": film["youngs_mpa"],
        "poisson": film["poisson"],
        "density_kg_m3": film["density_kg_m3"],
    }
    return film_base("triacetate").model_copy(update=stuff)


def case(name: str) -> tuple[FilmBase, Channel]:
    film, walls = CASES[name]["film"], CASES[name]["walls"]
    arc = Channel(
        radius=200.0,
        middle=0.0,
        inner=walls["low"][0],
        window=walls["window"],
        half=film["x_mm"] / 2,
        layer=walls["layer"],
        low=tuple(walls["low"]),
        high=tuple(walls["high"]),
        roof=walls["roof"],
        lid_edge=walls["lid_edge"],
        play=0.1,
        length=film["y_mm"],
        lips=(walls["lip"],) * 2,
        lid_lips=(walls["lid_lip"],) * 2,
        rail_ends=(walls["rail_end"],) * 2,
    )
    return base_of(film), arc


@pytest.mark.parametrize("name", CASES)
def test_heights_and_push_are_those_of_the_shell(name: str) -> None:
    """Along the middle line and the edge, end to middle; the shell's own two meshes are 0.0005 mm apart."""
    known = CASES[name]
    assert known["meshes_apart_mm"] < 0.0005
    found = strip(*case(name), known["across_per_m"], known["along_per_m"])
    for column, heights in ((0, known["middle_mm"]), (-1, known["edge_mm"])):
        ours = np.interp(known["from_end_mm"], found.y, found.w[:, column])
        np.testing.assert_allclose(ours, heights, rtol=0, atol=0.005)
    assert found.push_n == pytest.approx(known["push_n"], rel=0.05, abs=0.001)
    assert found.carried_n - found.push_n == pytest.approx(known["carried_n"] - known["push_n"], rel=0.01)


def between_flats(play_mm: float) -> tuple[FilmBase, Channel]:
    """A weightless strip of 35 x 114 mm between a flat ledge and a flat lid along its long edges."""
    base, arc = case("lifted")
    flat = replace(arc, low=(30.0, 31.0), high=(40.0,), roof=base.thickness_mm + play_mm)
    return base.model_copy(update={"density_kg_m3": 1e-3}), flat


def test_a_little_curl_along_arches_within_the_play() -> None:
    """Sagitta k L²/8 as long as the play has room for it."""
    base, flat = between_flats(1.0)
    found = strip(base, flat, 0.0, 0.4)
    rise = 0.4e-3 * flat.length**2 / 8
    assert rise < 1.0
    assert found.w[60, 0] == pytest.approx(rise, rel=0.02)
    assert found.w[0, 0] == pytest.approx(0.0, abs=0.005)
    assert found.push_n == pytest.approx(0.0, abs=1e-4)


def test_more_of_it_is_held_at_the_middle_as_a_beam_is() -> None:
    """A beam with a natural curvature k between stops a play p apart: a force F in its middle takes F L³/(48 E I) off
    k L²/8, as long as p > k L²/24, from where it touches over a length. E I lies between that of a beam free to curl
    the other way across and that of a plate: 1 / (1 - ν²) apart.
    """
    play, curl = 0.35, 3e-3 / 8
    base, flat = between_flats(play)
    length, width, t = flat.length, 2 * flat.half, base.thickness_mm
    assert curl * length**2 / 24 < play < curl * length**2 / 8
    found = strip(base, flat, 0.0, 1000 * curl)
    bend = base.modulus_mpa * width * t**3 / 12
    force = 48 * bend * (curl * length**2 / 8 - play) / length**3
    assert 0.9 * force < found.push_n < 1.1 * force / (1 - base.poisson**2)
    assert found.w[60, found.x >= flat.lid_edge].max() == pytest.approx(play, abs=0.002)


def test_the_same_from_any_start_and_with_finer_functions(monkeypatch: pytest.MonkeyPatch) -> None:
    wanted, made = channelled()
    arc = made.find(Channel)
    assert arc is not None
    plain = strip(wanted.base, arc, 5.0, 6.0)

    def from_start(scale: float) -> Strip:
        monkeypatch.setattr(
            channel_strip, "section", lambda *given: replace(one := section(*given), w=scale * one.w)
        )
        return strip(wanted.base, arc, 5.0, 6.0)

    for scale in (0.0, 2.5):
        np.testing.assert_allclose(from_start(scale).w, plain.w, rtol=0, atol=1e-3)
    monkeypatch.setattr(channel_strip, "section", section)
    monkeypatch.setattr(channel_strip, "ACROSS", 12)
    monkeypatch.setattr(channel_strip, "ALONG", 24)
    monkeypatch.setattr(channel_strip, "STRESS", (16, 30))
    finer = strip(wanted.base, arc, 5.0, 6.0)
    np.testing.assert_allclose(finer.w, plain.w, rtol=0, atol=2e-3)


def test_unlike_ends_are_solved_whole() -> None:
    """The same ends, taken as unlike, give the same strip; a longer ledge at one end changes that end alone."""
    wanted, made = channelled()
    arc = made.find(Channel)
    assert arc is not None
    plain = strip(wanted.base, arc, 5.0, 6.0)
    head, foot = arc.rail_ends
    whole = strip(wanted.base, replace(arc, rail_ends=(head + 1e-5, foot)), 5.0, 6.0)
    np.testing.assert_allclose(whole.w, plain.w, rtol=0, atol=1e-3)
    longer = strip(wanted.base, replace(arc, lid_lips=(arc.lid_lips[0] + 2.0, arc.lid_lips[1])), 5.0, 6.0)
    moved = np.abs(longer.w - plain.w)
    assert moved[:20].max() > 0.01
    assert moved[60:].max() < 0.002


ROLLED: dict[str, Any] = {
    **STRIP,
    "bed": {"name": "a4-wide", "lamp_rise_k": 0.0},
    "base": {"curl_low_per_m": 5.0, "curl_per_m": 5.0, "curl_high_per_m": 5.0, "back_coat": "yes"},
    "film": {"format": "35mm-strip", "curl_along_per_m": 6.0},
    "channel": {},
}


def test_curl_along_is_in_the_height_the_chance_and_the_finding() -> None:
    wanted = job(**ROLLED)
    made, film = designed(wanted)
    flat, _ = designed(job(**{**ROLLED, "film": {"format": "35mm-strip"}}))
    assert made.sag is not None
    assert flat.sag is not None
    assert film.grid is not None
    assert made.sag.reach_mm[1] > flat.sag.reach_mm[1] + 0.2  # type: ignore[index]
    assert {one.along_per_m for one in made.sag.curled if one.inside} == {6.0}
    assert made.sag.along is not None
    assert flat.sag.along is None
    assert (made.sag.along.low_per_m, made.sag.along.high_per_m) == pytest.approx((4.8, 7.2))
    still = replace(made, sag=replace(made.sag, along=None))
    several = [np.array(list(films_by_curl(one, (0.5,)))) for one in (made, still)]
    assert 0.01 < np.abs(several[0] - several[1]).max() < 0.1
    assert several[0].shape == several[1].shape
    (finding,) = [f for f in ChannelRule().check(wanted, made) if f.subject.startswith("curl along")]
    assert finding.level == "warn"
    heights = np.array(made.sag.heights_mm)
    across_only = strip(wanted.base, made.find(Channel), wanted.base.curl_per_m)  # type: ignore[arg-type]
    assert heights.max() - across_only.w.max() == pytest.approx(float(finding.measured), abs=0.05)  # type: ignore[arg-type]
    assert "counted" in finding.where
    assert "per m: the strip's middle +" in finding.where
