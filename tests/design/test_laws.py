"""Laws that every design keeps, whatever the preset: or the preset is refused in words."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
import shapely
from hypothesis import HealthCheck, example, given, seed, settings

from holders.core.errors import InputError
from holders.design.draft.bed import margin_mm
from holders.design.model import EDGES, Design, Rect, Role
from holders.design.parts.sections import section
from holders.design.parts.steel import bars_of
from holders.design.resolve import design
from holders.geometry.outline import Region, area, points
from holders.preset.load import load, validate
from holders.preset.resolve import Job, resolve
from tests.presets_made import SHIPPED, job, presets


def shape(region: Region) -> shapely.Polygon:
    return shapely.Polygon(points(region.outer, 0.01), [points(hole, 0.01) for hole in region.holes])


def box(rect: Rect) -> shapely.Polygon:
    return shapely.box(rect.x, rect.y, rect.right, rect.top)


def keep_laws(job: Job, made: Design) -> None:
    """Every geometric law; each is an assertion of its own."""
    assert made.windows
    for view in made.each:
        h = view.heights
        assert h.sharp_plane == pytest.approx(h.drawn_ledge + h.optics, abs=1e-9)
    for window in made.windows:
        one = job.of(window.kind)
        margin = margin_mm(one.film, one.preset)
        # lit all over, in one pass or another
        lamps = shapely.union_all([box(made.lamp.moved(-across, -along)) for across, along in made.stands])
        assert box(window.opening).difference(lamps.buffer(1e-6)).is_empty
        assert made.outer.contains(window.pocket)
        for edge in EDGES:
            assert window.lips.of(edge) > 0
        # the film's rectangle reaches past the opening on every side: it rests on the ledge all round
        inner, film = window.opening, window.film
        assert film.x < inner.x < inner.right < film.right
        assert film.y < inner.y < inner.top < film.top
        # the largest film the tolerance allows enters the pocket
        assert window.pocket.width >= film.width + one.film.tolerance_mm + 2 * made.clearance - 1e-6
        assert window.pocket.width == pytest.approx(film.width + 2 * margin)
        assert 0 <= window.seen <= 1
        if made.calibration is not None:
            for across, along in made.stands:
                assert not made.calibration.overlaps(window.pocket.moved(across, along))
    for k, one in enumerate(made.windows):
        for two in made.windows[k + 1 :]:
            assert not one.pocket.overlaps(two.pocket)
    slabs_keep_laws(made)
    bars_keep_laws(made)
    for foot in made.feet:
        assert made.outer.contains(foot.box)
        core, radius = foot.core
        clear = [w.opening for w in made.windows] + (
            [made.calibration] if made.calibration is not None else []
        )
        for zone in clear:
            assert box(core).distance(box(zone)) >= radius - 1e-6
            assert box(foot.box).intersection(box(zone)).area < 1e-6 or not foot.length_mm


def bars_keep_laws(made: Design) -> None:
    """Steel bars lie on or in their lids, apart from frame, windows, glass and one another."""
    bars = bars_of(made)
    for k, one in enumerate(bars):
        flat = box(one.rect)
        assert made.outer.contains(one.rect)
        assert not any(one.rect.overlaps(window.opening) for window in made.windows)
        assert made.calibration is None or not one.rect.overlaps(made.calibration)
        assert all(flat.distance(box(other.rect)) > 0.1 for other in bars[:k])
        touched = 0.0
        for part in (replace(part, grooves=()) for part in made.parts):
            for dx, dy in part.places:
                for z in (one.z0 + 1e-3, (one.z0 + one.z1) / 2, one.z1 - 1e-3):
                    solid = shapely.affinity.translate(section(part, z), dx, dy)
                    assert solid.intersection(flat).area < 1e-6
                if part.role is Role.LID and one.z0 >= part.z1 - 1e-6:  # on it: glued to it
                    top = shapely.affinity.translate(section(part, part.z1 - 1e-3), dx, dy)
                    touched += top.intersection(flat).area
                elif part.role is Role.LID:  # in it: covered by it
                    top = shapely.affinity.translate(section(part, part.z1 - 1e-3), dx, dy)
                    touched += top.intersection(flat).area if top.buffer(1e-6).covers(flat) else 0.0
        assert touched > 0.0


def slabs_keep_laws(made: Design) -> None:
    for part in made.parts:
        assert part.quantity == len(part.places)
        for slab in part.slabs:
            assert slab.z1 > slab.z0 >= 0
            assert area(slab.region.outer) > 0
            solid = shape(slab.region)
            assert solid.is_valid, shapely.is_valid_reason(solid)
            assert made.glass.contains(Rect(*_box_of(solid)))
            if made.calibration is not None and not part.name.startswith("lid"):
                assert solid.intersection(box(made.calibration)).area < 1e-6
    frames = [p for p in made.parts if not p.name.startswith("lid")]
    lids = [p for p in made.parts if p.name.startswith("lid")]
    wholes = {p.whole or p.name: p.quantity for p in lids}  # a lid may come in pieces
    assert sum(wholes.values()) in (0, len(made.windows))
    for lid in lids:
        for dx, dy in lid.places:
            for own in lid.slabs:
                cover = shapely.affinity.translate(shape(own.region), dx, dy)
                for slab in (slab for frame in frames for slab in frame.slabs):
                    if min(slab.z1, own.z1) - max(slab.z0, own.z0) > 1e-9:
                        assert cover.intersection(shape(slab.region)).area < 1e-6


def _box_of(solid: shapely.Polygon) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = solid.bounds
    return x0, y0, x1 - x0, y1 - y0


def attempt(data: dict[str, Any]) -> bool:
    """Design a preset; True when made, False when refused in words. Anything else is a failure."""
    try:
        job = resolve(validate(data, "", "random"))
        made = design(job)
    except InputError as refusal:
        assert refusal.field
        assert refusal.way_out
        return False
    keep_laws(job, made)
    return True


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_shipped_presets_keep_the_laws(path: Any) -> None:
    job = resolve(load(path))
    keep_laws(job, design(job))


COMMON = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.filter_too_much]}


@settings(max_examples=60, **COMMON)
@given(presets())
def test_sensible_presets_hold_or_are_refused(data: dict[str, Any]) -> None:
    attempt(data)


ROUND_CORNERS = {  # feet, and the holes that mark them, keep inside corners as round as that
    "holders_preset": 1,
    "title": "a weir",
    "route": "laser",
    "bed": {"name": "a3"},
    "film": {"format": "35mm-strip", "emulsion": "up"},
    "material": {"name": "greyboard"},
    "lip": {},
    "layout": {
        "count": 5, "relief": "none", "corner_radius_mm": 22.116, "slide_gap_mm": 5.774, "turn": "never", "wall_mm": 0.8
    },
    "feet": {},
}  # fmt: skip


@settings(max_examples=30, **COMMON)
@example(ROUND_CORNERS)
@given(presets(wild=True))
def test_wild_presets_hold_or_are_refused(data: dict[str, Any]) -> None:
    attempt(data)


def test_a_fair_share_is_made() -> None:
    """The strategy would prove nothing if everything were refused: half of a fixed sample must be made."""
    made = [attempt(data) for data in sample(40)]
    assert sum(made) >= 20


def sample(count: int) -> list[dict[str, Any]]:
    """A fixed sample of the strategy."""
    found: list[dict[str, Any]] = []

    @seed(4)
    @settings(max_examples=count, database=None, **COMMON)
    @given(presets())
    def collect(data: dict[str, Any]) -> None:
        found.append(data)

    collect()
    return found


@pytest.mark.slow
@settings(max_examples=2000, **COMMON)
@given(presets())
def test_many_sensible_presets(data: dict[str, Any]) -> None:
    attempt(data)


@pytest.mark.slow
@settings(max_examples=1000, **COMMON)
@given(presets(wild=True))
def test_many_wild_presets(data: dict[str, Any]) -> None:
    attempt(data)


@pytest.mark.parametrize("film", ["35mm-panoramic", "4x5", "roll-6x9-single"])
def test_scoops_are_sound_however_small(film: str) -> None:
    """Rounder corners than a scoop's own sides allow once crossed each other."""
    wanted = job(film={"format": film, "emulsion": "up"}, lip={"left_mm": 2.071}, layout={"count": "fill"})
    made = design(wanted, uncut=True)
    scoops = [cut for part in made.parts for cut in part.cuts if cut.name == "scoop"]
    assert scoops
    for cut in scoops:
        outline = shapely.Polygon(points(cut.outline, 0.01))
        assert outline.is_valid, shapely.is_valid_reason(outline)
