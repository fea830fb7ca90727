"""The job sheet: both formats for every shipped preset, nothing fetched, nothing injected, sums that are right."""

from __future__ import annotations

import dataclasses
import io
import json
import math
import re
import tomllib
import xml.etree.ElementTree as ET
from functools import cache
from html import escape
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pdfplumber
import pytest
from pydantic import ValidationError
from typer.testing import CliRunner

from holders.face.cli.main import app
from holders.facts.tables import paper
from holders.geometry.outline import bounds
from holders.output.bundle.produce import produce
from holders.output.crop_boxes import MANY_WINDOWS, boxes, from_lamp, setting_for
from holders.output.draw.canvas import EDGE, HATCH_BAND, SVG, Picture
from holders.output.draw.stock import needed_mm, offcut_does, one_sheet, sheets_picture, shown_mm
from holders.output.formats.letters import MONO_WIDTH
from holders.output.sheet import loading, numbers, scanning, steps
from holders.output.sheet.blocks import Drawing, Items, Section, Sheet, Steps, Table, Verbatim, Words
from holders.output.sheet.content import for_whom, only_set, preset_section, sheet_content
from holders.output.sheet.flow import CODE_SIZE, GOES_ON, GUTTER
from holders.output.sheet.html import html_bytes
from holders.output.sheet.pdf import GUTTER_MM, MARGIN_MM, pdf_bytes, usable
from holders.output.sheet.pictures import code_of as code_of_preset
from holders.output.sheet.replay import arc_curves, commands
from holders.output.sheet.scanning import TIFF_LIMIT, file_size, scan_ppi
from holders.output.words.stock import stock_summary
from holders.preset.load import parse, read_text
from holders.preset.schema import Preset
from holders.preset.template import template
from holders.study import Study, study
from holders.workshop.budget.as_made import AsMade
from holders.workshop.budget.enough import enough, uneven
from holders.workshop.nest.nest_job import sheets_of
from tests.kept import shipped_study
from tests.presets_made import QUICK, SHIPPED, changed

SECTIONS = (
    *("verdict", "parts", "shopping", "making", "loading", "scanning"),
    *("findings", "purpose", "film", "numbers", "care", "cautions", "preset"),
)
VOID = {"meta", "br", "hr", "img", "link", "input"}
MM = 72 / 25.4
PRINTED = next(p for p in SHIPPED if p.stem == "8x10-printed")


@cache
def found(path: Path) -> Study:
    return shipped_study(path)


@cache
def sheet(path: Path) -> Sheet:
    return sheet_content(found(path), read_text(path))


def section_of(path: Path, key: str) -> Section:
    return next(section for section in sheet(path).sections if section.key == key)


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
    keys = set(SECTIONS) | ({"stock"} if found(path).nested else set())
    keys |= {"passes"} if len(found(path).design.stands) > 1 else set()
    keys |= {"code"} if code_of_preset(found(path).job.preset) is not None else set()
    assert keys <= set(reader.ids)
    assert set(reader.links) == {f"#{key}" for key in keys}
    bare = re.sub(r'url\("data:font/woff;base64,[A-Za-z0-9+/=]*"\)', "", text)  # its letters are in it
    assert bare.count("@font-face") == 2
    assert not re.search(r"https?:|src=|@import|//[a-z]", bare)
    assert not re.search(r"url\((?!#)", bare)
    assert not reader.tags & {"script", "link", "img", "iframe", "object"}
    assert text.count("<figure>") >= 2
    assert found(path).design.title in reader.words
    for caution in found(path).cautions:
        assert caution in reader.words


LETTERS = ("50mm-mounts", "8x10-mat-board")  # on the other paper these, and all on both with --slow
STEPS_APART = ("6x9-roll",)  # three sheets, pins and bars: its eleven steps fill a page of their own
FOUR_PAGES = ("50mm-mounts", "5x7-two-pass", "6x9-roll", "8x10-acrylic-lid", "mixed-formats")
ON_PAPER = [
    pytest.param(path, name, id=f"{path.stem}-{name}", marks=() if usual else pytest.mark.slow)
    for path in SHIPPED
    for name, usual in (("a4", path.stem in QUICK), ("letter", path.stem in LETTERS))
]


