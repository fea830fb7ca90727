"""DXF read back: closed loops on their layers, sizes against design and kerf, order, units, same bytes."""

from __future__ import annotations

import io
import re

import ezdxf
import pytest
import shapely
from ezdxf.document import Drawing
from ezdxf.entities import LWPolyline
from ezdxf.math import bulge_to_arc

from holders.design.model import Part
from holders.design.pieces.cutting import CutPart, cut_part
from holders.design.resolve import design
from holders.facts.tables import material, paper
from holders.geometry.outline import Outline, Vertex, arc_of, area, bounds
from holders.output.bundle.plan_files import files_for, kerf_of
from holders.output.formats.dxf import ENGRAVE, INNER, OUTER, dxf_bytes
from holders.preset.load import load
from holders.preset.resolve import resolve
from tests.fixtures_design import LETTERS, made, sheet_parts
from tests.presets_made import SHIPPED

KERF = 0.2
WITHIN_MM = 0.005


def read(data: bytes) -> Drawing:
    return ezdxf.read(io.StringIO(data.decode("utf-8")))  # type: ignore[attr-defined,no-any-return]


def lines(document: Drawing, layer: str) -> list[LWPolyline]:
    return list(document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]'))  # type: ignore[arg-type]


def outline(line: LWPolyline) -> Outline:
    return Outline(tuple(Vertex(x, y, b) for x, y, b in line.get_points("xyb")))


def size(shape: Outline) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(shape)
    return x1 - x0, y1 - y0


@pytest.fixture(scope="module")
def wall() -> Part:
    return sheet_parts()[1]


@pytest.fixture(scope="module")
def document(wall: Part) -> Drawing:
    return read(dxf_bytes(cut_part(wall, KERF)))


def test_version_units_and_audit(document: Drawing) -> None:
    assert document.dxfversion == "AC1024"  # R2010
    assert document.header["$INSUNITS"] == 4  # millimetres, by the format's reference
    assert document.header["$MEASUREMENT"] == 1
    report = document.audit()
    assert not report.errors
    assert not report.fixes


def test_only_polylines_on_three_layers(document: Drawing) -> None:
    kinds = {(e.dxftype(), e.dxf.layer) for e in document.modelspace()}
    assert kinds == {("LWPOLYLINE", ENGRAVE), ("LWPOLYLINE", INNER), ("LWPOLYLINE", OUTER)}


def test_inner_before_outer_in_the_file(document: Drawing) -> None:
    order = [e.dxf.layer for e in document.modelspace()]
    assert order == sorted(order, key=[ENGRAVE, INNER, OUTER].index)
    assert order[-1] == OUTER
    assert order.count(OUTER) == 1


def test_cut_lines_are_closed_and_text_is_open(document: Drawing) -> None:
    assert all(line.closed for layer in (INNER, OUTER) for line in lines(document, layer))
    strokes = lines(document, ENGRAVE)
    assert len(strokes) == len(LETTERS)
    assert not any(line.closed for line in strokes)
    assert not any(bulge for line in strokes for *_, bulge in line.get_points("xyb"))


def test_text_stands_where_the_design_puts_it(document: Drawing, wall: Part) -> None:
    x0, y0, _, _ = cut_part(wall, KERF).box
    drawn = [tuple((x + x0, y + y0) for x, y in line.get_points("xy")) for line in lines(document, ENGRAVE)]
    for mine, wanted in zip(drawn, wall.grooves[0].strokes, strict=True):
        assert [c for p in mine for c in p] == pytest.approx([c for p in wanted for c in p], abs=1e-9)


def test_sizes_are_the_design_s_plus_and_minus_the_kerf(document: Drawing, wall: Part) -> None:
    region = wall.slabs[0].region
    wide, high = size(region.outer)
    assert size(outline(lines(document, OUTER)[0])) == pytest.approx(
        (wide + KERF, high + KERF), abs=WITHIN_MM
    )
    for line, hole in zip(lines(document, INNER), region.holes, strict=True):
        wide, high = size(hole)
        assert size(outline(line)) == pytest.approx((wide - KERF, high - KERF), abs=WITHIN_MM)


def test_what_the_beam_leaves_is_the_nominal_piece(document: Drawing, wall: Part) -> None:
    """Burn k/2 off either side of every path and compare with the design, by an outside polygon library."""

    def polygon(line: LWPolyline) -> shapely.Polygon:
        from ezdxf.path import make_path

        return shapely.Polygon([(p.x, p.y) for p in make_path(line).flattening(0.0005)])

    left = polygon(lines(document, OUTER)[0])
    paths = [left.exterior]
    for line in lines(document, INNER):
        left = left.difference(polygon(line))
        paths.append(polygon(line).exterior)
    left = left.difference(shapely.union_all([p.buffer(KERF / 2, join_style="mitre") for p in paths]))
    from holders.design.parts.sections import area_of

    x0, y0, _, _ = cut_part(wall, KERF).box
    wanted = shapely.affinity.translate(area_of(wall.slabs[0].region, 0.0005), -x0, -y0)
    assert left.symmetric_difference(wanted).area < 0.05  # of 7,000 mm²
    assert left.symmetric_difference(wanted).buffer(-WITHIN_MM).is_empty


