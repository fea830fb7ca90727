"""Stock sheets as DXF: they carry the parts' own cut lines, kerf and all, nothing overlaps, inner before outer."""

from __future__ import annotations

import io
import json
import math
import shutil
import subprocess
from collections import defaultdict
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import ezdxf
import pytest
import shapely
from ezdxf.document import Drawing
from ezdxf.entities import LWPolyline

from holders.design.parts.sections import polygon
from holders.geometry.outline import Outline, Vertex, area, bounds, length
from holders.output.bundle.plan_files import files_for
from holders.output.bundle.produce import notes_for, stock_drawings
from holders.output.formats.dxf import ENGRAVE, INNER, OUTER, inside_layer
from holders.output.words.stock import stock_summary, told_all
from holders.output.words.summary import summary
from holders.preset.load import load
from holders.preset.schema import Preset
from holders.study import Study, study
from holders.workshop.nest.nest_job import sheets_of
from holders.workshop.nest.overlap import faults
from tests.presets_made import SHIPPED, changed
from tests.workshop.nest_cases import preset

CASES = ("8x10-acrylic-lid", "6x9-roll", "50mm-mounts", "8x10-mat-board", "many lids")
EXACT = 1e-6


@cache
def found(name: str) -> Study:
    if (
        name == "many lids"
    ):  # small frames, cut from one thickness: lids lie in the windows of nothing but the sheet
        return study(
            Preset.model_validate(
                changed(
                    route="laser",
                    material={
                        "name": "mdf",
                        "sheets_mm": [3.0],
                        "sheet_width_mm": 230,
                        "sheet_height_mm": 310,
                    },
                    layout={"count": 4},
                    lid={"tabs": 0, "lip_mm": 1.0},
                )
            )
        )
    return study(preset(name))


@cache
def files(name: str) -> dict[str, bytes]:
    one = found(name)
    made = files_for(
        one.design, one.job.paper, kerf_mm=one.job.material.kerf_mm, stock=stock_drawings(one.nested)
    )
    return {file: make() for file, make in made.items() if file.endswith(".dxf")}


def read(data: bytes) -> Drawing:
    return ezdxf.read(io.StringIO(data.decode("utf-8")))  # type: ignore[attr-defined,no-any-return]


def lines(data: bytes) -> list[tuple[str, Outline, bool]]:
    entities: list[LWPolyline] = list(read(data).modelspace())  # type: ignore[arg-type]
    return [
        (e.dxf.layer, Outline(tuple(Vertex(x, y, b) for x, y, b in e.get_points("xyb"))), bool(e.closed))
        for e in entities
    ]


def open_length(line: Outline) -> float:
    points = [(v.x, v.y) for v in line.vertices]
    return sum(math.dist(a, b) for a, b in pairwise(points))


def sheet_files(name: str) -> dict[str, bytes]:
    return {file: data for file, data in files(name).items() if file.startswith("stock-sheet-")}


@pytest.mark.parametrize("name", CASES)
def test_the_sheets_carry_the_parts_own_lines(name: str) -> None:
    """Every cut line and every stroke of every piece file is on a sheet as often as the piece is wanted, as long."""
    wanted: dict[str, list[float]] = defaultdict(list)
    for part in found(name).design.parts:
        for layer, line, closed in lines(files(name)[f"{part.name}.dxf"]):
            wanted[layer] += [length(line) if closed else open_length(line)] * part.quantity
    there: dict[str, list[float]] = defaultdict(list)
    for data in sheet_files(name).values():
        for layer, line, closed in lines(data):
            plain = layer.replace("DROPOUT", "CUT")
            there[plain].append(length(line) if closed else open_length(line))
    assert set(there) == set(wanted)
    for layer, lengths in wanted.items():
        assert len(there[layer]) == len(lengths)
        assert sorted(there[layer]) == pytest.approx(sorted(lengths), abs=EXACT)


