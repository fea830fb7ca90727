"""The job sheet: both formats for every shipped preset, nothing fetched, nothing injected, sums that are right."""

from __future__ import annotations

import io
import math
import re
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pdfplumber
import pytest

from holders.facts.tables import paper
from holders.preset.load import read_text
from holders.preset.schema import Preset
from holders.report.draw.canvas import EDGE, HATCH_BAND, Picture
from holders.report.jobsheet import loading, numbers
from holders.report.jobsheet.blocks import Items, Sheet, Verbatim, Words
from holders.report.jobsheet.content import sheet_content
from holders.report.jobsheet.html import html_bytes
from holders.report.jobsheet.pdf import pdf_bytes, usable
from holders.report.jobsheet.replay import arc_curves, commands
from holders.report.jobsheet.scanning import TIFF_LIMIT, file_size, scan_ppi, setting_for
from holders.study import Study, study, study_file
from tests.presets_made import SHIPPED, changed

SECTIONS = (
    *("purpose", "findings", "cautions", "numbers", "plan", "exploded"),
    *("film", "shopping", "making", "loading", "scanning", "preset"),
)
VOID = {"meta", "br", "hr", "img", "link", "input"}
MM = 72 / 25.4
PRINTED = next(p for p in SHIPPED if p.stem == "8x10-printed")


@cache
def found(path: Path) -> Study:
    return study_file(path)


@cache
def sheet(path: Path) -> Sheet:
    return sheet_content(found(path), read_text(path))


