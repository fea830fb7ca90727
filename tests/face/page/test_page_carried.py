"""Opening on the page what a holder was written as: 3MF, PDF, SVG, DXF, the zip, or the preset itself."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from holders.face.page.form.values import values_of
from holders.face.page.work.errands import pack
from holders.output.bundle.produce import produce
from holders.preset.load import load
from tests.face.page.pages import ROOT
from tests.kept import shipped_study
from tests.preset.test_code import photo, picture, saved

BOARD = ROOT / "presets" / "8x10-mat-board.toml"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("out")
    produce(shipped_study(BOARD), out)
    (found,) = (child for child in out.iterdir() if child.is_dir())
    return found


def test_every_carrier_brings_the_design_back(page: TestClient, folder: Path, tmp_path: Path) -> None:
    expected = values_of(BOARD.read_text(encoding="utf-8"), "x")
    pack(tmp_path / "holder.zip", folder.name, sorted(folder.iterdir()))
    carriers = [file for file in folder.iterdir() if file.suffix in (".toml", ".svg", ".dxf", ".pdf")]
    assert {file.suffix for file in carriers} == {".toml", ".svg", ".dxf", ".pdf"}
    for file in (*carriers, tmp_path / "holder.zip"):
        answer = page.post("/api/open", content=file.read_bytes()).json()
        assert answer == {"ok": True, "values": expected, "notes": []}, file.name


def test_a_file_without_a_preset_is_refused_in_words(page: TestClient) -> None:
    for data in (b"%PDF-1.4\n", b"<svg></svg>", b"PK\x03\x04"):
        answer = page.post("/api/open", content=data)
        assert answer.status_code == 422
        assert answer.json()["errors"][0]["field"] == "preset"


def test_a_photo_of_the_code_brings_the_design_back(page: TestClient) -> None:
    seen = saved(photo(picture(load(BOARD)), 1), "JPEG")
    answer = page.post("/api/open", content=seen).json()
    assert answer == {"ok": True, "values": values_of(BOARD.read_text(encoding="utf-8"), "x"), "notes": []}


def test_another_picture_is_called_a_picture(page: TestClient) -> None:
    answer = page.post("/api/open", content=saved(picture(load(BOARD)).rotate(45).resize((40, 40))))
    assert answer.status_code == 422
    assert "a picture in which no preset's code is found" in answer.json()["errors"][0]["way_out"]