@pytest.mark.parametrize(("path", "name"), ON_PAPER)
def test_pdf_has_its_paper_and_its_words(path: Path, name: str) -> None:
    page = paper(name)
    with pdfplumber.open(io.BytesIO(pdf_bytes(sheet(path), page))) as pdf:
        assert len(pdf.pages) <= (3 if name == "a4" and path.stem not in FOUR_PAGES else 4)
        leaves = [leaf.extract_text() or "" for leaf in pdf.pages]
        many = 2 if path.stem in STEPS_APART else 1
        first, second = "\n".join(leaves[:many]), leaves[many]
        for leaf in pdf.pages:
            assert leaf.width == pytest.approx(page.width_mm * MM, abs=0.01)
            assert leaf.height == pytest.approx(page.height_mm * MM, abs=0.01)
            for char in leaf.chars:
                assert char["x0"] >= 5 * MM
                assert char["x1"] <= leaf.width - 5 * MM
        text = " ".join((leaf.extract_text() or "") for leaf in pdf.pages)
    for section in sheet(path).sections:
        assert section.title in text
    assert " ".join(first.split()).find(" ".join(found(path).verdict.text.split())) >= 0
    for words in ("The parts", "To buy and to cut", "Steps", "1 left 2 right 3 head 4 foot"):
        assert words in first
    for words in ("Loading the film", "Scanning"):
        assert words in second
    if name == "a4" and path.stem in (
        "8x10-printed",
        "4x5-two-glasses",
    ):  # there is room for it below the boxes
        assert "A photo of this code" in first
    coded = code_of_preset(found(path).job.preset) is not None
    assert ("holders_preset = " in text) is not coded
    assert ("holds every line that is set" in " ".join(text.split())) is coded
    assert "sharpest height" in text


def test_too_small_paper_falls_back_to_a4() -> None:
    assert usable(paper("a5")) == paper("a4")
    assert usable(paper("a3")) == paper("a3")
    assert usable(paper("letter")) == paper("letter")


def test_the_same_study_gives_the_same_bytes() -> None:
    text = read_text(PRINTED)
    one, two = (sheet_content(shipped_study(PRINTED), text) for _ in range(2))
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
        assert "± é" in "".join(leaf.extract_text() or "" for leaf in pdf.pages)


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
        (25.5, 25.4, 300, 1, 8, (301, 300), 90_300, True),  # 301.2, as the crop box gives it
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


@pytest.mark.parametrize(
    ("ppi", "words"), [(2250, "2400 is the highest"), (2400, "2400 is"), (2410, "3200 is")]
)
def test_the_scanners_measured_resolution_bounds_the_setting(ppi: int, words: str) -> None:
    """What `focus` puts under [bed] is what the sheet says; without it the sheet says how to see it."""
    made = found(PRINTED)
    bed = made.job.preset.bed.model_copy(update={"useful_ppi": float(ppi)})
    preset = made.job.preset.model_copy(update={"bed": bed})

    def said(preset: Preset) -> str:
        blocks = scanning.section([made.job.film], preset, made.design).blocks
        return " ".join(block.text for block in blocks if isinstance(block, Words))

    told = said(preset)
    assert f"no detail finer than {ppi} ppi hold" in told
    assert words in told
    assert "enlarged, shows the same detail" in said(made.job.preset)


def test_a_resolution_that_no_scanner_has_is_refused() -> None:
    with pytest.raises(ValidationError, match="useful_ppi"):
        Preset.model_validate(changed(bed={"useful_ppi": 5.0}))
    assert Preset.model_validate(changed(bed={"useful_ppi": 2400.0})).bed.useful_ppi == 2400.0


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
        block = loading.section(made.job, made.design).blocks[0]
        assert isinstance(block, Items)
        assert any(f"emulsion side faces {side}" in row for row in block.rows)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_sheet_repeats_the_design_and_invents_nothing(path: Path) -> None:
    text = html_bytes(sheet(path)).decode()
    design = found(path).design
    every = boxes(design)
    for _, box, _ in every:
        o = box
        if len(every) > MANY_WINDOWS:  # places and sizes in tables of their own
            o, size = from_lamp(design, box), f"<td>{o.width:.1f},\u00a0{o.height:.1f}</td>"
            assert f"<td>{o.x:.1f},\u00a0{o.y:.1f}</td>" in text
            assert size in text
            continue
        cells = "".join(f"<td>{a:.1f},\u00a0{b:.1f}</td>" for a, b in ((o.x, o.y), (o.width, o.height)))
        assert cells in text
    for finding in found(path).findings:
        if finding.level in ("warn", "stop"):
            assert f"({finding.code})" in text
    assert isinstance(sheet(path).sections[-1].blocks[-1], Verbatim)
    assert sheet(path).sections[-1].blocks[-1].text == read_text(path).rstrip("\n")