@pytest.mark.parametrize("name", CASES)
def test_nothing_overlaps_by_the_written_lines(name: str) -> None:
    """By the design's own outlines, and once more by what stands in the file: material keeps its distance."""
    for nested in found(name).nested:
        assert not faults(nested.nesting)
    for sheet in sheets_of(found(name).nested):
        rings = [(la, line) for la, line, closed in lines(sheet_files(name)[sheet.file]) if closed]
        outers = [polygon(line, 0.005) for la, line in rings if la.endswith("OUTER")]
        assert len(outers) == len(sheet.placements)
        solids = []
        for shape in outers:
            holes = [
                polygon(line, 0.005)
                for la, line in rings
                if la.endswith("INNER") and shape.contains(polygon(line, 0.005))
            ]
            solids.append(shape.difference(shapely.union_all(holes)))
        page = shapely.box(0, 0, sheet.use.width_mm, sheet.use.height_mm)
        for k, one in enumerate(solids):
            assert page.contains(one)
            for other in solids[k + 1 :]:
                assert one.distance(other) > 1.9  # 2 mm between cut lines, less the chords


@pytest.mark.parametrize("name", CASES)
def test_entities_stand_in_the_order_of_cutting(name: str) -> None:
    for data in sheet_files(name).values():
        drawn = lines(data)
        marks = [layer == ENGRAVE for layer, _, _ in drawn]
        assert marks == sorted(marks, reverse=True)
        shapes = [polygon(line, 0.05) for _, line, closed in drawn if closed]
        for early, one in enumerate(shapes):
            assert not any(one.contains(later) for later in shapes[early + 1 :])


@pytest.mark.parametrize("name", CASES)
def test_by_layers_the_order_is_right_too(name: str) -> None:
    """A program that cuts layer by layer, as they are listed, never drops a piece before its inside is done."""
    for data in sheet_files(name).values():
        listed = [layer.dxf.name for layer in read(data).layers if layer.dxf.name not in ("0", "Defpoints")]
        assert listed[0] == ENGRAVE
        assert listed[-2:] == [INNER, OUTER]
        drawn = sorted(
            ((listed.index(layer), polygon(line, 0.05)) for layer, line, closed in lines(data) if closed),
            key=lambda item: item[0],
        )
        for early, (rank, one) in enumerate(drawn):
            assert not any(r > rank and one.contains(later) for r, later in drawn[early + 1 :])


def thursday() -> Study:
    """Frames and a test piece of one thickness: the test piece lies in a window."""
    from holders.workshop.coupon.coupon import coupon
    from holders.workshop.nest.nest_job import nest_job

    board = preset("8x10-mat-board", route="laser", material={"name": "mdf", "sheets_mm": [3.0]},
                   bed={"focus_height_mm": 3.0})  # fmt: skip
    one = study(board.model_copy(update={"cover": None}))
    nested = nest_job(one.job, one.design, more=coupon("laser", "mdf", 3.0).parts)
    return replace(one, findings=(), cautions=(), preset_text="", nested=nested)


def test_a_piece_in_a_window_is_on_a_layer_that_is_cut_before() -> None:
    one = thursday()
    (sheet,) = stock_drawings(one.nested)
    data = files_for(one.design, one.job.paper, kerf_mm=0.2, stock=[sheet])["stock-sheet-1.dxf"]()
    drawn = lines(data)
    names = {layer for layer, _, _ in drawn}
    assert {"DROPOUT_INNER", "DROPOUT_OUTER", INNER, OUTER} <= names
    listed = [layer.dxf.name for layer in read(data).layers]
    assert listed.index("DROPOUT_OUTER") < listed.index(INNER)
    windows = [polygon(line) for layer, line, _ in drawn if layer == INNER and abs(area(line)) > 10_000]
    inside = [polygon(line) for layer, line, _ in drawn if layer == "DROPOUT_OUTER"]
    assert len(inside) == 3  # plate, tongue, plug
    assert all(sum(window.contains(one) for window in windows) == 1 for one in inside)
    (told,) = stock_summary(one.nested)
    assert sum(p["in_dropout"] for p in told["pieces"]) == 3
    assert "3 in what drops out" in told_all(one.nested)[0][1]


