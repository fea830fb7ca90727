"""``holders curl`` as a person or a program calls it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from holders.face.cli.main import app
from tests.simulators.edge_scan import EdgeScene, render, write_tiff

RUN = CliRunner()


@pytest.fixture(scope="module")
def scans(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("scans")
    long = EdgeScene(curl_per_m=2.5, height_mm=20.0)
    short = EdgeScene(curl_per_m=7.0, length_mm=61.5, height_mm=20.0, angle_deg=88.0)
    files = folder / "long side.tif", folder / "short.tif"
    for file, edge in zip(files, (long, short), strict=True):
        write_tiff(file, render(edge))
    return files


def run(*arguments: object) -> tuple[int, str, str]:
    done = RUN.invoke(app, ["curl", *map(str, arguments)])
    assert done.exception is None or isinstance(done.exception, SystemExit)
    return done.exit_code, done.stdout, done.stderr


def test_ruler() -> None:
    code, out, _ = run("--chord", 100, "--rise", 5, "--json")
    answer = json.loads(out)
    assert code == 0
    assert set(answer) == {"curl_per_m", "sigma"}
    assert answer["curl_per_m"] == pytest.approx(1000 / 252.5)  # R = 100^2 / 40 + 2.5
    assert json.loads(run("--chord", 100, "--rise", 5, "--hollow", "base", "--json")[1])["curl_per_m"] < 0
    code, out, _ = run("--chord", 100, "--rise", 5)
    assert "3.96" in out


def test_scan_and_picture(scans: tuple[Path, Path], tmp_path: Path) -> None:
    code, out, _ = run(scans[0], "--json")
    answer = json.loads(out)
    assert code == 0
    assert {"curl_per_m", "sigma", "chord_mm", "rise_mm"} <= set(answer)
    assert answer["curl_per_m"] == pytest.approx(2.5, abs=0.075)
    code, out, _ = run(scans[0], "--hollow", "base", "--out", tmp_path)
    assert code == 0
    assert "hollow toward the base" in out
    assert (tmp_path / "long-side-curl.png").read_bytes().startswith(b"\x89PNG")


def test_two_scans_and_a_record(scans: tuple[Path, Path], tmp_path: Path) -> None:
    record = tmp_path / "mill.toml"
    code, out, _ = run(
        *scans, "--hollow", "base,emulsion", "--record", record, "--humidity", 45, "--temperature", 21,
        "--format", "roll-6x9", "--note", "paper machine", "--json",
    )  # fmt: skip
    answer = json.loads(out)
    assert code == 0
    assert answer["along"]["curl_per_m"] == pytest.approx(-2.5, abs=0.075)
    assert answer["across"]["curl_per_m"] == pytest.approx(7.0, abs=0.21)
    text = record.read_text()
    for words in (
        "along_per_m = -2.",
        "across_per_m = ",
        "humidity_percent = 45.0",
        'note = "paper machine"',
    ):
        assert words in text
    code, out, _ = run(
        "--chord", 60, "--rise", 3, "--hollow", "emulsion", "--order", "across", "--record", record
    )
    assert code == 0
    assert "2 films" in out


@pytest.mark.parametrize("key", ["a4", "letter"])
def test_gauge(tmp_path: Path, key: str) -> None:
    code, out, _ = run("--gauge", "--paper", key, "--out", tmp_path, "--json")
    assert code == 0
    assert Path(json.loads(out)["path"]).read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "give one of"),
        (("--gauge", "--chord", 10, "--rise", 1), "give one of"),
        (("--chord", 100), "--rise"),
        (("--rise", 1), "--chord"),
        (("--chord", -1, "--rise", 1), "--chord"),
        (("--chord", 100, "--rise", 1, "--hollow", "shiny"), "--hollow"),
        (("--chord", 100, "--rise", 1, "--record", "r.toml", "--order", "along"), "--hollow"),
        (("--chord", 100, "--rise", 1, "--record", "r.toml", "--hollow", "base"), "--order"),
        (("--chord", 100, "--rise", 1, "--humidity", 40), "--record"),
        (("--chord", 100, "--rise", 1, "--order", "up"), "--order"),
        (("--gauge", "--paper", "papyrus"), "papyrus"),
        (("no-such-scan.tif",), "no-such-scan.tif"),
        (("a.tif", "b.tif", "c.tif"), "3 scans"),
    ],
)
def test_what_cannot_be_is_said_in_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[object, ...], words: str
) -> None:
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*arguments)
    assert code == 2
    assert not out
    assert words in err
    assert len(err.strip().splitlines()) == 1
    assert not list(tmp_path.iterdir())


def test_a_humidity_that_cannot_be_is_refused_before_the_record_is_touched(tmp_path: Path) -> None:
    record = tmp_path / "r.toml"
    code, _, err = run(
        "--chord", 100, "--rise", 5, "--hollow", "base", "--order", "across", "--record", record, "--humidity", 140
    )  # fmt: skip
    assert code == 2
    assert "--humidity" in err
    assert not record.exists()
