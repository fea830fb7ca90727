"""Users of one holder, simulated: each with a scanner, a film and a holder of their own, and whether the scan is good.

Written without the code that states the chance: own draws, own sum of heights. Shared with it are the film solver and
the frame's stiffness, which are physics and tested elsewhere. Every user draws

- where the scanner is sharpest: normal, the bed's sigma;
- curl, thickness and modulus of the base (triangular): one solved film serves several users;
- the errors of print, sheets, glue, damp and feet: even within what the facts state, normal where a caliper read;
- how warm the bed is: even between the ends of when the preset says it is scanned; frame and film are as warm;
- whether the film's back is bare, and how far it curls as the air dries it: triangular about what the facts say, and
  both ways alike, so that the free film is a cylinder of as much;
- how far the lid it lifts tilts: even, at most as far again as it rises, less where something stops it.

A scan is good where at least nine tenths of the picture lie in focus and no place of the film is near enough for rings.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RectBivariateSpline
from scipy.stats import triang

from holders.core.errors import NotConverged
from holders.design.height.stacks import stock_tolerance
from holders.face.shared.starts import STARTS, USUAL, fitting_printer
from holders.facts.habits import habit
from holders.facts.numbers import numbers
from holders.facts.tables import lamp
from holders.film.models import Surface
from holders.film.surface import solve_surface
from holders.film.warmth import bare_chance, warm_air
from holders.fittings.carrier.insert import Carrier
from holders.preset.template import template
from holders.study import Study
from holders.workshop.budget.framed import framed

Floats = NDArray[np.float64]
CELLS = 24
GOOD_SHARE = 0.9
SPANS = {"any": (0.0, 1.0), "cold": (0.0, 0.25), "warm": (0.75, 1.0)}  # of the way from cold to warm


@dataclass(frozen=True)
class Film:
    """One film in the holder: heights over its picture and its lowest place, over the ledge, mm; its thickness, how far
    it lifts its lid, and how far from cold to warm it is.
    """

    heights: Floats
    lowest: float
    thickness_mm: float
    rise_mm: float = 0.0
    warmth: float | None = None


def good_scans(found: Study, films: int = 48, users_each: int = 50, seed: int = 1) -> tuple[float, int]:
    """The share of good scans among simulated users of a judged holder, and how many users there were."""
    rng = np.random.default_rng(seed)
    bed, when = found.job.bed, SPANS[found.job.preset.room.scan_when]
    shapes = films_of(found, films, rng)
    under = framed(found.job, found.design, CELLS)
    good = np.zeros(1 if under is None else len(under.cold))
    for shape in shapes:
        ledges = ledges_above_glass(found, rng, users_each)
        focus = rng.normal(bed.focus_height_mm, bed.focus_sigma_mm, users_each)
        warmth = rng.uniform(*when, users_each) if shape.warmth is None else np.full(users_each, shape.warmth)
        heights = shape.heights + tilted_by(found, shape, rng.uniform(-1, 1, users_each))
        for k in range(len(good)):
            depth: Floats = np.zeros((users_each, 1, 1))
            if under is not None:
                depth = under.cold[k] + warmth[:, None, None] * (under.warm[k] - under.cold[k])
            good[k] += are_good(found, shape, heights - depth, ledges, focus).sum()
    users = len(shapes) * users_each
    return float(good.min()) / users, users


def tilted_by(found: Study, film: Film, tilts: Floats) -> Floats:
    """What a lid tilted by so much of what it can (users,), -1 to 1, does to the film: one side up, the other down, mm,
    (users, 1, CELLS).
    """
    surface = found.film.surface
    hold = None if surface is None else surface.support.hold
    most = 0.0 if hold is None else film.rise_mm
    if hold is not None and hold.most_rise_mm is not None:
        most = min(most, max(0.0, hold.most_rise_mm - film.rise_mm))
    return tilts[:, None, None] * most * np.linspace(-1, 1, CELLS)


def are_good(found: Study, film: Film, rises: Floats, ledges: Floats, focus: Floats) -> NDArray[np.bool_]:
    """Whether each user's scan is sharp on nine tenths and free of rings: (users,), from the heights of film and frame
    over where flat film on its ledge would be (users, CELLS, CELLS), the ledge and the focus height (users,), mm.
    """
    job = found.job
    seat = ledges + job.film.plane_offset_mm
    under = seat[:, None, None] + rises
    optics = film.thickness_mm / job.base.refractive_index if job.preset.film.emulsion == "up" else 0.0
    inside = np.abs(under + optics - focus[:, None, None]) <= job.bed.focus_band_mm
    light, sag = lamp(job.bed.lamp), found.design.sag
    rings_below = 0.0 if sag is None else max(0.0, sag.least_gap_mm - light.keep_gap_mm)
    gap = np.minimum(seat + film.lowest, under.min((1, 2)))
    return np.asarray((inside.mean((1, 2)) >= GOOD_SHARE) & (gap >= rings_below))


def ledges_above_glass(found: Study, rng: np.random.Generator, users: int) -> Floats:
    """Where the ledge of each user's holder comes out (users,), mm."""
    job, design = found.job, found.design

    def even(limit: float, times: int = 1) -> Floats:
        return limit * rng.uniform(-1, 1, (times, users)).sum(0)

    height = np.full(users, design.heights.foot_protrusion)
    if job.preset.feet is not None:
        height += even(habit("foot-spread"))
    if job.printer is not None:
        steps = 1 if design.find(Carrier) is None else 2
        known = design.heights.print_offset + rng.normal(0.0, design.heights.print_offset_sigma, users)
        return height + design.heights.ledge_height + even(job.printer.z_tolerance_mm, steps) + known
    top = design.heights.drawn_ledge
    sheets = Counter(
        round(slab.z1 - slab.z0, 4)
        for part in design.parts
        if part.in_frame
        for slab in part.slabs
        if slab.z1 <= top + 1e-6
    )
    measured = bool(job.preset.material.sheets_mm)
    for thickness, count in sheets.items():
        error = (
            rng.normal(0.0, habit("caliper") / 2, users)
            if measured
            else even(stock_tolerance(job.material, thickness))
        )
        height += count * (thickness + error)
    lines, material = sum(sheets.values()) - 1, job.material
    swollen = 20.0 * material.thickness_swelling_per_rh * sum(t * n for t, n in sheets.items())
    return height + lines * material.glue_line_mm + even(material.glue_spread_mm, lines) + even(swollen)