def test_deeper_drop_outs_have_layers_of_their_own() -> None:
    assert inside_layer(INNER, 0) == INNER
    assert inside_layer(OUTER, 1) == "DROPOUT_OUTER"
    assert inside_layer(OUTER, 2) == "DROPOUT_OUTER_2"


def test_size_units_and_extents() -> None:
    for sheet in sheets_of(found("8x10-acrylic-lid").nested):
        document = read(sheet_files("8x10-acrylic-lid")[sheet.file])
        assert not document.audit().errors
        assert document.header["$INSUNITS"] == 4
        assert tuple(document.header["$LIMMAX"])[:2] == (sheet.use.width_mm, sheet.use.height_mm)
        boxes = [
            bounds(line) for _, line, closed in lines(sheet_files("8x10-acrylic-lid")[sheet.file]) if closed
        ]
        assert document.header["$EXTMIN"][:2] == pytest.approx(
            (min(b[0] for b in boxes), min(b[1] for b in boxes))
        )
        assert document.header["$EXTMAX"][:2] == pytest.approx(
            (max(b[2] for b in boxes), max(b[3] for b in boxes))
        )


def test_the_kerf_is_kept() -> None:
    """The lid's outer path on its sheet is the lid and one kerf."""
    one = found("8x10-acrylic-lid")
    part = next(p for p in one.design.parts if p.name == "lid")
    x0, y0, x1, y1 = part.box
    sheet = next(s for s in sheets_of(one.nested) if any(p.part == "lid" for p in s.placements))
    sizes = []
    for layer, line, _ in lines(sheet_files("8x10-acrylic-lid")[sheet.file]):
        if layer == OUTER:
            a0, b0, a1, b1 = bounds(line)
            sizes.append(sorted((a1 - a0, b1 - b0)))
    wanted = sorted((x1 - x0 + 0.18, y1 - y0 + 0.18))
    assert any(size == pytest.approx(wanted, abs=1e-9) for size in sizes)


def test_the_summary_adds_up() -> None:
    one = found("6x9-roll")
    told = summary(one, "x")["stock_sheets"]
    assert json.loads(json.dumps(notes_for(one, None)))["stock_sheets"] == told
    assert [row["file"] for row in told] == list(sheet_files("6x9-roll"))
    for row in told:
        drawn = lines(sheet_files("6x9-roll")[row["file"]])
        assert row["cut_length"] == pytest.approx(
            sum(length(o) for _, o, closed in drawn if closed), abs=0.01
        )
        # ENGRAVE strokes as written
        assert row["mark_length"] == pytest.approx(
            sum(open_length(o) for layer, o, _ in drawn if layer == ENGRAVE), abs=0.01
        )
        whole = row["size"][0] * row["size"][1]
        spare = 0.0 if row["offcut"] is None else row["offcut"][2] * row["offcut"][3]
        assert row["kept_area"] + spare + row["waste_fraction"] * whole == pytest.approx(whole, rel=1e-3)
    assert sum(len(row["pieces"]) for row in told) == sum(p.quantity for p in one.design.parts)


def test_the_lines_on_the_terminal_add_up() -> None:
    one = found("8x10-acrylic-lid")
    lines = told_all(one.nested)
    told = stock_summary(one.nested)
    assert [name for name, _ in lines[:-1]] == [f"stock sheet {k}" for k in range(1, len(told) + 1)]
    name, words = lines[-1]
    assert name == "stock in all"
    assert words.startswith(
        f"{len(told)} sheets, {sum(row['cut_length'] for row in told) / 1000:.1f} m to cut"
    )


