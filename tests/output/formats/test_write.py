"""Writing: all files or none, the old output survives every failure and every kill, nobody's files are lost."""

from __future__ import annotations

import errno
import hashlib
import json
import multiprocessing
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO

import pytest

from holders.core.errors import InputError, MachineError
from holders.output.bundle import folders, write
from holders.output.bundle.write import FileRecord, write_all

ROOT = Path(__file__).parents[3]
OLD = {"a.stl": b"old a", "b.dxf": b"old b", "gone.svg": b"old only"}
NEW = {"a.stl": b"new a", "b.dxf": b"new b", "c.pdf": b"new c"}


def content(folder: Path) -> dict[str, bytes]:
    return {p.name: p.read_bytes() for p in folder.iterdir() if p.name != "manifest.json"}


def leftovers(out: Path) -> list[str]:
    return [p.name for p in out.iterdir() if p.name != "weir"]


def check_records(records: tuple[FileRecord, ...]) -> None:
    for record in records:
        data = Path(record.path).read_bytes()
        assert record.sha256 == hashlib.sha256(data).hexdigest()
        assert record.bytes == len(data)


@pytest.fixture
def out(tmp_path: Path) -> Path:
    folder = tmp_path / "out"
    write_all(folder, "weir", OLD)
    return folder


def test_writes_everything_with_hashes(tmp_path: Path) -> None:
    records = write_all(
        tmp_path / "deep" / "er", "weir", {"a.stl": b"1", "b.pdf": lambda: b"22"}, {"title": "W"}
    )
    assert [Path(r.path).name for r in records] == ["a.stl", "b.pdf", "manifest.json"]
    check_records(records)
    assert (records[0].format, records[0].units) == ("stl", "mm")
    manifest = json.loads((tmp_path / "deep/er/weir/manifest.json").read_text())
    assert manifest["title"] == "W"
    assert [(row["path"], row["sha256"]) for row in manifest["files"]] == [
        ("a.stl", hashlib.sha256(b"1").hexdigest()),
        ("b.pdf", hashlib.sha256(b"22").hexdigest()),
    ]
    assert leftovers(tmp_path / "deep" / "er") == []


def test_same_input_same_bytes_wherever_it_lies(tmp_path: Path) -> None:
    for name in ("one", "two"):
        write_all(tmp_path / name, "weir", NEW, {"title": "W"})
    one, two = (tmp_path / name / "weir" / "manifest.json" for name in ("one", "two"))
    assert one.read_bytes() == two.read_bytes()
    assert str(tmp_path).encode() not in one.read_bytes()


def test_new_output_takes_the_old_one_s_place(out: Path) -> None:
    check_records(write_all(out, "weir", NEW))
    assert content(out / "weir") == NEW  # the file that is no longer made is gone
    assert leftovers(out) == []


def test_what_a_user_laid_in_the_folder_stays(out: Path) -> None:
    (out / "weir" / "notes.txt").write_text("scanned on Thursday")
    (out / "weir" / "pictures").mkdir()
    (out / "weir" / "pictures" / "one.png").write_bytes(b"png")
    (out / "weir" / "link").symlink_to("notes.txt")
    (out / "weir" / "c.pdf").write_bytes(b"the user's own, not on the manifest")
    write_all(out, "weir", NEW)
    folder = out / "weir"
    assert (folder / "notes.txt").read_text() == "scanned on Thursday"
    assert (folder / "pictures" / "one.png").read_bytes() == b"png"
    assert (folder / "link").is_symlink()
    assert (folder / "c.yours-1.pdf").read_bytes() == b"the user's own, not on the manifest"
    assert (folder / "c.pdf").read_bytes() == b"new c"
    write_all(out, "weir", OLD)
    assert (folder / "notes.txt").exists()
    assert (folder / "c.yours-1.pdf").exists()


def test_a_torn_manifest_loses_nothing(out: Path) -> None:
    (out / "weir" / "manifest.json").write_bytes(b"{")
    write_all(out, "weir", NEW)
    assert (out / "weir" / "a.yours-1.stl").read_bytes() == b"old a"
    assert (out / "weir" / "a.stl").read_bytes() == b"new a"


@pytest.mark.parametrize(
    "slug",
    [
        "../x",
        "..",
        ".",
        "",
        "/etc",
        "a/b",
        "a\\b",
        "a\nb",
        "🎞",
        "ä",
        "A",
        "con",
        "-x",
        "x" * 81,
        "nul",
        "a b",
        "a\0",
    ],
)
def test_hostile_slugs_are_refused(tmp_path: Path, slug: str) -> None:
    with pytest.raises(InputError) as caught:
        write_all(tmp_path / "out", slug, NEW)
    assert caught.value.exit_code == 2
    assert "\n" not in str(caught.value)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", ["../a.stl", "a/b.stl", "", ".hidden", "a\n.stl", "prn.stl", "x.", "ö.stl"])