def test_arcs_are_true_arcs(document: Drawing) -> None:
    corners = []
    points = lines(document, OUTER)[0].get_points("xyb")
    for (x, y, bulge), (x1, y1, _) in zip(points, [*points[1:], points[0]], strict=True):
        if bulge:
            _, _, _, radius = bulge_to_arc((x, y), (x1, y1), bulge)
            corners.append(radius)
    assert corners == pytest.approx([4.0 + KERF / 2] * 4, abs=1e-9)
    rounded = [
        arc_of(a, b).radius for line in lines(document, INNER) for a, b in outline(line).segments() if a.bulge
    ]
    assert len(rounded) == 8  # four pocket corners, two in each finger bay


def test_the_outer_path_starts_at_the_origin(document: Drawing) -> None:
    x0, y0, x1, y1 = bounds(outline(lines(document, OUTER)[0]))
    assert (x0, y0) == pytest.approx((0, 0), abs=1e-9)
    assert document.header["$EXTMAX"][:2] == pytest.approx((x1, y1))


def test_same_bytes_and_no_clock(wall: Part) -> None:
    piece = cut_part(wall, KERF)
    data = dxf_bytes(piece)
    assert dxf_bytes(piece) == data
    text = data.decode()
    assert "2026" not in re.sub(r"\d+\.\d+", "", text)
    from ezdxf._options import options

    assert not options.write_fixed_meta_data_for_testing  # the library's own setting is put back


def check_sheet(piece: CutPart, part: Part, data: bytes, kerf: float) -> None:
    document = read(data)
    assert not document.audit().errors
    outer = lines(document, OUTER)
    assert len(outer) == 1
    loops = [*lines(document, INNER), *outer]
    assert all(line.closed for line in loops)
    region = part.slabs[0].region
    wide, high = size(region.outer)
    assert size(outline(outer[0])) == pytest.approx((wide + kerf, high + kerf), abs=WITHIN_MM)
    drawn = sorted(size(outline(line)) for line in lines(document, INNER))
    wanted = sorted((w - kerf, h - kerf) for w, h in map(size, region.holes))
    assert len(drawn) == len(wanted)
    for mine, theirs in zip(drawn, wanted, strict=True):
        assert mine == pytest.approx(theirs, abs=WITHIN_MM)
    assert abs(area(outline(outer[0]))) > sum(abs(area(outline(line))) for line in lines(document, INNER))
    assert piece.kerf_mm == kerf


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_every_shipped_sheet_reads_back_at_size(path) -> None:  # type: ignore[no-untyped-def]
    job = resolve(load(path))
    holder = design(job)
    files = files_for(holder, job.paper, kerf_mm=job.material.kerf_mm)
    sheets = [name for name in files if name.endswith(".dxf")]
    if holder.route == "print":
        assert not sheets
        return
    kerf = kerf_of(holder, job.material.kerf_mm)
    assert kerf == (job.material.kerf_mm if holder.route == "laser" else 0.0)
    assert len(sheets) == len(holder.parts)
    for part, name in zip(holder.parts, sheets, strict=True):
        check_sheet(cut_part(part, kerf), part, files[name](), kerf)


def test_the_kerf_is_the_material_s_unless_measured() -> None:
    holder = made("laser")
    assert kerf_of(holder) == material("acrylic-cast").kerf_mm > 0
    assert kerf_of(holder, 0.31) == 0.31
    nominal = read(files_for(holder, paper("a4"), kerf_mm=0.0)["sheet-1-ledge.dxf"]())
    burnt = read(files_for(holder, paper("a4"), kerf_mm=0.3)["sheet-1-ledge.dxf"]())
    assert size(outline(lines(nominal, OUTER)[0])) == pytest.approx((120, 150))
    assert size(outline(lines(burnt, OUTER)[0])) == pytest.approx((120.3, 150.3))


def test_a_hostile_text_stays_text() -> None:
    piece = cut_part(sheet_parts()[0], 0.0)
    odd = CutPart("x\n0\nLINE", "tïtle 🎞", "m", 3, 1, piece.outer, piece.inner, (), 0.0)
    assert not read(dxf_bytes(odd)).audit().errors
