"""Batches: the files of single runs to the byte, the order asked for, failures that stay alone, a clean stop."""

from __future__ import annotations

import hashlib
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from threading import Thread
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from holders.core.errors import InputError, MachineError
from holders.core.workers import Refused, Worker, WorkerDied, outcome
from holders.face.cli.batch import team
from holders.face.cli.main import app
from holders.output.bundle.write import FileRecord
from holders.study import Study, study_file
from tests.face.cli.terminal import ROOT, in_terminal
from tests.kept import shipped_study
from tests.presets_made import SHIPPED

SMALL = """
holders_preset = 1
title = "{title}"
route = "laser"
[bed]
name = "a4-narrow"
focus_sigma_mm = 0.03
[film]
format = "plate-4x5"
[material]
name = "{material}"
sheets_mm = [1.0, 1.5, 2.0]
"""


def small(folder: Path, title: str, material: str = "greyboard", more: str = "") -> Path:
    path = folder / f"{title}.toml"
    path.write_text(SMALL.format(title=title, material=material) + more)
    return path


def call(*args: str | Path) -> Result:
    return CliRunner().invoke(app, [str(a) for a in args])


def hashes(out: Path) -> dict[str, str]:
    return {
        str(path.relative_to(out)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(out.rglob("*"))
        if path.is_file()
    }


def same_as_single_runs(paths: list[Path], tmp_path: Path, *more: str) -> None:
    done = call("make", *paths, "--out", tmp_path / "batch", "--json", *more)
    assert done.exit_code == 0, done.stderr
    for path in paths:
        assert call("make", path, "--out", tmp_path / "single", *more).exit_code == 0
    one, two = hashes(tmp_path / "batch"), hashes(tmp_path / "single")
    assert one == two
    assert len(one) >= 9 * len(paths)
    found = json.loads(done.stdout)
    assert [row["preset"] for row in found["results"]] == [str(p) for p in paths]


def test_a_batch_writes_the_bytes_of_single_runs_in_the_order_asked(tmp_path: Path) -> None:
    by_name = {path.stem: path for path in SHIPPED}
    same_as_single_runs(
        [by_name["whole-plate-glass"], by_name["50mm-mounts"]],
        tmp_path,
        "--no-steps",  # they take most of the time; all shipped presets are made with them (--slow)
    )


@pytest.mark.slow
def test_every_shipped_preset_at_once(tmp_path: Path) -> None:
    same_as_single_runs(list(reversed(SHIPPED)), tmp_path)


def test_progress_names_each_preset_and_how_many_are_done(tmp_path: Path) -> None:
    paths = [small(tmp_path, title) for title in ("weir", "sluice", "mill")]
    done = call("make", *paths, "--out", tmp_path / "out", "--no-steps")
    assert done.exit_code == 0, done.stderr
    lines = done.stderr.splitlines()
    assert sum(line.startswith("designed and checked ") for line in lines) == 3
    assert {f"made {k} of 3" for k in (1, 2, 3)} == {
        line.partition(":")[0] for line in lines if "made" in line
    }
    for path in paths:
        assert any(path.name in line for line in lines)
    # prose comes in the order asked for, whoever was ready first
    places = [done.stdout.index(f"{tmp_path / 'out' / path.stem};") for path in paths]
    assert places == sorted(places)


def test_one_preset_starts_no_workers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: Any) -> None:
        raise AssertionError("no pool for one preset")

    monkeypatch.setattr("holders.face.cli.commands.making.team", never)
    assert call("make", small(tmp_path, "weir"), "--out", tmp_path / "out", "--no-steps").exit_code == 0
    monkeypatch.setattr("holders.face.cli.commands.making.cores", lambda: 1)
    paths = [small(tmp_path, title) for title in ("weir", "mill")]
    assert call("make", *paths, "--out", tmp_path / "out", "--no-steps").exit_code == 0


