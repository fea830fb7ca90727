"""The picture of a finished scan: it shows what was found, where it was found, and nothing else."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from holders.measure.finished.blur.judge import DISC_READS, IN_BAND, BlurMap
from holders.measure.finished.blur.transfer import disc_share
from holders.measure.finished.expected import Box, Expected
from holders.measure.finished.look import InspectResult, inspect_scan
from holders.measure.finished.rings.regions import regions
from holders.measure.finished.rings.rings import RingPlace, RingsResult
from holders.measure.finished.sharpness import of_blur
from holders.output.draw.canvas import AXIS, FINE, HATCH_MATERIAL, number, text_width
from holders.output.draw.inspect import WIDTH, inspect_sheet
from holders.output.words import inspected
from tests.measure.finished.scans import textured_film, window_scan, write

NS = "{http://www.w3.org/2000/svg}"
DPI = 150.0
PX = 25.4 / DPI
SHAPE, CORNER, SIZE, TURN = (580, 480), (35.0, 40.0), (410.0, 500.0), 0.4
PICTURE = Box(2.0, 3.0, 60.0, 75.0)
NUMBER = re.compile(r"-?\d+\.?\d*")


@pytest.fixture(scope="module")
def sagging(tmp_path_factory: pytest.TempPathFactory) -> InspectResult:
    """Film that is soft in its middle, in a window of known place and turn; its map of blur is set, not measured."""
    rng = np.random.default_rng(2)
    light = window_scan(SHAPE, CORNER, SIZE, TURN, textured_film(rng, SHAPE), soft_px=0.6)
    path = write(tmp_path_factory.mktemp("sag") / "s.tif", light + rng.normal(0, 0.0006, light.shape), DPI)
    design = Expected((SIZE[0] * PX, SIZE[1] * PX), PICTURE, band_mm=(2.6, 3.4))
    found = inspect_scan(path, design=design, rings=False)
    rows, columns = 18, 15
    v, u = np.meshgrid(np.linspace(-1, 1, rows), np.linspace(-1, 1, columns), indexing="ij")
    blur = 3.0 * np.clip(1 - u**2 - v**2, 0, None)
    judged = np.ones(blur.shape, bool)
    judged[0, :4] = False
    x = CORNER[0] * PX + (np.arange(columns) + 0.5) * SIZE[0] * PX / columns
    y = CORNER[1] * PX + (np.arange(rows) + 0.5) * SIZE[1] * PX / rows
    share = np.abs(disc_share(blur / DISC_READS))
    known = float((share >= IN_BAND).mean())
    seen = of_blur(BlurMap(x, y, share, blur, judged, float(judged.mean()), known, 0.05, 15.0, 0.01))
    return replace(found, sharpness=seen)


def elements(data: bytes, tag: str) -> list[ET.Element]:
    return list(ET.fromstring(data).iter(f"{NS}{tag}"))


def texts(data: bytes) -> list[str]:
    return [(e.text or "").replace("\u00a0", " ") for e in elements(data, "text")]


def rings_of(element: ET.Element) -> list[list[tuple[float, float]]]:
    """Corners of each closed or open line of a path."""
    return [
        [(x, y) for x, y in zip(*[iter(map(float, NUMBER.findall(part)))] * 2, strict=True)]
        for part in element.attrib["d"].split("M")[1:]
    ]


class Frame:
    """Paper to the scan's millimetres, read from the drawn outline of the scan."""

    def __init__(self, data: bytes, found: InspectResult) -> None:
        boxes = [
            rings_of(e)[0] for e in elements(data, "path") if e.get("stroke-width") == number(FINE.width)
        ]
        corners = max((b for b in boxes if len(b) == 4), key=lambda b: b[2][0] - b[0][0])
        (self.left, self.top), (right, foot) = corners[0], corners[2]
        self.scale = (right - self.left) / found.size_mm[0]
        assert (foot - self.top) / found.size_mm[1] == pytest.approx(self.scale, rel=1e-3)

    def mm(self, point: tuple[float, float]) -> tuple[float, float]:
        return (point[0] - self.left) / self.scale, (point[1] - self.top) / self.scale