def test_surface_range_is_the_picture_s_part_of_the_grid() -> None:
    made = found(PRINTED)
    assert made.design.sag is not None
    reach = made.design.sag.reach_mm
    assert reach is not None
    low, high = reach
    assert low <= high
    assert -low == pytest.approx(made.design.sag.max_mm, abs=0.01)  # the lowest point lies in the picture


def test_the_stack_is_the_one_that_the_check_judged() -> None:
    """A frame on feet hangs: sheet and finding count it alike."""
    path = next(p for p in SHIPPED if p.stem == "whole-plate-glass")
    words = html_bytes(sheet(path)).decode()
    (judged,) = [f for f in found(path).findings if f.code == "sharpness" and f.subject.startswith("chance")]
    assert "frame&#x27;s own sag" in words or "frame's own sag" in words
    assert isinstance(judged.measured, float)
    assert f"is sharp, all spreads together: {numbers._chance(judged.measured / 100)}" in words


def test_chances_are_never_called_certain() -> None:
    assert numbers._chance(1.0) == "over 99.9 %"
    assert numbers._chance(0.0) == "under 0.1 %"
    assert numbers._chance(0.5) == "50.0 %"


def test_purpose_names_the_height_of_the_ledge() -> None:
    first = section_of(PRINTED, "purpose").blocks[0]
    assert isinstance(first, Words)
    h = found(PRINTED).design.heights
    assert f"{h.drawn_ledge:.2f}".rstrip("0") in first.text


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

    from holders.output.sheet.replay import replay

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
    block = loading.section(made.job, made.design).blocks[0]
    assert isinstance(block, Items)
    film, lid, holder = (
        next(k for k, row in enumerate(block.rows) if words in row)
        for words in ("Lower one edge", "Lower the lid", "Lay the holder")
    )
    assert film < lid < holder


def test_purpose_tells_sag_from_curl() -> None:
    def told(stem: str) -> str:
        first = section_of(next(p for p in SHIPPED if p.stem == stem), "purpose").blocks[0]
        assert isinstance(first, Words)
        return first.text

    assert "sags up to" in told("8x10-printed")  # a large sheet sags
    assert "curls up to" in told("35mm-channel")  # a strip in its channel arches


# --- the preset on paper ----------------------------------------------------------------------------------------------


def code_of(data: bytes) -> str:
    """The monospaced rows of a PDF as text again: letters by their columns, marked rows joined to the one above."""
    lines: list[str] = []
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        for leaf in pdf.pages:
            rows: dict[tuple[int, float], list[dict[str, float]]] = {}
            halves = (
                any(char["text"] for char in leaf.chars if char["x0"] < leaf.width / 2 < char["x1"]) is False
            )
            for char in leaf.chars:
                if "Mono" in char["fontname"]:
                    column = int(halves and char["x0"] > leaf.width / 2)
                    rows.setdefault((column, round(char["top"], 1)), []).append(char)
            for (column, _), row in sorted(rows.items()):
                left = (
                    MARGIN_MM * MM + GUTTER + column * (leaf.width / 2 - MARGIN_MM * MM + GUTTER_MM * MM / 2)
                )
                mark = [c for c in row if c["x0"] < left - 1]
                cells = {
                    round((c["x0"] - left) / (CODE_SIZE * MONO_WIDTH)): c["text"]
                    for c in row
                    if c not in mark
                }
                text = "".join(cells.get(k, " ") for k in range(max(cells, default=-1) + 1))  # type: ignore[misc]
                if mark:
                    assert [c["text"] for c in mark] == [GOES_ON]
                    lines[-1] += text
                else:
                    lines.append(text)
    return "\n".join(lines)


