"""What was made can be made again: every format that can carry its preset gives it back, byte for byte.

Read beside our own reader by others: lib3mf (3MF Consortium), pypdfium2 (PDFium), ezdxf, and Python's XML parser.
"""

from __future__ import annotations

import hashlib
import io
import shutil
import subprocess
import zipfile
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.output.bundle.carry import with_preset
from holders.output.bundle.plan_files import files_for
from holders.output.bundle.produce import produce
from holders.output.formats.carry import into_dxf, into_glb, into_pdf, into_svg, into_threemf
from holders.preset.carried import (
    MAX_CARRIER_BYTES,
    MAX_ENTRIES,
    MAX_PRESET_BYTES,
    PART,
    PDF_HEAD,
    carries,
    lines_of,
    preset_carried,
)
from holders.preset.load import read_text
from holders.study import study_file
from tests.kept import shipped_study
from tests.presets_made import SHIPPED, SHIPPED_QUICK

ROOT = Path(__file__).resolve().parents[3]
BOARD = ROOT / "presets" / "8x10-mat-board.toml"
CARRIERS = {".svg", ".dxf", ".3mf", ".pdf", ".glb"}
AWKWARD = (
    'title = "a < b & c ]]> \\"é水\U0001f39e"\r\n# tab\t, 999\nSECTION endstream >> %%EOF\u2028\ufffe'
    + "x" * 700
)
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=2000)


def small_svg() -> bytes:
    return b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"><title>weir</title><g /></svg>\n'


def small_pdf() -> bytes:
    from reportlab.pdfgen.canvas import Canvas

    out = io.BytesIO()
    canvas = Canvas(out, invariant=1)
    canvas.setViewerPreference("PrintScaling", "None")
    canvas.drawString(72, 72, "weir")
    canvas.save()
    return out.getvalue()


def small_dxf() -> bytes:
    import ezdxf

    out = io.StringIO()
    ezdxf.new("R2010").write(out)  # type: ignore[attr-defined]
    return out.getvalue().encode()


def small_threemf() -> bytes:
    import numpy as np

    from holders.output.formats.threemf import PlateItem, threemf_bytes
    from holders.solid.mesh import Mesh
    from holders.workshop.plates import Laid

    corners = np.array([[0, 0, 0], [9, 0, 0], [0, 9, 0], [0, 0, 9]], dtype=float)
    sides = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
    return threemf_bytes(
        "weir", [PlateItem("tetrahedron", Mesh(corners, sides), (Laid("tetrahedron", 1, 9.0, 9.0),))]
    )


def small_glb() -> bytes:
    import numpy as np

    from holders.output.formats.glb import Standing, glb_bytes
    from holders.solid.mesh import Mesh

    corners = np.array([[0, 0, 0], [9, 0, 0], [0, 9, 0], [0, 0, 9]], dtype=float)
    sides = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
    return glb_bytes("weir", [Standing("tetrahedron", Mesh(corners, sides))])


MADE = {
    "glb": (small_glb(), into_glb),
    "svg": (small_svg(), into_svg),
    "dxf": (small_dxf(), into_dxf),
    "pdf": (small_pdf(), into_pdf),
    "3mf": (small_threemf(), into_threemf),
}


@pytest.mark.parametrize("kind", MADE)
@given(text=TEXTS)
@settings(max_examples=40, deadline=None)
def test_any_text_comes_back(kind: str, text: str) -> None:
    data, carry = MADE[kind]
    made = carry(data, text)
    assert carry(data, text) == made
    assert preset_carried(made) == text.removeprefix("\ufeff")  # a byte order mark is no part of a text


