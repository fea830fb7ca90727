"""A folder of scans from one holder: gross faults found, sound sheets left alone, taken up again after a break."""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import io
import json
import pickle
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile
from typer.testing import CliRunner

from holders.core.errors import InputError
from holders.face.cli.commands import sheets as command
from holders.face.cli.main import app
from holders.face.shared.expected import expected_of
from holders.measure.finished import look
from holders.measure.finished.reduce import Reduced
from holders.measure.register import EmptyLight, append_holder
from holders.measure.scan import opened
from holders.measure.scan.model import Scan
from holders.measure.scan.opened import open_scan
from holders.measure.session.record import (
    CSV_NAME,
    JSON_NAME,
    LIST_NAME,
    Sheet,
    as_csv,
    number_of,
    read_session,
)
from holders.preset.holder_code import holder_code
from tests.kept import shipped_study
from tests.measure.finished.scans import scan_of

PRESET = Path(__file__).parents[3] / "presets" / "6x9-roll.toml"
DPI = 300.0
INSPECTED: dict[str, look.InspectResult] = {}
SOUND, FAULTY = ("mill-01.tif", "mill-02.tif", "mill-05.tif"), {
    "mill-03.tif": "soft", "mill-04.tif": "clipped", "mill-07.tif": "window", "mill-08.tif": "unread",
}  # fmt: skip