def unmargined(text: str) -> str:
    """Without blank lines and spaces at the end of lines, which paper does not show."""
    return "\n".join(line.rstrip() for line in text.split("\n") if line.strip())


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_the_preset_can_be_typed_off_the_paper(path: Path) -> None:
    alone = Sheet("t", "s", (preset_section("x", read_text(path), coded=False),))
    typed = code_of(pdf_bytes(alone, paper("a4")))
    assert parse(typed, "x") == parse(read_text(path), "x")
    assert not [line for line in typed.splitlines() if line.startswith("#")]


def test_paper_has_only_what_is_set_and_the_page_has_all(tmp_path: Path) -> None:
    values = {
        "title": "Low Weir", "route": "print", "bed": {"name": "a4-wide"},
        "film": {"format": "4x5", "emulsion": "down"}, "material": {"name": "petg"},
        "printer": {"name": "p300"}, "feet": {},
    }  # fmt: skip
    text = template(values, "weir-4x5.toml")
    section = preset_section("weir-4x5", text, coded=False)
    verbatim = section.blocks[-1]
    assert isinstance(verbatim, Verbatim)
    assert verbatim.text == text.rstrip("\n")
    assert len(verbatim.brief.splitlines()) < 25
    assert len(text.splitlines()) > 250
    assert parse(verbatim.brief, "x") == parse(text, "x")
    assert "[feet]" in verbatim.brief  # a table without a key is set too
    alone = Sheet("t", "s", (section,))
    with pdfplumber.open(io.BytesIO(pdf_bytes(alone, paper("a4")))) as pdf:
        assert len(pdf.pages) == 1
        assert "job-sheet.html has the whole text" in pdf.pages[0].extract_text().replace("\n", " ")
    # the file is called as the text itself calls it
    assert isinstance(section.blocks[0], Words)
    assert "one file of plain text, weir-4x5.toml beside" in section.blocks[0].text
    assert section.blocks[0].text.endswith("holders make weir-4x5.toml")
    assert escape(verbatim.text.splitlines()[1]) in html_bytes(alone).decode()


@pytest.mark.parametrize(
    "text", ["note = 'no end", 'note = """\n# holders make x.toml\n"""\n', "a = 2020-01-01"]
)
def test_a_text_that_cannot_be_shortened_stays_whole(text: str) -> None:
    brief = only_set(text)
    assert brief == text or tomllib.loads(brief) == tomllib.loads(text)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_one_number_for_the_least_gap(path: Path) -> None:
    text = html_bytes(sheet(path)).decode()
    tables = re.findall(r"least gap to the glass, mm.*?</t[dh]><td>([\d.]+)</td>", text)
    said = re.findall(r"film stays ([\d.]+) mm away|nearest to the glass: ([\d.]+) mm", text)
    if not tables:
        assert not said
        return
    assert {a or b for a, b in said} <= set(tables)
    assert len(tables) == len(found(path).job.each)  # one of each kind of film
    assert said or found(path).film.surface is None


def test_long_lines_go_on_below_a_mark() -> None:
    long = 'note = "' + "weir " * 300 + '"'
    text = f"# short\n{long}\n    indented = 1\n\n{'x' * 20_000}"
    made = Sheet("t", "s", (Section("preset", "Preset", (Verbatim(text),)),))
    data = pdf_bytes(made, paper("letter"))
    assert unmargined(code_of(data)) == unmargined(text)
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        first = pdf.pages[0].extract_text()
        assert "type both as one line" in first
        for leaf in pdf.pages:
            assert (
                max(c["x1"] for c in leaf.chars) <= leaf.width - MARGIN_MM * MM + 0.001
            )  # as the file rounds
    short = Sheet("t", "s", (Section("preset", "Preset", (Verbatim("a = 1"),)),))
    with pdfplumber.open(io.BytesIO(pdf_bytes(short, paper("a4")))) as pdf:
        assert "as one line" not in pdf.pages[0].extract_text()


# --- steps and shopping -----------------------------------------------------------------------------------------------


def steps_of(path: Path) -> tuple[str, ...]:
    block = next(s for s in sheet(path).sections if s.key == "making").blocks[0]
    assert isinstance(block, Items)
    return block.rows


def named(stem: str) -> Path:
    return next(p for p in SHIPPED if p.stem == stem)