def area(corners: list[tuple[float, float]]) -> float:
    pairs = zip(corners, corners[1:] + corners[:1], strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


def test_what_is_out_of_the_band_is_hatched_and_nothing_else(sagging: InspectResult) -> None:
    data = inspect_sheet(sagging)
    frame, s = Frame(data, sagging), sagging.sharpness
    soft = np.isfinite(s.grid) & ~s.in_band
    assert 0.2 < soft.sum() / np.isfinite(s.grid).sum() < 0.9
    hatched = [
        ring
        for e in elements(data, "path")
        if e.get("fill") == HATCH_MATERIAL and e.get("stroke") is None
        for ring in rings_of(e)
    ]
    cell = (s.x_mm[1] - s.x_mm[0]) * (s.y_mm[1] - s.y_mm[0])
    assert sum(area(ring) for ring in hatched) / frame.scale**2 == pytest.approx(soft.sum() * cell, rel=2e-3)
    for j, i in zip(*np.nonzero(np.isfinite(s.grid)), strict=True):
        inside = any(
            ring[0][0] < frame.left + s.x_mm[i] * frame.scale < ring[2][0]
            and ring[0][1] < frame.top + s.y_mm[j] * frame.scale < ring[2][1]
            for ring in hatched
        )
        assert inside == soft[j, i]


def test_each_side_is_named_with_its_place_in_lettering_of_2_5_mm(sagging: InspectResult) -> None:
    """ISO 3098's least height of lettering."""
    sides = [
        e
        for e in elements(inspect_sheet(sagging), "text")
        if re.match(r"(left|right|top|bottom)\W\d", e.text or "")
    ]
    assert [(e.text or "").split("\u00a0")[0].split(" ")[0] for e in sides] == [
        "left",
        "right",
        "top",
        "bottom",
    ]
    assert {float(e.get("font-size", 0)) for e in sides} == {2.5}


def test_the_sides_are_drawn_where_the_light_ends(sagging: InspectResult) -> None:
    data = inspect_sheet(sagging)
    frame = Frame(data, sagging)
    lines = [rings_of(e)[0] for e in elements(data, "path") if e.get("stroke-width") == "0.7"]
    drawn = [
        [frame.mm(p) for p in line] for line in lines if abs(line[0][0] - line[1][0]) > 10
    ]  # top, bottom
    assert len(drawn) == 2
    cx, cy = (CORNER[0] + SIZE[0] / 2) * PX, (CORNER[1] + SIZE[1] / 2) * PX
    turn = math.radians(TURN)
    # the true corners of the turned opening, clockwise with y down
    true = [
        (cx + u * math.cos(turn) - v * math.sin(turn), cy + u * math.sin(turn) + v * math.cos(turn))
        for v in (-SIZE[1] * PX / 2, SIZE[1] * PX / 2)
        for u in (-SIZE[0] * PX / 2, SIZE[0] * PX / 2)
    ]
    found = sorted((p for line in drawn for p in line), key=lambda p: (round(p[1] / 40), p[0]))
    for a, b in zip(found, true, strict=True):
        assert a == pytest.approx(b, abs=0.15)


def dashed(data: bytes) -> list[list[tuple[float, float]]]:
    """The lines of the designed picture, then the legend's."""
    return [
        rings_of(e)[0]
        for e in elements(data, "path")
        if e.get("stroke-dasharray") == " ".join(map(number, AXIS.dash))
    ]


def test_what_was_designed_is_drawn_no_further_than_the_scan(sagging: InspectResult) -> None:
    """A scan of another holder: its design reaches far beyond, and the words say that it does not fit."""
    far = replace(sagging, picture=Box(-3.0, 2.0, 300.0, 10.0))
    data = inspect_sheet(far)
    frame = Frame(data, far)
    *drawn, _ = dashed(data)
    assert len(drawn) == 3  # the right side lies beyond the scan
    for x, y in (frame.mm(p) for line in drawn for p in line):
        assert -0.01 <= x <= far.size_mm[0] + 0.01
        assert -0.01 <= y <= far.size_mm[1] + 0.01
    assert max(frame.mm(line[1])[0] for line in drawn) == pytest.approx(far.size_mm[0], abs=0.01)
    assert inspected.doubts(far) == ()
    other = replace(far, placement=replace(far.placement, window_error_mm=(-120.0, 1.0)))
    assert "-120 mm across" in inspected.doubts(other)[0]
    assert "made in another holder" in " ".join(texts(inspect_sheet(other)))


def test_the_designed_picture_is_laid_to_the_windows_corner(sagging: InspectResult) -> None:
    data = inspect_sheet(sagging)
    frame = Frame(data, sagging)
    corners = [frame.mm(line[0]) for line in dashed(data)[:4]]
    assert math.dist(corners[0], corners[1]) == pytest.approx(PICTURE.width, abs=0.05)
    assert math.dist(corners[1], corners[2]) == pytest.approx(PICTURE.height, abs=0.05)
    assert corners[0][0] == pytest.approx(CORNER[0] * PX + PICTURE.x, abs=0.5)
    assert corners[0][1] == pytest.approx(CORNER[1] * PX + PICTURE.y, abs=0.5)
    without = inspect_sheet(replace(sagging, picture=None))
    assert not any("to have it" in words for words in texts(without))
    assert any("to have it" in words for words in texts(data))


def place(x: float, y: float, side: float = 10.0, contrast: float = 0.03) -> RingPlace:
    return RingPlace(x, y, side, side, 1.5, contrast, 1.0, None)


def test_tiles_that_overlap_are_one_area() -> None:
    found = regions([place(0, 0), place(40, 0, contrast=0.05), place(8, 0), place(16, 0)])
    assert [round(r.x_mm) for r in found] == [45, 13]  # the strongest first
    assert found[1].radius_mm == pytest.approx(math.sqrt(2 * np.var([5, 13, 21])))
    assert found[0].radius_mm == 5.0  # a tile sees no finer than its half
    assert regions(()) == ()


def test_rings_are_circled_where_they_are(sagging: InspectResult) -> None:
    two = RingsResult(True, 2.0, "colour", (place(10, 10), place(14, 10), place(45, 60)))
    data = inspect_sheet(replace(sagging, rings=two))
    frame = Frame(data, sagging)
    circles = {frame.mm((float(e.attrib["cx"]), float(e.attrib["cy"]))) for e in elements(data, "circle")}
    for middle in ((17.0, 15.0), (50.0, 65.0)):
        assert any(math.dist(c, middle) < 0.1 for c in circles), circles
    said = " ".join(texts(data))
    assert "rings in 2 places" in said
    assert "Newton's rings" in said
    doubtful = replace(sagging, rings=replace(two, found=False, where=(), strong=(place(45, 60),)))
    said = " ".join(texts(inspect_sheet(doubtful)))
    assert "no rings found" in said
    assert "stronger than bare film gives" in said


def test_a_scan_that_says_nothing_is_drawn_too(tmp_path: Path) -> None:
    found = inspect_scan(write(tmp_path / "x.tif", np.full((300, 420), 0.5), DPI))
    data = inspect_sheet(found)
    assert "cannot tell how sharp" in " ".join(texts(data))
    assert "nothing on it but noise" in " ".join(texts(data))
    assert not [
        e for e in elements(data, "path") if e.get("fill") == HATCH_MATERIAL and e.get("stroke") is None
    ]
    assert inspected.turned(found) == "unknown: no edge was seen"


@pytest.mark.parametrize("lying", [False, True])
def test_words_stay_on_the_paper_and_bytes_the_same(sagging: InspectResult, lying: bool) -> None:
    found = replace(sagging, size_mm=(130.0, 90.0)) if lying else sagging
    data = inspect_sheet(found)
    assert data == inspect_sheet(found)
    root = ET.fromstring(data)
    _, _, wide, high = map(float, root.attrib["viewBox"].split())
    assert wide == WIDTH
    for e in elements(data, "text"):
        x, size = float(e.attrib["x"]), float(e.attrib["font-size"])
        if e.get("transform") is None and e.get("text-anchor") == "start":
            assert x + text_width(e.text or "", size) <= WIDTH + 1, e.text
        assert 0 < float(e.attrib["y"]) < high, e.text


def test_a_side_is_called_as_the_scan_is_shown(sagging: InspectResult) -> None:
    rows = dict(inspected.rows(sagging))
    assert rows["light ends at"].startswith("left 5.")
    assert "top" in rows["light ends at"]
    assert "head" not in " ".join([*rows.values(), *inspected.advice(sagging)])
    degrees, _, way = rows["turned by"].partition("° ")
    assert float(degrees) == pytest.approx(TURN, abs=0.02)
    assert way == "clockwise"
    assert rows["pattern"].startswith("the middle differs from the edges")