def films_of(found: Study, count: int, rng: np.random.Generator) -> list[Film]:
    """So many films of the holder's kind; one for a rigid plate, a mount, and where no shape was found."""
    job, made = found.job, found.film
    usual = [Film(_over_picture(found, made.surface), _lowest(made.surface), job.base.thickness_mm)]
    if made.surface is None or made.sheet is None or job.film.kind == "mount":
        return usual
    base, stated = job.base, job.preset.film.curl_along_per_m
    across_axis, along_axis = (
        ("curl_y_per_m", "curl_x_per_m") if made.turned else ("curl_x_per_m", "curl_y_per_m")
    )
    films, ways, backs = [], rng.permutation(count), rng.permutation(count)
    for k in range(count):
        curl = base.curl_per_m
        if base.curl_high_per_m > base.curl_low_per_m:  # one in each of so many parts of equal chance
            width = base.curl_high_per_m - base.curl_low_per_m
            law = triang((base.curl_per_m - base.curl_low_per_m) / width, base.curl_low_per_m, width)
            curl = float(law.ppf((k + rng.uniform()) / count))
        low, high = SPANS[job.preset.room.scan_when]
        way = low + (high - low) * (ways[k] + rng.uniform()) / count
        alike = _dried(found, way, (backs[k] + rng.uniform()) / count, rng) / (1 + base.poisson)
        thick = _triangular(rng, base.thickness_low_mm, base.thickness_mm, base.thickness_high_mm)
        modulus = _triangular(rng, base.modulus_low_mpa, base.modulus_mpa, base.modulus_high_mpa)
        curls = {across_axis: curl + alike, along_axis: stated + alike}
        sheet = made.sheet.model_copy(update={**curls, "thickness_mm": thick, "modulus_mpa": modulus})
        try:
            surface = solve_surface(sheet, made.surface.support, tol=1e-5, resolution=8, opens=False)
        except NotConverged:
            continue
        rise = 0.0 if surface.lid is None else surface.lid.rise_mm
        films.append(Film(_over_picture(found, surface), _lowest(surface), thick, rise, way))
    return films