def test_an_empty_pocket_is_masked_by_a_card_of_its_films_size() -> None:
    """4x5 film as cut, 100 x 125 mm; a holder with one window, or with film led through, has no empty pocket."""

    def masks(stem: str) -> list[str]:
        steps = section_of(named(stem), "loading").blocks[0]
        assert isinstance(steps, Items)
        return [row for row in steps.rows if "stays empty" in row]

    (said,) = masks("4x5-four-up")
    assert "lay card of 100 x 125 mm in it, matt black" in said
    assert [len(masks(stem)) for stem in ("5x7-printed", "35mm-roll", "mixed-formats")] == [0, 0, 2]
    assert "an offcut of the holder's own sheet" in masks("6x9-roll")[0]


def test_a_split_frame_is_put_together_seam_by_seam() -> None:
    path = named("8x10-small-printer")
    rows = steps_of(path)
    together = next(k for k, row in enumerate(rows) if row.startswith("Put the frame together"))
    seam = found(path).design.seams[0]
    assert "from its 2 pieces on one flat plate" in rows[together]
    assert "piece 2 of 2 (head) onto piece 1 of 2 (foot) at A and B" in rows[together]
    assert "from above" in rows[together]
    assert "glue" in rows[together + 1]
    assert f"{seam.clearance_mm:g} mm on each side" in rows[together + 1]
    feet = next(k for k, row in enumerate(rows) if row.startswith("Cut 6 strips"))
    cool = next(k for k, row in enumerate(rows) if "plate cool" in row)
    assert cool < together < feet  # printed, then joined, then its feet, then the proof
    assert rows[-1].startswith("Proof")


def test_pressed_joints_are_told_apart_from_glued_ones() -> None:
    asked = changed(film={"format": "8x10"}, printer={"name": "p220"}, split={"fit": "press"})
    made = study(Preset.model_validate(asked))
    block = steps.section(made.job.material, made.job.printer, made.design).blocks[0]
    assert isinstance(block, Items)
    assert any("press together without glue" in row for row in block.rows)
    assert not any("sides of each tongue" in row for row in block.rows)


def test_every_joint_stands_in_the_steps() -> None:
    asked = changed(printer={"name": "p180"})
    made = study(Preset.model_validate(asked))
    assert made.design.seams
    block = steps.section(made.job.material, made.job.printer, made.design).blocks[0]
    assert isinstance(block, Items)
    text = " ".join(block.rows)
    for seam in made.design.seams:
        for joint in seam.joints:
            assert re.search(rf"\b{joint.letter}\b", text)
    for part in made.design.parts:
        if part.whole:
            assert part.title.partition(", ")[2] in text


def test_whole_parts_have_no_assembly_step() -> None:
    assert not any("together from its" in row for row in steps_of(PRINTED))


def test_the_proof_is_of_what_comes_out_of_the_printer() -> None:
    asked = changed(coupon={"heights_mm": [0.9, 1.9, 2.9]})
    made = study(Preset.model_validate(asked))
    h = made.design.heights
    block = steps.section(made.job.material, made.job.printer, made.design).blocks[0]
    assert isinstance(block, Items)
    comes_out = h.drawn_ledge - 0.1
    assert f"The ledge must lie {comes_out:.2f}".rstrip("0") in block.rows[-1]


@pytest.mark.parametrize("stem", ["8x10-printed", "8x10-small-printer", "6x9-roll"])
def test_the_proof_says_which_mean_will_do_and_what_to_type(stem: str) -> None:
    mine = found(named(stem))
    text = str(section_of(named(stem), "making").blocks[0].rows[-1])  # type: ignore[union-attr]
    judged = enough(AsMade(mine.job, mine.design, uneven(mine.design)))
    assert judged is not None
    assert f"A mean of {judged.low_mm:.2f} to {judged.high_mm:.2f} mm" in text
    typed = re.search(r"type holders (measured \S+) LEFT RIGHT HEAD FOOT", text)
    assert typed is not None
    asked = [*typed[1].split(), *([f"{mine.design.heights.ledge_above_glass:.2f}"] * 4), "--json"]
    done = CliRunner().invoke(app, asked)
    assert done.exit_code == 0, done.output
    assert json.loads(done.stdout)["chance"] >= judged.chance


