"""STEP read back: bodies, names, boxes, volumes; the same bytes on every run; nothing on standard output."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from holders.design.parts.volume import volume
from holders.solid.build import build
from holders.solid.exchange import FIXED_TIME, Body, settled, step_bytes
from holders.solid.mesh import mesh
from holders.solid.surfaces import box_of, solids, valid
from holders.solid.surfaces import volume as solid_volume
from tests.fixtures_design import frame_part, lid_part


def bodies() -> list[Body]:
    return [Body("frame", build(frame_part())), Body("lid", build(lid_part()), ((0.0, 0.0), (10.0, 300.0)))]


@pytest.fixture(scope="module")
def text() -> bytes:
    return step_bytes("weir holder", bodies())


def read_back(data: bytes, folder: Path):  # type: ignore[no-untyped-def]
    from OCP.IFSelect import IFSelect_ReturnStatus
    from OCP.STEPControl import STEPControl_Reader

    path = folder / "back.step"
    path.write_bytes(data)
    reader = STEPControl_Reader()
    assert reader.ReadFile(str(path)) == IFSelect_ReturnStatus.IFSelect_RetDone
    reader.TransferRoots()
    return reader.OneShape()


def test_reads_back_as_the_same_bodies(text: bytes, tmp_path: Path) -> None:
    found = solids(read_back(text, tmp_path))
    assert len(found) == 3
    frame, lid = volume(frame_part()), volume(lid_part())
    assert frame is not None
    assert lid is not None
    assert [solid_volume(s) for s in found] == pytest.approx([frame, lid, lid], rel=1e-6)
    assert all(valid(s) for s in found)
    assert box_of(found[0]) == pytest.approx(box_of(build(frame_part())), abs=1e-5)
    moved = [a - b for a, b in zip(box_of(found[2]), box_of(found[1]), strict=True)]
    assert moved == pytest.approx([10, 300, 0, 10, 300, 0], abs=1e-5)


def test_names_and_unit_stand_in_the_file(text: bytes) -> None:
    names = set(re.findall(rb"PRODUCT\('([^']*)'", text))
    assert {b"weir holder", b"frame", b"lid"} <= names
    assert re.search(rb"LENGTH_UNIT\(\) NAMED_UNIT\(\*\) SI_UNIT\(\.MILLI\.,\.METRE\.\)", text)
    assert text.startswith(b"ISO-10303-21;")  # ISO 10303-21's first line
    assert text.rstrip().endswith(b"END-ISO-10303-21;")


def test_same_bytes_again_in_the_same_process_and_after_meshing(text: bytes) -> None:
    again = bodies()
    assert step_bytes("weir holder", again) == text
    for body in again:
        mesh(body.shape)
    assert step_bytes("weir holder", again) == text


def test_no_clock_and_no_maker_in_the_header(text: bytes) -> None:
    header = text[: text.index(b"ENDSEC")]
    assert FIXED_TIME.encode() in header
    assert b"20" not in header.replace(FIXED_TIME.encode(), b"").replace(b"10303", b"")
    assert b"Author" not in header


def test_counters_are_numbered_anew_even_when_lines_wrap() -> None:
    raw = (
        b"FILE_DESCRIPTION(('x'),'2;1');FILE_NAME('a','2026-01-01T00:00:00',('b'),(\n 'c'),'d','e','f');\n"
        b"#9 = NEXT_ASSEMBLY_USAGE_OCCURRENCE('123','lid 1','',#5,#31,$);\n"
        b"#10 = NEXT_ASSEMBLY_USAGE_OCCURRENCE('124',\n  'lid 2','',#5,#31,$);\n"
    )
    done = settled(raw, "it's\nodd").decode()
    assert "OCCURRENCE('1','lid 1','',#5,#31,$)" in done
    assert "OCCURRENCE('2','lid 2','',#5,#31,$)" in done
    assert "FILE_NAME('it_s_odd'" in done
    assert "2026" not in done


def test_hostile_and_foreign_titles_do_no_harm(tmp_path: Path) -> None:
    title = "Wehr 'Ä' \\ 🎞\n#1 = EVIL();"
    found = solids(read_back(step_bytes(title, [Body("lid", build(lid_part()))]), tmp_path))
    assert len(found) == 1


def test_nothing_on_standard_output(capfd: pytest.CaptureFixture[str]) -> None:
    step_bytes("quiet", [Body("lid", build(lid_part()))])
    assert capfd.readouterr().out == ""
