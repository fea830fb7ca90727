"""The command line as outside callers see it: exit codes, JSON keys, clear messages, nothing lost."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console
from typer.testing import CliRunner, Result

from holders.design.held.film_ranges import KIND_WORDS
from holders.face.cli import show
from holders.face.cli.commands.bedding import _COLUMNS as BED
from holders.face.cli.commands.filming import _COLUMNS, footnoted
from holders.face.cli.main import app
from tests.presets_made import SHIPPED
from tests.short import some

ROOT = Path(__file__).parents[3]
GOOD = ROOT / "presets" / "4x5-four-up.toml"
BOARD = ROOT / "presets" / "8x10-mat-board.toml"  # quickly made
PRINTED = ROOT / "presets" / "8x10-printed.toml"


def call(*args: str | Path) -> Result:
    return CliRunner().invoke(app, [str(a) for a in args])


def program(*args: str | Path, cwd: Path = ROOT, **more: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "holders", *map(str, args)],
        capture_output=True,
        text=True,
        check=False,
        cwd=cwd,
        **more,
    )


def preset(folder: Path, old: str, new: str, source: Path = GOOD) -> Path:
    text = source.read_text()
    assert old in text
    path = folder / "p.toml"
    path.write_text(text.replace(old, new))
    return path


DESIGN_KEYS = {
    "ledge_height", "foot_protrusion", "sharp_plane_height", "focus_height", "focus_band", "windows", "outer", "parts",
    "sag", "seen",
}  # fmt: skip
FINDING_KEYS = {"code", "level", "title", "measured", "limit", "unit", "where", "advice"}
FILE_KEYS = {"path", "format", "units", "sha256", "bytes"}


# one of each way of making and of holding; the others take their next steps, too, behind --slow
QUICK = ("8x10-printed", "8x10-mat-board", "35mm-channel", "whole-plate-glass", "8x10-acrylic-lid")
EACH = [p if p.stem in QUICK else pytest.param(p, marks=pytest.mark.slow) for p in SHIPPED]


@pytest.mark.parametrize("path", EACH, ids=lambda p: p.stem)
def test_check_json_has_the_promised_keys(path: Path) -> None:
    done = call("check", path, "--json")
    assert done.exit_code == 0, done.stderr
    found = json.loads(done.stdout)
    assert {"preset", "slug", "ok", "design", "findings", "files"} <= set(found)
    assert found["ok"] is True
    made = found["design"]
    assert set(made) >= DESIGN_KEYS
    for window in made["windows"]:
        assert {"x", "y", "width", "height", "film", "edges"} <= set(window)
        assert set(window["edges"]) == {"left", "right", "head", "foot"}
    for part in made["parts"]:
        assert {"name", "process", "material", "quantity", "size", "volume_mm3"} <= set(part)
        assert len(part["size"]) == 3
        assert part["volume_mm3"] > 0
    assert found["findings"]
    for finding in found["findings"]:
        assert set(finding) >= FINDING_KEYS
        assert finding["level"] in {"pass", "warn", "stop", "skip"}
    assert len(made["seen"]) == len(made["windows"])


def test_make_writes_all_and_says_where(tmp_path: Path) -> None:
    done = call("make", PRINTED, "--out", tmp_path, "--json", "--no-steps")
    assert done.exit_code == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["files"]
    for record in found["files"]:
        assert set(record) >= FILE_KEYS
        path = Path(record["path"])
        path = path if path.is_absolute() or path.exists() else tmp_path / found["slug"] / path
        assert path.stat().st_size == record["bytes"]
    formats = {record["format"] for record in found["files"]}
    assert {"stl", "3mf", "step", "svg"} <= formats


@pytest.mark.parametrize("made", some([PRINTED, BOARD], BOARD), ids=lambda path: path.stem)
def test_prose_names_every_file(made: Path, tmp_path: Path) -> None:
    done = call("make", made, "--out", tmp_path, "--all", "--no-steps")
    assert done.exit_code == 0, done.stderr
    for path in (tmp_path / made.stem).iterdir():
        assert path.name in done.stdout or path.name == "manifest.json"


def test_a_stop_writes_nothing_until_a_reason_is_given(tmp_path: Path) -> None:
    path = preset(tmp_path, 'name = "petg"', 'name = "pla"')
    path.write_text(
        path.read_text()
        .replace("focus_sigma_mm = 0.05", "focus_sigma_mm = 0.05\nlamp_rise_k = 40.0")
        .replace('count = "fill"', "count = 1")
    )
    out = tmp_path / "out"
    done = call("make", path, "--out", out, "--json", "--no-steps")
    assert done.exit_code == 1
    assert json.loads(done.stdout)["ok"] is False
    assert not out.exists() or not any(out.iterdir())
    assert call("make", path, "--out", out, "--anyway", " ").exit_code == 2
    done = call("make", path, "--out", out, "--anyway", "a dummy for the shelf", "--json", "--no-steps")
    assert done.exit_code == 0
    manifest = json.loads((out / "4x5-many-up" / "manifest.json").read_text())
    assert "a dummy for the shelf" in json.dumps(manifest)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('format = "4x5"', 'format = "4x6"', ("film.format", "4x6", "did you mean")),
        ("focus_height_mm = 3.1", "focus_height_mm = nan", ("bed.focus_height_mm", "nan")),
        ("focus_height_mm = 3.1", "focus_height_mm = -3", ("bed.focus_height_mm", "at least")),
        ("focus_height_mm = 3.1", "focus_height_mm = 0.2", ("ledge",)),
        ("all_mm = 2.0", "all_mm = 49.9", ("lip.all_mm",)),
        ('count = "fill"', "count = 59", ("layout.count", "at most")),
        ('title = "4x5 many-up"', 'title = "\\u0000\\n../.."', ("title",)),
        ("[film]", "[film", ("valid TOML",)),
    ],
)
def test_bad_input_is_refused_in_one_line(tmp_path: Path, old: str, new: str, words: tuple[str, ...]) -> None:
    path = preset(tmp_path, old, new)
    done = call("check", path)
    assert done.exit_code == 2
    assert done.stdout == ""
    assert len(done.stderr.strip().splitlines()) == 1
    assert str(path) in done.stderr
    for word in words:
        assert word in done.stderr
    assert "Traceback" not in done.stderr


def test_previous_output_survives_a_failure(tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert call("make", BOARD, "--out", out, "--no-steps").exit_code == 0
    before = {p.name: p.read_bytes() for p in (out / "8x10-mat-board").iterdir()}
    bad = preset(tmp_path, "all_mm = 2.5", "all_mm = 49.9", BOARD)
    assert call("make", bad, "--out", out).exit_code == 2
    assert {p.name: p.read_bytes() for p in (out / "8x10-mat-board").iterdir()} == before


def test_out_that_is_a_file_is_the_machines_fault(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("x")
    done = call("make", BOARD, "--out", blocked, "--no-steps")
    assert done.exit_code == 3
    assert str(blocked) in done.stderr
    assert blocked.read_text() == "x"


def test_same_title_twice_is_refused(tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text(GOOD.read_text())
    done = call("make", GOOD, other, "--out", tmp_path / "out", "--no-steps")
    assert done.exit_code == 2
    assert "title" in done.stderr


def test_batch_gives_one_object(tmp_path: Path) -> None:
    boards = [ROOT / "presets" / f"8x10-{kind}-board.toml" for kind in ("mat", "one")]  # quickly made
    done = call("make", *boards, "--out", tmp_path, "--json", "--no-steps")
    found = json.loads(done.stdout)
    assert [r["slug"] for r in found["results"]] == ["8x10-mat-board", "8x10-one-board"]


@pytest.mark.parametrize(
    "what", ["formats", "bases", "materials", "beds", "printers", "papers", "checks", "presets"]
)
def test_lists(what: str) -> None:
    rows = json.loads(call("list", what, "--json").stdout)["rows"]
    assert rows
    if what != "presets":
        assert all(row["source"] for row in rows)
    if what not in ("presets", "checks"):
        for row in rows:
            assert row["status"] in {source["status"] for source in row["sources"].values()}
            numbers = {k for k, v in row.items() if isinstance(v, float) and v != 0.0 and k != "frames"}
            assert numbers <= set(row["sources"])
    assert call("list", what).exit_code == 0


def test_an_unknown_list_suggests() -> None:
    done = call("list", "format")
    assert done.exit_code == 2
    assert "formats" in done.stderr


def test_new_writes_a_preset_that_works_and_never_overwrites(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    assert (
        call(
            "new", "--plain", "--full", "--format", "5x7", "--route", "print", "--lid", "--feet", path
        ).exit_code
        == 0
    )
    assert call("check", path, "--no-steps").exit_code == 0
    before = path.read_bytes()
    assert call("new", path).exit_code == 2
    assert path.read_bytes() == before
    assert call("new", "--format", "5x8", tmp_path / "b.toml").exit_code == 2
    assert call("new", "--material", "mdf", tmp_path / "b.toml").exit_code == 2
    assert not (tmp_path / "b.toml").exists()
    assert call("new", tmp_path / "no" / "b.toml").exit_code == 2  # a folder that is not there is a slip


def test_program_as_a_user_starts_it(tmp_path: Path) -> None:
    lines = program("--help").stdout.splitlines()
    assert "make" in " ".join(lines)
    assert [
        line for line in lines if line.startswith("  ") and line.endswith("...")
    ] == []  # each command's line is a whole sentence
    assert program("--version").stdout.startswith("holders ")
    assert program("make", cwd=tmp_path).returncode == 2
    done = program("check", GOOD, "--json", "--no-steps")
    assert done.returncode == 0
    assert json.loads(done.stdout)["verdict"]["next"] == []
    refused = call("check", GOOD, "--no-steps", "--do", "1")
    assert refused.exit_code == 2
    assert "--no-steps" in refused.stderr
    assert program("list", "beds", env={**os.environ, "NO_COLOR": "1", "TERM": "dumb"}).returncode == 0


def test_light_commands_load_no_heavy_library() -> None:
    probe = (
        "import sys; from typer.testing import CliRunner; from holders.face.cli.main import app\n"
        "for args in (['--help'], ['list', 'formats'], ['list', 'checks']):\n"
        "    assert CliRunner().invoke(app, args).exit_code == 0, args\n"
        "heavy = {'cadquery', 'OCP', 'numpy', 'scipy', 'shapely', 'tifffile', 'reportlab', 'ezdxf'} & set(sys.modules)\n"  # noqa: E501
        "assert not heavy, heavy\n"
    )
    done = subprocess.run([sys.executable, "-c", probe], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_film_json_has_the_promised_keys(tmp_path: Path) -> None:
    done = call("film", PRINTED, "--json", "--out", tmp_path)
    assert done.exit_code == 0, done.stderr
    found = json.loads(done.stdout)
    keys = {"converged", "iterations", "residual", "x", "y", "z", "max_sag", "mean_sag", "min_gap"}
    assert keys | {"in_band_fraction", "best_ledge_height"} <= set(found)
    assert found["converged"] is True
    assert len(found["z"]) == len(found["y"])
    assert len(found["z"][0]) == len(found["x"])
    assert min(min(row) for row in found["z"]) == pytest.approx(found["min_gap"], abs=0.01)


def test_film_draws_and_tells(tmp_path: Path) -> None:
    done = call("film", PRINTED, "--out", tmp_path)
    assert done.exit_code == 0, done.stderr
    assert (tmp_path / "8x10-printed-film.svg").read_bytes().startswith(b"<?xml")
    assert "lid frame with play" in done.stdout


@pytest.mark.parametrize("kind", KIND_WORDS.values())
def test_the_film_table_fits_a_terminal_of_80_columns(kind: str) -> None:
    console = Console(width=80, file=io.StringIO())
    cells = (kind, "down", "10.07", "10.04", "100.0 %", "13.62", "12.55")
    rows, notes = footnoted([(*cells, "the middle hangs"), (*cells, "level"), (*cells, "the middle hangs")])
    assert notes == [("a", "the middle hangs"), ("b", "level")]
    assert [row[-1] for row in rows] == ["a", "b", "a"]
    console.print(show.table("", _COLUMNS, rows))
    lines = console.file.getvalue().splitlines()  # type: ignore[attr-defined]
    assert sum(line.startswith(kind) and "100.0 %" in line for line in lines) == 3
    assert any(all(name in line for name in _COLUMNS) for line in lines)


RANKED = ("rank", "from the glass", "ledge", "off", "90% sharp", "all", "price", "band")
WAYS = ("good scans", "minutes", "price", "hidden", "way")


@pytest.mark.parametrize(
    ("columns", "row"),
    [
        (
            BED,
            (
                "2026-11-28",
                "108.0",
                "148.5",
                "3.12",
                "0.035",
                "0.55",
                "2400",
                "after the move to the new room",
            ),
        ),
        (
            RANKED,
            ("12 *", "3.04 + 2.05 + 0.55", "10.64", "+0.12 ± 0.10", "100 %", "100 %", "12.50", "misses"),
        ),
        (WAYS, ("100 of 100", "1234", "12.50", "12.3 cm²", "a lid frame of 6 mm with four magnets, printed")),
    ],
)
def test_heads_of_tables_stay_on_one_line_of_80_columns(
    columns: tuple[str, ...], row: tuple[str, ...]
) -> None:
    console = Console(width=80, file=io.StringIO())
    console.print(show.table("", columns, [row]))
    lines = console.file.getvalue().splitlines()  # type: ignore[attr-defined]
    assert any(all(name in line for name in columns) for line in lines)
    assert max(map(len, lines)) <= 80


@pytest.fixture(scope="module")
def ruler(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A scan of a ruling on a slope whose sharp height is 2.7 mm, by the focus room's simulator."""
    import importlib.util

    import tifffile

    place = ROOT / "tests" / "measure" / "slope" / "simulator.py"
    spec = importlib.util.spec_from_file_location("cli_simulator", place)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["cli_simulator"] = module
    spec.loader.exec_module(module)
    path = tmp_path_factory.mktemp("scan") / "ruler.tif"
    data = module.scan(module.Case(number=3, z0_mm=2.7))
    tifffile.imwrite(path, data, photometric="minisblack", resolution=(2400, 2400), resolutionunit="INCH")
    return path