@pytest.mark.parametrize("stem", ["8x10-acrylic-lid", "6x9-roll", "8x10-mat-board"])
def test_sheets_are_told_alike_in_steps_shopping_and_summary(stem: str) -> None:
    path = named(stem)
    making = next(s for s in sheet(path).sections if s.key == "making")
    assert not any(isinstance(block, Table) for block in making.blocks)
    table = section_of(path, "stock").blocks[0]
    assert isinstance(table, Table)
    told = stock_summary(found(path).nested)
    assert [row[0] for row in table.rows] == [one["file"] for one in told]
    for row, one in zip(table.rows, told, strict=True):
        assert f"{one['size'][0]:g} x {one['size'][1]:g}" in row[1]
        assert all(piece["name"] in row[2] for piece in one["pieces"])
        assert row[3].startswith(f"{one['cut_length'] / 1000:.1f} m")
        assert row[5] == f"{100 * one['waste_fraction']:.0f} %"
    buy = next(s for s in sheet(path).sections if s.key == "shopping").blocks[0]
    assert isinstance(buy, Table)
    bought = [row for row in buy.rows if "sheet" in row[1]]
    assert sum(int(row[1].split()[0]) for row in bought) == len(told)
    assert len({one["thickness"] for one in told}) == len(bought)
    steps_ = steps_of(path)
    words = "stock-sheet files hold" if stem != "8x10-mat-board" else "whole sheets"
    assert any(words in row for row in steps_)


def test_sheets_that_do_not_take_the_pieces_are_told() -> None:
    asked = changed(route="laser", material={"name": "mdf", "sheets_mm": [1.5, 3.0], "sheet_width_mm": 100.0})
    made = study(Preset.model_validate(asked))
    content = sheet_content(made, "x")
    shop = next(s for s in content.sections if s.key == "shopping")
    assert any(isinstance(b, Words) and "Not laid out on sheets" in b.text for b in shop.blocks)
    assert (
        len(next(s for s in content.sections if s.key == "making").blocks) == 2
    )  # steps and boxes; no table, no picture


def test_shopping_list_of_a_printed_holder_names_filament_and_feet() -> None:
    path = named("8x10-small-printer")
    buy = next(s for s in sheet(path).sections if s.key == "shopping").blocks[0]
    assert isinstance(buy, Table)
    rows = {row[0]: row for row in buy.rows}
    filament = next(row for name, row in rows.items() if name.endswith(" filament"))
    assert float(filament[1].split()[0]) > 50
    assert filament[1].endswith(" g")
    feet = next(row for name, row in rows.items() if "anti-slip" in name)
    assert feet[1] == f"{len(found(path).design.feet)} pieces"


def test_an_offcut_that_will_do_holds_every_piece() -> None:
    path = named("8x10-mat-board")
    words = str(section_of(path, "shopping").blocks)
    for one in sheets_of(found(path).nested):
        wide, high = needed_mm(one)
        for cut in one.cuts.cuts:
            if cut.outline is not None:
                x0, y0, x1, y1 = bounds(cut.outline)
                assert min(x0, y0) > 0
                assert x1 < wide
                assert y1 < high
        size = " x ".join(str(math.ceil(side / 10)) for side in sorted((wide, high)))
        assert (f"{one.thickness_mm:g} mm: an offcut of {size} cm will do" in words) == offcut_does(one)
        assert offcut_does(one) == (wide * high < 0.6 * one.use.width_mm * one.use.height_mm)


def test_every_step_has_its_picture() -> None:
    for path in SHIPPED:
        block = section_of(path, "making").blocks[0]
        assert isinstance(block, Steps)
        assert len(block.pictures) == len(block.rows) >= 4
        assert all(
            drawing.svg.count(b"<path") + drawing.svg.count(b"<circle") > 4 for drawing in block.pictures
        )


def test_the_preset_comes_back_from_its_code_on_the_sheet() -> None:
    """Drawn, turned to dots again as a photo has them, and read by another library than the one that made it."""
    pytest.importorskip("zxingcpp")
    from PIL import Image, ImageDraw

    from holders.preset.code import preset_in_photo

    drawing = code_of_preset(found(PRINTED).job.preset)
    assert drawing is not None
    scale = 8.0
    size = round(drawing.width_mm * scale)
    image = Image.new("L", (size, size), 255)
    pen = ImageDraw.Draw(image)
    for element in ET.fromstring(drawing.svg).iter(f"{{{SVG}}}path"):
        if element.get("fill") == "#000" and element.get("d"):
            v = [float(n) * scale for n in re.findall(r"[\d.]+", element.get("d", ""))]
            pen.rectangle((min(v[::2]), min(v[1::2]), max(v[::2]), max(v[1::2])), fill=0)
    out = io.BytesIO()
    image.save(out, "png")
    assert parse(preset_in_photo(out.getvalue()), "x") == found(PRINTED).job.preset