@pytest.mark.parametrize("kind", MADE)
def test_awkward_text_comes_back(kind: str) -> None:
    data, carry = MADE[kind]
    assert preset_carried(carry(data, AWKWARD)) == AWKWARD
    assert preset_carried(carry(data, "é" * (MAX_PRESET_BYTES // 2))) == "é" * (MAX_PRESET_BYTES // 2)


def test_other_programs_read_what_carries() -> None:
    tree = ET.fromstring(into_svg(small_svg(), AWKWARD))
    assert [child.tag.rpartition("}")[2] for child in tree] == ["title", "metadata", "g"]

    import ezdxf

    document = ezdxf.read(io.StringIO(into_dxf(small_dxf(), AWKWARD).decode()))  # type: ignore[attr-defined]
    assert not document.audit().has_errors

    import trimesh

    scene = trimesh.load_scene(io.BytesIO(into_glb(small_glb(), AWKWARD)), file_type="glb")
    assert list(scene.geometry) == ["tetrahedron"]

    import pypdfium2

    opened = pypdfium2.PdfDocument(into_pdf(small_pdf(), AWKWARD))
    assert len(opened) == 1
    assert opened.count_attachments() == 1
    attached = opened.get_attachment(0)
    assert attached.get_name() == "preset.toml"
    assert bytes(attached.get_data()) == AWKWARD.encode()

    import lib3mf

    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(into_threemf(small_threemf(), AWKWARD))
    assert reader.GetWarningCount() == 0
    assert model.GetMeshObjects().Count() == 1


def carried_by_all(path: Path) -> None:
    """Every file of a design without solids, and the tiny 3MF, carries exactly the preset's text."""
    found = shipped_study(path)
    text = path.read_text(encoding="utf-8")
    files = dict(files_for(found.design, found.job.paper, kerf_mm=found.job.material.kerf_mm))
    plain = {name: make for name, make in files.items() if Path(name).suffix in CARRIERS - {".3mf", ".glb"}}
    assert plain
    made = with_preset({**plain, "holder.3mf": MADE["3mf"][0]}, found.design.slug, text)
    assert made[f"{found.design.slug}.toml"] == path.read_bytes()
    for name in (*plain, "holder.3mf"):
        what = made[name]
        assert preset_carried(what if isinstance(what, bytes) else what()) == text


@pytest.mark.parametrize("path", SHIPPED_QUICK)
def test_every_shipped_preset_comes_back_from_its_drawings(path: Path) -> None:
    carried_by_all(path)


def hashes(folder: Path) -> dict[str, str]:
    return {
        file.name: hashlib.sha256(file.read_bytes()).hexdigest()
        for file in folder.iterdir()
        if file.name != "manifest.json"
    }


def made_again(path: Path, room: Path) -> None:
    first = room / "first"
    produce(shipped_study(path), first)
    (folder,) = (child for child in first.iterdir() if child.is_dir())
    carriers = [file for file in folder.iterdir() if file.suffix in CARRIERS or file.suffix == ".toml"]
    assert {file.suffix for file in carriers} >= {".toml", ".svg", ".pdf"}
    for number, file in enumerate(carriers):
        assert read_text(file) == path.read_text(encoding="utf-8")
        if number == 0:  # the text decides all that follows: once is enough
            produce(study_file(file), room / "again")
            assert hashes(room / "again" / folder.name) == hashes(folder)
    produce(study_file(carriers[-1]), first)  # over itself: not another preset's folder


def test_a_holder_is_made_again_from_its_own_files(tmp_path: Path) -> None:
    made_again(BOARD, tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_shipped_holder_is_made_again_from_its_own_files(path: Path, tmp_path: Path) -> None:
    made_again(path, tmp_path)


def test_a_preset_edited_in_its_output_folder_is_kept(tmp_path: Path) -> None:
    from holders.output.bundle.write import write_all

    write_all(tmp_path, "weir", {"weir.toml": b"one"})
    own = tmp_path / "weir" / "weir.toml"
    write_all(tmp_path, "weir", {"weir.toml": b"two"})  # ours, untouched: replaced
    assert [file.name for file in sorted(own.parent.iterdir())] == ["manifest.json", "weir.toml"]
    own.write_bytes(b"edited")
    write_all(tmp_path, "weir", {"weir.toml": b"three"})
    assert own.read_bytes() == b"three"
    assert own.with_name("weir.yours-1.toml").read_bytes() == b"edited"
    own.write_bytes(b"four")
    write_all(tmp_path, "weir", {"weir.toml": b"four"})  # made from the edited file itself
    assert sorted(file.name for file in own.parent.iterdir()) == [
        "manifest.json",
        "weir.toml",
        "weir.yours-1.toml",
    ]


def zipped(**files: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return out.getvalue()


BILLION = (
    b'<?xml version="1.0"?><!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>'
    b'<svg><metadata id="holders-preset">"&b;"</metadata></svg>'
)
HOSTILE = {
    "a zip that unpacks to 200 MB": zipped(**{PART: b"#" * 200_000_000}),
    "a zip of many entries": zipped(**{f"x{n}/y.toml": b"" for n in range(MAX_ENTRIES + 1)}),
    "a zip of two presets": zipped(**{"a/a.toml": b"", "b/b.toml": b""}),
    "a zip without one": zipped(**{"a/b.txt": b"x"}),
    "a zip cut short": zipped(**{PART: b"title"})[:40],
    "a zip that says less than it holds": zipped(**{PART: b"#" * 70_000}),
    "an unreadable preset in a zip": zipped(**{PART: b"\xff\xfe\x00"}),
    "no attachment": small_pdf(),
    "an attachment that lies about its length": small_pdf() + PDF_HEAD % (999_999, 999_999) + b"x",
    "a compressed attachment": small_pdf()
    + b"/Type /EmbeddedFile /Filter /FlateDecode /Length 9 >>\nstream\n",
    "a plain drawing": small_svg(),
    "lines that are no strings": into_svg(small_svg(), "x").replace(b'"x"', b"[[[[1]]]]"),
    "lines nested deeply": into_svg(small_svg(), "x").replace(b'"x"', b"[" * 100_000),
    "too long a text": into_svg(small_svg(), "x" * (MAX_PRESET_BYTES + 1)),
    "a drawing without comments": b"999\nholders-preset\n" + small_dxf(),
    "a broken comment": b'999\nholders-preset "\\u12"\n' + small_dxf(),
    "nothing of ours": b"title = 1",
    "too large a file": b"%PDF-" + bytes(MAX_CARRIER_BYTES),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_or_foreign_file_is_refused_in_words(name: str, tmp_path: Path) -> None:
    path = tmp_path / "from-a-stranger"
    path.write_bytes(HOSTILE[name])
    with pytest.raises(InputError) as refusal:
        preset_carried(path)
    assert path.name in str(refusal.value)  # of a long path the middle may be left out
    assert refusal.value.way_out


def test_an_entity_is_never_expanded() -> None:
    assert preset_carried(BILLION) == "&b;"


def test_only_carriers_are_taken_for_them() -> None:
    assert carries(b"PK\x03\x04") == "zip"
    assert carries(b"\xef\xbb\xbf<svg") == "svg"
    assert carries(b'999\r\nholders-preset "') == "dxf"
    assert carries(b"holders_preset = 1") is None
    assert "".join(lines_of("a\nb")) == '"a\\n""b"'


def test_a_design_without_a_preset_file_carries_none() -> None:
    assert with_preset({"a.svg": small_svg()}, "a", "") == {"a.svg": small_svg()}


@pytest.mark.outside
@pytest.mark.skipif(shutil.which("prusa-slicer") is None, reason="no slicer here")
def test_a_slicer_takes_the_package_that_carries(tmp_path: Path) -> None:
    """Debian's general slicer reads the same mesh with and without the preset in its package."""
    said = []
    for name, data in (("plain", MADE["3mf"][0]), ("carrying", into_threemf(MADE["3mf"][0], AWKWARD))):
        (tmp_path / f"{name}.3mf").write_bytes(data)
        done = subprocess.run(
            ["prusa-slicer", "--info", f"{name}.3mf"],
            capture_output=True, text=True, check=False, timeout=120, cwd=tmp_path,
            env={"PATH": "/usr/bin:/bin", "HOME": str(tmp_path), "LC_ALL": "C.UTF-8"},
        )  # fmt: skip
        assert done.returncode == 0, done.stdout + done.stderr
        said.append([line for line in done.stdout.splitlines() if " = " in line])
    assert said[0] == said[1]
    assert "number_of_facets = 4" in [" ".join(line.split()) for line in said[0]]


@pytest.mark.outside
@pytest.mark.skipif(shutil.which("librecad") is None, reason="no second DXF reader here")
def test_a_second_reader_draws_the_drawing_that_carries(tmp_path: Path) -> None:
    """Debian's second DXF reader makes the same page of a piece with and without the preset in its comments."""
    found = shipped_study(BOARD)
    files = files_for(found.design, found.job.paper, kerf_mm=0.0)
    plain = next(make for name, make in files.items() if name.endswith(".dxf"))()
    pages = []
    for name, data in (("plain", plain), ("carrying", into_dxf(plain, AWKWARD))):
        (tmp_path / f"{name}.dxf").write_bytes(data)
        subprocess.run(
            ["librecad", "dxf2pdf", "-s", "1", f"{name}.dxf"],
            capture_output=True, check=True, timeout=120, cwd=tmp_path,
            env={"PATH": "/usr/bin:/bin", "HOME": str(tmp_path), "QT_QPA_PLATFORM": "offscreen"},
        )  # fmt: skip
        pages.append(pdf_picture(tmp_path / f"{name}.pdf"))
    assert pages[0] == pages[1]
    assert len(set(pages[0])) > 1  # something is drawn


def pdf_picture(path: Path) -> bytes:
    import pypdfium2

    return bytes(pypdfium2.PdfDocument(path)[0].render(scale=1.0).to_numpy().tobytes())
