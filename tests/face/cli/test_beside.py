"""The CAD kernel in a process beside: the same bytes, the same refusals, nothing left behind, no harm when it dies."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from holders.core.errors import InputError
from holders.design.model import Design, Slab
from holders.face.cli import beside
from holders.face.cli.beside import Solids, kernel_beside
from holders.face.cli.main import app
from holders.geometry.outline import Region, rectangle
from holders.output.bundle.plan_files import files_for, solid_files
from holders.output.formats.export import Producer
from tests.face.cli.terminal import ROOT, in_terminal
from tests.fixtures_design import made
from tests.presets_made import SHIPPED

PRINTED = next(path for path in SHIPPED if path.stem == "whole-plate-glass")


@contextmanager
def helped(monkeypatch: pytest.MonkeyPatch) -> Iterator[Solids]:
    """A helper process, although the tests have the kernel loaded here."""
    monkeypatch.setattr(beside, "is_here", lambda: False)
    monkeypatch.setattr(beside, "cores", lambda: 2)
    with kernel_beside(True) as solids:
        assert solids is not None
        yield solids


def bytes_of(files: Mapping[str, Producer]) -> dict[str, bytes]:
    return {name: make() for name, make in files.items()}


@pytest.mark.parametrize("route", ["print", "laser", "knife"])
def test_same_files_as_without_it(route: str, monkeypatch: pytest.MonkeyPatch) -> None:
    holder, before = made(route), set(multiprocessing.active_children())
    with helped(monkeypatch) as solids:
        there = solids(holder)
        assert bytes_of(there) == bytes_of(solid_files(holder))
        from holders.facts.tables import paper

        one, two = files_for(holder, paper("a4")), files_for(holder, paper("a4"), solids=there)
        assert list(one) == list(two)
        assert set(there) == {name for name in one if name.endswith((".stl", ".3mf", ".step", ".glb"))}
    assert not set(multiprocessing.active_children()) - before


def test_no_helper_where_it_gains_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object, **__: object) -> None:
        raise AssertionError("a process was started")

    monkeypatch.setattr(beside, "Worker", never)
    monkeypatch.setattr(beside, "cores", lambda: 2)
    monkeypatch.setattr(beside, "is_here", lambda: False)
    with kernel_beside(False) as solids:
        assert solids is None
    monkeypatch.setattr(beside, "cores", lambda: 1)
    with kernel_beside(True) as solids:
        assert solids is None
    monkeypatch.setattr(beside, "cores", lambda: 2)
    monkeypatch.setattr(beside, "is_here", lambda: True)
    with kernel_beside(True) as solids:
        assert solids is None


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal there")
@pytest.mark.parametrize("when", ["before", "after"])
def test_files_come_although_it_is_killed(when: str, monkeypatch: pytest.MonkeyPatch) -> None:
    holder, before = made("print"), set(multiprocessing.active_children())
    with helped(monkeypatch) as solids:
        (helper,) = set(multiprocessing.active_children()) - before
        if when == "before":
            os.kill(helper.pid or 0, signal.SIGKILL)
            helper.join(20)
        there = solids(holder)
        if when == "after":
            os.kill(helper.pid or 0, signal.SIGKILL)
        assert bytes_of(there) == bytes_of(solid_files(holder))
    assert not set(multiprocessing.active_children()) - before


def in_two(holder: Design) -> Design:
    """Its first part falls apart."""
    part = holder.parts[0]
    slabs = tuple(Slab("plate", 0.0, 2.0, Region(rectangle(x, 0.0, 20.0, 20.0))) for x in (0.0, 50.0))
    return replace(holder, parts=(replace(part, slabs=slabs, cuts=(), grooves=()), *holder.parts[1:]))


def test_what_it_refuses_is_told_as_if_it_were_done_here(monkeypatch: pytest.MonkeyPatch) -> None:
    holder = in_two(made("print"))
    with pytest.raises(InputError) as here:
        bytes_of(solid_files(holder))
    with helped(monkeypatch) as solids:
        files = solids(holder)
        # the second is not waited for as if it could still come
        for make in (files["frame.stl"], files["holder.step"]):
            with pytest.raises(InputError) as there:
                make()
            assert str(there.value) == str(here.value)
    assert "falls into 2 pieces" in str(here.value)


def test_no_process_to_be_had_is_no_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    def refused() -> None:
        raise BlockingIOError(11, "Resource temporarily unavailable")

    monkeypatch.setattr(beside, "Worker", refused)
    monkeypatch.setattr(beside, "is_here", lambda: False)
    monkeypatch.setattr(beside, "cores", lambda: 2)
    with kernel_beside(True) as solids:
        assert solids is None


def test_what_cannot_be_sent_is_made_here(monkeypatch: pytest.MonkeyPatch) -> None:
    holder = replace(made("print"), notes=(lambda: None,))  # type: ignore[arg-type]
    with helped(monkeypatch) as solids:
        assert bytes_of(solids(holder)) == bytes_of(solid_files(holder))


def test_the_command_writes_the_same_files_with_it(tmp_path: Path) -> None:
    """The command as a user gives it, against the same in one process that has the kernel loaded."""
    done = subprocess.run(
        [sys.executable, "-m", "holders", "make", str(PRINTED), "--out", str(tmp_path / "beside"), "--no-steps"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert beside.is_here()
    here = CliRunner().invoke(app, ["make", str(PRINTED), "--out", str(tmp_path / "here"), "--no-steps"])
    assert here.exit_code == 0, here.output
    one, two = (
        {path.name: path.read_bytes() for path in (tmp_path / way).rglob("*") if path.is_file()}
        for way in ("beside", "here")
    )
    assert one == two
    assert len(one) >= 8


def test_it_ends_with_whatever_ends_the_work(monkeypatch: pytest.MonkeyPatch) -> None:
    class Odd(Exception):
        pass

    def interrupted() -> None:
        with helped(monkeypatch) as solids:
            solids(made("print"))
            raise Odd

    before = set(multiprocessing.active_children())
    with pytest.raises(Odd):
        interrupted()
    assert not set(multiprocessing.active_children()) - before


def test_make_asks_it_for_one_preset_and_not_for_several(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []

    @contextmanager
    def watched(wanted: bool) -> Iterator[Solids | None]:
        asked.append(f"wanted {wanted}")

        def solids(design: Design) -> Mapping[str, Producer]:
            asked.append(design.title)
            return solid_files(design)

        yield solids if wanted else None

    monkeypatch.setattr(beside, "kernel_beside", watched)
    done = CliRunner().invoke(app, ["make", str(PRINTED), "--out", str(tmp_path), "--no-steps"])
    assert done.exit_code == 0, done.output
    assert asked[0] == "wanted True"
    assert len(asked) == 2
    asked.clear()
    done = CliRunner().invoke(app, ["make", str(PRINTED), "--coupon", "--out", str(tmp_path)])
    assert done.exit_code == 0, done.output
    assert asked == ["wanted False"]


# before Python has started a Ctrl-C is its own matter
UP = "from holders.__main__ import run; print('up', flush=True); run()"


@pytest.mark.skipif(sys.platform == "win32", reason="no process groups there")
@pytest.mark.parametrize("wait_s", [0.02, 0.1, 0.25, 0.5])
def test_ctrl_c_at_any_moment_ends_it_without_a_traceback(wait_s: float, tmp_path: Path) -> None:
    process = in_terminal("-c", UP, "make", PRINTED, "--out", tmp_path / "out")
    assert process.stdout is not None
    assert process.stdout.readline() == "up\n"
    time.sleep(wait_s)
    os.killpg(process.pid, signal.SIGINT)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "Traceback" not in said
    assert not (tmp_path / "out").exists()
