"""The film on its ledge, for someone who has never seen a graph: a relief from above, and cut through the middle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from holders.core.lengths import measure
from holders.design.held.model import Filmed, HeightGrid, picture_grid
from holders.design.model import Design, Rect, Window
from holders.design.parts.roles import own_lids
from holders.design.parts.sections import area_of
from holders.geometry.outline import Region
from holders.output.draw.canvas import (
    AXIS,
    EDGE,
    FINE,
    HATCH_BAND,
    HATCH_MATERIAL,
    HATCH_OTHER,
    Pen,
    Picture,
    View,
)
from holders.output.draw.drafting.lettering import LINE, TEXT, TITLE, fitted, spread, wrapped
from holders.output.draw.relief import Field, bar, relief
from holders.output.words.film import film_words
from holders.workshop.budget.tolerance import sharp_means

WIDTH = 174.0  # between the margins of A4 (ISO 216)
MARGIN = 6.0
CUT_HIGH = 52.0  # paper height of the section
MAP_HIGH, SMALL_HIGH, STRIP_HIGH = 96.0, 72.0, 40.0
WORDS_WIDE = 66.0  # room for words beside the section
BAR_WIDE = 26.0  # room for the bar of heights and its numbers
KEY_WIDE, KEY_HIGH = 44.0, 48.0
BAR_HIGH = 32.0
FILM_PEN = Pen(0.7)
CELLS = 60
STRIP = 1.8  # a picture this much longer than wide is drawn lying
BESIDE_MM = 12.0  # of the frame are drawn beside the film
CUTS = (0.5, 0.4, 0.6, 0.3, 0.7)  # of the film's length: somewhere among them is no tab
PIECES_MM = 1.0  # more than half of any gap between pieces


@dataclass(frozen=True, slots=True)
class Axes:
    """How the section's millimetres come to paper."""

    view: View
    enlarged: float


def film_sheet(design: Design, film: Filmed, width: float = WIDTH, verdict: str = "") -> bytes:
    """The whole picture as SVG, ``width`` mm wide: one sentence, the relief, the film cut through its middle.

    ``verdict`` is the sentence that judges the holder, where it is to stand above.

    Raises ``ValueError`` when no film surface is known.
    """
    if film.grid is None or film.sag is None:
        raise ValueError("no film surface is known")
    room = width - 2 * MARGIN
    judged = wrapped(verdict, room, TEXT, bold=True)
    means = f"{sharp_means()} " if verdict else ""
    said = wrapped(f"{means}{film_words(design, film)}", room, TEXT)
    top = 12.0 + LINE * (len(judged) + len(said)) + 3.0
    map_high = max(_map_size(film, width)[1], KEY_HIGH)
    picture = Picture(width, top + map_high + 14.0 + CUT_HIGH + 8.0, exact=True)
    title = f"{design.title}: {design.mine[0].film_key}" if design.kinds else design.title
    picture.text((MARGIN, 8.0), fitted(title, room, TITLE, bold=True), TITLE, bold=True)
    for k, line in enumerate([*judged, *said]):
        picture.text((MARGIN, 14.5 + LINE * k), line, TEXT, bold=k < len(judged))
    _map(picture, film, seen(design, film.grid), top)
    down = top + map_high + 12.0
    axes = _axes(design, film, seen(design, film.grid), width, down)
    words = f"Cut through the middle of the film, heights {axes.enlarged:.0f} times too large"
    picture.text((MARGIN, down), words, TEXT)
    _section(picture, design, film, seen(design, film.grid), axes)
    return picture.svg(f"{design.title}: how the film lies", embed=True)


def seen(design: Design, grid: HeightGrid) -> HeightGrid:
    """The heights at which the lens sees the picture of film that lies on glass of its own; else those of the film."""
    return grid if design.seen_above_mm == 0 else replace(grid, z=grid.z + design.seen_above_mm)