@pytest.fixture(scope="module")
def scans(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three sound sheets; one 1.5 mm too high, one with a burnt channel, one of another window, one cut short."""
    folder = tmp_path_factory.mktemp("scans")
    expected = expected_of(shipped_study(PRESET))
    for number, name in enumerate(SOUND):
        scan_of(folder / name, expected, 0.0, DPI, number)
    scan_of(folder / "mill-03.tif", expected, 1.5, DPI, 11)
    light = tifffile.imread(folder / "mill-01.tif")
    colour = np.stack([light, light, light], axis=-1)
    burnt = colour.copy()
    burnt[100:180, 100:300, 0] = 65535
    _write(folder / "mill-04.tif", burnt)
    shorter = light.copy()
    shorter[light.shape[0] * 2 // 3 :] = 655  # as dark as the holder
    _write(folder / "mill-07.tif", shorter)
    (folder / "mill-08.tif").write_bytes((folder / "mill-01.tif").read_bytes()[:2000])
    (folder / "notes.txt").write_text("not a scan")
    return folder


@pytest.fixture(autouse=True)
def once_each(monkeypatch: pytest.MonkeyPatch) -> None:
    """A picture already inspected is not inspected again: what is tried here is what a session makes of it."""
    inspect = look.inspect_reduced

    def known(reduced: Reduced, name: str, **how: Any) -> look.InspectResult:
        what = hashlib.sha256(reduced.small.tobytes() + pickle.dumps(how.get("design"))).hexdigest()
        if what not in INSPECTED:
            INSPECTED[what] = inspect(reduced, name, **how)
        return replace(INSPECTED[what], path=name)

    monkeypatch.setattr(look, "inspect_reduced", known)


def _write(path: Path, pixels: np.ndarray) -> None:
    tifffile.imwrite(
        path,
        pixels,
        photometric="rgb" if pixels.ndim == 3 else "minisblack",
        resolution=(DPI, DPI),
        resolutionunit="INCH",
    )


def _run(folder: Path, *more: str) -> Any:
    done = CliRunner().invoke(app, ["session", str(folder), "--preset", str(PRESET), *more])
    assert done.exit_code == 0, done.output
    return done


def test_faults_are_found_and_sound_sheets_left_alone(scans: Path, tmp_path: Path) -> None:
    folder = tmp_path / "scans"
    shutil.copytree(scans, folder)
    answer = json.loads(_run(folder, "--json").stdout)
    faults = {row["file"]: row["faults"] for row in answer["sheets"]}
    assert set(faults) == {*SOUND, *FAULTY}
    for name in SOUND:
        assert faults[name] == [], name
    for name, code in FAULTY.items():
        assert code in faults[name], name
    assert answer["again"] == [3, 4, 7, 8]
    again = _run(folder).stdout
    assert "scan again: 03, 04, 07, 08" in again
    rows = list(csv.DictReader(io.StringIO((folder / CSV_NAME).read_text("utf-8-sig"))))
    assert [row["number"] for row in rows] == ["1", "2", "3", "4", "5", "7", "8"]
    page = (folder / LIST_NAME).read_text("utf-8")
    assert page.count('<tr class="again">') == 4


def test_a_broken_off_session_is_taken_up(
    scans: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "scans"
    folder.mkdir()
    for name in SOUND:
        shutil.copy2(scans / name, folder / name)
    looked: list[str] = []
    once = command._looked_at

    def counted(path: Path, *given: Any) -> Sheet:
        if len(looked) == 2:
            looked.append("")
            raise KeyboardInterrupt
        looked.append(path.name)
        return once(path, *given)

    monkeypatch.setattr(command, "_looked_at", counted)
    CliRunner().invoke(app, ["session", str(folder), "--preset", str(PRESET)])
    assert [sheet.file for sheet in read_session(folder)] == ["mill-01.tif", "mill-02.tif"]
    _run(folder)
    assert looked == ["mill-01.tif", "mill-02.tif", "", "mill-05.tif"]  # nothing twice
    assert len(read_session(folder)) == 3
    _run(folder)
    assert len(looked) == 4


def test_scans_that_arrive_are_looked_at(
    scans: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "scans"
    folder.mkdir()
    partly, whole = folder / "mill-01.tif", (scans / "mill-01.tif").read_bytes()
    partly.write_bytes(whole[: len(whole) // 2])
    sizes: list[int] = []

    def arrives(_seconds: float) -> None:
        sizes.append(partly.stat().st_size)
        if len(sizes) == 1:
            partly.write_bytes(whole)  # still growing when it was first seen
        if len(sizes) == 4:
            raise KeyboardInterrupt

    monkeypatch.setattr(command.time, "sleep", arrives)
    _run(folder, "--watch")
    (sheet,) = read_session(folder)
    assert sheet.faults == ()


def test_a_scan_is_opened_once(scans: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What cannot be read in pieces (PNG, JPEG) is decoded whole each time that it is opened."""
    folder = tmp_path / "scans"
    folder.mkdir()
    shutil.copy2(scans / "mill-01.tif", folder)
    asked: list[str] = []
    first = open_scan

    def counted(path: Path) -> Scan:
        asked.append(Path(path).name)
        return first(path)

    for module in (opened, look):
        monkeypatch.setattr(module, "open_scan", counted)
    _run(folder)
    assert asked == ["mill-01.tif"]
    assert read_session(folder)[0].detail > 0


def test_a_table_that_is_none_is_left_alone(tmp_path: Path) -> None:
    for text in ("{}", "[" * 5000, '{"version": 1, "sheets": [3]}', "nonsense"):
        (tmp_path / JSON_NAME).write_text(text)
        with pytest.raises(InputError, match="move it away"):
            read_session(tmp_path)
        assert (tmp_path / JSON_NAME).read_text() == text


def test_numbers_come_from_names_and_never_twice() -> None:
    assert number_of("mill-07.tif", []) == 7
    assert number_of("mill-07.tif", [7]) == 8
    assert number_of("untitled.tif", [1, 4]) == 5
    assert number_of("2026112807153312.tif", [2]) == 3  # a time, not a sheet's number


def test_a_spreadsheet_runs_nothing() -> None:
    row = as_csv([Sheet(1, "=cmd.tif", 1, "emulsion down", "t", "h", "nothing wrong seen")]).decode(
        "utf-8-sig"
    )
    assert "'=cmd.tif" in row


@pytest.fixture
def two(scans: Path, tmp_path: Path) -> Path:
    """Two sound sheets, one of each pocket by their names."""
    folder = tmp_path / "scans"
    folder.mkdir()
    for name, pocket in zip(SOUND, (2, 1), strict=False):
        shutil.copy2(scans / name, folder / name.replace(".tif", f"_p{pocket}.tif"))
    assert len(shipped_study(PRESET).design.windows) == 2
    return folder


def _pockets(folder: Path) -> list[int]:
    return [sheet.pocket for sheet in read_session(folder)]


def test_pockets_come_from_names_or_a_table_and_a_corrected_table_is_looked_at_again(two: Path) -> None:
    _run(two, "--pocket", "names")
    assert _pockets(two) == [2, 1]
    assert [sheet.number for sheet in read_session(two)] == [1, 2]  # not after the pockets
    table = two / CSV_NAME
    text = table.read_text("utf-8-sig")
    mine = two.parent / "mine.csv"
    mine.write_text(
        text.replace("mill-01_p2.tif,2", "mill-01_p2.tif,1")
    )  # the session's own table, corrected
    assert "mill-01_p2.tif" in _run(two, "--pocket", str(mine)).stdout
    assert _pockets(two) == [1, 1]
    assert "mill-01_p2.tif:" not in _run(two, "--pocket", str(mine)).stdout  # looked at, and known
    assert "mill-01_p2.tif:" not in _run(two).stdout


@pytest.mark.parametrize("asked", ["3", "0", "names", "table"])
def test_a_pocket_that_this_holder_has_not_stops_before_anything_is_looked_at(asked: str, two: Path) -> None:
    (two / "mill-01_p2.tif").rename(two / "mill-01_p3.tif")
    table = two.parent / "table.csv"
    table.write_text("file,pocket\nmill-01_p3.tif,3\nmill-02_p1.tif,1\n")
    given = [
        "session",
        str(two),
        "--preset",
        str(PRESET),
        "--pocket",
        str(table) if asked == "table" else asked,
    ]
    done = CliRunner().invoke(app, given)
    assert done.exit_code == 2
    assert "pockets 1 to 2" in done.output
    assert not (two / JSON_NAME).exists()


def test_a_scan_that_arrives_without_a_pocket_is_named_and_taken_up_when_it_is_said(
    two: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    late = two / "mill-05.tif"
    whole = (two / "mill-01_p2.tif").read_bytes()
    seen: list[int] = []

    def arrives(_seconds: float) -> None:
        seen.append(1)
        late.write_bytes(whole)
        if len(seen) == 6:
            raise KeyboardInterrupt

    monkeypatch.setattr(command.time, "sleep", arrives)
    out = _run(two, "--watch", "--pocket", "names").stdout
    assert out.count("mill-05.tif: not looked at: its name gives no pocket") == 1
    table = two.parent / "table.csv"
    table.write_text("file,pocket\nmill-01_p2.tif,2\nmill-02_p1.tif,1\nmill-05.tif,2\n")
    _run(two, "--pocket", str(table))
    assert {sheet.file: sheet.pocket for sheet in read_session(two)}["mill-05.tif"] == 2
    assert not any("pocket" in sheet.faults for sheet in read_session(two))


def test_the_holders_own_light_is_said_of_each_pocket_by_the_register(two: Path) -> None:
    register = two.parent / "register.toml"
    code = holder_code(shipped_study(PRESET).job)
    light = ((0.2, 0.0, 0.0, 0.0), (0.0, 0.0, 0.0, -0.3))  # pocket 1: left lighter; pocket 2: foot darker
    day = dt.date(2026, 11, 1)
    append_holder(register, EmptyLight(code=code, date=day, scan="e.tif", windows=(1, 2), edges_stops=light))
    answer = json.loads(_run(two, "--pocket", "names", "--register", str(register), "--json").stdout)
    own = {row["pocket"]: row["own_light"] for row in answer["sheets"]}
    assert "left edge is 0.20 stops lighter without film" in own[1][0]
    assert "0.30 stops darker without film" in own[2][0]
    assert [len(words) for words in own.values()] == [1, 1]
    assert "0.20 stops lighter" in (two / CSV_NAME).read_text("utf-8-sig")
    assert "0.20 stops lighter" in (two / LIST_NAME).read_text("utf-8")
    assert answer["again"] == []
    register.write_text(register.read_text().replace(code, "OTHER"))
    refused = CliRunner().invoke(
        app, ["session", str(two), "--preset", str(PRESET), "--register", str(register)]
    )
    assert refused.exit_code == 2
    assert "without film" in refused.output