def test_focus_json_and_record(ruler: Path, tmp_path: Path) -> None:
    record = tmp_path / "bed.toml"
    slope = ("--rise", "6", "--run", "80")
    done = call("focus", ruler, *slope, "--record", record, "--place", "100", "150", "--json")
    assert done.exit_code == 0, done.stderr
    found = json.loads(done.stdout)
    assert {"height", "height_sigma", "band", "at_edge", "confidence", "profile"} <= set(found)
    assert found["height"] == pytest.approx(2.7, abs=0.03)
    assert len(found["profile"]["height"]) == len(found["profile"]["sharpness"])
    assert json.loads(call("bed", record, "--json").stdout)["places"][0]["x_mm"] == 100
    assert call("bed", record, "--out", tmp_path).exit_code == 0
    built = call(
        "check", PRINTED.with_name("4x5-four-up.toml"), "--bed-record", record, "--json", "--no-steps"
    )
    assert json.loads(built.stdout)["design"]["focus_height"] == pytest.approx(found["height"], abs=1e-3)
    assert built.exit_code == 0, built.stderr
    assert call("focus", ruler, *slope, "--record", record).exit_code == 2
    assert call("focus", ruler, "--rise", "6").exit_code == 2
    assert call("focus", PRINTED, *slope).exit_code == 2
    assert call("focus", ruler, *slope, "--out", tmp_path).exit_code == 0
    assert (tmp_path / "focus-profile.svg").exists()