def test_hostile_file_names_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError):
        write_all(tmp_path / "out", "weir", {name: b""})
    assert not (tmp_path / "out").exists()


def test_a_link_or_file_in_the_way_is_refused_and_left(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "precious").write_text("x")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "weir").symlink_to(elsewhere)
    with pytest.raises(InputError, match="in the way"):
        write_all(tmp_path / "out", "weir", NEW)
    assert content(elsewhere) == {"precious": b"x"}
    (tmp_path / "out" / "weir").unlink()
    (tmp_path / "out" / "weir").write_text("a file")
    with pytest.raises(InputError, match="in the way"):
        write_all(tmp_path / "out", "weir", NEW)
    assert (tmp_path / "out" / "weir").read_text() == "a file"


def test_a_failing_producer_touches_nothing(out: Path, tmp_path: Path) -> None:
    def broken() -> bytes:
        raise InputError("part", "frame", "falls to pieces")

    with pytest.raises(InputError):
        write_all(out, "weir", {"a.stl": b"new", "b.stl": broken})
    assert content(out / "weir") == OLD
    with pytest.raises(InputError):
        write_all(tmp_path / "fresh", "weir", {"b.stl": broken})
    assert not (tmp_path / "fresh").exists()


def failing(number: int) -> Callable[..., None]:
    def fail(*_: object, **__: object) -> None:
        raise OSError(number, os.strerror(number), "/some/where")

    return fail


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EROFS, errno.EACCES, 9999])
@pytest.mark.parametrize("step", ["fsync", "mkdir", "swap", "carry"])
def test_every_disk_failure_leaves_the_old_output(
    out: Path, monkeypatch: pytest.MonkeyPatch, number: int, step: str
) -> None:
    if step == "fsync":
        monkeypatch.setattr(os, "fsync", failing(number))
    elif step == "mkdir":
        monkeypatch.setattr(Path, "mkdir", failing(number))
    elif step == "swap":
        monkeypatch.setattr(write, "swap", failing(number))
    else:
        monkeypatch.setattr(write, "carry_over", failing(number))
    with pytest.raises(MachineError) as caught:
        write_all(out, "weir", NEW)
    monkeypatch.undo()
    assert caught.value.exit_code == 3
    assert "choose another --out" in str(caught.value)
    assert "\n" not in str(caught.value)
    assert content(out / "weir") == OLD
    assert leftovers(out) == []


def test_a_path_through_a_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(MachineError, match="choose another --out"):
        write_all(tmp_path / "file" / "out", "weir", NEW)


@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="mounting wants Linux and root")
def test_a_really_full_disk(tmp_path: Path) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=256k", "tmpfs", str(disk)], capture_output=True, check=False
    )
    if done.returncode:
        pytest.skip("this machine does not allow mounting")
    try:
        write_all(disk / "out", "weir", OLD)
        with pytest.raises(MachineError, match="disk is full"):
            write_all(disk / "out", "weir", {"a.stl": b"x" * 1_000_000})
        assert content(disk / "out" / "weir") == OLD
        assert leftovers(disk / "out") == []
        write_all(disk / "out", "weir", NEW)  # and there is room again for what fits
        assert content(disk / "out" / "weir") == NEW
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        with pytest.raises(MachineError, match="read-only"):
            write_all(disk / "out", "weir", OLD)
        assert content(disk / "out" / "weir") == NEW
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def _refused(out: str) -> None:
    if os.geteuid() == 0:
        os.setuid(65534)  # root may write anywhere, nobody may not
    try:
        write_all(Path(out), "weir", NEW)
    except MachineError as error:
        os._exit(7 if "may not write" in str(error) else 1)
    os._exit(0)


@pytest.mark.skipif(sys.platform != "linux", reason="needs fork and setuid")
def test_a_folder_without_permission() -> None:
    with tempfile.TemporaryDirectory() as name:  # pytest's own folder is closed to others all the way up
        Path(name).chmod(0o755)
        out = Path(name) / "out"
        out.mkdir(mode=0o555)
        run = multiprocessing.get_context("fork").Process(target=_refused, args=(str(out),))
        run.start()
        run.join(30)
        assert run.exitcode == 7
        assert list(out.iterdir()) == []


