"""Letters outside one code page are on the paper, read back from it by another library; what is not there is said."""

from __future__ import annotations

import io

import pdfplumber
import pytest
from pdfminer.pdftypes import resolve1

from holders.facts.tables import paper
from holders.output.formats.curl_gauge import gauge_pdf
from holders.output.formats.letters import BOX, not_shown
from holders.output.formats.pdf import template_pdf
from holders.output.sheet.blocks import Section, Sheet, Verbatim, Words
from holders.output.sheet.pdf import pdf_bytes
from tests.output.formats.test_pdf import A4, big

TITLES = [
    "Плёнка 8х10",
    "Φιλμ 4×5 “Low Weir”",
    "Žluťoučký kůň",
    "Ծրագիր ქართული",
    "naïve – €5",
    "≥ 0.2 mm → Δ",
]


def text_of(data: bytes) -> str:
    with pdfplumber.open(io.BytesIO(data)) as found:
        return "\n".join(page.extract_text() for page in found.pages)


def sheet(title: str) -> Sheet:
    blocks = (Words(f"Made: {title}"), Verbatim(f'title = "{title}"'))
    return Sheet(title, f"for {title}", (Section("one", title, blocks),))


@pytest.mark.parametrize("title", TITLES)
def test_both_papers_show_the_title_as_it_is(title: str) -> None:
    for data in (template_pdf(title, [big()], A4), pdf_bytes(sheet(title), paper("a4"))):
        text = text_of(data)
        assert title in text
        assert BOX not in text
    assert not_shown(title) == ""


@pytest.mark.parametrize(
    ("title", "lost", "kind"), [("胶片 4x5", "胶片", "Cjk"), ("אב film", "אב", "Hebrew")]
)
def test_what_has_no_letter_stands_as_a_box_and_is_said(title: str, lost: str, kind: str) -> None:
    assert not_shown(title) == lost
    for data in (template_pdf(title, [big()], A4), pdf_bytes(sheet(title), paper("a4"))):
        text = " ".join(text_of(data).split())
        assert "?" not in text
        assert f"2 different letters ({kind}) in no font that comes with holders" in text
        assert title.translate({ord(char): BOX for char in lost}) in text


@pytest.mark.parametrize("title", [TITLES[0], "Low Weir, naïve – €5"])
def test_every_font_is_in_the_file_and_the_same_title_gives_the_same_bytes(title: str) -> None:
    """A viewer must not choose letters of its own: each font of each page has its file in the document."""
    for make in (
        lambda: template_pdf(title, [big()], A4),
        lambda: pdf_bytes(sheet(title), paper("a4")),
        lambda: gauge_pdf(A4),
    ):
        one = make()
        assert make() == one
        fonts = fonts_of(one)
        assert fonts
        assert all(embedded for _, embedded in fonts), fonts


def fonts_of(data: bytes) -> set[tuple[str, bool]]:
    """Name of every font that the pages of a PDF name, and whether its file is in the document."""
    found = set()
    with pdfplumber.open(io.BytesIO(data)) as opened:
        for page in opened.pages:
            for reference in resolve1(resolve1(page.page_obj.resources)["Font"]).values():
                font = resolve1(reference)
                about = resolve1(font.get("FontDescriptor", {}))
                found.add(
                    (
                        str(font["BaseFont"]),
                        any(key in about for key in ("FontFile", "FontFile2", "FontFile3")),
                    )
                )
    return found