def test_a_best_height_outside_exits_with_one(ruler: Path, tmp_path: Path) -> None:
    import tifffile

    low_part = tifffile.imread(ruler)[:, :2200]  # as far as 1.75 mm; the sharp height is 2.7 mm
    path = tmp_path / "low.tif"
    tifffile.imwrite(path, low_part, photometric="minisblack", resolution=(2400, 2400), resolutionunit="INCH")
    done = call("focus", path, "--rise", "6", "--run", "80", "--json")
    assert done.exit_code == 1
    assert json.loads(done.stdout)["at_edge"] is True


def test_a_scan_longer_than_its_run_is_not_built_on(ruler: Path, tmp_path: Path) -> None:
    """A margin left before the slope moves every height; the uncertainty cannot know of it."""
    import numpy as np
    import tifffile

    path, record = tmp_path / "margin.tif", tmp_path / "bed.toml"
    whole = np.pad(tifffile.imread(ruler), ((0, 0), (300, 0)), mode="edge")  # 3.2 mm
    tifffile.imwrite(path, whole, photometric="minisblack", resolution=(2400, 2400), resolutionunit="INCH")
    slope = ("--rise", "6", "--run", "80", "--out", tmp_path)
    done = call("focus", path, *slope, "--record", record, "--place", "100", "150")
    words = " ".join(done.stdout.split())
    assert "0.07 mm of error" in words
    assert "not to be put into a preset yet: the scan is not as long as the run" in words
    assert "focus_height_mm" not in words
    assert "not kept in the record: the scan is not as long as the run" in words
    assert not record.exists()
    assert json.loads(call("focus", path, *slope, "--json").stdout)["doubts"]
    good = call("focus", ruler, *slope, "--record", record, "--place", "100", "150").stdout
    put = re.search(r"focus_height_mm = ([0-9.]+)", good)
    assert put is not None
    assert float(put[1]) == pytest.approx(2.70, abs=0.015)  # printed to a hundredth, known to ± 0.01
    kept = json.loads(call("bed", record, "--json").stdout)["places"][0]
    assert f"focus_band_mm = {kept['band_mm']:.2f}" in good


