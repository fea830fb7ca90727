"""One reading, one number: the heights of a holder agree wherever they stand."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from holders.core.errors import InputError
from holders.core.lengths import measure
from holders.face.cli.commands import making
from holders.face.page.work import answers
from holders.face.shared.adding import adding_words
from holders.facts import height_names
from holders.output.draw.drafting.notes import notes
from holders.output.sheet import numbers
from holders.output.sheet.content import sheet_content
from holders.output.sheet.html import html_bytes
from holders.preset.load import parse
from holders.study import Study, study

PRESETS = Path(__file__).parents[2] / "presets"
GLASS_INDEX = (
    1.52  # soda-lime float glass, n_d 1.52: EN 572-1 gives no index; common handbook value, from memory
)


def studied(name: str, *, add: str = "", swap: tuple[str, str] | None = None) -> Study:
    text = (PRESETS / f"{name}.toml").read_text(encoding="utf-8")
    if swap is not None:
        assert swap[0] in text
        text = text.replace(*swap)
    return study(parse(text + add, name), text + add)


@pytest.mark.parametrize("thick", [2.0, 3.0])
def test_a_plate_seen_through_its_glass_counts_its_own_thickness(thick: float) -> None:
    """Emulsion up, the picture appears t/n above the plate's underside (paraxial optics, a plane-parallel plate)."""
    up = f'emulsion = "up"\nthickness_mm = {thick}'
    text = (PRESETS / "whole-plate-glass.toml").read_text(encoding="utf-8")
    text = re.sub(r"(?m)^emulsion *=.*\n|^thickness_mm *=.*\n", "", text)
    found = study(parse(text.replace("[film]\n", f"[film]\n{up}\n"), "plate"), text)
    heights = found.design.heights
    assert heights.optics == pytest.approx(thick / GLASS_INDEX, abs=0.005)
    assert heights.sharp_plane == pytest.approx(heights.ledge_above_glass + heights.optics, abs=1e-12)


def test_the_sheet_gives_one_number_for_one_reading() -> None:
    """A stair that came out 0.08 mm high: every ledge on the sheet is what a caliper will read."""
    found = studied("8x10-printed", add="\n[coupon]\nheights_mm = [1.08, 2.08, 3.08]\n")
    heights = found.design.heights
    assert heights.print_offset == pytest.approx(0.08, abs=1e-6)
    words = html_bytes(sheet_content(found, "", "")).decode()
    text = re.sub(r"<[^>]+>", " ", words)
    real = f"{heights.ledge_above_glass:.2f}".rstrip("0").rstrip(".")
    for phrase in (r"carries the film by its edges, +([0-9.]+) mm", r"ledge must lie +([0-9.]+) mm"):
        shown = re.search(phrase, text)
        assert shown is not None, phrase
        assert shown[1] == real
    row = re.search(r"ledge, above the glass\s+([0-9.]+) mm", text)
    assert row is not None
    assert row[1] == real


def test_every_height_has_one_name_and_one_number_everywhere(capsys: pytest.CaptureFixture[str]) -> None:
    """With a ledge that is drawn 0.08 mm lower than it will be: terminal, page, sheet and drawing agree."""
    found = studied("8x10-printed", add="\n[coupon]\nheights_mm = [1.08, 2.08, 3.08]\n")
    h = found.design.heights
    page = {name: value.split(" ")[0] for name, value in answers.numbers(found.design)}
    sheet = {row[0]: row[1].split(" ")[0] for row in numbers._heights(found.job, found.design).rows}
    caliper = " ".join(notes(found.design))
    making._tell(found, everything=False)
    terminal = re.sub(r"\s+", " ", capsys.readouterr().out)
    for name, value in (
        (height_names.LEDGE, h.ledge_as_made),
        (height_names.LEDGE_ABOVE_GLASS, h.ledge_above_glass),
        (height_names.PLANE, h.sharp_plane),
        (height_names.FEET, h.foot_protrusion),
    ):
        assert float(page[name[0].upper() + name[1:]]) == pytest.approx(value, abs=0.0051), name
        assert float(sheet[name]) == pytest.approx(value, abs=0.0051), name
        assert f"{name} {value:.2f} mm" in terminal, name
    assert (
        f"ledge {measure(h.ledge_as_made)} above the underside" in caliper
    )  # what is checked is not what is drawn
    assert f"({height_names.LEDGE_DRAWN} {h.ledge_height:.2f} mm)" in terminal


@pytest.mark.parametrize("name", ["8x10-printed", "4x5-two-glasses", "50mm-mounts"])
def test_ledge_sag_and_picture_add_up_in_one_sentence(name: str) -> None:
    found = studied(name)
    words = adding_words(found)
    terms, height, focus = re.fullmatch(  # type: ignore[union-attr]
        r"ledge (.+) = ([\d.]+) mm above the glass on average; sharpest at ([\d.]+)", words
    ).groups()
    each = [float(f"{sign}{value}") for sign, value in re.findall(r"([+-]?) ?(\d+\.\d+)", terms)]
    assert each[0] == pytest.approx(found.design.heights.ledge_above_glass, abs=0.0051)
    assert sum(each) == pytest.approx(float(height), abs=1e-9)  # as printed, to the last hundredth
    assert float(focus) == pytest.approx(found.design.heights.focus, abs=0.0051)
    (plane,) = [f for f in found.findings if f.code == "focus-error"]
    assert f"film at {height} mm" in plane.where  # one number, one property


def test_doubt_about_the_stair_reaches_the_budget() -> None:
    from holders.workshop.budget.contributors import contributors

    found = studied("8x10-printed", add="\n[coupon]\nheights_mm = [1.00, 2.10, 2.99]\n")
    names = {part.name: part for part in contributors(found.job, found.design)}
    assert "test piece's stair" in names
    assert names["test piece's stair"].limit_mm == pytest.approx(2 * found.design.heights.print_offset_sigma)
    assert found.design.heights.print_offset_sigma > 0.02


@pytest.mark.parametrize("heights", ["[1.0, 1.0, 1.0]", "[2.0, 1.0, 3.0]", "[1.0, 2.0, 4.0]"])
def test_readings_that_no_stair_gives_are_refused(heights: str) -> None:
    with pytest.raises(InputError) as refused:
        studied("8x10-printed", add=f"\n[coupon]\nheights_mm = {heights}\n")
    assert "heights_mm" in refused.value.field
    assert "stair" in str(refused.value)


def test_the_cut_test_piece_is_of_a_sheet_of_the_holder() -> None:
    from holders.workshop.coupon.coupon import coupon_for

    found = studied("6x9-roll")
    piece = coupon_for(found.job)
    slabs = {round(s.z1 - s.z0, 4) for part in found.design.parts if part.in_frame for s in part.slabs}
    assert round(piece.tongue_mm, 4) == max(slabs)
    other = studied(
        "8x10-acrylic-lid"
    ).job  # sag lifts its ledge onto other sheets, known only when it is designed
    assert round(coupon_for(other).tongue_mm, 4) in other.preset.material.sheets_mm