def film_relief(design: Design, film: Filmed, width: float) -> Picture:
    """The relief alone with its bar, ``width`` mm wide, under the sentence."""
    assert film.grid is not None
    said = wrapped(film_words(design, film), width, TEXT)
    high = max(_map_size(film, width, key=False)[1], BAR_HIGH + 4.0)
    picture = Picture(width, LINE * len(said) + high + 6.0)
    for k, line in enumerate(said):
        picture.text((0.0, 3.0 + LINE * k), line, TEXT)
    _map(picture, film, seen(design, film.grid), LINE * len(said) + 1.0, 0.0, key=False)
    return picture


def _map_size(film: Filmed, width: float, key: bool = True) -> tuple[float, float]:
    """Width and height of the map on paper."""
    across, along = _sides_of(film)
    margin = MARGIN if key else 0.0
    room = width - 2 * margin - 5.0 - BAR_WIDE - (KEY_WIDE if key else 0.0)
    scale = min((STRIP_HIGH if _lying(film) else MAP_HIGH if key else SMALL_HIGH) / along, room / across)
    return across * scale, along * scale


def _lying(film: Filmed) -> bool:
    return film.picture.height_mm > STRIP * film.picture.width_mm


def _sides_of(film: Filmed) -> tuple[float, float]:
    """The picture's sides as they lie on paper: a strip lies on its side, its head to the left."""
    area = film.picture
    return (area.height_mm, area.width_mm) if _lying(film) else (area.width_mm, area.height_mm)


def _map(
    picture: Picture, film: Filmed, grid: HeightGrid, top: float, margin: float = MARGIN, key: bool = True
) -> None:
    """The relief of the picture area seen from above, its bar, and what the marks mean."""
    wide, high = _map_size(film, picture.width, key)
    heights = picture_grid(grid, film.picture, CELLS)
    field = Field(heights.T if _lying(film) else heights, film.band.low_mm, film.band.high_mm)
    left = margin + 5.0
    if _lying(film):
        picture.text((left - 1.5, top + high / 2), "head", TEXT, "middle", turned=True)
    relief(picture, field, (left, top, wide, high))
    bar(picture, field, (left + wide + 5.0, top + 2.0), min(max(high - 4.0, BAR_HIGH), 70.0))
    if key:
        _key(picture, film, (left + wide + BAR_WIDE + 3.0, top + 3.0))


def _key(picture: Picture, film: Filmed, at: tuple[float, float]) -> None:
    """What the hatchings and lines mean."""
    x, y = at
    picture.text((x, y), "mm above the glass", TEXT)
    boxes = ((HATCH_MATERIAL, "too low, soft"), (HATCH_OTHER, "too high, soft"))
    for k, (fill, words) in enumerate(boxes):
        top = y + 4.0 + 6.5 * k
        picture.polygon([[(x, top), (x + 8, top), (x + 8, top + 4), (x, top + 4)]], FINE, fill)
        picture.text((x + 10, top + 3.2), words, TEXT)
    lines = [
        "line beside the colours: this film",
        f"not hatched: sharp, {measure(film.band.low_mm)} to {measure(film.band.high_mm)} mm",
    ]
    if film.flat_sag is not None:
        share = 100 * film.flat_sag.in_band_fraction
        lines.append(f"a ledge at the focus height would leave {share:.0f} % sharp")
    y += 21.0
    for words in lines:
        for line in wrapped(words, picture.width - x - MARGIN, TEXT):
            picture.text((x, y), line, TEXT)
            y += LINE
        y += 1.0


def _axes(design: Design, film: Filmed, grid: HeightGrid, width: float, down: float) -> Axes:
    wide = float(grid.x[-1])
    high = max(design.total_height, film.band.high_mm, float(grid.z.max())) + 0.6
    scale_x = (width - 2 * MARGIN - WORDS_WIDE) / (wide + 2 * BESIDE_MM)
    scale_y = CUT_HIGH / (high + 0.9)
    view = View(MARGIN, down + 3.0 + CUT_HIGH - 0.9 * scale_y, -BESIDE_MM, 0.0, scale_x, scale_y)
    return Axes(view, scale_y / scale_x)