def test_printed_holders_have_none() -> None:
    one = study(Preset.model_validate(changed()))
    assert one.nested == ()
    assert summary(one, "x")["stock_sheets"] == []
    assert stock_drawings(one.nested) == ()


def test_a_sheet_too_small_is_told_and_the_pieces_still_come() -> None:
    one = study(preset("8x10-mat-board", material={"name": "mounting-board", "sheet_width_mm": 200.0}))
    assert one.nested == ()
    assert "needs 2" in one.not_nested
    made = files_for(one.design, one.job.paper, stock=stock_drawings(one.nested))
    assert not any(name.startswith("stock") for name in made)
    assert "sheet-1-base.dxf" in made


def test_the_presets_own_sheet_size_is_used() -> None:
    material: dict[str, Any] = {"name": "mounting-board", "sheet_width_mm": 480.0, "sheet_height_mm": 320.0}
    one = study(preset("8x10-mat-board", material=material))
    assert {(s.use.width_mm, s.use.height_mm) for s in sheets_of(one.nested)} == {(480.0, 320.0)}


ITS_SCALE = 1.0002  # of the other program's pages, alike both ways
DOT_MM = 25.4 / 1200  # to which it rounds both ends of a length
CUT = [path.stem for path in SHIPPED if load(path).route != "print"]


@pytest.mark.outside
@pytest.mark.skipif(shutil.which("librecad") is None, reason="no second DXF reader here")
def test_a_second_reader_draws_the_same_lines(tmp_path: Path) -> None:
    """A drawing program with a reader of its own puts the sheet into a PDF at 1:1; its lines span what they should."""
    file, data = max(sheet_files("8x10-acrylic-lid").items(), key=lambda item: len(item[1]))
    across, along = reads_the_same(file, data, tmp_path)
    assert across == pytest.approx(1.0, abs=3e-4)
    assert along == pytest.approx(1.0, abs=3e-4)
    assert across == pytest.approx(along, abs=5e-5)


@pytest.mark.slow
@pytest.mark.outside
@pytest.mark.skipif(shutil.which("librecad") is None, reason="no second DXF reader here")
@pytest.mark.parametrize("name", CUT)
def test_a_second_reader_draws_every_file_of_what_is_cut(name: str, tmp_path: Path) -> None:
    """All DXF files of the shipped holders for laser and knife: pieces and stock sheets."""
    assert sheet_files(name)
    for file, data in files(name).items():
        reads_the_same(file, data, tmp_path)


def reads_the_same(file: str, data: bytes, folder: Path) -> tuple[float, float]:
    """The other program draws as many lines as there are, over as wide and high a field; its scale both ways."""
    import pdfplumber

    (folder / file).write_bytes(data)
    done = subprocess.run(
        ["librecad", "dxf2pdf", "-s", "1", file],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        env={"QT_QPA_PLATFORM": "offscreen", "PATH": "/usr/bin:/bin", "HOME": str(folder)},
    )
    out = (folder / file).with_suffix(".pdf")
    assert out.exists(), done.stdout + done.stderr
    boxes = [bounds(line) for _, line, closed in lines(data) if closed]
    wide = max(b[2] for b in boxes) - min(b[0] for b in boxes)
    high = max(b[3] for b in boxes) - min(b[1] for b in boxes)
    with pdfplumber.open(out) as pdf:
        (page,) = pdf.pages
        drawn = [*page.lines, *page.curves, *page.rects]
        assert len(drawn) >= sum(len(line.vertices) for _, line, closed in lines(data) if closed) / 2
        mm = 25.4 / 72
        span_x = (max(d["x1"] for d in drawn) - min(d["x0"] for d in drawn)) * mm
        span_y = (max(d["bottom"] for d in drawn) - min(d["top"] for d in drawn)) * mm
    for span, size in ((span_x, wide), (span_y, high)):
        assert span == pytest.approx(size * ITS_SCALE, abs=DOT_MM + 5e-5 * size), file
    return span_x / wide, span_y / high