def test_all_are_read_before_anything_is_written_and_all_that_is_wrong_is_told(tmp_path: Path) -> None:
    good = small(tmp_path, "weir")
    bad = small(tmp_path, "mill", more="kerf_mm = -1\n")
    worse = small(tmp_path, "sluice", material="greybord")
    done = call("make", good, bad, worse, "--out", tmp_path / "out")
    assert done.exit_code == 2
    said = [line for line in done.stderr.splitlines() if line.startswith("holders: ")]
    assert len(said) == 2
    assert bad.name in said[0]
    assert "kerf_mm" in said[0]
    assert "greyboard" in said[1]
    assert done.stdout == ""
    assert not (tmp_path / "out").exists()


def test_a_stop_leaves_the_others_alone(tmp_path: Path) -> None:
    good, stopped = small(tmp_path, "weir"), small(tmp_path, "mill", material="foam-board")
    done = call("make", stopped, good, "--out", tmp_path / "out", "--json", "--no-steps")
    assert done.exit_code == 1
    found = json.loads(done.stdout)
    assert [row["ok"] for row in found["results"]] == [False, True]
    assert not (tmp_path / "out" / "mill").exists()
    assert found["results"][1]["files"]


def test_a_failure_while_writing_loses_no_other_result(tmp_path: Path) -> None:
    paths = [small(tmp_path, title) for title in ("weir", "mill", "sluice")]
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mill").write_text("a file where the folder should go")
    done = call("make", *paths, "--out", tmp_path / "out", "--json", "--no-steps")
    assert done.exit_code == 2
    found = json.loads(done.stdout)
    assert found["ok"] is False
    assert [row["ok"] for row in found["results"]] == [True, False, True]
    assert "in the way" in found["results"][1]["error"]
    assert "failed" in done.stderr
    for title in ("weir", "sluice"):
        assert (tmp_path / "out" / title / "manifest.json").exists()
    assert (tmp_path / "out" / "mill").read_text().startswith("a file")


# --- workers: what dies, dies alone -----------------------------------------------------------------------------------


def dies(number: int) -> int:
    if number == 2:
        os.kill(os.getpid(), signal.SIGKILL)
    time.sleep(0.05)
    return number


def test_a_worker_that_is_killed_takes_no_other_result_with_it() -> None:
    told: list[tuple[int, int, str]] = []
    with team(2) as workers:
        found = workers._each(
            dies, [(k,) for k in range(5)], [str(k) for k in range(5)], lambda *row: told.append(row)
        )
    assert [found[k] for k in (0, 1, 3, 4)] == [0, 1, 3, 4]
    assert isinstance(found[2], Refused)
    assert found[2].code == 3
    assert [row[0] for row in told] == [1, 2, 3, 4, 5]


def lingers(folder: str) -> None:
    """Work whose tidying up takes a while, as removing a half-made folder does."""
    left = Path(folder) / f"half-made-{os.getpid()}"
    left.write_text("")
    try:
        time.sleep(60)
    finally:
        time.sleep(0.5)
        left.unlink()


@pytest.mark.skipif(sys.platform == "win32", reason="a process is ended at once there")
@pytest.mark.parametrize("alone", [False, True])
def test_workers_that_are_stopped_tidy_up(alone: bool, tmp_path: Path) -> None:
    def started(*_: object) -> bool:
        return len(list(tmp_path.iterdir())) == (1 if alone else 2)

    def stop_when_started() -> None:
        while not started():
            time.sleep(0.02)
        os.kill(os.getpid(), signal.SIGINT)

    def worked() -> None:
        with team(2) as workers:
            if alone:
                workers._alone(lingers, (str(tmp_path),))
            else:
                workers._each(lingers, [(str(tmp_path),)] * 2, ["one", "two"], lambda *_: None)

    before = signal.signal(
        signal.SIGINT, signal.default_int_handler
    )  # deaf where it was started in the background
    try:
        Thread(target=stop_when_started, daemon=True).start()
        with pytest.raises(KeyboardInterrupt):
            worked()
    finally:
        signal.signal(signal.SIGINT, before)
    assert list(tmp_path.iterdir()) == []