def _section(picture: Picture, design: Design, film: Filmed, grid: HeightGrid, axes: Axes) -> None:
    view, wide = axes.view, float(grid.x[-1])
    left, right = view.at(-BESIDE_MM, 0)[0], view.at(wide + BESIDE_MM, 0)[0]
    base = view.at(0, 0)[1]
    picture.polygon([[(left, base), (right, base), (right, base + 5), (left, base + 5)]], EDGE, "#ddd")
    low, high = view.at(0, film.band.low_mm)[1], view.at(0, film.band.high_mm)[1]
    picture.polygon([[(left, low), (right, low), (right, high), (left, high)]], None, HATCH_BAND)
    _ledges(picture, design, grid, view)
    _lid(picture, design, view)
    focus = view.at(0, (film.band.low_mm + film.band.high_mm) / 2)[1]
    picture.line((left, focus), (right, focus), AXIS)
    middle = grid.z[len(grid.y) // 2]
    picture.strokes([[view.at(float(x), float(z)) for x, z in zip(grid.x, middle, strict=True)]], FILM_PEN)
    _words(picture, design, film, middle, (right + 3, view))


def _ledges(picture: Picture, design: Design, grid: HeightGrid, view: View) -> None:
    """The holder left and right of the window, the lid above the film if there is one."""
    window, h = design.mine[0], design.heights
    under, ledge = h.foot_protrusion, h.ledge_above_glass
    wide, top = float(grid.x[-1]), ledge + design.pocket_depth
    play = window.film.x - window.pocket.x
    through = frozenset(edge for made in design.fitted for edge in made.open_edges())
    for inner, pocket, outer, edge in (
        (window.lips.left, -play, -BESIDE_MM, "left"),
        (wide - window.lips.right, wide + play, wide + BESIDE_MM, "right"),
    ):
        high = ledge if edge in through else top
        profile = [
            (outer, under),
            (inner, under),
            (inner, ledge),
            *_terraces(design, wide, ledge, inner < wide / 2),
            (pocket, ledge - sum(made.floor_mm() for made in design.fitted)),
            (pocket, high),
            (outer, high),
        ]
        picture.polygon([[view.at(x, z) for x, z in profile]], EDGE, HATCH_MATERIAL)
        if under > 0:
            foot = sorted((outer, outer + (3.0 if outer < inner else -3.0)))
            block = [(foot[0], 0.0), (foot[1], 0.0), (foot[1], under), (foot[0], under)]
            picture.polygon([[view.at(x, z) for x, z in block]], FINE, "#000")


def _terraces(design: Design, wide: float, ledge: float, left: bool) -> list[tuple[float, float]]:
    """The steps that a fitting gives the frame from the window outward."""
    corners = [corner for made in design.fitted for corner in made.terraces()]
    return [(wide / 2 + (-out if left else out), ledge - down) for out, down in corners]


def _lid(picture: Picture, design: Design, view: View) -> None:
    """The glass that film lies on, the bought plates and the lid frame above the film, if there are any."""
    if design.seen_above_mm:
        ledge, wide = design.heights.drawn_ledge, design.mine[0].film.width
        top = ledge + design.in_pocket_mm
        picture.polygon(
            [[view.at(a, z) for a, z in ((0, ledge), (wide, ledge), (wide, top), (0, top))]], EDGE, "none"
        )
    for plate in (plate for made in design.fitted for plate in made.plates):
        x = design.mine[0].film.x
        for rect in plate.places[:1] if not plate.on_lid else _beside_film(plate.places, design.mine):
            corners = [(rect.x, plate.z0), (rect.right, plate.z0), (rect.right, plate.z1), (rect.x, plate.z1)]
            picture.polygon(
                [[view.at(a - x, z) for a, z in corners]], EDGE, "#999" if plate.on_lid else "#eee"
            )
    lids = own_lids(design)
    if not lids:
        return
    mine = [part for part in lids if part is lids[0] or (part.whole and part.whole == lids[0].whole)]
    window, slabs = design.mine[0], [slab for part in mine for slab in part.slabs]
    for z0, z1 in sorted({(slab.z0, slab.z1) for slab in slabs}):
        level = [slab.region for slab in slabs if (slab.z0, slab.z1) == (z0, z1)]
        for a, b in _cut(level, window):
            corners = [(a, z0), (b, z0), (b, z1), (a, z1)]
            picture.polygon([[view.at(x - window.film.x, z) for x, z in corners]], EDGE, "#eee")


def _beside_film(bars: Sequence[Rect], windows: Sequence[Window]) -> list[Rect]:
    """The bars along the first window's left and right: those that run past its middle and lie nearest to it."""

    def off(bar: Rect, window: Window) -> float:
        return abs(bar.x + bar.width / 2 - window.film.x - window.film.width / 2)

    first = windows[0]
    middle = first.film.y + first.film.height / 2
    level = [w for w in windows if w.film.y < middle < w.film.top]
    return [
        bar
        for bar in bars
        if bar.y < middle < bar.top
        and bar.height > bar.width
        and min(level, key=lambda w: off(bar, w)) is first
    ]


def _cut(regions: Sequence[Region], window: Window) -> list[tuple[float, float]]:
    """Where one level of a lid, whole or in pieces, is cut across a window: (from, to) each, clear of its tabs.

    Of cuts near the window's middle the one through least material is taken. Gaps between pieces are closed.
    """
    whole = shapely.union_all([area_of(region) for region in regions])
    if len(regions) > 1:
        whole = whole.buffer(PIECES_MM, join_style="mitre").buffer(-PIECES_MM, join_style="mitre")
    film = window.film
    left, right = film.x - BESIDE_MM, film.right + BESIDE_MM
    cuts = [
        whole.intersection(
            shapely.LineString([(left, film.y + k * film.height), (right, film.y + k * film.height)])
        )
        for k in CUTS
    ]
    thin = min((cut for cut in cuts if cut.length > 0), key=lambda cut: float(cut.length), default=None)
    if thin is None:
        return []
    return [(one.bounds[0], one.bounds[2]) for one in shapely.get_parts(thin) if one.length > 0]


def _words(
    picture: Picture, design: Design, film: Filmed, middle: Sequence[float], place: tuple[float, View]
) -> None:
    """Names beside the section, each at its height, spread so that none covers another."""
    x, view = place
    assert film.sag is not None
    ledge = design.heights.ledge_above_glass
    at_middle = float(middle[len(middle) // 2])
    what = "picture seen at" if design.seen_above_mm else "middle of the film"
    notes = [
        (0.0, "the scanner's glass: 0"),
        (film.band.low_mm, f"sharp from {measure(film.band.low_mm)} (lined)"),
        ((film.band.low_mm + film.band.high_mm) / 2, f"sharpest at {measure(design.heights.focus)}"),
        (film.band.high_mm, f"sharp up to {measure(film.band.high_mm)}"),
        (ledge + 1e-6, f"ledge {measure(ledge)}"),
        (at_middle - 1e-6, f"{what} {measure(at_middle)}"),
    ]
    notes.sort(reverse=True)  # down the paper
    places = [view.at(0, z)[1] for z, _ in notes]
    spots = spread(places, LINE, min(places[0], view.at(0, 0)[1] - CUT_HIGH + 6.0), view.at(0, 0)[1] + 5.0)
    for (_, words), height, y in zip(notes, places, spots, strict=True):
        picture.strokes([[(x - 2.5, height), (x + 1.0, y), (x + 2.0, y)]], FINE)
        picture.text((x + 3, y + TEXT * 0.36), words, TEXT)