@pytest.mark.parametrize("stem", ["8x10-acrylic-lid", "6x9-roll"])
def test_the_sheets_are_drawn_to_scale_with_every_piece_named(stem: str) -> None:
    sheets = sheets_of(found(named(stem)).nested)
    picture = sheets_picture(sheets, 118.0)
    words = [element.text or "" for element in ET.fromstring(picture.svg("t")).iter(f"{{{SVG}}}text")]
    for one in sheets:
        assert any(w.startswith(f"{one.number}: {one.thickness_mm:g} mm") for w in words)
        assert {spot.part for spot in one.placements} <= set(words)
    single = one_sheet(sheets[0], 0.1)
    assert single.width == pytest.approx(shown_mm(sheets[0])[0] * 0.1 + 2)
    drawn = ET.fromstring(single.svg("t")).iter(f"{{{SVG}}}path")
    paths = [element.get("d", "") for element in drawn if element.get("fill-rule")]  # not the hatchings
    corners = [float(v) for v in re.findall(r"-?[\d.]+", paths[0])]
    assert max(corners[::2]) - min(corners[::2]) == pytest.approx(shown_mm(sheets[0])[0] * 0.1, abs=0.01)
    # the picture goes through the PDF's own replay
    drawing = next(b for b in section_of(named(stem), "stock").blocks if isinstance(b, Drawing))
    assert drawing.svg == picture.svg("stock sheets")


def test_prices_given_are_added_up_on_the_shopping_list() -> None:
    from holders.output.sheet.shopping import section

    wanted = parse(read_text(PRINTED), str(PRINTED))
    material = wanted.material.model_copy(update={"price_per_kg": 20.0})
    for preset, words in ((wanted, ""), (wanted.model_copy(update={"material": material}), "In all")):
        made = study(preset)
        blocks = section(made.job, made.design).blocks
        table = blocks[0]
        assert ("price, your currency" in table.head) == bool(words)
        told = [b.text for b in blocks if hasattr(b, "text") and b.text.startswith("In all")]
        assert bool(told) == bool(words)
        if words:
            (filament,) = [row for row in table.rows if row[0].endswith(" filament")]
            assert float(filament[2]) == pytest.approx(0.02 * float(filament[1].split()[0]), abs=0.02)
            assert told == [f"In all {filament[2]} in your currency; lines without a price are not in it."]


def test_who_overrules_a_stop_gives_a_reason_that_the_sheet_tells(tmp_path: Path) -> None:
    asked = changed(film={"format": "8x10"}, lip={"all_mm": 0.9})
    made = study(Preset.model_validate(asked))
    assert made.stops
    sheets = [sheet_content(made, "x", reason) for reason in ("", "tried on a spare sheet")]
    told = [str([section.blocks for section in one.sections]) for one in sheets]
    assert "overruled" not in told[0]
    assert "STOP was overruled; the reason that was given: tried on a spare sheet" in told[1]
    produce(made, tmp_path, "tried on a spare sheet")
    page = next(tmp_path.glob("*/job-sheet.html")).read_text(encoding="utf-8")
    assert "the reason that was given: tried on a spare sheet" in page


def test_the_sheet_says_whose_scanner_its_chance_is_for_and_what_plate_the_parts_need() -> None:
    one = found(next(path for path in SHIPPED if path.stem == "8x10-small-printer"))
    assert for_whom(one) == "That is for a scanner sharpest 3.1 ± 0.05 mm above its glass."
    mine = one.job.preset.model_copy(update={"title": "Mine"})
    own = dataclasses.replace(one, job=dataclasses.replace(one.job, preset=mine))
    assert for_whom(own) == "That is for your scanner, if it is sharpest 3.1 ± 0.05 mm above its glass."
    path = next(path for path in SHIPPED if path.stem == "8x10-small-printer")
    words = " ".join(parsed(html_bytes(sheet(path))).words.split())
    assert for_whom(one) in words
    wide = max(part.box[2] - part.box[0] for part in one.design.parts)
    assert f"plate at least {math.ceil(wide - 1e-6)} x" in words