def unreadable() -> Any:
    return lambda: None


def test_an_answer_that_cannot_be_sent_is_told() -> None:
    worker = Worker()
    worker.ask(unreadable)
    found = worker.answer()
    assert isinstance(found, Refused)
    assert "fault of ours" in found.message
    worker.ask(abs, -3)
    assert worker.answer() == 3
    worker.kill()
    with pytest.raises(WorkerDied):
        worker.answer()


def test_failures_in_words() -> None:
    def fails(error: BaseException) -> Any:
        def work() -> None:
            raise error

        return outcome(work)

    assert fails(InputError("lip", 3, "less")) == Refused("lip = 3: less", 2)
    assert fails(MachineError("disk full")) == Refused("disk full", 3)
    assert fails(MemoryError()).code == 3
    assert "rights" in fails(PermissionError(13, "Permission denied")).message
    assert "ValueError: odd" in fails(ValueError("odd")).message


def test_a_study_survives_the_way_between_processes(tmp_path: Path) -> None:
    import pickle

    found = study_file(small(tmp_path, "weir"))
    again = pickle.loads(pickle.dumps(found))
    assert isinstance(again, Study)
    assert again.design == found.design
    assert again.job == found.job
    assert again.nested == found.nested
    assert pickle.loads(pickle.dumps(FileRecord("a", "dxf", "mm", "0", 1))) == FileRecord(
        "a", "dxf", "mm", "0", 1
    )


def gone(group: int) -> bool:
    """No worker is left behind (Python's own helper process takes a moment to notice)."""
    for _ in range(100):
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.1)
    return False


@pytest.mark.skipif(sys.platform == "win32", reason="no process groups there")
def test_ctrl_c_stops_all_and_leaves_nothing_half_written(tmp_path: Path) -> None:
    paths = [small(tmp_path, f"weir {k}") for k in range(12)]
    out = tmp_path / "out"
    process = in_terminal("-m", "holders", "make", *paths, "--out", out, "--no-steps")
    assert process.stderr is not None
    for line in process.stderr:
        if line.startswith("made 1 of 12"):
            break
    os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "stopped" in said
    assert "Traceback" not in said
    assert gone(process.pid)
    left = list(out.iterdir())
    assert 1 <= len(left) < 12
    assert not [p for p in left if p.name.startswith(".")]
    for folder in left:
        rows = json.loads((folder / "manifest.json").read_text())["files"]
        assert all(hashlib.sha256((folder / r["path"]).read_bytes()).hexdigest() == r["sha256"] for r in rows)


# --- the test piece ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "files"),
    [
        (
            "8x10-printed",
            {
                "coupon.stl",
                "coupon-tongue.stl",
                "coupon-plug.stl",
                "test-piece.3mf",
                "test-piece.step",
                "test-piece.glb",
            },
        ),
        ("8x10-acrylic-lid", {"test-piece.dxf", "template.pdf"}),
        ("8x10-mat-board", {"test-piece.dxf", "template.pdf"}),
    ],
)
def test_coupon_writes_its_files_and_page(name: str, files: set[str], tmp_path: Path) -> None:
    done = call("make", ROOT / "presets" / f"{name}.toml", "--coupon", "--out", tmp_path, "--json")
    assert done.exit_code == 0, done.stderr
    found = json.loads(done.stdout)
    assert found["slug"].endswith("-coupon")
    folder = tmp_path / found["slug"]
    assert {p.name for p in folder.iterdir()} == files | {
        f"{found['slug']}.toml",
        "test-piece.svg",
        "test-piece.html",
        "manifest.json",
    }
    page = (folder / "test-piece.html").read_text()
    assert "[coupon]" in page
    assert "caliper" in page
    if name == "8x10-acrylic-lid":
        import ezdxf

        lines = list(
            ezdxf.readfile(folder / "test-piece.dxf").modelspace().query("LWPOLYLINE[layer=='CUT_INNER']")
        )
        wide = [max(p[0] for p in e.get_points()) - min(p[0] for p in e.get_points()) for e in lines]
        assert min(abs(w - 20.0) for w in wide) < 1e-6  # on the line: no kerf set off
        assert found["coupon"]["thickness"] == 2.9
    if name == "8x10-printed":
        assert found["coupon"]["heights"] == [1.0, 2.0, 3.0]
    if name == "8x10-mat-board":
        said = call("make", ROOT / "presets" / f"{name}.toml", "--coupon", "--out", tmp_path)
        assert "test-piece.html" in said.stdout