class Strict(HTMLParser):
    """Every tag that opens closes, in order; ids are unique."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.ids: list[str] = []
        self.tags: set[str] = set()
        self.links: list[str] = []
        self.words = ""
        self.handlers: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        for name, value in attrs:
            if name == "id":
                self.ids.append(value or "")
            if name in ("href", "xlink:href"):
                self.links.append(value or "")
            if name.startswith("on"):
                self.handlers.append(name)
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words += data


def parsed(data: bytes) -> Strict:
    reader = Strict()
    reader.feed(data.decode("utf-8"))
    reader.close()
    assert reader.open == []
    return reader


def test_strict_reader_refuses_unbalanced_tags() -> None:
    with pytest.raises(AssertionError):
        parsed(b"<p><b>x</p></b>")
    with pytest.raises(AssertionError):
        parsed(b"<div><p>x</p>")


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_html_is_whole_and_fetches_nothing(path: Path) -> None:
    data = html_bytes(sheet(path))
    reader, text = parsed(data), data.decode()
    assert reader.ids.count("material") == 1
    assert len(reader.ids) == len(set(reader.ids))
    assert set(SECTIONS) <= set(reader.ids)
    assert set(reader.links) == {f"#{key}" for key in SECTIONS}
    assert not re.search(r"https?:|src=|@import|//[a-z]", text)
    assert not re.search(r"url\((?!#)", text)
    assert not reader.tags & {"script", "link", "img", "iframe", "object"}
    assert text.count("<figure>") >= 3
    assert found(path).design.title in reader.words
    for caution in found(path).cautions:
        assert caution in reader.words


@pytest.mark.parametrize("name", ["a4", "letter"])
@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_pdf_has_its_paper_and_its_words(path: Path, name: str) -> None:
    page = paper(name)
    with pdfplumber.open(io.BytesIO(pdf_bytes(sheet(path), page))) as pdf:
        assert 5 <= len(pdf.pages) <= 14
        for leaf in pdf.pages:
            assert leaf.width == pytest.approx(page.width_mm * MM, abs=0.01)
            assert leaf.height == pytest.approx(page.height_mm * MM, abs=0.01)
            for char in leaf.chars:
                assert char["x0"] >= 5 * MM
                assert char["x1"] <= leaf.width - 5 * MM
        text = " ".join((leaf.extract_text() or "") for leaf in pdf.pages)
    for section in sheet(path).sections:
        assert section.title in text
    assert "holders_preset = 1" in text
    assert "sharpest height" in text


def test_too_small_paper_falls_back_to_a4() -> None:
    assert usable(paper("a5")) == paper("a4")
    assert usable(paper("a3")) == paper("a3")
    assert usable(paper("letter")) == paper("letter")


def test_the_same_study_gives_the_same_bytes() -> None:
    text = read_text(PRINTED)
    one, two = (sheet_content(study_file(PRINTED), text) for _ in range(2))
    assert one == two
    assert html_bytes(one) == html_bytes(two)
    data = pdf_bytes(one, paper("a4"))
    assert data == pdf_bytes(two, paper("a4"))
    assert b"D:2000" in data  # reportlab's fixed date: no clock in the file


HOSTILE = '</title><script>alert(1)</script><img src=x onerror="a()">&amp;'


def test_a_hostile_preset_injects_nothing() -> None:
    asked = changed(title=HOSTILE, note=HOSTILE + "<b>\n]]>")
    text = f"title = '{HOSTILE}'\n# </pre><script>x</script> <para> <font color=red>"
    made = sheet_content(study(Preset.model_validate(asked)), text)
    data = html_bytes(made)
    reader = parsed(data)
    assert not reader.tags & {"script", "img", "b", "font", "para"}
    assert reader.handlers == []
    assert HOSTILE in reader.words  # shown as it was written
    with pdfplumber.open(io.BytesIO(pdf_bytes(made, paper("a4")))) as pdf:
        words = "".join((leaf.extract_text() or "") for leaf in pdf.pages).replace("\n", "")
    assert "<script>alert(1)</script>" in words


def test_letters_the_pdf_font_lacks_do_not_stop_it() -> None:
    made = sheet_content(study(Preset.model_validate(changed(note="камень 石 ± é"))), "x")
    assert "камень 石 ± é" in html_bytes(made).decode()
    with pdfplumber.open(io.BytesIO(pdf_bytes(made, paper("a4")))) as pdf:
        assert "± é" in (pdf.pages[0].extract_text() or "")


@pytest.mark.parametrize(
    ("width", "height", "ppi", "channels", "bits", "pixels", "size", "plain"),
    [
        # 8 x 10 in: 8*2400 = 19200, 10*2400 = 24000 pixels, 6 bytes each (worked by hand)
        (203.2, 254.0, 2400, 3, 16, (19200, 24000), 2_764_800_000, True),
        (203.2, 254.0, 3200, 3, 16, (25600, 32000), 4_915_200_000, False),
        (203.2, 254.0, 3200, 1, 16, (25600, 32000), 1_638_400_000, True),
        (203.2, 254.0, 3200, 3, 8, (25600, 32000), 2_457_600_000, True),
        (101.6, 127.0, 4800, 3, 16, (19200, 24000), 2_764_800_000, True),
        (25.4, 25.4, 300, 1, 8, (300, 300), 90_000, True),
        (25.5, 25.4, 300, 1, 8, (302, 300), 90_600, True),  # part of a pixel needs a whole one
    ],
)
def test_file_size_is_pixels_times_bytes(
    width: float,
    height: float,
    ppi: float,
    channels: int,
    bits: int,
    pixels: tuple[int, int],
    size: int,
    plain: bool,
) -> None:
    found = file_size(width, height, ppi, channels, bits)
    assert (found.across, found.along) == pixels
    assert found.bytes == size
    assert found.plain_tiff is plain


def test_the_limit_of_plain_tiff_is_four_gibibytes_head_included() -> None:
    assert TIFF_LIMIT == 4 * 1024**3
    side = 25.4 * 65536  # 65536 x 65536 grey bytes at 1 ppi are exactly 4 GiB
    exact = file_size(side, side, 1, 1, 8)
    assert exact.bytes == TIFF_LIMIT
    assert not exact.plain_tiff
    assert not file_size(
        side, 25.4 * 65535.0, 1, 1, 8
    ).plain_tiff  # leaves 64 KiB, all of which the head wants
    assert file_size(side, 25.4 * 65534.0, 1, 1, 8).plain_tiff


def test_file_size_refuses_nonsense() -> None:
    for bad in ((0.0, 1.0, 300, 3), (1.0, -1.0, 300, 3), (1.0, 1.0, 0, 3), (1.0, 1.0, 300, 0)):
        with pytest.raises(ValueError, match="positive"):
            file_size(*bad)


def test_resolution_for_a_print() -> None:
    # a 36 mm frame to a 14.4 in (365.76 mm) print is 10.16 times: 300 on paper is 3048 on film
    assert scan_ppi(365.76, 300, 36.0) == pytest.approx(3048.0)
    assert scan_ppi(254.0, 300, 254.0) == 300
    assert setting_for(3048) == 3200
    assert setting_for(1200) == 1200
    assert setting_for(1200.5) == 2400
    assert setting_for(7000) is None


@pytest.mark.parametrize("emulsion", ["down", "up"])
def test_mirrored_or_not_follows_from_where_the_lens_looks(emulsion: loading.Emulsion) -> None:
    """Turn the film as a solid body: seen from the base it reads right; the lens looks from below."""
    right_reading = np.array([[1, 2, 3], [4, 5, 6]])
    from_above = right_reading if emulsion == "down" else right_reading[:, ::-1]  # up: the emulsion faces you
    from_below = from_above[:, ::-1]
    turns = [np.rot90(right_reading, k) for k in range(4)]
    reads_right = any(np.array_equal(from_below, t) for t in turns)
    assert loading.mirrored(emulsion) is not reads_right


@pytest.mark.parametrize("emulsion", ["down", "up"])
def test_the_advice_to_flip_puts_the_scan_right(emulsion: loading.Emulsion) -> None:
    """Scan rows run away from home, columns along x: what the sheet advises must give the scene."""
    scene = np.array([[1, 2, 3], [4, 5, 6]])
    from_above = scene if emulsion == "down" else scene[:, ::-1]  # home edge is the last row
    scan = from_above[::-1]
    words = loading._round(emulsion, turned=False)
    if emulsion == "down":
        assert "Flip the scan" in words
        assert "flip top to bottom" in words
        assert np.array_equal(scan[::-1], scene)
        assert np.array_equal(np.rot90(scan[:, ::-1], 2), scene)
    else:
        assert "Do not flip" in words
        assert np.array_equal(np.rot90(scan, 2), scene)


def test_loading_says_the_side_of_the_preset() -> None:
    for side in ("down", "up"):
        made = study(Preset.model_validate(changed(film={"emulsion": side})))
        steps = loading.section(made.job, made.design).blocks[0]
        assert isinstance(steps, Items)
        assert any(f"emulsion side faces {side}" in row for row in steps.rows)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_sheet_repeats_the_design_and_invents_nothing(path: Path) -> None:
    text = html_bytes(sheet(path)).decode()
    design = found(path).design
    for window in design.windows:
        o = window.opening
        cells = "".join(f"<td>{v:.1f}</td>" for v in (o.x, o.y, o.width, o.height))
        assert cells in text
    for finding in found(path).findings:
        if finding.level in ("warn", "stop"):
            assert f"{finding.code}: " in text
    assert isinstance(sheet(path).sections[-1].blocks[-1], Verbatim)
    assert sheet(path).sections[-1].blocks[-1].text == read_text(path).rstrip("\n")


def test_surface_range_is_the_picture_s_part_of_the_grid() -> None:
    made = found(PRINTED)
    reach = numbers.surface_range(made.design, made.film)
    assert reach is not None
    assert made.design.sag is not None
    low, high = reach
    assert low <= high
    assert -low == pytest.approx(made.design.sag.max_mm, abs=0.01)  # the lowest point lies in the picture


def test_chances_are_never_called_certain() -> None:
    assert numbers._chance(1.0) == "over 99.9 %"
    assert numbers._chance(0.0) == "under 0.1 %"
    assert numbers._chance(0.5) == "50.0 %"


def test_purpose_names_the_height_of_the_ledge() -> None:
    first = sheet(PRINTED).sections[0].blocks[0]
    assert isinstance(first, Words)
    h = found(PRINTED).design.heights
    assert f"{h.foot_protrusion + h.ledge_height:.2f}".rstrip("0") in first.text


def at(
    a: tuple[float, float], c1: tuple[float, float], c2: tuple[float, float], b: tuple[float, float]
) -> float:
    return math.hypot(*((a[k] + 3 * c1[k] + 3 * c2[k] + b[k]) / 8 for k in (0, 1)))


def test_arcs_stay_on_their_circle_and_turn_the_right_way() -> None:
    a, b = (5.0, 0.0), (0.0, 5.0)  # y down: from +x to +y is clockwise on paper, SVG's positive sweep
    (short,) = arc_curves(a, b, 5.0, large=False, sweep=True)
    assert at(a, *short) == pytest.approx(5.0, abs=0.002)  # the usual 0.03 % of the four-piece circle
    long = arc_curves(a, b, 5.0, large=True, sweep=True)
    assert len(long) == 3
    assert long[-1][2] == pytest.approx(b)
    far = max(math.dist((5.0, 5.0), end) for _, _, end in long)
    assert far == pytest.approx(5.0)  # the large arc goes round (5, 5)


def test_replay_refuses_what_it_does_not_know() -> None:
    assert commands("M0 0L1 2Z") == [("M", [0.0, 0.0]), ("L", [1.0, 2.0]), ("Z", [])]
    with pytest.raises(ValueError, match="unknown path command"):
        commands("M0 0C1 1 2 2 3 3")


def test_replay_draws_lines_where_the_picture_has_them() -> None:
    from reportlab.pdfgen.canvas import Canvas

    from holders.report.jobsheet.replay import replay

    picture = Picture(100, 50)
    picture.line((10, 20), (60, 20), EDGE)
    picture.polygon([[(0, 0), (9, 0), (9, 9), (0, 9)]], None, HATCH_BAND)
    picture.text((10, 40), "weir")
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(100 * MM, 50 * MM), invariant=1)
    replay(canvas, picture.svg("t"), 0, 50 * MM, 1.0)
    canvas.save()
    with pdfplumber.open(io.BytesIO(out.getvalue())) as pdf:
        page = pdf.pages[0]
        main = [line for line in page.lines if line["x0"] == pytest.approx(10 * MM, abs=0.05)]
        assert len(main) == 1
        assert main[0]["x1"] == pytest.approx(60 * MM, abs=0.05)
        assert main[0]["top"] == pytest.approx(20 * MM, abs=0.05)
        assert len(page.lines) >= 10  # nine millimetres of hatching, 0.9 apart
        assert page.extract_text() == "weir"


def test_film_goes_in_before_its_lid_and_the_holder_after_both() -> None:
    made = found(next(p for p in SHIPPED if p.stem == "8x10-acrylic-lid"))
    steps = loading.section(made.job, made.design).blocks[0]
    assert isinstance(steps, Items)
    film, lid, holder = (
        next(k for k, row in enumerate(steps.rows) if words in row)
        for words in ("Lower one edge", "Lower the lid", "Lay the holder")
    )
    assert film < lid < holder


def test_purpose_tells_sag_from_curl() -> None:
    def told(stem: str) -> str:
        first = sheet(next(p for p in SHIPPED if p.stem == stem)).sections[0].blocks[0]
        assert isinstance(first, Words)
        return first.text

    assert "hangs up to" in told("8x10-printed")  # a large sheet sags
    assert "curls up to" in told("35mm-strips")  # a narrow strip arches