KILLER = """
import os, sys
sys.path.insert(0, {root!r})
from pathlib import Path
from typing import IO
from holders.output.bundle import folders
from holders.output.bundle import write
exchange = sys.argv[1] == "exchange"
if not exchange:
    folders.exchange = lambda one, two: False
count = step = 0
def bomb(real):
    def call(*a, **k):
        global count
        count += 1
        if count == step:
            os._exit(9)
        done = real(*a, **k)
        count += 1
        if count == step:
            os._exit(9)
        return done
    return call
import shutil
os.fsync = bomb(os.fsync)
Path.mkdir = bomb(Path.mkdir)
Path.rename = bomb(Path.rename)
Path.open = bomb(Path.open)
os.link = bomb(os.link)
shutil.rmtree = bomb(shutil.rmtree)
if exchange:
    folders.exchange = bomb(folders.exchange)
for line in sys.stdin:  # each kill in a process of its own, forked after the imports
    number, out = line.rstrip().split(" ", 1)
    child = os.fork()
    if child == 0:
        step = int(number)
        write.write_all(Path(out), "weir", {{"a.stl": b"new a", "b.dxf": b"new b", "c.pdf": b"new c"}})
        os._exit(0)
    print(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]), flush=True)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="forks")
@pytest.mark.parametrize("way", ["exchange", "renames"])
def test_killed_at_any_step_the_output_is_old_or_new(tmp_path: Path, way: str) -> None:
    script = tmp_path / "killer.py"
    script.write_text(KILLER.format(root=str(ROOT)))
    command = [sys.executable, str(script), way]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as killer:
        assert killer.stdin is not None
        assert killer.stdout is not None
        seen = _killed(tmp_path, way, killer.stdin, killer.stdout)
        killer.stdin.close()
    assert seen == {"old", "new"}


def _killed(room: Path, way: str, asks: IO[str], answers: IO[str]) -> set[str]:
    """Kill at step after step until a run finishes: which outputs were found."""
    outcomes = set()
    for step in range(1, 60):
        out = room / f"out-{step}"
        write_all(out, "weir", OLD)
        (out / "weir" / "notes.txt").write_bytes(b"mine")
        asks.write(f"{step} {out}\n")
        asks.flush()
        code = int(answers.readline())
        assert code in (0, 9)
        there = out / "weir"
        if not there.exists():  # only between the two renames, and then whole under the other name
            assert way == "renames"
            there = out / ".weir.before"
        found = content(there)
        assert found.pop("notes.txt") == b"mine"
        assert found in (OLD, NEW)
        outcomes.add("new" if found == NEW else "old")
        write_all(out, "weir", OLD)  # the next run puts all in order
        assert content(out / "weir") == {**OLD, "notes.txt": b"mine"}
        assert leftovers(out) == []
        if code == 0:
            return outcomes
    raise AssertionError("the kill never came late enough to let a run finish")


def test_fallback_puts_the_old_output_back_when_the_second_rename_fails(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(folders, "exchange", lambda *_: False)
    real = Path.rename

    def fails_into_place(self: Path, target: Path) -> Path:
        if Path(target).name == "weir" and ".new-" in self.name:
            raise OSError(errno.EIO, "broken")
        return real(self, target)

    monkeypatch.setattr(Path, "rename", fails_into_place)
    with pytest.raises(MachineError):
        write_all(out, "weir", NEW)
    monkeypatch.undo()
    assert content(out / "weir") == OLD
    assert leftovers(out) == []


@pytest.mark.skipif(sys.platform not in ("linux", "darwin"), reason="only these can swap folders")
def test_this_machine_swaps_in_one_step(tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        (tmp_path / name / name).write_text(name)
    assert folders.exchange(tmp_path / "one", tmp_path / "two")
    assert (tmp_path / "one" / "two").exists()
    assert (tmp_path / "two" / "one").exists()
    assert not folders.exchange(tmp_path / "one", tmp_path / "nowhere")


def _writer(out: str, mark: int, times: int) -> None:
    for k in range(times):
        data = f"{mark}-{k}".encode()
        write_all(Path(out), "weir", dict.fromkeys(("a.stl", "b.dxf", "c.pdf"), data))


def test_two_runs_at_once_never_mix(tmp_path: Path) -> None:
    out = tmp_path / "out"
    _writer(str(out), 0, 1)
    context = multiprocessing.get_context("fork" if sys.platform == "linux" else "spawn")
    runs = [context.Process(target=_writer, args=(str(out), mark, 12)) for mark in (1, 2)]
    for run in runs:
        run.start()
    for run in runs:
        run.join(60)
        assert run.exitcode == 0
    found = content(out / "weir")
    assert set(found) == {"a.stl", "b.dxf", "c.pdf"}
    assert len(set(found.values())) == 1
    manifest = json.loads((out / "weir" / "manifest.json").read_text())
    assert {row["sha256"] for row in manifest["files"]} == {hashlib.sha256(found["a.stl"]).hexdigest()}
    assert leftovers(out) == []


@pytest.fixture
def held(tmp_path: Path) -> Iterator[Path]:
    folder = tmp_path / "held"
    folder.mkdir()
    with folders.locked(folder):
        yield folder


def test_a_lock_that_does_not_open_is_told(held: Path) -> None:
    with pytest.raises(MachineError, match="another run"), folders.locked(held, wait_s=0.2):
        pytest.fail("the lock let a second run in")


def test_the_lock_opens_again(held: Path, tmp_path: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    for _ in range(2):
        with folders.locked(other, wait_s=0.2):
            assert other.exists()
    assert list(held.iterdir()) == []  # the lock leaves nothing behind