def test_ramp_writes_its_geometry(tmp_path: Path) -> None:
    done = call("ramp", "--out", tmp_path, "--sheet", "3", "--json")
    assert done.exit_code == 0, done.stderr
    assert (tmp_path / "focus-ramp" / "ramp.json").exists()
    assert call("ramp", "--high", "30", "--out", tmp_path).exit_code == 2


def test_inspect_json_has_the_promised_keys(ruler: Path) -> None:
    found = json.loads(call("inspect", ruler, "--json").stdout)
    assert {"rings", "sharpness", "skew_deg", "film_edges"} <= set(found)
    assert {"found", "score", "where"} <= set(found["rings"])
    assert {"grid", "in_band_fraction"} <= set(found["sharpness"])
    assert call("inspect", PRINTED).exit_code == 2


@pytest.mark.parametrize(
    ("name", "title"),
    [("my-4x5.toml", "my 4x5"), ("Weir_no.2.toml", "Weir no 2"), ("---.toml", ""), ("ö.toml", "")],
)
def test_a_new_preset_is_called_after_its_file(name: str, title: str) -> None:
    from holders.face.cli.commands.starting import title_from

    assert title_from(Path(name)) == title


def test_two_new_presets_do_not_write_one_folder(tmp_path: Path) -> None:
    from holders.preset.load import load

    for name in ("first.toml", "second.toml"):
        assert call("new", "--plain", tmp_path / name).exit_code == 0
    assert [load(tmp_path / name).title for name in ("first.toml", "second.toml")] == ["first", "second"]
    assert call("new", "--plain", "--title", "Mine", tmp_path / "third.toml").exit_code == 0
    assert load(tmp_path / "third.toml").title == "Mine"
