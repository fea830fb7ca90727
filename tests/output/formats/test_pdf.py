"""Templates read back: the proof bar, sizes at 1:1, tiles that join, no wasted page, no scaling, same bytes."""

from __future__ import annotations

import io
import re
from typing import Any

import pdfplumber
import pytest
import shapely

from holders.design.model import Design, Part, Slab
from holders.design.pieces.cutting import CutPart, cut_part
from holders.design.resolve import design
from holders.facts.models import Paper
from holders.facts.tables import paper
from holders.geometry.outline import Outline, Region, bounds, rectangle
from holders.output.bundle.plan_files import files_for
from holders.output.formats.pdf import BLADES, MM, template_pdf
from holders.output.formats.tiling import OVERLAP_MM, Tile, Tiling, lines_of, tiling
from holders.preset.load import load
from holders.preset.resolve import resolve
from tests.fixtures_design import made, sheet_parts
from tests.presets_made import SHIPPED

A4 = paper("a4")


def nominal(holder: Design) -> tuple[CutPart, ...]:
    """Every sheet at its nominal size."""
    return tuple(cut_part(part, 0.0) for part in holder.parts)


def plate(outer: Outline, *holes: Outline) -> CutPart:
    slab = Slab("plate", 0.0, 1.5, Region(outer, holes))
    return cut_part(Part("plate", "plate", "knife", "mat-board", 1, (slab,)), 0.0)


def big() -> CutPart:
    return plate(rectangle(0.5, 0.5, 215, 296, 4), rectangle(9.5, 20.5, 197, 248))


def huge() -> CutPart:
    return plate(rectangle(0, 0, 620, 640), rectangle(10, 10, 600, 620))


def pages(data: bytes) -> list[Any]:
    with pdfplumber.open(io.BytesIO(data)) as document:
        return [
            {
                "width": page.width / MM,
                "height": page.height / MM,
                "lines": [[c / MM for c in (o["x0"], o["y0"], o["x1"], o["y1"])] for o in page.lines],
                "boxes": [[c / MM for c in (o["x0"], o["y0"], o["x1"], o["y1"])] for o in page.rects],
                "curves": [[(x / MM, page.height / MM - y / MM) for x, y in o["pts"]] for o in page.curves],
                "text": page.extract_text(),
            }
            for page in document.pages
        ]


def bars(page: Any) -> list[float]:
    """Lengths of level lines near 100 mm."""
    return [x1 - x0 for x0, y0, x1, y1 in page["lines"] if abs(y1 - y0) < 1e-6 and 90 < x1 - x0 < 110]


def shapes(page: Any) -> list[tuple[float, float, float, float]]:
    """Boxes of every closed path on a page, mm from its lower left corner."""
    found = [tuple(box) for box in page["boxes"]]
    for points in page["curves"]:
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        found.append((min(xs), min(ys), max(xs), max(ys)))
    return found  # type: ignore[return-value]


def placed(page: Any, outline: Outline) -> tuple[float, float]:
    """Where on the page the outline's lower left corner lies; it must be there once at its full size."""
    x0, y0, x1, y1 = bounds(outline)
    hits = [
        s for s in shapes(page) if abs(s[2] - s[0] - (x1 - x0)) < 0.01 and abs(s[3] - s[1] - (y1 - y0)) < 0.01
    ]
    assert len(hits) == 1
    return hits[0][0], hits[0][1]


def test_pieces_that_a_machine_cut_are_laid_on_it_not_cut_by_it() -> None:
    text = pages(template_pdf("weir", [big()], A4, by_hand=False))[0]["text"]
    assert "compare" in text
    assert "Tape the template" not in text
    assert "Tape the template" in pages(template_pdf("weir", [big()], A4))[0]["text"]


def test_proof_bars_along_and_across_on_every_page() -> None:
    found = pages(template_pdf("weir", [big()], A4))
    assert len(found) == 3
    for page in found:
        assert bars(page) == pytest.approx([100.0], abs=0.05)
        upright = [d - b for a, b, c, d in page["lines"] if abs(a - c) < 1e-6 and abs(d - b - 100.0) < 1.0]
        assert upright == pytest.approx([100.0], abs=0.05)
        assert "100 mm" in page["text"]


def test_pages_are_the_paper_s_size() -> None:
    for page in pages(template_pdf("weir", [big()], A4)):
        assert sorted((page["width"], page["height"])) == pytest.approx([210, 297], abs=0.01)  # ISO 216
    letter = paper("letter")
    for page in pages(template_pdf("weir", [big()], letter)):
        assert sorted((page["width"], page["height"])) == pytest.approx([215.9, 279.4], abs=0.01)


def test_the_viewer_is_told_not_to_scale() -> None:
    data = template_pdf("weir", [big()], A4)
    assert re.search(rb"/PrintScaling\s*/None", data)
    assert b"/UserUnit" not in data


@pytest.mark.parametrize("key", ["a4", "letter", "a3"])
def test_outlines_are_at_full_size_and_tiles_join(key: str) -> None:
    piece, sheet = big(), paper(key)
    spread = tiling(piece, sheet)
    found = pages(template_pdf("weir", [piece], sheet))[1:]
    assert len(found) == len(spread.tiles)
    box = bounds(piece.outer)
    for page, tile in zip(found, spread.tiles, strict=True):
        x, y = placed(page, piece.outer)
        # on every page the piece lies where the tile says, so neighbours join
        assert x - box[0] == pytest.approx(spread.page.left - tile.x, abs=0.002)
        assert y - box[1] == pytest.approx(spread.page.margin - tile.y, abs=0.002)
        hole = placed(page, piece.inner[0])
        assert (hole[0] - x, hole[1] - y) == pytest.approx((9.0, 20.0), abs=0.002)