def _dried(found: Study, way: float, back: float, rng: np.random.Generator) -> float:
    """How much more one film curls than in its base's numbers, so far from cold to warm, 1/m; ``back`` (0 to 1) decides
    whether its back is bare.
    """
    job, room, gelatin = found.job, found.job.preset.room, numbers("gelatin")
    stated = any(one.value == "curl_per_m" and one.status == "measured" for one in job.base.sources)
    air = warm_air(job.base, room.ambient_c, room.humidity_percent, job.bed.lamp_rise_k, curl_known=stated)
    bare = back < bare_chance(job.base, job.film.kind)
    middle, spread = (
        (1.0, gelatin["curl-slope-spread"].value) if bare else (0.0, gelatin["back-coat-spread"].value)
    )
    share = middle + float(rng.triangular(-spread, 0.0, spread))
    return share * (air.cold_per_m + way * (air.warm_per_m - air.cold_per_m))


def _triangular(rng: np.random.Generator, low: float, usual: float, high: float) -> float:
    return float(rng.triangular(low, usual, high)) if high > low else usual


def _lowest(surface: Surface | None) -> float:
    return 0.0 if surface is None else float(surface.deflection.min())


def _over_picture(found: Study, surface: Surface | None) -> Floats:
    """(CELLS, CELLS) heights over the ledge; of a plate as its grid has them, else flat."""
    grid, picture = found.film.grid, found.film.picture
    u = (np.arange(CELLS) + 0.5) / CELLS
    x, y = picture.left_mm + u * picture.width_mm, picture.head_mm + u * picture.height_mm
    if surface is not None:
        return np.asarray(RectBivariateSpline(surface.y, surface.x, surface.deflection)(y, x))
    if grid is not None:
        seat = found.design.heights.ledge_above_glass + found.job.film.plane_offset_mm
        return np.asarray(RectBivariateSpline(grid.y, grid.x, grid.z - seat)(y, x))
    return np.zeros((CELLS, CELLS))


FORMATS = (
    "4x5",
    "5x7",
    "8x10",
    "half-plate",
    "whole-plate",
    "4x10",
    "9x12cm",
    "13x18cm",
    "roll-6x6",
    "roll-6x9",
)
SIGMAS_MM = (0.02, 0.03, 0.05, 0.1, 0.2, 0.3, 0.5)


def random_preset(number: int, formats: tuple[str, ...] = FORMATS) -> str:
    """The text of a preset made at random from what a user would choose; the same number gives the same."""
    r = random.Random(number)
    route = r.choice(("print", "print", "laser", "knife"))
    values: dict[str, Any] = {
        "title": f"user {number}",
        "route": route,
        "bed": {"name": r.choice(("a4-wide", "a3")), "focus_sigma_mm": r.choice(SIGMAS_MM)},
        "film": {"format": r.choice(formats), "emulsion": r.choice(("down", "down", "up"))},
        "material": {"name": USUAL[route]},
        "layout": {"count": 1},
    }
    if r.random() < 0.5:
        values["bed"]["focus_height_mm"] = round(r.uniform(2.6, 4.0), 2)
    if route == "print":
        values["printer"] = {"name": fitting_printer(values["bed"]["name"])}
        if r.random() < 0.3:
            values["printer"]["layer_mm"] = 0.1
    if r.random() < 0.3:
        values["feet"] = dict(STARTS["feet"].get(route, STARTS["feet"][""]))
    hold = r.random()
    if hold < 0.4:
        values["lid"] = dict(STARTS["lid"].get(route, STARTS["lid"][""]))
    elif hold < 0.6:
        values["cover"] = {"thickness_mm": r.choice((2.0, 3.0, 4.0))}
    if r.random() < 0.4:
        usual = round(r.uniform(-1.5, 3.0), 2)
        spread = r.choice((0.2, 0.5, 1.5))
        values["base"] = {"curl_per_m": usual, "curl_low_per_m": round(usual - spread, 2),
                          "curl_high_per_m": round(usual + spread, 2)}  # fmt: skip
    return template(values)