def test_every_key_on_the_page_is_one_of_the_preset(tmp_path: Path) -> None:
    from holders.face.cli.reading import OF_ROUTE, QUESTIONS
    from holders.output.sheet.testpiece import testpiece_sheet
    from holders.preset.tables.making import Coupon
    from holders.workshop.coupon.coupon import coupon_for

    finished = {
        "ledge_mm",
        "ledge_drawn_mm",
    }  # of a holder, not of a test piece: `holders measured` gives them
    assert set(QUESTIONS) == set(Coupon.model_fields) - finished
    for name in ("8x10-printed", "8x10-acrylic-lid", "8x10-mat-board"):
        job = shipped_study(ROOT / "presets" / f"{name}.toml").job
        section = next(s for s in testpiece_sheet(job, coupon_for(job), ()).sections if s.key == "measuring")
        keys = [row[-1] for row in section.blocks[0].rows]  # type: ignore[union-attr]
        assert sorted(keys) == sorted(OF_ROUTE[job.preset.route])


def test_no_test_piece_of_what_must_not_go_into_a_laser(tmp_path: Path) -> None:
    path = small(tmp_path, "weir", material="pvc-foam")
    done = call("make", path, "--coupon", "--out", tmp_path / "out")
    assert done.exit_code == 1
    assert "laser" in done.stderr
    assert not (tmp_path / "out").exists()