def crosses_on(page: Any, spread: Tiling, tile: Tile) -> set[tuple[float, float]]:
    """Middles of the crosses (6 mm level lines) in the piece's own coordinates."""
    left, low = spread.page.left, spread.page.margin
    level = [ln for ln in page["lines"] if abs(ln[1] - ln[3]) < 1e-6 and abs(ln[2] - ln[0] - 6) < 0.01]
    return {
        (round((a + c) / 2 - left + tile.x, 2), round((b + d) / 2 - low + tile.y, 2)) for a, b, c, d in level
    }


def test_neighbours_carry_the_same_crosses() -> None:
    piece = huge()
    spread = tiling(piece, A4)
    found = pages(template_pdf("weir", [piece], A4))[1:]
    by_place = {(t.column, t.row): crosses_on(p, spread, t) for p, t in zip(found, spread.tiles, strict=True)}
    joined = 0
    for (column, row), mine in by_place.items():
        assert mine
        for step in ((1, 0), (0, 1)):
            other = by_place.get((column + step[0], row + step[1]))
            if other is not None:
                assert len(mine & other) >= 2
                joined += 1
    assert joined >= len(by_place) - 1


def test_overlap_is_what_it_says() -> None:
    spread = tiling(huge(), A4)
    by_place = {(t.column, t.row): t for t in spread.tiles}
    one, two = by_place[(0, 0)], by_place[(1, 0)]
    assert one.x + spread.page.tile_width - two.x == pytest.approx(OVERLAP_MM)
    low = by_place[(0, 1)]
    assert one.y + spread.page.tile_height - low.y == pytest.approx(OVERLAP_MM)


@pytest.mark.parametrize("piece", [big(), huge(), *nominal(made("knife"))], ids=lambda p: f"{p.box[2]:.0f}")
@pytest.mark.parametrize("sheet", [A4, paper("letter")], ids=lambda p: p.key)
def test_no_line_is_lost_and_no_page_wasted(piece: CutPart, sheet: Paper) -> None:
    spread = tiling(piece, sheet)
    lines = lines_of(piece)
    areas = [
        shapely.box(t.x, t.y, t.x + spread.page.tile_width, t.y + spread.page.tile_height)
        for t in spread.tiles
    ]
    assert lines.difference(shapely.union_all(areas)).length < 1e-6
    for area in areas:
        assert lines.intersection(area).length > 1.0
    assert len(spread.tiles) <= spread.columns * spread.rows


def test_empty_middles_are_left_out() -> None:
    spread = tiling(huge(), A4)
    assert len(spread.tiles) < spread.columns * spread.rows
    taken = {(t.column, t.row) for t in spread.tiles}
    assert (1, 1) not in taken


def test_an_8x10_sheet_takes_two_a4_pages_turned_across() -> None:
    spread = tiling(big(), A4)
    assert (spread.columns, spread.rows) == (1, 2)
    assert spread.page.width == 297


def test_small_pieces_take_one_page_without_crosses() -> None:
    spread = tiling(plate(rectangle(0, 0, 100, 120)), A4)
    assert len(spread.tiles) == 1
    assert spread.crosses(spread.tiles[0]) == []


def test_cover_says_how_and_cautions() -> None:
    text = pages(template_pdf("weir", [big()], A4))[0]["text"]
    assert "100 %" in text
    assert BLADES[0][:40] in text
    own = pages(template_pdf("weir", [big()], A4, ("Mind the weir.",)))[0]["text"]
    assert "Mind the weir." in own
    assert BLADES[0][:20] not in own


def test_lettering_is_on_the_template() -> None:
    lettered = cut_part(sheet_parts()[1], 0.0)
    bare = cut_part(sheet_parts()[0], 0.0)
    page = pages(template_pdf("weir", [lettered], A4))[1]
    assert len(page["lines"]) + len(page["curves"]) > len(pages(template_pdf("w", [bare], A4))[1]["lines"])
    stroke = [
        ln for ln in page["lines"] if abs(ln[0] - ln[2]) < 1e-6 and abs(abs(ln[3] - ln[1]) - 5.0) < 0.01
    ]
    assert stroke  # the I, 5 mm high


def test_same_bytes_and_no_clock() -> None:
    data = template_pdf("weir", [big()], A4)
    assert template_pdf("weir", [big()], A4) == data
    assert b"D:2000" in data
    assert b"D:202" not in data


def test_a_foreign_title_does_no_harm() -> None:
    title = "Wehr Ä (1) \\ 🎞 " + "long " * 60
    found = pages(template_pdf(title, [big()], A4))
    assert "Wehr" in found[0]["text"]
    assert bars(found[1]) == pytest.approx([100.0], abs=0.05)


def test_several_pieces_many_maps() -> None:
    pieces = [big() for _ in range(9)]
    found = pages(template_pdf("weir", pieces, A4))
    assert len(found) == 1 + 18
    assert "page 19 of 19" in found[-1]["text"]


@pytest.mark.parametrize("path", [p for p in SHIPPED if "printed" not in p.stem], ids=lambda p: p.stem)
def test_every_shipped_template_reads_back(path) -> None:  # type: ignore[no-untyped-def]
    job = resolve(load(path))
    holder = design(job)
    files = files_for(holder, job.paper)
    assert ("template.pdf" in files) == (holder.route != "print")
    if "template.pdf" not in files:
        return
    found = pages(files["template.pdf"]())
    assert all(bars(page) == pytest.approx([100.0], abs=0.05) for page in found)
    number = 1
    for piece in nominal(holder):
        for _ in tiling(piece, job.paper).tiles:
            placed(found[number], piece.outer)
            number += 1
    assert number == len(found)