def test_new_takes_readings_as_options(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    options = ("--reading", "holes_mm=20,18 20.2", "--reading", "plugs_mm = 9.81", "--reading", "pocket=10")
    done = call("new", "--route", "laser", *options, path)
    assert done.exit_code == 0, done.stderr
    assert "material.kerf_mm = 0.19" in done.stdout
    found = study_file(path)
    assert found.job.material.kerf_mm == pytest.approx(0.19, abs=1e-3)
    assert found.job.preset.layout.clearance_mm == pytest.approx(0.24, abs=1e-3)


def test_new_asks_one_by_one_and_skips_what_is_left_empty(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    answers = "\n\nten\n10\n3.02\n0.95 1.95 2.95\n"  # thickness, pocket: skipped; slot: asked again
    done = CliRunner().invoke(app, ["new", "--coupon", str(path)], input=answers)
    assert done.exit_code == 0, done.output
    assert "one of the numbers engraved" in done.stdout
    preset = study_file(path).job.preset
    assert preset.coupon.pocket is None
    assert preset.coupon.slot == 10
    assert preset.coupon.heights_mm == (0.95, 1.95, 2.95)
    assert "-0.050 mm" in done.stdout


def test_new_asks_only_for_what_no_option_gave(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    done = CliRunner().invoke(
        app, ["new", "--route", "knife", "--coupon", "--reading", "pocket=20", str(path)], input="\n\n\n"
    )
    assert done.exit_code == 0, done.output
    assert "tightest pocket" not in done.stdout
    assert study_file(path).job.preset.coupon.pocket == 20


@pytest.mark.parametrize(
    "option",
    ["pocket=11", "hole_mm=20", "holes_mm", "holes_mm=wide", "tongue_mm=3 4", "holes_mm=", "holes_mm=19.2"],
)
def test_new_refuses_readings_that_make_no_sense(option: str, tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    done = call("new", "--route", "laser", "--reading", option, path)
    assert done.exit_code == 2
    assert not path.exists()
    assert len(done.stderr.strip().splitlines()) == 1


def test_nobody_at_the_keyboard_is_told(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    done = CliRunner().invoke(app, ["new", "--coupon", str(path)], input="")
    assert done.exit_code == 2
    assert "--reading" in done.stderr
    assert not path.exists()


# --- how the program ends ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("args", "code"),
    [
        (["list", "papers", "--json"], 0),
        (["check", "nothing.toml"], 2),
        (["list", "paper"], 2),
        (["nonsense"], 2),
    ],
)
def test_the_short_end_keeps_exit_code_and_output(args: list[str], code: int, tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "holders", *args], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == code
    assert (json.loads(done.stdout)["rows"] if code == 0 else done.stderr) != ""
    assert "Traceback" not in done.stderr


def test_a_long_output_arrives_whole_in_a_file(tmp_path: Path) -> None:
    """Buffers are flushed before the short end."""
    with (tmp_path / "out.txt").open("w") as file:
        done = subprocess.run(
            [sys.executable, "-m", "holders", "list", "materials", "--json"],
            stdout=file,
            cwd=ROOT,
            check=False,
        )
    assert done.returncode == 0
    assert len(json.loads((tmp_path / "out.txt").read_text())["rows"]) > 10


@pytest.mark.skipif(sys.platform == "win32", reason="a shell's pipe")
def test_a_reader_that_goes_away_is_no_fault(tmp_path: Path) -> None:
    command = f"{sys.executable} -m holders list materials --json | true"
    done = subprocess.run(["/bin/sh", "-c", command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.stderr == ""


def test_another_presets_folder_is_not_covered(tmp_path: Path) -> None:
    """Two presets of one title: the second is stopped, before any file of its batch is written."""
    mine, theirs, other = (tmp_path / name for name in ("mine.toml", "theirs.toml", "other.toml"))
    text = SMALL.format(title="Weir", material="greyboard")
    mine.write_text(text)
    theirs.write_text(text.replace("[bed]", 'note = "theirs"\n[bed]'))
    out = tmp_path / "out"
    made = call("make", mine, "--out", out, "--no-steps")
    assert made.exit_code == 0, made.stderr
    folder = next(out.iterdir())
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert json.loads(before["manifest.json"])["preset"] == "mine.toml"
    other.write_text(SMALL.format(title="Other", material="greyboard"))
    for presets in ((theirs,), (other, theirs)):
        done = call("make", *presets, "--out", out, "--no-steps")
        assert done.exit_code == 2
        for words in ("theirs.toml", "mine.toml", "another title", "--out"):
            assert words in done.stderr
        assert [path.name for path in out.iterdir()] == [folder.name]
        assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    assert call("make", theirs, "--out", tmp_path / "elsewhere", "--no-steps").exit_code == 0
    # the same preset goes on as ever, changed or not; so does a folder whose manifest says nothing
    mine.write_text(theirs.read_text())
    assert call("make", mine, "--out", out, "--no-steps").exit_code == 0
    (folder / "manifest.json").write_text("{")
    assert call("make", theirs, "--out", out, "--no-steps").exit_code == 0


def test_a_missing_preset_is_told_with_names_like_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "presets").mkdir()
    for path in (tmp_path / "weir-4x5.toml", tmp_path / "presets" / "8x10-printed.toml"):
        path.write_text(SMALL.format(title="Weir", material="greyboard"))
    for asked, near in (
        ("weir-4x6.toml", "Did you mean weir-4x5.toml?"),
        ("weir-4x5", "Did you mean weir-4x5.toml?"),
        ("8x10-printed.toml", "Did you mean 8x10-printed?"),  # the shipped one, which works from any folder
        ("zzzz.toml", "zzzz.toml). `holders list presets`"),
    ):
        done = call("check", asked)
        assert done.exit_code == 2
        assert near in done.stderr
        assert str(tmp_path / asked) in done.stderr
    (tmp_path / "folder.toml").mkdir()
    assert "that is a folder" in call("check", "folder.toml").stderr
